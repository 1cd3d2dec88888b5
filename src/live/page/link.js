// One request in flight. Of waiting requests of one kind only the newest is kept; an answer older than what is shown is dropped.
// With a step those are asked for that the hand may take next, the likeliest first: behind its answer the server sends theirs, as long as
// no newer step comes, and the one that the hand takes is then shown in the frame of the hand.

const waiting = [];
let busy = false;
// Requests that are likely to come next, as text, each with the text of its answer.
let foreseen = new Map();
let shown = -1;
// Of which start of the program that is.
let started = "";
let listener = () => {};
let refused = () => {};

export function onAnswer(answered, refusal) {
  listener = answered;
  refused = refusal;
}

// `kind` says what a newer request may take the place of; `body` is made when the request goes out; `next` makes those that may come
// after it, the likeliest first; `since` are the times of what the hand did.
export function ask(path, kind, body, method = "POST", since = [performance.now()], next = undefined) {
  const request = { path, kind, body, method, since, next };
  const last = waiting.at(-1);
  if (kind && last && last.kind === kind) {
    request.since = [...last.since, ...since];
    waiting[waiting.length - 1] = request;
  } else {
    waiting.push(request);
  }
  go();
}

export function revision() {
  return shown;
}

export function run() {
  return started;
}

// Whether nothing is asked or waits to be.
export function isIdle() {
  return !busy && waiting.length === 0;
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
  const sent = request.body(), before = shown, known = foreseen.get(textOf(request, sent));
  // Answers to what might have come instead are still on their way.
  foreseen = new Map();
  request.foreseen = Boolean(known);
  if (known) {
    take(JSON.parse(known), request);
    sent.show = { ...sent.show, posture_only: true };
  }
  const next = waiting.length === 0 ? request.next?.() ?? [] : [];
  if (request.next) sent.then = next.map((step) => step[STEP[request.path]]);
  const [answer, status, ahead] = await answered(request, sent);
  if (status !== 200) {
    shown = before;
    refused(answer, request, known ? 409 : status);
    return;
  }
  if (!known && (answer.run !== started || answer.revision >= shown)) take(answer, request);
  // Where it breaks off, the step itself is told all the same.
  foresee(request, next, ahead).catch(() => {});
}

// What a request asks for.
const STEP = { "/api/nudge": "to_mm", "/api/walk": "step_mm" };

// A step that the car cannot take is told when the hand takes it.
async function foresee(request, next, ahead) {
  const mine = foreseen;
  for await (const line of ahead) {
    const step = next.shift();
    if (line !== "null") mine.set(textOf(request, { ...step, revision: shown }), line);
  }
}

function take(answer, request) {
  const isAnew = started !== "" && answer.run !== started;
  // A posture alone does not show its car: what is asked next is still asked of the one that is shown.
  if (answer.points || shown < 0) [shown, started] = [answer.revision, answer.run];
  listener(answer, request, isAnew);
}

const textOf = (request, sent) => `${request.path} ${JSON.stringify(sent)}`;

// The answer, its status, and the lines that come after it.
async function answered({ path, method }, sent) {
  const [url, options] = method === "GET" ? [`${path}?${new URLSearchParams(sent)}`, {}] : [path, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(sent),
  }];
  try {
    const response = await fetch(url, options), ahead = lines(response.body.getReader());
    return [JSON.parse((await ahead.next()).value), response.status, ahead];
  } catch {
    return [{ what: "hubtrace does not answer", advice: "is it still running in its terminal?" }, 0];
  }
}

// Each line as soon as it is here; the last one has no end of its own.
async function* lines(reader) {
  const decoder = new TextDecoder();
  let text = "";
  for (let part; !part?.done;) {
    part = await reader.read();
    const ended = (text + decoder.decode(part.value, { stream: !part.done })).split("\n");
    text = ended.pop();
    yield* ended;
  }
  if (text) yield text;
}

// A hand that has done nothing for so long rests.
export const REST_MS = 150;

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

// Calls back once the page is painted. The time from each step of the hand to there is kept where a script can read it: to the first
// paint that shows this step or a later one.
export function painted(request, then) {
  unpainted.push(request);
  if (unpainted.length > 1) return;
  requestAnimationFrame(() => {
    const requests = unpainted;
    unpainted = [];
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = () => {
      const end = performance.now();
      for (const { since, foreseen } of requests) {
        for (const start of since) performance.measure("hand to paint", { start, end, detail: { foreseen } });
      }
      then();
    };
    port2.postMessage(0);
  });
}
