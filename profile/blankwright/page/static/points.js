/* The points as a list, with buttons that move the chosen one: for a finger, where points lie close together. */

import { anew, h, put } from "./dom.js";

const WAYS = [["←", "left", -1, 0], ["→", "right", 1, 0], ["↑", "up", 0, 1], ["↓", "down", 0, -1]];

export class Points {
  constructor(bench, place) {
    this.bench = bench;
    this.list = h("select", { id: "points", onchange: () => bench.choose(this.list.value) });
    this.ways = WAYS.map(([sign, words, x, y]) => ({ x, button: h("button", { type: "button", "aria-label": `Move it ${words}`, onclick: () => bench.step(this.list.value, x, y) }, sign) }));
    place.append(h("span", { className: "tools points" }, h("label", {}, "point ", this.list), ...this.ways.map((way) => way.button)));
  }

  show(grips, chosen) {
    anew(this.list, grips.map((g) => [g.id, g.words]), () => grips.map((g) => h("option", { value: g.id }, g.id.endsWith(" below") ? `${g.words}, below` : g.words)));
    if (chosen && this.list.value !== chosen) this.list.value = chosen;
    const now = grips.find((g) => g.id === this.list.value);
    for (const { x, button } of this.ways) button.disabled = !now || !(x ? now.x : now.y);
    put(this.list, { title: now?.words ?? "" });
  }
}
