/* The bench drawing: finished and cut line, sizes, points to take hold of, the section, the balance.
   Everything is in mm with y down; what must keep its size on the screen is drawn anew when the scale changes. */

import { anew, put, s } from "./dom.js";

const PAD_PX = { left: 46, right: 40, top: 64, bottom: 92 };
const ROWS_PX = { "handle.gap": 22, "blade.flat_length": 22, "blade.length": 46, "handle.length": 46, "tang.length": 22, "blade.overall_length": 70 };
const NUDGE = { mm: 0.1, in: 25.4 / 64 };
const FAR = 10;
const PUSH = { mm: 0.5, in: 25.4 / 64 };
const ALWAYS = ["blade.length", "blade.heel_height", "blade.overall_length", "handle.length"];
const ROOM = 1.2;

export class Bench {
  constructor(place, ask, words) {
    this.place = place;
    this.ask = ask;
    this.say = words;
    this.units = "mm";
    this.shape = null;
    this.rest = null;
    this.hold = null;
    this.lit = null;
    this.svg = s("svg", { class: "drawing", role: "group", "aria-label": "Drawing of the knife" });
    this.back = s("g");
    this.knife = s("g");
    this.over = s("g");
    this.svg.append(this.back, this.knife, this.over);
    place.append(this.svg);
    this.parts();
    new ResizeObserver(() => this.shape && this.fit()).observe(place);
    this.svg.addEventListener("pointermove", (e) => this.move(e));
    this.svg.addEventListener("pointerup", (e) => this.drop(e));
    this.svg.addEventListener("pointercancel", (e) => this.drop(e));
  }

  parts() {
    this.board = s("line", { class: "board" });
    this.hand = s("g", { class: "hand" });
    this.before = s("path", { class: "before" });
    this.cut = s("path", { class: "cut" });
    this.finished = s("path", { class: "finished" });
    this.faces = s("g", { class: "faces" });
    this.holes = s("g", { class: "holes" });
    this.station = s("g", { class: "station" });
    this.balance = s("g", { class: "balance" });
    this.marks = s("g", { class: "marks" });
    this.sizes = s("g", { class: "arrows" });
    this.grips = s("g", { class: "grips" });
    this.gripped = new Map();
    this.arrows = new Map();
    this.back.append(this.board, this.hand);
    this.knife.append(this.before, this.cut, this.finished, this.faces, this.holes);
    this.over.append(this.station, this.balance, this.sizes, this.marks, this.grips);
  }

  draw(shape) {
    const first = !this.shape;
    this.shape = shape;
    put(this.finished, { d: shape.finished.d });
    put(this.cut, { d: shape.cut ? shape.cut.d : "" });
    anew(this.faces, shape.lines, () => shape.lines.map((l) => s("path", { d: l.d })));
    anew(this.holes, shape.holes, () => shape.holes.map((o) => s("circle", { cx: o.at[0], cy: -o.at[1], r: o.mm / 2 })));
    if (first || !this.hold) this.fit();
    else this.furnish();
  }

  follow(rest) {
    this.rest = rest;
    put(this.before, { d: rest.before?.d ?? "" });
    if (!this.hold) this.furnish();
  }

  /* The height is found once for a design and a width, with room to grow: what lies below must not move. */
  fit() {
    const [x0, low, x1, y1] = this.frame(), y0 = Math.min(low, 0);
    const wide = this.place.clientWidth || 800;
    const narrow = wide < 640;
    const pad = narrow ? { left: 22, right: 26, top: 40, bottom: 88 } : PAD_PX;
    const room = Math.max(wide - pad.left - pad.right, 100), across = (x1 - x0) / room;
    const what = `${this.shape.doc.id}|${this.shape.doc.name}|${wide}|${this.thing}`;
    if (this.fitted !== what) {
      this.fitted = what;
      this.high = Math.round((ROOM * (y1 - y0)) / across) + pad.top + pad.bottom;
    }
    const mm = Math.max(across, (y1 - y0) / (this.high - pad.top - pad.bottom));
    this.mm = mm;
    this.narrow = narrow;
    this.left = x0 - pad.left * mm - (room * mm - (x1 - x0)) / 2;
    this.right = this.left + wide * mm;
    this.top = -y0 + (pad.bottom - this.high) * mm;
    put(this.svg, {
      viewBox: [this.left, this.top, wide * mm, this.high * mm].join(" "),
      height: this.high, width: wide,
    });
    this.svg.style.setProperty("--px", mm);
    this.furnish();
  }

  /* What has to be seen: the knife, and the thing behind it. */
  frame() {
    const [a, b] = [this.shape.frame, this.thing ?? this.shape.frame];
    return [Math.min(a[0], b[0]), Math.min(a[1], b[1]), Math.max(a[2], b[2]), Math.max(a[3], b[3])];
  }

  furnish() {
    const mm = this.mm;
    put(this.board, { x1: this.left + 12 * mm, x2: this.right - 12 * mm });
    this.drawHand();
    this.drawBalance();
    this.drawArrows();
    this.drawGrips();
    this.drawMarks();
    this.drawStation();
  }

  text(x, y, words, given = {}) {
    return s("text", { x, y, "font-size": 13 * this.mm, ...given }, words);
  }

  drawBalance() {
    const x = this.rest?.weight?.centre?.[0], r = 7 * this.mm;
    anew(this.balance, [x, r], () => (x === undefined ? [] : [
      s("path", { d: `M${x} 0l${-r} ${1.5 * r}h${2 * r}Z` }),
      this.text(x, 2.9 * r, "balance", { "text-anchor": "middle", "font-size": 12 * this.mm, class: "halo" }),
    ]));
  }

  /* Four fingers of the user's breadth around the handle: how much of it a hand takes up. */
  drawHand() {
    const breadth = this.rest?.hand?.breadth_mm, front = this.shape.front_mm;
    if (!breadth || front === null) { anew(this.hand, null, () => []); return; }
    const finger = breadth / 4, box = this.finished.getBBox(), top = box.y - 9, high = box.height * 0.62 + 18;
    anew(this.hand, [finger, front, top, high], () => [1, 2, 3, 4].map((i) =>
      s("rect", { x: front - 2 - i * finger, y: top, width: finger, height: high, rx: finger / 2 })));
  }

  /* Most sizes stay as they are while one is moved; what stays is not drawn again. */
  drawArrows() {
    const held = this.hold?.id, shown = [];
    for (const a of this.shape.arrows) {
      const lit = this.lit === a.key || Boolean(held?.endsWith(a.key));
      if (!lit && !ALWAYS.includes(a.key)) continue;
      if (!this.arrows.has(a.key)) this.arrows.set(a.key, s("g"));
      const g = this.arrows.get(a.key);
      put(g, { class: lit ? "arrow lit" : "arrow" });
      anew(g, [a, this.mm, this.top, this.narrow], () => (a.axis === "x" ? this.level(a) : this.upright(a)));
      shown.push(g);
    }
    anew(this.sizes, shown.map((g) => [...this.arrows.values()].indexOf(g)), () => shown);
  }

  level({ a, b, key, words, shown }) {
    const mm = this.mm, y = (ROWS_PX[key] ?? 22) * mm, way = a[0] < b[0] ? 1 : -1;
    return [
      s("path", { class: "ends", d: `M${a[0]} ${-a[1]}V${y + 5 * mm}M${b[0]} ${-b[1]}V${y + 5 * mm}` }),
      s("path", { class: "shaft", d: `M${a[0]} ${y}H${b[0]}${head(a[0], y, way, mm)}${head(b[0], y, -way, mm)}` }),
      this.label(key, (a[0] + b[0]) / 2, y - 4 * mm, words, shown, "middle"),
    ];
  }

  upright({ a, b, key, words, shown }) {
    const mm = this.mm, x = key === "blade.heel_height" ? b[0] + 16 * mm : b[0], y0 = -a[1], y1 = -b[1], way = y0 > y1 ? -1 : 1;
    return [
      s("path", { class: "shaft", d: `M${x} ${y0}V${y1}${upright(x, y0, way, mm)}${upright(x, y1, -way, mm)}` }),
      this.label(key, x + 8 * mm, (y0 + y1) / 2 + 4 * mm, words, shown, "start"),
    ];
  }

  /* On a phone a size that is lit is told at the top, where no finger and no point lies over it. */
  label(key, x, y, words, shown, anchor) {
    if (this.narrow && !ALWAYS.includes(key)) return this.text(this.left + 12 * this.mm, this.top + 20 * this.mm, `${words} ${shown}`);
    return this.text(x, y, this.narrow ? shown : `${words} ${shown}`, { "text-anchor": anchor, class: "halo" });
  }

  /* Points stay the same elements while they move, so that focus and a screen reader stay with them. */
  drawGrips() {
    const there = new Set(this.shape.grips.map((g) => g.id));
    for (const [id, one] of this.gripped) if (!there.has(id)) { one.g.remove(); this.gripped.delete(id); }
    for (const grip of this.shape.grips) {
      if (!this.gripped.has(grip.id)) this.addGrip(grip);
      this.placeGrip(grip, this.gripped.get(grip.id));
    }
    this.points?.show(this.shape.grips, this.chosen);
  }

  /* Places to take hold of overlap where points lie close together: the nearest one is meant. */
  press(event) {
    if (event.button) return;
    const [x, y] = this.at(event), far = ([a, b]) => Math.hypot(a - x, b - y);
    const grip = this.shape.grips.reduce((best, g) => (!best || far(g.at) < far(best.at) ? g : best), null);
    if (this.tab && (!grip || far(this.tab.at) < far(grip.at))) this.slide(event);
    else if (grip) this.take(event, grip);
  }

  choose(id) {
    const grip = this.shape.grips.find((g) => g.id === id);
    this.chosen = id;
    this.light(grip?.x ?? grip?.y ?? null);
    this.drawGrips();
  }

  step(id, x, y) {
    const grip = this.shape.grips.find((g) => g.id === id);
    if (!grip) return;
    this.choose(id);
    const by = PUSH[this.units];
    this.ask({ do: "drag", grip: id, to: [grip.at[0] + x * by, grip.at[1] + y * by], held: false });
  }

  addGrip({ id }) {
    const now = () => this.shape.grips.find((grip) => grip.id === id);
    const key = () => now()?.x ?? now()?.y;
    const one = { reach: s("circle", { class: "reach" }), knob: s("path", { class: "knob" }) };
    one.g = s("g", {
      tabindex: 0, role: "button", "data-grip": id,
      onpointerdown: (e) => this.press(e),
      onkeydown: (e) => now() && this.nudge(e, now()),
      onpointerenter: () => this.light(key()),
      onpointerleave: () => this.light(null),
      onfocus: () => this.choose(id),
      onblur: () => this.light(null),
    }, one.reach, one.knob);
    this.gripped.set(id, one);
    this.grips.append(one.g);
  }

  placeGrip(grip, one) {
    const mm = this.mm, values = this.shape.values, [x, y] = [grip.at[0], -grip.at[1]];
    const keys = [grip.x, grip.y].filter(Boolean), pin = grip.x === "pins.positions";
    const told = keys.map((k) => `${this.say(k)} ${values[k]?.shown ?? ""}`).join(", ");
    const kinds = ["grip", pin ? "pin" : grip.x && grip.y ? "both" : grip.x ? "across" : "upright"];
    if (keys.some((k) => values[k]?.asked)) kinds.push("set");
    if (keys.includes(this.shape.limit?.key)) kinds.push("stopped");
    if (this.hold?.id === grip.id) kinds.push("held");
    if (this.chosen === grip.id) kinds.push("chosen");
    put(one.g, { class: kinds.join(" "), "aria-label": `${grip.words}: ${told}. Arrow keys move it.` });
    put(one.reach, { cx: x, cy: y, r: (this.narrow ? 22 : 16) * mm });
    const r = 6.5 * mm;
    put(one.knob, { d: pin ? cross(x, y, 4 * mm) : grip.x && grip.y ? ring(x, y, r) : lozenge(x, y, r, grip.x) });
  }

  light(key) {
    if (this.hold || this.lit === key) return;
    this.lit = key;
    this.drawArrows();
  }

  at(event) {
    const p = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    return [p.x, -p.y];
  }

  take(event, grip) {
    event.preventDefault();
    this.gripped.get(grip.id).g.focus({ preventScroll: true });
    const [x, y] = this.at(event);
    this.svg.setPointerCapture(event.pointerId);
    this.hold = { id: grip.id, off: [grip.at[0] - x, grip.at[1] - y], to: null, sent: false };
    this.drawGrips();
  }

  move(event) {
    if (!this.hold) return;
    const [x, y] = this.at(event), off = this.hold.off;
    this.hold.to = [x + off[0], y + off[1]];
    if (!this.hold.frame) this.hold.frame = requestAnimationFrame(() => this.send(true));
  }

  send(held) {
    const hold = this.hold;
    if (!hold?.to) return;
    hold.frame = 0;
    hold.sent = true;
    this.ask({ do: "drag", grip: hold.id, to: hold.to, held });
  }

  drop() {
    if (!this.hold) return;
    if (this.hold.frame) cancelAnimationFrame(this.hold.frame);
    if (this.hold.to) this.send(false);
    this.hold = null;
    this.drawGrips();
  }

  nudge(event, grip) {
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    if (!way) return;
    event.preventDefault();
    const step = NUDGE[this.units] * (event.shiftKey ? FAR : 1);
    const now = this.shape.grips.find((g) => g.id === grip.id) ?? grip;
    this.ask({ do: "drag", grip: grip.id, to: [now.at[0] + way[0] * step, now.at[1] + way[1] * step], held: false });
  }

  drawMarks() {
    const r = 9 * this.mm, bad = (this.rest?.findings ?? []).filter((f) => f.level !== "ok" && f.at);
    anew(this.marks, [bad, r], () => bad.map((f) => s("circle", { class: `mark ${f.level}`, cx: f.at[0], cy: -f.at[1], r }, s("title", {}, f.text))));
  }

  point(at) {
    const r = 14 * this.mm;
    const ring = s("circle", { class: "mark shown", cx: at[0], cy: -at[1], r });
    this.marks.append(ring);
    setTimeout(() => ring.remove(), 2500);
  }

  /* The tab stays the same element while it moves, so that the focus stays with it. */
  drawStation() {
    const section = this.rest?.section, mm = this.mm;
    put(this.station, { visibility: section ? "visible" : "hidden" });
    if (!section) return;
    if (!this.tab) this.addTab();
    const x = section.x_mm, top = -this.shape.frame[3] - 18 * mm;
    put(this.plane, { d: `M${x} ${4 * mm}V${top}` });
    put(this.tab, { "aria-valuenow": Math.round(x), "aria-valuemax": Math.round(this.shape.frame[2]) });
    this.tab.at = [x, -top];
    put(this.tab.firstChild, { cx: x, cy: top, r: (this.narrow ? 22 : 17) * mm });
    put(this.tab.lastChild, { d: `M${x - 9 * mm} ${top - 12 * mm}h${18 * mm}v${8 * mm}l${-9 * mm} ${8 * mm}l${-9 * mm} ${-8 * mm}Z` });
  }

  addTab() {
    this.plane = s("path", { class: "plane" });
    this.tab = s("g", {
      class: "tab", tabindex: 0, role: "slider", "aria-label": "Where the section is taken", "data-grip": "station", "aria-valuemin": 0,
      onpointerdown: (e) => this.press(e),
      onkeydown: (e) => {
        const step = { ArrowLeft: -1, ArrowRight: 1 }[e.key];
        if (step) { e.preventDefault(); this.look(this.rest.section.x_mm + step * (e.shiftKey ? FAR : 1)); }
      },
    }, s("circle", { class: "reach" }), s("path", { class: "knob" }));
    this.station.append(this.plane, this.tab);
  }

  slide(event) {
    event.preventDefault();
    const id = event.pointerId, go = (e) => e.pointerId === id && this.look(this.at(e)[0]);
    const end = () => { window.removeEventListener("pointermove", go); window.removeEventListener("pointerup", end); };
    window.addEventListener("pointermove", go);
    window.addEventListener("pointerup", end);
  }

  look(x) {
    const max = this.shape.values["blade.length"].value * (this.units === "in" ? 25.4 : 1);
    this.ask({ do: "look", section_mm: Math.min(Math.max(x, 0.5), max - 0.5) });
  }

  section(section) {
    if (this.rest) this.rest.section = section;
    this.drawStation();
  }
}

function head(x, y, way, mm) { return `M${x + way * 7 * mm} ${y - 3 * mm}L${x} ${y}l${way * 7 * mm} ${3 * mm}`; }
function upright(x, y, way, mm) { return `M${x - 3 * mm} ${y + way * 7 * mm}L${x} ${y}l${3 * mm} ${way * 7 * mm}`; }
function ring(x, y, r) { return `M${x - r} ${y}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0Z`; }
function cross(x, y, r) { return `M${x - r} ${y}h${2 * r}M${x} ${y - r}v${2 * r}`; }
function lozenge(x, y, r, across) {
  const [a, b] = across ? [1.5 * r, 0.9 * r] : [0.9 * r, 1.5 * r];
  return `M${x - a} ${y}L${x} ${y - b}L${x + a} ${y}L${x} ${y + b}Z`;
}
