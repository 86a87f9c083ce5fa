/* Numbers: every key of the design as a field with its range, a slider where it has one, and a lock.
   A locked size stays; an open one follows the others. */

import { h } from "./dom.js";

const FIRST = ["blade", "handle", "tang", "pins", "material"];

export class Sizes {
  constructor(place, ask, choices) {
    this.place = place;
    this.ask = ask;
    this.choices = choices;
    this.rows = new Map();
    this.words = new Map();
    place.addEventListener("submit", (e) => e.preventDefault());
  }

  say(key) { return this.words.get(key) ?? key; }

  build(form) {
    this.rows.clear();
    this.stop = undefined;
    this.place.replaceChildren(...form.groups.map((group) => {
      for (const f of group.fields) this.words.set(f.key, f.words);
      return h("details", { className: "group", open: FIRST.includes(group.name) && group.name !== "tang" },
        h("summary", {}, group.words), ...group.fields.map((f) => this.row(f)));
    }));
  }

  row(f) {
    const id = `size-${f.key.replace(".", "-")}`;
    const input = f.kind === "choice"
      ? h("select", { id, onchange: (e) => this.set(f.key, e.target.value || null) }, ...["", ...f.choices].map((c) => h("option", { value: c }, c || "by the family")))
      : f.table
        ? h("select", { id, onchange: (e) => this.set(f.key, e.target.value || null), onfocus: () => this.fill(f.key) })
        : h("input", { id, type: "text", autocomplete: "off", spellcheck: false, inputMode: f.kind === "name" ? "text" : "decimal", onchange: (e) => this.typed(f.key, e.target), onkeydown: (e) => e.key === "Escape" && this.restore(f.key) });
    if (f.span) input.setAttribute("aria-describedby", `${id}-span`);
    const slider = f.least !== null && ["length", "angle", "share", "count"].includes(f.kind) && f.greatest > f.least
      ? h("input", { type: "range", min: f.least, max: f.greatest, step: step(f), "aria-label": `${f.words}, slide`, tabIndex: -1, oninput: (e) => this.slid(f, e.target, true), onchange: (e) => this.slid(f, e.target, false) })
      : null;
    const lock = h("button", { type: "button", className: "lock", onclick: () => this.ask({ do: "lock", keys: [f.key], on: lock.getAttribute("aria-pressed") !== "true" }) });
    const row = h("div", { className: "size", title: f.meaning },
      h("label", { htmlFor: id }, f.words), input, lock, slider,
      h("p", { className: "span", id: `${id}-span` }, f.span ?? ""));
    this.rows.set(f.key, { f, input, slider, lock, row });
    return row;
  }

  fill(key) {
    const { input } = this.rows.get(key);
    if (input.dataset.full) return;
    this.choices(key, (found) => {
      const now = input.value;
      input.dataset.full = "yes";
      const names = found.map((c) => c.name);
      const extra = now && !names.includes(now) ? [h("option", { value: now }, now)] : [];
      input.replaceChildren(h("option", { value: "" }, "by the family"), ...extra, ...found.map((c) => h("option", { value: c.name, title: c.more }, c.words)));
      input.value = now;
    });
  }

  show(values) {
    this.values = values;
    for (const [key, r] of this.rows) {
      const v = values[key], told = v ? `${v.shown}|${v.asked}` : "";
      if (r.told === told && !r.row.classList.contains("wrong")) continue; // most stay as they are while a point moves
      r.told = told;
      this.put(r, v);
      r.row.classList.toggle("asked", Boolean(v?.asked));
      r.row.classList.toggle("none", !v);
      r.lock.setAttribute("aria-pressed", v?.asked ? "true" : "false");
      r.lock.setAttribute("aria-label", v?.asked ? `${r.f.words} stays; let it follow` : `${r.f.words} follows; let it stay`);
      r.lock.textContent = v?.asked ? "stays" : "follows";
      r.lock.disabled = !v || r.f.key === "handle.construction";
      if (r.slider && v && document.activeElement !== r.slider) r.slider.value = v.value;
      if (r.slider) r.slider.disabled = !v;
    }
  }

  put(r, v) {
    const shown = v?.shown ?? "";
    if (r.input.tagName === "SELECT" && shown && ![...r.input.options].some((o) => o.value === shown)) r.input.append(h("option", { value: shown }, shown));
    if (document.activeElement !== r.input || r.input.tagName === "SELECT" || !r.dirty) r.input.value = shown;
    r.row.classList.remove("wrong");
  }

  /* Whether what stands in a field is what the design says. */
  rests(input) {
    for (const [key, r] of this.rows) if (r.input === input) return input.value === (this.values?.[key]?.shown ?? "");
    return false;
  }

  restore(key) {
    const r = this.rows.get(key);
    r.input.value = this.values?.[key]?.shown ?? "";
    r.row.classList.remove("wrong");
  }

  typed(key, input) {
    const text = input.value.trim();
    if (text === (this.values?.[key]?.shown ?? "")) return;
    this.set(key, text || null);
  }

  slid(f, slider, held) {
    cancelAnimationFrame(this.frame);
    const send = () => this.ask({ do: "set", values: { [f.key]: f.kind === "count" ? Number(slider.value) : `${slider.value} ${f.unit}` }, held });
    if (held) this.frame = requestAnimationFrame(send);
    else send();
  }

  set(key, value) {
    const row = this.rows.get(key);
    if (row) row.told = null; // what comes back is shown even where it is what stood there
    this.ask({ do: "set", values: { [key]: value } }, (answer) => {
      if (answer.say === "wrong") this.rows.get(key)?.row.classList.add("wrong");
      return false;
    });
  }

  stopped(key) {
    if (this.stop === key) return;
    for (const k of [this.stop, key]) this.rows.get(k)?.row.classList.toggle("stopped", k === key);
    this.stop = key;
  }
}

function step(f) {
  if (f.kind === "count") return 1;
  if (f.unit === "in") return 1 / 64;
  return f.greatest - f.least > 20 ? 0.5 : 0.1;
}
