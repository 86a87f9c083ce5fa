"""The style of the build sheet: dark words on white, one accent, large enough to be read at arm's length."""

from __future__ import annotations

_STYLE = """\
:root { --ink: #16181b; --soft: #565d66; --line: #c9ced4; --accent: #8a2f14; }
* { box-sizing: border-box; }
html { -webkit-text-size-adjust: 100%; text-size-adjust: 100%; }
body { margin: 0 auto; max-width: 62rem; padding: 1.4rem 1.2rem 3rem; background: #fff; color: var(--ink);
  font: 1.05rem/1.45 "Helvetica Neue", Helvetica, Arial, "Liberation Sans", sans-serif;
  overflow-wrap: break-word; }
h1 { margin: 0; font-size: 2rem; line-height: 1.15; letter-spacing: -0.01em; }
h2 { margin: 0 0 0.7rem; font-size: 1.3rem; line-height: 1.25; }
h3 { margin: 0 0 0.2rem; font-size: 0.95rem; color: var(--soft); font-weight: 600; }
p { margin: 0.3rem 0; }
header { border-bottom: 2px solid var(--ink); padding-bottom: 0.7rem; }
.sub { font-size: 1.1rem; }
.code { color: var(--soft); font-size: 0.92rem; }
.code b { color: var(--ink); font-family: ui-monospace, "DejaVu Sans Mono", Menlo, Consolas, monospace; }
figure { margin: 1.2rem 0 0; }
figure svg { display: block; max-width: 100%; height: auto; }
figcaption { color: var(--soft); font-size: 0.88rem; margin-top: 0.2rem; }
.slim { display: none; }
section.stage { border-top: 1px solid var(--line); margin-top: 1.6rem; padding-top: 1.1rem; }
.n { display: inline-block; min-width: 2.1em; margin-right: 0.35em; padding: 0.05em 0.4em; text-align: center;
  background: var(--ink); color: #fff; border-radius: 0.25em; font-variant-numeric: tabular-nums; }
.figures { columns: 2; column-gap: 2rem; }
.figures > * { break-inside: avoid; margin-bottom: 0.9rem; }
.figures > .full, .figures > :only-child { column-span: all; }
.words { display: grid; grid-template-columns: minmax(0, 1fr) minmax(0, 1fr); gap: 0.9rem 2rem; align-items: start;
  margin-top: 0.2rem; }
.words > :only-child { grid-column: 1 / -1; }
#knife .one { column-span: all; }
table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums; }
.wide { overflow-x: auto; }
th { text-align: left; font-weight: 400; }
th, td { padding: 0.22rem 0.7rem 0.22rem 0; vertical-align: baseline; border-bottom: 1px solid var(--line); }
.one th { width: 46%; color: var(--soft); }
.one td { font-weight: 600; }
.many thead th { font-size: 0.88rem; color: var(--soft); vertical-align: bottom;
  border-bottom: 1.5px solid var(--ink); }
.many thead th:first-child { color: var(--ink); font-weight: 600; font-size: 0.95rem; }
.many td, .many thead th:not(:first-child) { text-align: right; padding-right: 0; padding-left: 0.7rem; }
.many td { font-weight: 600; white-space: nowrap; }
.note { font-weight: 400; color: var(--soft); }
.mark { font-size: 0.78em; font-weight: 400; color: var(--soft); white-space: nowrap; }
.mark a { color: var(--soft); text-decoration: none; }
.mark a:hover, .mark a:focus { color: var(--accent); text-decoration: underline; }
ol, ul { margin: 0; padding-left: 1.5rem; }
li { margin: 0.22rem 0; }
.half > div + div { margin-top: 0.8rem; }
.check ul, .mind ul, .know ul { list-style: none; padding-left: 0; }
.check li { position: relative; padding-left: 1.5rem; }
.check li::before { content: ""; position: absolute; left: 0; top: 0.28em; width: 0.8em; height: 0.8em;
  border: 1.5px solid var(--ink); border-radius: 2px; }
.mind { border-left: 4px solid var(--accent); padding-left: 0.8rem; }
.mind h3 { color: var(--accent); }
nav { margin-top: 1.6rem; border-top: 1px solid var(--line); padding-top: 1.1rem; }
nav ol { columns: 3 13rem; column-gap: 2rem; }
nav li { break-inside: avoid; }
nav a { color: inherit; text-decoration-color: var(--line); text-underline-offset: 0.2em; }
footer { border-top: 2px solid var(--ink); margin-top: 1.8rem; padding-top: 1rem; }
.notes ol, .notes ul { font-size: 0.85rem; color: var(--soft);
  columns: 2 20rem; column-gap: 2rem; padding-left: 1.9rem; }
.notes b { color: var(--ink); font-weight: 600; }
.notes li { break-inside: avoid; }
.notes li:target { color: var(--ink); outline: 2px solid var(--accent); outline-offset: 2px; }
.last { margin-top: 1.2rem; }
@media screen and (max-width: 46rem) {
  body { padding: 1rem 0.9rem 2rem; }
  h1 { font-size: 1.6rem; }
  .broad { display: none; }
  .slim { display: block; }
  .figures { columns: 1; }
  .words { grid-template-columns: minmax(0, 1fr); }
  .many { font-size: 0.86rem; }
  .many td.size { white-space: normal; }
  th, td { padding-right: 0.4rem; }
  .many td, .many thead th:not(:first-child) { padding-left: 0.35rem; }
  nav ol, .notes ol { columns: 1; }
}
"""

_PRINT = """\
@page { size: PAPER; margin: 12mm 12mm 13mm; }
@media print {
  body { max-width: none; padding: 0; font-size: 9.5pt; line-height: 1.28; orphans: 3; widows: 3; }
  h1 { font-size: 20pt; }
  h2 { font-size: 12.5pt; margin-bottom: 4pt; break-after: avoid; }
  h3 { font-size: 10.5pt; break-after: avoid; }
  .sub { font-size: 11pt; }
  .code, figcaption { font-size: 8.5pt; }
  section.stage { margin-top: 10pt; padding-top: 8pt; }
  figure { margin-top: 9pt; break-inside: avoid; }
  .figures { columns: 2; column-gap: 18pt; }
  .figures > * { margin-bottom: 6pt; }
  .figures > .full, .figures > :only-child, #knife .one { break-inside: auto; }
  .words { gap: 6pt 18pt; grid-template-columns: minmax(0, 1fr) minmax(0, 1fr); margin-top: 0; }
  th, td { padding-top: 1.6pt; padding-bottom: 1.6pt; }
  li { margin: 1.5pt 0; }
  nav { margin-top: 12pt; padding-top: 9pt; break-inside: avoid; }
  nav a, .mark a { text-decoration: none; }
  tr, li { break-inside: avoid; }
  .wide { overflow: visible; }
  .wide:not(.full) td { white-space: normal; }
  .mark, .many thead th, .notes ol, .notes ul { font-size: 8.2pt; }
  .notes ol, .notes ul { columns: 3 11rem; column-gap: 14pt; padding-left: 16pt; }
  .last { break-inside: avoid; break-before: avoid; margin-top: 8pt; }
}
"""


def style(paper: str) -> str:
    """Return the style sheet.

    Args:
        paper: "A4" or "Letter", for printing.
    """
    return _STYLE + _PRINT.replace("PAPER", paper)
