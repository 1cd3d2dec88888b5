// The list of points, the three coordinates of the picked one, and what is said of it.

import { byId, element, set, swap } from "/dom.js";

const AXES = ["x", "y", "z"];
// Number keys of many languages have a comma and no point; a unit that is written behind the number counts.
const TYPED = /^([+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?)\s*(mm|in|inch|inches|")?$/i;

export const keyOf = (point) => `${point.side} ${point.name}`;

export class Points {
  constructor(hand) {
    this.hand = hand;
    this.list = [];
    this.choice = byId("point");
    this.boxes = AXES.map((axis) => byId(`at-${axis}`));
    this.choice.addEventListener("change", () => {
      this.right();
      hand.find(this.list.find((point) => keyOf(point) === this.choice.value));
    });
    this.boxes.forEach((box, k) => {
      box.addEventListener("change", (event) => this.typed(k, event.timeStamp));
      box.addEventListener("input", () => {
        box.isTyped = true;
        this.right();
      });
      box.addEventListener("blur", () => {
        box.isTyped = false;
        if (this.picked) this.fill();
      });
      box.addEventListener("keydown", (event) => {
        if (event.key === "Escape") {
          box.isTyped = false;
          this.right();
          this.fill();
        }
        const by = { ArrowUp: 1, ArrowDown: -1 }[event.key];
        if (!by) return;
        event.preventDefault();
        // What was typed is taken first; the step would begin where the point was.
        if (box.isTyped) this.typed(k, event.timeStamp);
        else hand.step(k, by, event);
      });
      const [less, more] = box.parentElement.querySelectorAll("button");
      less.addEventListener("click", (event) => hand.step(k, -1, event));
      more.addEventListener("click", (event) => hand.step(k, 1, event));
    });
  }

  /** A coordinate box in which nothing was typed since it was filled. */
  isAsShown(box) {
    const k = this.boxes.indexOf(box);
    return k >= 0 && box.value === this.text(this.picked.at_mm[k]);
  }

  // What was no number is gone.
  right() {
    if (this.wrong) this.hand.complain("", "");
    this.wrong = false;
  }

  typed(k, since) {
    const words = this.boxes[k].value.trim();
    this.boxes[k].isTyped = false;
    const [, digits, unit] = TYPED.exec(words.replace(",", ".").replace("\u2212", "-")) ?? [];
    const number = Number(digits);
    if (!Number.isFinite(number)) {
      this.wrong = true;
      this.hand.complain("That is no number.",
        `“${words}” was typed: write the ${AXES[k]} of the point, for example ${this.text(this.picked.at_mm[k])}.`);
      return this.fill();
    }
    const place = [...this.picked.at_mm];
    const unitMm = unit ? (unit.toLowerCase() === "mm" ? 1 : 25.4) : this.unitMm;
    place[k] = Number((number * unitMm).toFixed(6));
    this.hand.move(this.picked, place, 0, [since]);
  }

  // As fine as anybody welds: a tuned place has more digits.
  text(mm) {
    return String(Number((mm / this.unitMm).toFixed(this.unitMm === 1 ? 2 : 3)));
  }

  show({ points, steps, unit, unit_mm: unitMm }, picked) {
    this.unitMm = unitMm;
    set(byId("unit"), { textContent: unit === "in" ? "inches" : unit });
    document.querySelectorAll("input[name=step]").forEach((box, k) => {
      set(box, { value: String(steps[k].mm) });
      set(box.nextElementSibling, { textContent: steps[k].words });
    });
    const keys = points.map(keyOf).join("\n");
    if (keys !== this.keys) {
      this.keys = keys;
      const sides = new Set(points.map((point) => point.side));
      this.choice.replaceChildren(...points.map((point) => new Option(sides.size > 1 ? keyOf(point) : point.name, keyOf(point))));
    }
    this.list = points;
    // What is being typed is about the point that was picked.
    if (!this.picked || keyOf(picked) !== keyOf(this.picked)) this.boxes.forEach((box) => { box.isTyped = false; });
    this.picked = picked;
    this.fill();
  }

  fill() {
    const { picked } = this;
    set(this.choice, { value: keyOf(picked) });
    this.boxes.forEach((box, k) => {
      if (!box.isTyped) set(box, { value: this.text(picked.at_mm[k]) });
      box.classList.toggle("room", Boolean(picked.room_mm[k]));
      set(byId(`room-${AXES[k]}`), { hidden: !picked.room_mm[k] });
    });
    set(byId("ride-choice"), { hidden: !picked.rides_on });
    set(byId("rides-on"), { textContent: picked.rides_on ?? "" });
    const told = picked.told.length ? picked.told : ["The file gives this point no room to move: `free` of its part says what may be built."];
    swap(byId("point-told"), told.map((words) => element("li", words, picked.wrong ? "wrong" : "")));
  }
}
