// Readings typed in at the car: each goes to the computer, which checks it and writes the file.

const byId = (id) => document.getElementById(id);
const element = (name, words) => Object.assign(document.createElement(name), { textContent: words });
const LABELS = {
  angle: ["Toe, deg, toe-in positive", "Camber, deg, top outboard positive (may be left out)", "toe", "camber"],
  plate: ["Front dial, mm, outward positive", "Rear dial, mm, outward positive", "front", "rear"],
};

// A reading that the computer wants to see once more before it is written down.
let refused;

function tell(words, good = false) {
  byId("message").textContent = words;
  byId("message").classList.toggle("good", good);
}

async function ask(path, body) {
  const options = body && { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body) };
  try {
    const response = await fetch(path, options);
    const answer = response.status === 204 ? {} : await response.json();
    if (response.ok) return answer;
    refused = answer.ask_again ? JSON.stringify(body.reading) : undefined;
    if (response.status === 401) show(undefined);
    if (response.status !== 401 || path === "/api/code") tell(`${answer.what}\n${answer.advice}`);
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
  box.focus();
}));
byId("reading").addEventListener("submit", async (event) => {
  event.preventDefault();
  const plate = { width_mm: Number(number("width")) || 0, zeroed: byId("zeroed").checked };
  const reading = {
    side: side(), bump: number("bump"), values: [number("first"), number("second")], session: byId("session").value,
  };
  const view = await ask("/api/readings", {
    gauge: byId("gauge").value === "plate" ? { plate } : "angle", reading, anyway: refused === JSON.stringify(reading),
  });
  if (!view) return;
  refused = undefined;
  tell(`Written: ${side()} at ${number("bump")} mm.`, true);
  for (const id of ["bump", "first", "second"]) byId(id).value = "";
  show(view);
  byId("bump").focus();
});
for (const [id, path, words] of [["back", "/api/readings/back", "Taken back."], ["new", "/api/readings/new", "The next reading begins a new file."]]) {
  byId(id).addEventListener("click", async () => {
    const view = await ask(path, {});
    if (!view) return;
    tell(words, true);
    show(view);
  });
}
const first = await ask("/api/readings");
if (first) show(first);
