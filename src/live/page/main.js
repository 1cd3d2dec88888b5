// The page: what the hand does goes to the server, what the server answers is shown.

import { Axle } from "/axle.js";
import { byId, element, set } from "/dom.js";
import { REST_MS, ask, atRest, follow, isIdle, onAnswer, painted, revision, run } from "/link.js";
import { Points, keyOf } from "/points.js";
import { Curves, lines, odds, results, standing } from "/results.js";
import { tuner } from "/tuner.js";

const at = { bump_mm: 0, roll_deg: 0 };
let car, posture, picked, playing, counted = -1;

// Where a chart has no room for letters that can be read, as on a phone, narrow ones are shown.
const PHONE = matchMedia("(max-width: 44rem)");
const show = () => ({ ...at, charts: curves.names(), narrow: PHONE.matches, posture_only: false, run: run() });
const look = () => ask("/api/state", "look", () => ({ ...at, charts: curves.names().join(), narrow: PHONE.matches }), "GET");
const stand = (since) => ask("/api/state", "stand", () => ({ ...at, posture_only: true }), "GET", [since]);
const step = (path) => ask(path, "", () => ({ revision: revision(), show: show() }));
const moved = (point, how) => ({ revision: revision(), right: point.side === "right", point: point.name, ...how, show: show() });
// Where the picked point is once it has gone so far along an axis from where it is going.
const beyond = (axis, mm) => {
  const place = [...(wanted?.key === keyOf(picked) ? wanted.place : picked.at_mm)];
  place[axis] += mm;
  return place;
};
const curves = new Curves(look);

const hand = {
  pick(point) {
    picked = point;
    present();
  },
  // Picked by its name: the picture turns to its side.
  find(point) {
    axle.face(point.side);
    this.pick(point);
  },
  // Places of a dragged point are round in this, mm.
  grid: () => car.steps[0].mm,
  // `next` gives the places to which it may go then, the likeliest first.
  move(point, place, gesture, since, next) {
    const to = (mm) => moved(point, { to_mm: mm, gesture });
    ask("/api/nudge", `nudge ${keyOf(point)} ${gesture || Math.random()}`, () => to(place), "POST", since, next && (() => next().map(to)));
  },
  // `towards` is where a key of the picture points, car axes: a bracket keeps to what carries it as far as that goes there.
  step(axis, sign, event, towards) {
    if (!picked) return;
    const mm = Number(document.querySelector("input[name=step]:checked").value);
    if (towards && picked.rides_on && byId("ride").checked) return this.walk(towards, mm, [event.timeStamp]);
    const place = beyond(axis, sign * mm);
    wanted = { key: keyOf(picked), place };
    this.move(picked, place, 0, [event.timeStamp], () => [beyond(axis, sign * mm)]);
  },
  walk(towards, mm, since) {
    const kind = `walk ${keyOf(picked)} ${towards}`;
    if (walk?.kind !== kind) walk = { kind, mm: 0, point: picked };
    walk.mm += mm;
    const waits = walk;
    ask("/api/walk", kind, () => {
      walk = undefined;
      return moved(waits.point, { towards, step_mm: waits.mm });
    }, "POST", since, () => [moved(waits.point, { towards, step_mm: mm })]);
  },
  // What is told above the picture must not push it away under the hand.
  hold(on) {
    const head = document.querySelector("header");
    head.style.height = on ? `${head.offsetHeight}px` : "";
    head.classList.toggle("held", on);
  },
  // Nothing to say takes back what was said.
  complain(what, advice) {
    tell([what, advice].filter(Boolean).join(" "), false);
  },
};
// Two thousand cars are built when the hand rests: while it moves they would be those of a car that is gone, and take the time of its curves.
const build = atRest(REST_MS, Infinity, () => follow("/api/odds", odds));
// Where the picked point goes while answers are on their way.
let wanted;
// Steps along a tube or in the plane of a room that wait to go out.
let walk;
// The name for the file that the server gave last.
let offered = "";
// The curves of a car are painted first: what else is to be shown of it waits until the hand is still for a moment, or ten times a second.
let late;
// Why the car is looked at anew: another start of the program, a change in another window.
let startedAnew = false, elsewhere = false;
const catchUpSoon = atRest(50, 100, () => catchUp());

const axle = new Axle(byId("picture"), hand);
const points = new Points(hand);

// What a request that was done is told with; any other that changes the car takes back what was said of the one before. `before` is the
// car that was shown before it: pinned car and other variant take the place of each other beside it.
const instead = (before) => (before.has_pinned && !before.beside ? "; limits and curves are compared with it now, no longer with the pinned car" : "");
// A file holds every point in its room: that of a point which stands beyond it now reaches there.
const grown = (before) => {
  const points = before.points.filter((point) => point.out_of_room.length);
  const told = points.map((point) => `${point.side} ${point.name} stood ${point.out_of_room.join(", ")}`);
  return told.length ? `${told.join("; ")}: \`free\` in the file now reaches to where it stands, so \`tune\` may too.` : "";
};
const DONE = {
  "/api/pin": () => "Pinned: limits and curves are compared with this car from here on"
    + `${car.other ? `, no longer with variant ${car.other}; Show ${car.other} compares the two variants again` : ""}.`,
  "/api/copy": (before) => `This car is kept as variant ${car.other} too${instead(before)}.`,
  "/api/switch": (before) => (instead(before) ? `Variant ${car.letter} is shown, and limits and curves compare it with ${car.other}, no longer with the pinned car.` : ""),
  "/api/reread": () => `Read ${car.source} again; undo brings back what was moved here.`,
  "/api/save": (before) => [`Saved ${car.saved}.`, grown(before), car.plan].filter(Boolean).join(" "),
};
const STEPS = ["/api/nudge", "/api/walk"];
// After these the box has the name of the file that is shown, whatever stood in it.
const OF_ITS_FILE = ["/api/save", "/api/reread", "/api/switch"];

function tell(words, good) {
  set(byId("message"), { textContent: words });
  byId("message").classList.toggle("good", good);
}

// Points that an earlier start of the program had and this one has not, while the parts are the same.
function lost(before) {
  if (!before.changed || before.source !== car.source || before.name !== car.name) return [];
  const moved = before.points.map((old) => [car.points.find((point) => keyOf(point) === keyOf(old)), old.at_mm]);
  return moved.every(([point]) => point) ? moved.filter(([point, place]) => place.some((mm, k) => Math.abs(mm - point.at_mm[k]) > 1e-6)) : [];
}

function tellStartedAnew(before) {
  tell(`hubtrace was started anew: this is ${car.source} as it has it now.`, false);
  const back = lost(before);
  if (!back.length) return;
  byId("message").append(" What was moved here and not saved is not in it. ");
  const button = element("button", `Put ${back.length === 1 ? "the moved point" : `the ${back.length} moved points`} back`);
  button.type = "button";
  button.addEventListener("click", () => back.forEach(([point, place]) => hand.move(point, place, 0, [performance.now()])));
  byId("message").append(button);
}

onAnswer((answer, request, isAnew) => {
  // A posture of a car that is not the one shown.
  if (!answer.points && car && (isAnew || answer.revision !== car.revision) && request.method === "GET") {
    startedAnew ||= isAnew;
    look();
  }
  posture = answer;
  if (answer.points) {
    const before = car;
    car = answer;
    wanted = request.path === "/api/nudge" ? wanted : undefined;
    if (request.kind !== "look") tell(DONE[request.path]?.(before) ?? "", true);
    else if (isAnew || startedAnew) tellStartedAnew(before);
    else if (elsewhere && before?.revision !== car.revision) tell("The car was changed in another window: this is how it is now.", true);
    startedAnew = elsewhere = false;
    if (OF_ITS_FILE.includes(request.path)) byId("file-name").value = offered = car.file_name;
    picked = car.points.find((point) => picked && keyOf(point) === keyOf(picked)) ?? car.points[1];
    if (wanted && wanted.place.every((mm, k) => Math.abs(mm - picked.at_mm[k]) < 1e-6)) wanted = undefined;
    curves.choice(car.chart_names);
    curves.show(car.charts);
    late = besideCurves;
    if (car.revision !== counted) build();
  } else {
    present();
  }
  painted(request, catchUpSoon);
  if (playing) requestAnimationFrame(playing);
}, (refusal, request, status) => {
  catchUp();
  wanted = undefined;
  const advice = refusal.advice ? `\n${refusal.advice}` : "";
  const other = refusal.other_name ? `\nThe box now has a free name, ${refusal.other_name}: Save writes it.` : "";
  const isTold = status === 422 && STEPS.includes(request.path);
  // At the point itself, once.
  tell(isTold ? "" : `${refusal.what}${advice}${other}`, false);
  if (refusal.other_name) byId("file-name").value = refusal.other_name;
  if (STEPS.includes(request.path)) points.fill();
  if (isTold) {
    byId("at-point").hidden = false;
    byId("at-point").textContent = `${picked.name} cannot go there: ${refusal.what}${advice}`;
  }
  if (status === 409) stands();
  // What is shown may be older than the car: ask what stands.
  if ((status === 409 || status >= 500) && request.kind !== "look" && !refusal.other_name) look();
});

function catchUp() {
  const act = late;
  late = undefined;
  act?.();
}

function besideCurves() {
  head();
  results(car);
  present(true);
  if (car.revision === counted) return;
  counted = car.revision;
  // Advice on another car is wrong advice.
  lines("advice", []);
}

function head() {
  const { unit, unit_mm: mm } = car;
  const words = (id, textContent) => set(byId(id), { textContent });
  set(document, { title: `${car.changed ? "• " : ""}${car.name}: hubtrace` });
  words("car-name", car.name);
  const stage = car.changed ? `changed, not saved${car.plan ? ": a plan for the built car" : ""}` : car.stage;
  document.querySelectorAll("[data-of]").forEach((head) => {
    set(head, { textContent: head.dataset.of + (car.other ? ` of variant ${car.letter}` : "") });
  });
  words("car-state", `${car.other ? `variant ${car.letter}: ` : ""}${car.source}, ${stage}${car.demo ? "; results are the demo car's" : ""}`);
  const [count = "", names = ""] = car.starter ?? [];
  const starter = byId("starter");
  set(starter, { hidden: !count });
  set(starter.firstChild, { textContent: count });
  set(starter.lastChild, { textContent: names || "All of them." });
  // A button that works no more hands the keyboard on to the one that does.
  const held = ["undo", "redo"].find((id) => document.activeElement === byId(id));
  for (const [id, told] of [["undo", car.undo], ["redo", car.redo]]) set(byId(id), { disabled: !told, title: told ?? "" });
  if (held && byId(held).disabled) byId(held === "undo" ? "redo" : "undo").focus();
  const aside = car.letter === "A" ? "B" : "A";
  words("copy", `Copy to ${aside}`);
  words("switch", `Show ${aside}`);
  set(byId("switch"), { hidden: !car.other });
  // A name that was typed stays until it is saved under.
  const file = byId("file-name");
  if (document.activeElement !== file && [offered, ""].includes(file.value)) set(file, { value: car.file_name });
  offered = car.file_name;
  set(byId("reread"), { hidden: car.demo });
  const { bump_mm: bump, droop_mm: droop, roll_deg: roll } = car.travel;
  set(byId("bump"), { min: String(-droop), max: String(bump), value: String(at.bump_mm) });
  set(byId("roll"), { min: String(-roll), max: String(roll), value: String(at.roll_deg) });
  const travel = `${(Math.abs(at.bump_mm) / mm).toFixed(mm === 1 ? 1 : 3)} ${unit}`;
  const way = at.bump_mm < 0 ? " droop" : at.bump_mm > 0 ? " bump" : "";
  // In roll the wheels go on from there, each its own way: what the slider then sets is the height of the body.
  words("bump-name", at.roll_deg ? "Ride height before the roll" : "Wheel travel, both wheels");
  words("bump-out", at.roll_deg && way ? `${travel} ${at.bump_mm < 0 ? "up" : "down"}` : `${travel}${way}`);
  const up = at.roll_deg < 0 ? ", right side up" : at.roll_deg > 0 ? ", left side up" : "";
  words("roll-out", `${at.roll_deg.toFixed(2)} deg${up}`);
  lines("cautions", car.cautions, "p");
  set(byId("welcome"), { hidden: !car.demo || localStorage.getItem("welcome") === "done" });
}

function present(soon) {
  if (!car) return;
  const wrong = picked.wrong ? `${picked.name}: ${picked.told.join("; ")}` : "";
  set(byId("at-point"), { hidden: !wrong, textContent: wrong });
  points.show(car, picked);
  axle.stand(car.tubes);
  axle.show(posture, car.points, picked, soon);
  standing(posture);
}

function stood() {
  head();
  stand(performance.now());
}

byId("bump").addEventListener("input", (event) => { at.bump_mm = Number(event.target.value); stood(); });
byId("roll").addEventListener("input", (event) => { at.roll_deg = Number(event.target.value); stood(); });
byId("level").addEventListener("click", () => { Object.assign(at, { bump_mm: 0, roll_deg: 0 }); stood(); });
byId("play").addEventListener("click", (event) => {
  const on = !playing;
  event.target.setAttribute("aria-pressed", on);
  event.target.textContent = on ? "Stop" : "Play";
  const begun = performance.now();
  playing = on ? () => {
    const share = Math.sin((performance.now() - begun) / 900);
    at.bump_mm = share * (share > 0 ? car.travel.bump_mm : car.travel.droop_mm);
    stood();
  } : undefined;
  playing?.();
});
byId("undo").addEventListener("click", () => step("/api/undo"));
byId("redo").addEventListener("click", () => step("/api/redo"));
for (const act of ["pin", "copy", "switch"]) byId(act).addEventListener("click", () => step(`/api/${act}`));
const howItStands = tuner(byId("tune"), ({ what, advice }) => tell(`${what}: ${advice}`, false), (words, good) => {
  look();
  tell(words, good);
});
// Shows a car and a tuning that another window changed: asked when the hand comes back to this one.
async function stands() {
  if (document.hidden) return;
  const now = await howItStands().catch(() => undefined);
  if (!now || !car || !isIdle() || (now.run === run() && now.revision === revision())) return;
  elsewhere = now.run === run();
  look();
}
addEventListener("focus", stands);
document.addEventListener("visibilitychange", stands);
document.documentElement.addEventListener("pointerenter", stands);
byId("reread").addEventListener("click", () => step("/api/reread"));
byId("save").addEventListener("click", () => {
  const name = byId("file-name").value.trim();
  if (!name && !car.demo) {
    tell(`The file has no name: type one, for example ${car.file_name}. Nothing was written.`, false);
    byId("file-name").focus();
    return;
  }
  ask("/api/save", "", () => ({ revision: revision(), name: name || null, show: show() }));
});
byId("welcome-done").addEventListener("click", () => {
  localStorage.setItem("welcome", "done");
  byId("welcome").hidden = true;
  byId("picture").focus();
});
byId("closer").addEventListener("click", () => axle.closer(1.25));
byId("further").addEventListener("click", () => axle.closer(1 / 1.25));
document.querySelectorAll("[data-view]").forEach((button) => button.addEventListener("click", () => axle.view(button.dataset.view, picked.side)));
PHONE.addEventListener("change", look);
addEventListener("keydown", (event) => {
  const typing = event.target.matches("input:not([type=range])") && !points.isAsShown(event.target);
  if (!(event.ctrlKey || event.metaKey) || typing) return;
  const path = { z: event.shiftKey ? "/api/redo" : "/api/undo", y: "/api/redo" }[event.key.toLowerCase()];
  if (!path) return;
  event.preventDefault();
  step(path);
});
look();
stands();
