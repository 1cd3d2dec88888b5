// Limits, sentences and curves. Names come from files, so everything is set as text; curves are drawn by the server.

import { byId, element, set, swap } from "/dom.js";

const line = (words, kind = "li") => element(kind, words, words.startsWith("FAIL") || / FAIL /.test(words) ? "fail" : "");

export function lines(id, sentences, kind) {
  swap(byId(id), sentences.map((words) => line(words, kind)));
}

// What is said of each wheel stands under its name.
export function standing({ stands, wheels }) {
  const ofWheel = ({ name, told }) => {
    const made = element("li", name), list = element("ul");
    list.append(...told.map((words) => line(words)));
    made.append(list);
    return made;
  };
  // In the picture too, where a wheel that cannot stand there is missing.
  set(byId("stands"), { hidden: !stands.length, textContent: stands.join(" ") });
  swap(byId("posture"), [...stands.map((words) => line(words)), ...wheels.map(ofWheel)]);
}

export function results(car) {
  set(byId("totals"), { textContent: car.totals });
  lines("told", car.told);
  lines("gaps", car.gaps.length ? car.gaps : ["The file gives no parts that could touch."]);
  const beside = car.limits.some((row) => row.beside.length);
  const heads = car.beside ? ["A", "B"].map((letter) => (letter === car.letter ? `${letter}, shown` : letter))
    : ["now", ...(beside ? [car.beside_name] : [])];
  const head = element("tr", undefined, car.beside && "two");
  head.append(...["quantity", ...heads, "limit", ...(car.beside ? [] : ["margin", "verdict"])].map((words) => {
    const cell = element("th", words);
    cell.scope = "col";
    return cell;
  }));
  swap(document.querySelector("#limits thead"), [head]);
  swap(document.querySelector("#limits tbody"), car.limits.map((row) => {
    const line = element("tr", undefined, car.beside && "two");
    const name = element("th", row.name);
    name.scope = "row";
    name.title = row.over;
    line.append(name, ...(car.beside ? variants(car, row) : against(row, beside)));
    return line;
  }));
}

// Of two wheels each says whose it is.
const ofWheels = ([left, right]) => (right === undefined || (left === "-" && right === "-") ? left ?? "" : `left ${left}, right ${right}`);
const figures = (found, unit) => {
  const words = ofWheels(found);
  return unit && /\d/.test(words) ? `${words} ${unit}` : words;
};
// The unit stands behind the last number, before a remark: `≥5 mm (taken)`, `-0.021 deg, left wheel`.
const measured = (words, unit) => (unit ? words.replace(/^[^(,]*\d/, (number) => `${number} ${unit}`) : words);
// With the place where a limit is broken most.
const judged = (kind, words, at, state, reason) => {
  const made = element(kind, words, { pass: "pass", fail: "fail" }[state] ?? "");
  if (reason) made.title = reason;
  // A blank inside would be lost where the part is a box of its own.
  if (at) made.append(" ", element("small", `at ${at}`));
  return made;
};

// Now, the car that it is compared with, limit, margin and verdict.
function against(row, beside) {
  const before = beside ? [element("td", figures(row.beside, row.unit), "before")] : [];
  const verdict = judged("td", row.verdict, row.fails_at, row.state, row.reason);
  const [limit, margin] = [row.limit, row.margin].map((words) => element("td", measured(words, row.unit)));
  return [element("td", figures(row.found, row.unit)), ...before, limit, margin, verdict];
}

// Variant A and variant B, each with its verdict and margin, and the limit.
function variants(car, row) {
  const cell = (found, verdict, at, state, margin) => {
    const made = element("td", `${figures(found, row.unit)} `);
    made.append(judged("span", verdict, at, state, row.reason));
    if (/\d/.test(margin)) made.append(" ", element("small", `margin ${measured(margin, row.unit)}`));
    return made;
  };
  const shown = cell(row.found, row.verdict, row.fails_at, row.state, row.margin);
  const other = cell(row.beside, row.beside_verdict, row.beside_fails_at, row.beside_state, row.beside_margin);
  return [...(car.letter === "A" ? [shown, other] : [other, shown]), element("td", measured(row.limit, row.unit))];
}

// Of the car that is shown, and of the other variant beside it.
export function odds({ cars }) {
  const [shown] = cars;
  lines("advice", shown.advice);
  lines("runs-out", shown.runs_out);
  const both = [...cars].sort((a, b) => a.letter.localeCompare(b.letter));
  lines("odds", both.flatMap(({ letter, told }) => told.map((words) => (cars.length > 1 ? `${letter}: ${words}` : words))));
}

// Puts a drawing into a figure; only what is another in its elements is set anew. A drawing is one list of elements.
function draw(figure, svg) {
  const [head, ...elements] = svg.replace("</svg>", "").split(/(?=<[a-z])/);
  let drawn = figure.firstElementChild;
  if (figure.head === head) {
    redraw(drawn, figure.elements, elements);
  } else {
    drawn = made(`${head}${elements.join("")}</svg>`);
    figure.replaceChildren(drawn);
  }
  const words = [...drawn.querySelectorAll("text")].slice(0, 2).map((text) => text.textContent.trim());
  set(drawn, { role: "img", ariaLabel: words.join(". ") });
  // One for a phone is read as it is.
  figure.classList.toggle("narrow", drawn.viewBox.baseVal.width < 5000);
  Object.assign(figure, { head, elements });
}

function made(markup) {
  const sheet = document.createElement("template");
  sheet.innerHTML = markup;
  return sheet.content.firstElementChild;
}

// Elements of the same text stay; between two of them the old ones become the new ones.
function redraw(drawn, old, elements) {
  const nodes = [...drawn.children], places = new Map(old.map((text, k) => [text, k]));
  const stays = [];
  elements.forEach((text, j) => {
    const k = places.get(text);
    if (k > (stays.at(-1)?.[0] ?? -1)) stays.push([k, j]);
  });
  let [k, j] = [0, 0];
  for (const [kept, at] of [...stays, [old.length, elements.length]]) {
    for (; j < at; j += 1) {
      if (k < kept) become(nodes[k], old[k++], elements[j]);
      else drawn.insertBefore(made(`<svg>${elements[j]}</svg>`).firstElementChild, nodes[kept] ?? null);
    }
    for (; k < kept; k += 1) nodes[k].remove();
    [k, j] = [kept + 1, at + 1];
  }
}

const ELEMENT = /^<([a-z]+)([^>&]*?)\/?>([^<&]*)(<\/[a-z]+>)?\s*$/, ATTRIBUTE = /([\w-]+)="([^"]*)"/g;

// An element with the same attributes as before is kept, for a new one costs the page more.
function become(node, before, after) {
  const [was, is] = [before, after].map((text) => ELEMENT.exec(text));
  const [had, has] = [was, is].map((found) => (found ? [...found[2].matchAll(ATTRIBUTE)] : []));
  const isSameKind = was && is && was[1] === is[1] && had.length === has.length && had.every(([, name], k) => name === has[k][1]);
  if (!isSameKind) {
    node.replaceWith(made(`<svg>${after}</svg>`).firstElementChild);
    return;
  }
  has.forEach(([, name, value], k) => { if (value !== had[k][2]) node.setAttribute(name, value); });
  if (was[3] !== is[3]) node.textContent = is[3];
}

const SHOWN_FIRST = ["toe.svg", "camber.svg"];

export class Curves {
  constructor(ask) {
    this.ask = ask;
    this.wanted = new Set(SHOWN_FIRST);
  }

  names() {
    return [...this.wanted];
  }

  choice(names) {
    const key = names.join();
    if (key === this.key) return;
    this.key = key;
    byId("chart-choice").replaceChildren(...names.map((name) => {
      const label = element("label");
      const box = element("input");
      box.type = "checkbox";
      box.checked = this.wanted.has(name);
      box.addEventListener("change", () => {
        box.checked ? this.wanted.add(name) : this.wanted.delete(name);
        this.ask();
      });
      label.append(box, ` ${name.replace(".svg", "").replaceAll("-", " ")}`);
      return label;
    }));
  }

  show(charts) {
    const home = byId("charts");
    const kept = new Map([...home.children].map((figure) => [figure.chart, figure]));
    const figures = charts.filter(({ name }) => this.wanted.has(name)).map(({ name, svg }) => {
      const figure = kept.get(name) ?? Object.assign(element("figure"), { chart: name, tabIndex: 0 });
      if (figure.svg !== svg) {
        figure.svg = svg;
        draw(figure, svg);
      }
      return figure;
    });
    if (figures.length !== home.children.length || figures.some((figure, k) => home.children[k] !== figure)) {
      home.replaceChildren(...figures);
    }
  }
}
