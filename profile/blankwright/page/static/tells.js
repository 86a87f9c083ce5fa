/* What the knife says of itself: weight, balance, findings with their place, what moves it, holes, what to buy. */

import { anew, h, s } from "./dom.js";

export class Tells {
  constructor(head, place, point) {
    this.point = point;
    this.head = head;
    this.less = h("div", { className: "figures less" });
    this.why = h("p", { className: "why", hidden: true });
    this.findings = h("div", { className: "card" });
    this.section = h("div", { className: "card section" });
    this.moves = h("div", { className: "card" });
    this.holes = h("div", { className: "card" });
    this.needs = h("div", { className: "card needs" });
    place.append(this.less, this.why, h("div", { className: "cards" }, this.findings, this.section, this.moves, this.holes, this.needs));
  }

  rest(rest) {
    const w = rest.weight, bad = rest.findings.filter((f) => f.level !== "ok");
    const less = () => [figure("blank", w.blank), figure("area", rest.area)];
    anew(this.head, [w, rest.area], () => [figure("weight", w.knife ?? "not known"), figure("balance", w.balance ?? "not known"), ...less()]);
    anew(this.less, [w.blank, rest.area], less);
    this.why.hidden = !w.why_not;
    if (this.why.textContent !== w.why_not) this.why.textContent = w.why_not ?? "";
    anew(this.findings, [rest.findings, rest.figures], () => [
      h("h2", {}, bad.length ? "To look at" : "Checks"),
      h("ul", {}, ...(bad.length ? bad : [{ level: "ok", text: `All ${rest.findings.length} checks of the design are in order.` }]).map((f) => this.finding(f)),
        ...rest.figures.map((f) => this.finding({ ...f, level: "figure" }))),
    ]);
    this.showSection(rest.section);
    anew(this.holes, rest.pins, () => [h("h2", {}, "Holes"), rest.pins.length
      ? h("ul", {}, ...rest.pins.map((p) => h("li", {}, this.place(`${p.words}: ${p.how}`, p.at), h("small", {}, p.why))))
      : h("p", {}, "None.")]);
  }

  finding(f) {
    return h("li", { className: f.level }, f.at ? this.place(f.text, f.at) : f.text);
  }

  place(text, at) {
    return h("button", { type: "button", className: "place", onclick: () => this.point(at) }, text);
  }

  showSection(section) { anew(this.section, section, () => [h("h2", {}, "Section"), ...slice(section)]); }

  more(more) {
    anew(this.moves, more.moves, () => [h("h2", {}, "What moves it"), h("table", {},
      h("tbody", {}, ...more.moves.map((m) => h("tr", { title: m.why_not }, h("th", { scope: "row" }, m.change),
        ...(m.weight ? [h("td", {}, m.weight), h("td", {}, m.balance)] : [h("td", { colSpan: 2 }, "cannot be")])))))]);
    anew(this.needs, [more.needs, more.costs, more.costs_why_not], () => [
      h("h2", {}, "To buy"), h("table", {}, h("tbody", {}, ...more.needs.map((r) => row(r)), ...more.costs.map((r) => row(r)))),
      ...(more.costs_why_not ? [h("p", {}, more.costs_why_not)] : []),
    ]);
  }
}

function slice(section) {
  if (!section) return [h("p", {}, "None here.")];
  const [x0, , x1, y1] = section.frame, pad = 1.2, wide = Math.max(x1 - x0, 4) + 2 * pad;
  return [
    s("svg", { class: "slice", viewBox: `${-wide / 2} ${-y1 - pad} ${wide} ${y1 + 2 * pad}`, role: "img", "aria-label": "Blade in section, seen from the handle" }, s("path", { d: section.d })),
    h("dl", {}, ...section.rows.flatMap(([a, b]) => [h("dt", {}, a), h("dd", {}, b)])),
  ];
}
function row(cells) { return h("tr", {}, h("th", { scope: "row" }, cells[0]), ...cells.slice(1).map((c) => h("td", {}, c))); }
function figure(words, value) { return h("p", { className: "figure" }, h("span", {}, words), h("b", {}, value)); }
