/* Beginning: designs in the folder, and the families as silhouettes at one scale. */

import { h, s } from "./dom.js";

export class Start {
  constructor(place, ask) {
    this.place = place;
    this.ask = ask;
  }

  show(hello) {
    const files = [...hello.unsaved.map((f) => ({ ...f, words: `${f.title}, not saved yet` })), ...hello.files.map((f) => ({ ...f, words: f.title }))];
    this.row = h("div", { className: "silhouettes" });
    const parts = files.length ? [h("h2", { id: "start-head" }, `In the folder ${hello.folder}`),
      h("ul", { className: "files" }, ...files.map((f) => h("li", {}, h("button", { type: "button", onclick: () => this.ask({ do: "open", name: f.name }) }, h("b", {}, f.words), h("small", {}, f.name.startsWith("~") ? "" : f.name))))),
      h("h2", {}, "Or something new")] : [h("h2", { id: "start-head" }, "What shall it be?")];
    parts.push(this.row);
    this.place.replaceChildren(...parts);
    this.ask({ do: "families" }, (answer) => answer.say === "families" && this.silhouettes(answer.families));
  }

  silhouettes(families) {
    const first = families.filter((f, i) => families.findIndex((o) => o.name === f.name) === i);
    const wide = Math.max(...first.map((f) => f.frame[2] - f.frame[0]));
    this.row.replaceChildren(...first.map((f) => {
      const [x0, y0, x1, y1] = f.frame;
      return h("button", { type: "button", onclick: () => this.ask({ do: "begin", family: f.name }) },
        s("svg", { viewBox: `${x0} ${-y1} ${wide} ${y1 - y0}`, "aria-hidden": "true" }, s("path", { d: f.d })),
        h("span", {}, h("b", {}, f.title), h("small", {}, `${f.use}; ${f.length} long`)));
    }));
    return true;
  }
}
