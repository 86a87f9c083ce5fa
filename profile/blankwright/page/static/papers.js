/* Files out: what to write, a look at what will print, and the files to fetch. The page itself never prints a drawing. */

import { h } from "./dom.js";

const WHAT = [["all", "everything"], ["template", "trace template"], ["cut", "cutting file"], ["sheet", "build sheet and card"]];
const SEEN = [["template", "template"], ["card", "bench card"], ["sheet", "build sheet"], ["drawing", "drawing"]];

export class Papers {
  constructor(dialog, ask) {
    this.dialog = dialog;
    this.ask = ask;
  }

  open(hello) {
    this.paper = h("select", { id: "paper" }, ...hello.papers.map((p) => h("option", {}, p)));
    this.service = h("select", { id: "service" }, h("option", { value: "" }, "the plain file"), ...hello.services.map((s) => h("option", { value: s.name }, s.title)));
    this.printer = h("select", { id: "printer" }, h("option", { value: "" }, "not measured"), ...hello.printers.map((p) => h("option", {}, p)));
    this.margin = h("input", { id: "margin", type: "text", value: this.margin?.value ?? "6 mm", autocomplete: "off" });
    this.quantity = h("input", { id: "quantity", type: "number", min: 1, max: 9999, step: 1, value: 1 });
    this.faces = h("input", { id: "both-faces", type: "checkbox" });
    this.dummy = h("input", { id: "dummy", type: "checkbox" });
    this.extras = hello.with.map((w) => h("label", { className: "extra" }, h("input", { type: "checkbox", value: w.word }), w.words));
    this.result = h("div", { className: "result", role: "status" });
    this.pages = h("div", { className: "pages" });
    this.dialog.replaceChildren(
      h("header", {}, h("h2", { id: "papers-head" }, "Files out"), h("button", { type: "button", onclick: () => this.dialog.close() }, "Close")),
      h("div", { className: "wishes" },
        h("label", {}, "paper ", this.paper), h("label", {}, "margin ", this.margin), h("label", {}, "printer ", this.printer),
        h("label", {}, "cut by ", this.service), h("label", {}, "how many ", this.quantity)),
      h("div", { className: "wishes" },
        h("label", {}, this.faces, " template of both faces"), h("label", {}, this.dummy, " a dummy to cut from card")),
      h("details", {}, h("summary", {}, "Extras"), ...this.extras),
      h("div", { className: "acts" }, ...WHAT.map(([what, words], i) => h("button", { type: "button", className: i ? "" : "strong", onclick: () => this.write(what) }, `Write ${words}`))),
      this.result,
      h("h3", {}, "Look before you print"),
      h("div", { className: "acts" }, ...SEEN.map(([what, words]) => h("button", { type: "button", onclick: () => this.look(what) }, words))),
      this.pages,
      h("p", { className: "note" }, "Print the PDF from your PDF reader, at actual size; a browser scales what it prints. Then measure the bars."),
    );
    this.dialog.showModal();
  }

  wishes() {
    return {
      paper: this.paper.value, margin: this.margin.value.trim(), printer: this.printer.value || null,
      service: this.service.value || null, both_faces: this.faces.checked, dummy: this.dummy.checked,
    };
  }

  words() { return this.extras.map((l) => l.querySelector("input")).filter((i) => i.checked).map((i) => i.value); }

  write(what) {
    this.result.replaceChildren(h("p", {}, "Writing and proving ..."));
    const cut = ["finished", "grind", "notes", "marks"];
    const words = this.words().filter((w) => what === "all" || (what === "cut" && cut.includes(w)));
    const message = { do: "write", what, ...this.wishes(), quantity: Number(this.quantity.value), with: words };
    this.ask(message, (answer) => {
      if (answer.say === "wrong") this.result.replaceChildren(h("p", { className: "error" }, answer.text));
      if (answer.say === "made") this.made(answer);
      return true;
    });
  }

  made(made) {
    this.result.replaceChildren(
      h("p", {}, `Written into ${made.folder}:`),
      h("ul", { className: "made" }, ...made.files.map((f) => h("li", {}, h("a", { href: f.get, download: f.name }, f.name), h("small", {}, f.words)))),
      ...made.checks.map((c) => h("p", { className: c.level }, c.text)),
      ...made.notes.map((n) => h("p", { className: "note" }, n)),
    );
  }

  look(what) {
    this.pages.replaceChildren(h("p", {}, "Drawing the pages ..."));
    this.ask({ do: "preview", what, ...this.wishes(), with: what === "drawing" ? ["sections"] : [] }, (answer) => {
      if (answer.say === "wrong") this.pages.replaceChildren(h("p", { className: "error" }, answer.text));
      if (answer.say === "preview") this.pages.replaceChildren(...answer.pages.map((p, i) => h("img", { src: p.get, alt: `${what}, page ${i + 1}` })));
      return true;
    });
  }
}
