/* The design file as text: to read, to change by hand, and to mend where it makes no knife. */

import { h } from "./dom.js";

export class Text {
  constructor(dialog, broken, ask, acts) {
    this.dialog = dialog;
    this.broken = broken;
    this.ask = ask;
    this.acts = acts; // {other: function, reread: function}
  }

  open() {
    this.ask({ do: "text", text: "" }, (answer) => {
      if (answer.say !== "text") return false;
      this.fault = h("p", { className: "error", role: "alert" });
      this.dialog.replaceChildren(
        h("header", {}, h("h2", { id: "text-head" }, "The design file as text"), h("button", { type: "button", onclick: () => this.dialog.close() }, "Close")),
        this.form(answer.text, "Take it", () => this.dialog.close()));
      this.dialog.showModal();
      return true;
    });
  }

  /* The reason and the ways back: mend the text here, or begin with another design. */
  mend(doc, text) {
    this.fault = h("p", { className: "error", role: "alert" }, doc.fault);
    this.broken.replaceChildren(
      h("h2", { id: "broken-head" }, `${doc.file ?? doc.name} makes no knife yet`),
      this.form(text, "Take the mended text", () => {}),
      h("p", { className: "note" }, "Mend it here or in your own editor. The file stays as it is until you save."),
      h("div", { className: "acts" },
        doc.undo ? h("button", { type: "button", onclick: () => this.ask({ do: "undo" }) }, `Undo ${doc.undo}`) : null,
        doc.file ? h("button", { type: "button", onclick: () => this.ask({ do: "reread" }, (a) => this.wrong(a)) }, "Read the file again") : null,
        h("button", { type: "button", onclick: this.acts.other }, "Other design")));
  }

  form(text, words, then) {
    this.area = h("textarea", { spellcheck: false, rows: Math.min(Math.max(text.split("\n").length + 1, 12), 30), value: text, "aria-label": "Design file" });
    const take = (e) => {
      e.preventDefault();
      this.fault.textContent = "";
      if (!this.area.value.trim()) { this.fault.textContent = "There is no text. A design names at least its family."; return; }
      this.ask({ do: "text", text: this.area.value }, (answer) => this.wrong(answer) || (then(), false));
    };
    return h("form", { onsubmit: take }, this.fault, this.area, h("div", { className: "acts" }, h("button", { type: "submit", className: "strong" }, words)));
  }

  wrong(answer) {
    if (answer.say !== "wrong") return false;
    this.fault.textContent = answer.text;
    return true;
  }
}
