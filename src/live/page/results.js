// Limits, sentences and curves. Names come from files, so everything is set as text; curves are drawn by the server.

const byId = (id) => document.getElementById(id);
const element = (name, words, kind) => {
  const made = document.createElement(name);
  if (words !== undefined) made.textContent = words;
  if (kind) made.className = kind;
  return made;
};
const lines = (id, sentences) => byId(id).replaceChildren(...sentences.map((words) =>
  element("li", words, words.startsWith("FAIL") || / FAIL /.test(words) ? "fail" : "")));

export function results(car) {
  byId("totals").textContent = car.totals;
  lines("told", car.told);
  lines("gaps", car.gaps.length ? car.gaps : ["The file gives no parts that could touch."]);
  const beside = car.limits.some((row) => row.pinned.length);
  const heads = ["", "now", ...(beside ? ["pinned"] : []), "limit", "verdict"];
  const head = element("tr");
  head.append(...heads.map((words) => element("th", words)));
  head.children[0].append(element("span", "quantity"));
  document.querySelector("#limits thead").replaceChildren(head);
  document.querySelector("#limits tbody").replaceChildren(...car.limits.map((row) => {
    const line = element("tr");
    const name = element("th", row.name);
    name.scope = "row";
    name.title = row.over;
    const unit = row.unit ? ` ${row.unit}` : "";
    line.append(name, element("td", row.found.join(" / ") + unit));
    if (beside) line.append(element("td", row.pinned.join(" / "), "before"));
    const kind = { pass: "pass", fail: "fail" }[row.state] ?? "";
    const verdict = element("td", row.verdict, kind);
    if (row.reason) verdict.title = row.reason;
    line.append(element("td", row.limit), verdict);
    return line;
  }));
}

export function odds(answer) {
  lines("advice", answer.advice);
  lines("odds", answer.told);
  lines("runs-out", answer.runs_out);
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
    const kept = new Map([...home.children].map((figure) => [figure.dataset.chart, figure]));
    const figures = charts.filter(({ name }) => this.wanted.has(name)).map(({ name, svg }) => {
      const figure = kept.get(name) ?? element("figure");
      figure.dataset.chart = name;
      if (figure.svg !== svg) {
        figure.innerHTML = svg;
        figure.svg = svg;
        const drawn = figure.querySelector("svg");
        const words = [...drawn.querySelectorAll("text")].slice(0, 2).map((text) => text.textContent.trim());
        drawn.setAttribute("role", "img");
        drawn.setAttribute("aria-label", words.join(". "));
      }
      return figure;
    });
    if (figures.length !== home.children.length || figures.some((figure, k) => home.children[k] !== figure)) {
      home.replaceChildren(...figures);
    }
  }
}
