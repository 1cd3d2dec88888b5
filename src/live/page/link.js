// One request in flight. Of waiting requests of one kind only the newest is kept; an answer older than what is shown is dropped.

const waiting = [];
let busy = false;
let shown = -1;
let listener = () => {};
let refused = () => {};

export function onAnswer(answered, refusal) {
  listener = answered;
  refused = refusal;
}

// `kind` says what a newer request may take the place of; `body` is made when the request goes out.
export function ask(path, kind, body, method = "POST", since = performance.now()) {
  const request = { path, kind, body, method, since };
  const last = waiting.at(-1);
  if (kind && last && last.kind === kind) {
    request.since = Math.min(last.since, since);
    waiting[waiting.length - 1] = request;
  } else {
    waiting.push(request);
  }
  go();
}

export function revision() {
  return shown;
}

async function go() {
  if (busy || waiting.length === 0) return;
  busy = true;
  const request = waiting.shift();
  const [answer, status] = await answered(request);
  busy = false;
  if (status !== 200) refused(answer, request, status);
  else if (answer.revision >= shown) {
    shown = answer.revision;
    listener(answer, request);
  }
  go();
}

async function answered(request) {
  const sent = request.body();
  const [path, options] = request.method === "GET" ? [`${request.path}?${new URLSearchParams(sent)}`, {}] : [request.path, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(sent),
  }];
  try {
    const response = await fetch(path, options);
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

// Calls back once the page is painted. The time from the hand to there is kept where a script can read it.
export function painted(since, then) {
  requestAnimationFrame(() => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = () => {
      performance.measure("hand to paint", { start: since, end: performance.now() });
      then?.();
    };
    port2.postMessage(0);
  });
}
