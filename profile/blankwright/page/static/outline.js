/* The outline of a thing that exists, behind the drawing: from a file of the started folder, lifted by the server.
   The sizes of the design can be fitted to it, which is one step of undo. */

import { anew, h, s } from "./dom.js";

export class Outline {
  constructor(bench, place, ask) {
    this.bench = bench;
    this.ask = ask;
    this.line = s("path", { class: "thing" });
    this.holes = s("g", { class: "thing" });
    bench.back.append(this.line, this.holes);
    this.list = h("select", { id: "thing", onfocus: () => ask({ do: "folder" }), onchange: () => this.other() });
    this.long = h("input", { type: "text", id: "thing-long", onchange: () => this.load() });
    this.high = h("input", { type: "text", id: "thing-high", onchange: () => this.load() });
    this.size = h("span", { className: "tools", hidden: true }, h("label", {}, "as it stands lowest on a flat board it is long ", this.long), h("label", {}, "and high ", this.high));
    this.fit = h("button", { type: "button", hidden: true, onclick: () => this.wish("fit", "Fitting ...") }, "Fit the sizes to it");
    this.told = h("span", { role: "status", id: "thing-told" });
    place.append(h("span", { className: "tools" }, h("label", {}, "outline behind it ", this.list), this.size, this.fit, this.told));
  }

  files(names) {
    const now = this.list.value;
    if (anew(this.list, names, () => ["", ...names].map((name) => h("option", { value: name }, name || (names.length ? "none" : "none in the folder"))))) this.list.value = names.includes(now) ? now : "";
  }

  /* Another file shows another thing, with a length of its own. */
  other() {
    this.long.value = this.high.value = "";
    this.load();
  }

  load() {
    this.draw(null);
    this.size.hidden = !/\.(png|jpe?g|tiff?|pdf)$/i.test(this.list.value);
    this.told.textContent = "";
    if (this.list.value) this.wish("behind", "Lifting ...");
  }

  wish(what, words) {
    this.told.textContent = words;
    this.ask({ do: what, name: this.list.value, long: this.long.value.trim() || null, high: this.high.value.trim() || null }, (answer) => {
      if (answer.say === "behind") this.draw(answer);
      this.told.textContent = answer.text ?? answer.told?.join("\n") ?? "";
      return true;
    });
  }

  draw(found) {
    this.line.setAttribute("d", found ? found.d : "");
    this.holes.replaceChildren(...(found?.holes ?? []).map((o) => s("circle", { cx: o.at[0], cy: -o.at[1], r: o.mm / 2 })));
    this.bench.svg.classList.toggle("held-to", Boolean(found));
    this.fit.hidden = !found;
    this.bench.thing = found?.frame;
    if (this.bench.shape) this.bench.fit();
  }
}
