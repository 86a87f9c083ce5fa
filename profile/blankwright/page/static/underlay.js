/* A picture behind the drawing, to draw over: a scan or a sketch, its size set from two points a known distance apart.
   It stays in the browser and is sent nowhere. */

import { h, s } from "./dom.js";

const UNITS = { mm: 1, cm: 10, in: 25.4, '"': 25.4 };

/* Millimetres of a typed length, such as 210 mm, 8 1/4 in or 21 cm; null for none. */
export function lengthMm(text, unit) {
  const found = /^\s*(?:(\d+)[\s-]+)?(\d+)\s*\/\s*(\d+)\s*(\D*)$/.exec(text) ?? /^\s*()(\d*[.,]?\d+)()\s*([^\d]*)$/.exec(text);
  if (!found) return null;
  const [, whole, above, below, name] = found;
  const value = Number(whole || 0) + Number(above.replace(",", ".")) / Number(below || 1);
  const factor = UNITS[name.trim() || unit];
  return factor && value > 0 && Number.isFinite(value) ? value * factor : null;
}

export class Underlay {
  constructor(bench, place) {
    this.bench = bench;
    this.mode = null;
    this.image = s("image", { class: "underlay" });
    this.over = s("g", { class: "picking" });
    bench.back.prepend(this.image);
    bench.svg.append(this.over);
    this.file = h("input", { type: "file", accept: "image/*", id: "picture", onchange: () => this.load(this.file.files[0]) });
    this.faint = h("input", { type: "range", min: 0.1, max: 1, step: 0.05, value: 0.5, "aria-label": "How strong the picture is", oninput: () => this.show() });
    this.tools = h("span", { className: "tools", hidden: true }, this.faint,
      h("button", { type: "button", onclick: () => this.start("size") }, "Set its size"),
      h("button", { type: "button", onclick: () => this.start("move") }, "Move it"),
      h("button", { type: "button", onclick: () => this.clear() }, "Take it away"));
    this.told = h("span", { role: "status" });
    this.form = h("form", { className: "tools", hidden: true, onsubmit: (e) => { e.preventDefault(); this.size(); } },
      h("label", {}, "they are apart ", this.apart = h("input", { type: "text", value: "210 mm" })),
      h("label", {}, this.level = h("input", { type: "checkbox" }), " and lie level"), h("button", { type: "submit" }, "Set"));
    place.append(h("label", {}, "picture behind it ", this.file), this.tools, this.told, this.form);
  }

  load(file) {
    if (!file) return;
    if (this.address) URL.revokeObjectURL(this.address);
    this.address = URL.createObjectURL(file);
    const picture = new Image();
    picture.onload = () => {
      const [x0, y0, x1, y1] = this.bench.shape.frame;
      this.wide = picture.naturalWidth;
      this.high = picture.naturalHeight;
      this.at = { x: x0, y: -(y0 + y1) / 2 - (this.high / this.wide) * (x1 - x0) / 2, k: (x1 - x0) / this.wide, turn: 0 };
      this.image.setAttribute("href", this.address);
      this.image.setAttribute("width", this.wide);
      this.image.setAttribute("height", this.high);
      this.tools.hidden = false;
      this.bench.svg.classList.add("traced");
      this.show();
      this.start("size");
    };
    picture.onerror = () => { this.told.textContent = "This file is no picture that the browser can show."; };
    picture.src = this.address;
  }

  show() {
    const { x, y, k, turn } = this.at;
    this.image.setAttribute("transform", `translate(${x} ${y}) rotate(${turn}) scale(${k})`);
    this.image.setAttribute("opacity", this.faint.value);
    this.image.toggleAttribute("hidden", false);
  }

  clear() {
    this.stop();
    this.image.removeAttribute("href");
    this.tools.hidden = true;
    this.bench.svg.classList.remove("traced");
    this.file.value = "";
    if (this.address) URL.revokeObjectURL(this.address);
    this.address = null;
  }

  start(mode) {
    this.stop();
    this.mode = mode;
    this.points = [];
    this.told.textContent = mode === "size" ? "Press on two points of the picture whose distance you know." : "Drag the picture; press Escape when it lies right.";
    const [x, y, wide, high] = this.bench.svg.getAttribute("viewBox").split(" ").map(Number);
    this.over.append(s("rect", { x, y, width: wide, height: high, fill: "transparent", onpointerdown: (e) => this.press(e) }));
    this.escape = (e) => e.key === "Escape" && this.stop();
    window.addEventListener("keydown", this.escape);
  }

  stop() {
    this.mode = null;
    this.over.replaceChildren();
    this.told.textContent = "";
    this.form.hidden = true;
    window.removeEventListener("keydown", this.escape);
  }

  press(event) {
    event.preventDefault();
    const [x, up] = this.bench.at(event), y = -up;
    if (this.mode === "move") { this.slide(event, x, y); return; }
    if (this.points.length >= 2) return;
    this.points.push([x, y]);
    const r = 6 * this.bench.mm;
    this.over.append(s("path", { class: "pick", d: `M${x - r} ${y}h${2 * r}M${x} ${y - r}v${2 * r}` }));
    if (this.points.length === 2) { this.form.hidden = false; this.apart.focus(); this.apart.select(); }
  }

  slide(event, x, y) {
    const from = { ...this.at };
    const go = (e) => {
      const [nx, up] = this.bench.at(e);
      this.at = { ...from, x: from.x + nx - x, y: from.y - up - y };
      this.show();
    };
    const end = () => { window.removeEventListener("pointermove", go); window.removeEventListener("pointerup", end); };
    window.addEventListener("pointermove", go);
    window.addEventListener("pointerup", end);
  }

  /* The first point stays where it is; the second comes to lie at the given distance from it. */
  size() {
    const apart = lengthMm(this.apart.value, this.bench.units);
    const [[ax, ay], [bx, by]] = this.points, now = Math.hypot(bx - ax, by - ay);
    if (!apart || now === 0) { this.told.textContent = "Write the distance like 210 mm or 8 1/4 in."; return; }
    const grow = apart / now, turn = this.level.checked ? -Math.atan2(by - ay, bx - ax) : 0;
    const dx = (this.at.x - ax) * grow, dy = (this.at.y - ay) * grow;
    this.at = {
      k: this.at.k * grow, turn: this.at.turn + (turn * 180) / Math.PI,
      x: ax + dx * Math.cos(turn) - dy * Math.sin(turn), y: ay + dx * Math.sin(turn) + dy * Math.cos(turn),
    };
    this.show();
    this.stop();
  }
}
