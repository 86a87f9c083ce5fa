/* The page of Blankwright. Plain ES modules, nothing from elsewhere, no answer of its own: the server computes.

   main.js    what is told goes to whom; the head's buttons; questions; the line to the server
   talk.js    the web socket (messages: ../protocol.py)
   dom.js     making elements
   bench.js   the drawing: lines, sizes, points that are dragged, section, balance, marks of findings
   sizes.js   numbers: fields, sliders, locks
   tells.js   weight, balance, findings, what moves it, holes, what to buy
   start.js   families side by side, designs in the folder
   papers.js  files out and previews
   text.js    the design file as text, and the way back where it makes no knife
   underlay.js  a picture behind the drawing, to draw over
   outline.js the outline of a thing that exists behind it, and the sizes fitted to it
   points.js  the points as a list, with buttons that move them
   look.css   how all of it looks, light and dark, phone and desktop
*/

import { Bench } from "./bench.js";
import { byId, h } from "./dom.js";
import { Outline } from "./outline.js";
import { Papers } from "./papers.js";
import { Points } from "./points.js";
import { Sizes } from "./sizes.js";
import { Start } from "./start.js";
import { Talk } from "./talk.js";
import { Tells } from "./tells.js";
import { Text } from "./text.js";
import { Underlay } from "./underlay.js";

let hello = null, doc = null, edit = 0, ways = null;

const ask = (message, answer) => talk.ask(message, answer);
const sizes = new Sizes(byId("sizes"), ask, (key, take) => ask({ do: "choices", key }, (a) => a.say === "choices" && (take(a.choices), true)));
const bench = new Bench(byId("sheet"), ask, (key) => sizes.say(key));
bench.points = new Points(bench, byId("beside"));
const outline = new Outline(bench, byId("beside"), ask);
new Underlay(bench, byId("beside"));
const tells = new Tells(byId("figures"), byId("tells"), (at) => bench.point(at));
const start = new Start(byId("start"), ask);
const papers = new Papers(byId("papers"), ask);
const text = new Text(byId("text"), byId("broken"), ask, { other: () => toStart() });

const told = {
  hello(message) {
    hello = message;
    outline.files(message.outlines);
    const units = localStorage.getItem("units");
    if (units === "in") { byId("units").value = "in"; bench.units = "in"; ask({ do: "look", units }); }
    const last = decodeURIComponent(location.hash.slice(1)) || message.start;
    if (last) ask({ do: "open", name: last }, (a) => { if (a.say === "wrong") showStart(); return false; });
    else showStart();
  },
  form(message) { sizes.build(message); showWork(); },
  shape(message) {
    edit = message.edit;
    ways = null;
    bench.draw(message);
    sizes.show(message.values);
    showDoc(message.doc);
    stop(message.limit);
  },
  rest(message) {
    if (message.edit !== edit) return;
    bench.follow(message);
    tells.rest(message);
    byId("hand-told").textContent = message.hand ? [message.hand.breadth_mm && `${message.hand.breadth_mm} mm broad`, message.hand.text].filter(Boolean).join("; ") : "";
  },
  more(message) {
    if (message.edit !== edit) return;
    tells.more(message);
    if (message.ways.length) showWays(message.ways);
  },
  section(message) { bench.section(message.section); tells.showSection(message.section); },
  doc(message) { showDoc(message.doc); if (message.text) say(message.text); },
  text(message) { if (doc?.fault) showBroken(message.text); },
  wrong(message) { say(message.text, "error"); },
  asks(message) { question(message); },
  folder(message) {
    hello = { ...hello, files: message.files, unsaved: message.unsaved };
    outline.files(message.outlines);
  },
};

const talk = new Talk(told, (away) => {
  byId("gone").hidden = !away;
  byId("gone").textContent = away ? "The server does not answer. Start it again with blankwright page and open the address that it prints; what was not saved is kept." : "";
});

/* One of: beginning, bench, a design that makes no knife. */
function show(part) {
  for (const name of ["start", "work", "broken"]) byId(name).hidden = name !== part;
  document.body.classList.toggle("choosing", part !== "work");
}

function showStart() {
  show("start");
  byId("title").textContent = "Blankwright";
  byId("state").textContent = "";
  showDoc.told = null;
  start.show(hello);
}

function showWork() { show("work"); }

function showBroken(written) {
  show("broken");
  text.mend(doc, written);
}

function showDoc(message) {
  const told = JSON.stringify(message);
  if (showDoc.told === told) return;
  showDoc.told = told;
  doc = message;
  byId("title").textContent = doc.title || "Blankwright";
  document.title = `${doc.saved ? "" : "• "}${doc.title || "Blankwright"}`;
  byId("state").textContent = doc.fault ? doc.file ?? "" : (doc.elsewhere ? `${doc.file} was changed elsewhere` : doc.file ? `${doc.file}${doc.saved ? "" : ", not saved"}` : "not a file yet");
  byId("undo").disabled = !doc.undo;
  byId("redo").disabled = !doc.redo;
  byId("undo").title = doc.undo ? `Undo: ${doc.undo}` : "";
  byId("redo").title = doc.redo ? `Redo: ${doc.redo}` : "";
  const hash = `#${encodeURIComponent(doc.id)}`;
  if (location.hash !== hash) history.replaceState(null, "", hash);
}

function stop(limit) {
  const place = byId("stop");
  place.hidden = !limit;
  place.className = "stop";
  sizes.stopped(limit?.key);
  if (limit) place.replaceChildren(h("b", {}, `${sizes.say(limit.key)} stops at ${limit.reached}`), ` (wanted ${limit.wanted}). ${limit.why}`);
}

function showWays(found) {
  const place = byId("stop");
  if (place.hidden) return;
  place.append(h("span", { className: "ways" }, " It would go further if one of these followed: ", ...found.map((way) =>
    h("button", { type: "button", onclick: () => ask({ do: "set", values: way.values }) }, way.words))));
}

function say(text, kind = "said") {
  const place = byId("stop");
  place.hidden = false;
  place.className = `stop ${kind}`;
  place.replaceChildren(text);
}

function question(message) {
  const dialog = byId("ask");
  const act = (words, what) => h("button", { type: "button", onclick: () => { dialog.close(); if (what) ask(what); } }, words);
  const acts = message.about === "elsewhere"
    ? [act("Write mine over it", { do: "save", over: true }), act("Take theirs", { do: "reread" }), act("Neither", null)]
    : [act("Write over it", { do: "save_as", name: dialog.dataset.name, over: true }), act("Another name", null)];
  dialog.replaceChildren(h("p", { id: "ask-text" }, message.text), h("div", { className: "acts" }, ...acts));
  dialog.showModal();
}

function saveAs() {
  const dialog = byId("ask");
  const name = h("input", { type: "text", id: "file-name", value: doc.file ?? `${doc.slug ?? "knife"}.toml` });
  const go = (e) => { e.preventDefault(); dialog.dataset.name = name.value.trim(); dialog.close(); ask({ do: "save_as", name: name.value.trim() }); };
  dialog.replaceChildren(h("form", { onsubmit: go }, h("label", { id: "ask-text", htmlFor: "file-name" }, `Name of the file in ${hello.folder}`), name,
    h("div", { className: "acts" }, h("button", { type: "submit", className: "strong" }, "Save"), h("button", { type: "button", onclick: () => dialog.close() }, "Not now"))));
  dialog.showModal();
  name.select();
}

byId("undo").onclick = () => ask({ do: "undo" });
byId("redo").onclick = () => ask({ do: "redo" });
byId("save").onclick = (e) => (doc?.file && !e.shiftKey ? ask({ do: "save" }) : saveAs());
function toStart() { ask({ do: "folder" }, (a) => { told.folder(a); showStart(); return true; }); }

byId("to-start").onclick = toStart;
byId("to-text").onclick = () => text.open();
byId("to-papers").onclick = () => papers.open(hello);
byId("units").onchange = (e) => { bench.units = e.target.value; localStorage.setItem("units", e.target.value); ask({ do: "look", units: e.target.value }); };

byId("hand").onchange = (e) => (e.target.value === "own" ? askBreadth() : ask({ do: "look", hand: e.target.value }));

function askBreadth() {
  const dialog = byId("ask");
  const breadth = h("input", { type: "text", id: "breadth", value: "88 mm" });
  const go = (e) => { e.preventDefault(); dialog.close(); ask({ do: "look", hand: breadth.value.trim() }); };
  dialog.replaceChildren(h("form", { onsubmit: go }, h("label", { id: "ask-text", htmlFor: "breadth" }, "Breadth of your hand across the palm, without the thumb"), breadth,
    h("div", { className: "acts" }, h("button", { type: "submit", className: "strong" }, "Show it"))));
  dialog.showModal();
  breadth.select();
}

document.addEventListener("keydown", (e) => {
  if (!(e.ctrlKey || e.metaKey) || byId("work").hidden || document.querySelector("dialog[open]")) return;
  const typing = e.target.matches("input[type=text]") && !sizes.rests(e.target);
  if (e.key === "s") {
    e.preventDefault();
    if (typing) e.target.dispatchEvent(new Event("change"));
    byId("save").click();
  }
  if (typing) return;
  if (e.key === "z" && !e.shiftKey) { e.preventDefault(); ask({ do: "undo" }); }
  if (e.key === "y" || (e.key === "Z" && e.shiftKey)) { e.preventDefault(); ask({ do: "redo" }); }
});
