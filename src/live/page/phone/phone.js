// Readings typed in at the car: each goes to the computer, which checks it and writes the file.

const byId = (id) => document.getElementById(id);
const element = (name, words) => Object.assign(document.createElement(name), { textContent: words });
const LABELS = {
  angle: ["Toe, deg, toe-in positive", "Camber, deg, top outboard positive (may be left out)", "toe, deg", "camber, deg"],
  plate: ["Front dial, mm, outward positive", "Rear dial, mm, outward positive", "front, mm", "rear, mm"],
};

const WRITE = "Write down";
const ANEW = "Begin a new file";

// A reading that the computer wants to see once more before it is written down.
let refused;
// What was pressed last: a message stands above it, where the thumb is.
let pressed = byId("entry");

function tell(words, good = false) {
  const message = byId("message");
  message.textContent = words;
  message.classList.toggle("good", good);
  pressed.before(message);
  // The button below it too, whose words may be a question by now.
  if (words) [message, pressed].forEach((part) => part.scrollIntoView({ block: "nearest" }));
}

// Marks the box that holds what was found; none takes the mark away.
function mark(field) {
  document.querySelectorAll("[aria-invalid]").forEach((box) => box.removeAttribute("aria-invalid"));
  if (!field) return;
  byId(field).setAttribute("aria-invalid", "true");
  byId(field).setAttribute("aria-errormessage", "message");
}

// A button that wanted to be pressed twice asks anew.
function forget() {
  refused = undefined;
  byId("add").textContent = WRITE;
  byId("new").textContent = ANEW;
  mark();
}

// What was found of another reading is no longer true.
function changed() {
  forget();
  if (!byId("message").classList.contains("good")) tell("");
}

async function ask(path, body) {
  const options = body && { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body) };
  try {
    const response = await fetch(path, options);
    const answer = response.status === 204 ? {} : await response.json();
    if (response.ok) return answer;
    if (answer.ask_again) {
      refused = JSON.stringify(body.reading);
      byId("add").textContent = answer.ask_again;
    }
    if (response.status === 401) show(undefined);
    if (response.status !== 401 || path === "/api/code") tell(`${answer.what}\n${answer.advice}`);
    mark(answer.field);
  } catch {
    tell("The computer does not answer.\nIs hubtrace still running there, and the phone in the same network?");
  }
}

function show(view) {
  byId("entry").hidden = Boolean(view);
  byId("inside").hidden = !view;
  if (!view) return byId("code").focus();
  byId("car").textContent = view.car;
  byId("travel").textContent = `Droop is negative; the file has ${view.bump_mm[0]} to ${view.bump_mm[1]} mm.`;
  const taken = view.readings.length > 0;
  if (taken) {
    const { plate } = view.gauge;
    byId("gauge").value = plate ? "plate" : "angle";
    if (plate) {
      byId("width").value = plate.width_mm;
      byId("zeroed").checked = plate.zeroed;
    }
  }
  for (const id of ["gauge", "width", "zeroed"]) byId(id).disabled = taken;
  gauge();
  const [, , first, second] = LABELS[byId("gauge").value];
  const head = element("tr", "");
  head.append(...["side", "height, mm", first, second, "session"].map((words) => element("th", words)));
  document.querySelector("#table thead").replaceChildren(...(taken ? [head] : []));
  document.querySelector("#table tbody").replaceChildren(...[...view.readings].reverse().map(({ side, bump, values, session }) => {
    const line = element("tr", "");
    line.append(...[side, bump, ...values, session].map((words) => element("td", words)));
    return line;
  }));
  byId("told").replaceChildren(...view.told.map((words) => element("li", words)));
  byId("back").disabled = byId("new").disabled = !taken;
  byId("file").textContent = taken ? `${view.readings.length} written into ${view.file} beside the geometry.` : "None yet.";
  byId("next").textContent = view.command ? "When all is read, run on the computer:" : "";
  byId("command").textContent = view.command ?? "";
}

function gauge() {
  const kind = byId("gauge").value;
  document.querySelectorAll(".plate").forEach((part) => { part.hidden = kind !== "plate"; });
  document.querySelectorAll(".angle").forEach((part) => { part.hidden = kind !== "angle"; });
  const both = document.querySelector("input[name=side][value=both]");
  if (kind === "plate" && both.checked) document.querySelector("input[name=side]").checked = true;
  [byId("first-label").textContent, byId("second-label").textContent] = LABELS[kind];
}

// Number keys of many languages have a comma and no point.
const number = (id) => byId(id).value.trim().replace(",", ".");
const side = () => document.querySelector("input[name=side]:checked").value;

byId("entry").addEventListener("submit", async (event) => {
  event.preventDefault();
  pressed = document.querySelector("#entry button");
  // An empty one is no try.
  if (byId("code").value.trim() === "") return tell("Type the code that the terminal shows.");
  if (await ask("/api/code", { code: byId("code").value })) {
    tell("");
    show(await ask("/api/readings"));
  }
});
byId("gauge").addEventListener("change", gauge);
// A phone's number keys may have no minus.
document.querySelectorAll("[data-sign]").forEach((button) => button.addEventListener("click", () => {
  const box = byId(button.dataset.sign);
  box.value = box.value.startsWith("-") ? box.value.slice(1) : `-${box.value}`;
  changed();
  box.focus();
}));
// One reading at a time: a second tap on the button is none.
let writing = false;
byId("reading").addEventListener("submit", async (event) => {
  event.preventDefault();
  const isWritten = byId("message").classList.contains("good") && !number("bump") && !number("first");
  if (writing || isWritten) return;
  writing = true;
  await write();
  writing = false;
});

async function write() {
  pressed = byId("add");
  const plate = { width_mm: Number(number("width")) || 0, zeroed: byId("zeroed").checked };
  const reading = {
    side: side(), bump: number("bump"), values: [number("first"), number("second")], session: byId("session").value,
  };
  const anyway = refused === JSON.stringify(reading);
  forget();
  const view = await ask("/api/readings", { gauge: byId("gauge").value === "plate" ? { plate } : "angle", reading, anyway });
  if (!view) return;
  tell(`Written: ${reading.side} at ${reading.bump} mm.`, true);
  for (const id of ["bump", "first", "second"]) byId(id).value = "";
  show(view);
  byId("bump").focus();
}
byId("reading").addEventListener("input", changed);
async function list(path, words) {
  pressed = document.querySelector("#so-far .tools");
  const view = await ask(path, {});
  if (!view) return;
  tell(words, true);
  show(view);
}
byId("back").addEventListener("click", () => {
  forget();
  list("/api/readings/back", "Taken back.");
});
byId("new").addEventListener("click", () => {
  const asked = byId("new").textContent !== ANEW;
  forget();
  if (asked) return list("/api/readings/new", "The next reading begins a new file.");
  pressed = document.querySelector("#so-far .tools");
  tell("The readings so far stay in their file, but no more can be added to it or taken back here.");
  byId("new").textContent = "Press again to begin a new file";
});
// Without the code nothing is asked that would be refused.
const isIn = await ask("/api/inside");
if (isIn === false) show(undefined);
const first = isIn && await ask("/api/readings");
if (first) show(first);
