// One request in flight. Of waiting requests of one kind only the newest is kept; an answer older than what is shown is dropped.
// While the hand rests between steps, answers to the steps that it may take next are asked for, the likeliest first: the one that it
// takes is then shown in the frame of the hand.

const waiting = [];
let busy = false;
// Called when the hand goes on.
let wake = () => {};
// The hand waits for the answer that is on its way.
let asked = false;
// Requests that are likely to come next, as text, each with its answer.
const foreseen = new Map();
let shown = -1;
let listener = () => {};
let refused = () => {};

export function onAnswer(answered, refusal) {
  listener = answered;
  refused = refusal;
}

// `kind` says what a newer request may take the place of; `body` is made when the request goes out; `next` makes those that may come
// after it, the likeliest first; `since` are the times of what the hand did; it `rests` when it leaves the time of a frame between two steps.
export function ask(path, kind, body, method = "POST", since = [performance.now()], next = undefined, rests = true) {
  const request = { path, kind, body, method, since, next, rests };
  const last = waiting.at(-1);
  if (kind && last && last.kind === kind) {
    request.since = [...last.since, ...since];
    waiting[waiting.length - 1] = request;
  } else {
    waiting.push(request);
  }
  wake();
  go();
}

export function revision() {
  return shown;
}

// Whether the hand waits for an answer.
export function isAwaited() {
  return asked || waiting.length > 0;
}

async function go() {
  if (busy || waiting.length === 0) return;
  busy = true;
  try {
    await exchange(waiting.shift());
  } finally {
    busy = false;
  }
  go();
}

async function exchange(request) {
  const sent = request.body(), before = shown;
  const known = foreseen.get(textOf(request, sent));
  foreseen.clear();
  request.foreseen = Boolean(known);
  if (known) {
    take(known, request);
    // A hand that leaves the time has its curves painted before the server works again.
    if (request.rests) await Promise.race([paint, new Promise((resolve) => { wake = resolve; })]);
    const [refusal, status] = await told(request, sent);
    if (status === 200) return;
    shown = before;
    refused(refusal, request, 409);
    return;
  }
  asked = true;
  const [answer, status] = await answered(request, sent);
  asked = false;
  if (status !== 200) refused(answer, request, status);
  else if (answer.revision >= shown) take(answer, request);
  if (status === 200 && request.next && waiting.length === 0) await told(request, { ...sent, ...STAYS[request.path], revision: shown });
}

// What a request asks for, and what it asks for when nothing shall move any more.
const STEP = { "/api/nudge": "to_mm", "/api/walk": "step_mm" };
const STAYS = { "/api/walk": { step_mm: 0 } };

// Tells the server of a step that is shown already, and asks for what may come after it, unless the hand has gone on. A step that the car
// cannot take is told when the hand takes it.
async function told(request, sent) {
  const next = waiting.length === 0 ? request.next?.() ?? [] : [];
  const then = next.map((step) => step[STEP[request.path]]);
  const [answer, status] = await answered(request, { ...sent, show: { ...sent.show, posture_only: true }, then });
  if (status === 200) answer.then.forEach((view, k) => { if (view) foreseen.set(textOf(request, next[k]), view); });
  return [answer, status];
}

function take(answer, request) {
  shown = answer.revision;
  listener(answer, request);
}

const textOf = (request, sent) => `${request.path} ${JSON.stringify(sent)}`;

async function answered({ path, method }, sent) {
  const [url, options] = method === "GET" ? [`${path}?${new URLSearchParams(sent)}`, {}] : [path, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(sent),
  }];
  try {
    const response = await fetch(url, options);
    return [await response.json(), response.status];
  } catch {
    return [{ what: "hubtrace does not answer", advice: "is it still running in its terminal?" }, 0];
  }
}

// Does something once nobody has called for it so long, or has called for it all the time.
export function atRest(restMs, mostMs, act) {
  let timer, first;
  return () => {
    const now = performance.now();
    first ??= now;
    clearTimeout(timer);
    timer = setTimeout(() => {
      first = undefined;
      act();
    }, Math.max(0, Math.min(restMs, first + mostMs - now)));
  };
}

// The second answer: on its own way, so that it never stands before the first. One at a time, and dropped when the car went on.
let counting = false, again = false;

export async function follow(path, told) {
  if (counting) {
    again = true;
    return;
  }
  counting = true;
  again = false;
  try {
    const response = await fetch(path);
    const answer = await response.json();
    // It was too slow once; the cars are built all the same.
    if (response.status === 503) again = true;
    if (answer.revision === shown) {
      told(answer);
      again ||= answer.more;
    }
  } catch { /* the next answer asks again */ }
  counting = false;
  if (again) follow(path, told);
}

// Requests whose answers are in the page and wait for the next frame of the screen.
let unpainted = [];
// Ends with the next paint, if one is awaited.
let paint = Promise.resolve();

// Calls back once the page is painted. The time from each step of the hand to there is kept where a script can read it: to the first
// paint that shows this step or a later one.
export function painted(request, then) {
  unpainted.push(request);
  if (unpainted.length > 1) return;
  paint = new Promise((resolve) => requestAnimationFrame(() => {
    const requests = unpainted;
    unpainted = [];
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = () => {
      const end = performance.now();
      for (const { since, foreseen } of requests) {
        for (const start of since) performance.measure("hand to paint", { start, end, detail: { foreseen } });
      }
      then();
      resolve();
    };
    port2.postMessage(0);
  }));
}
