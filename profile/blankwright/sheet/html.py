"""The build sheet as one HTML page: no script, nothing from outside, good on a screen, a phone and on paper.

It draws what it is given and computes nothing. Every text is escaped. The same sheet gives the same bytes.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from html import escape

from blankwright.base.said import Line, Size, Standing, Value, joined
from blankwright.ink import lettering
from blankwright.ink.svg import marks_svg
from blankwright.sheet.model import OWN_WORDS, Row, Sheet, Stage, Table
from blankwright.sheet.picture import Picture
from blankwright.sheet.style import style

_MOST_TITLE, _MOST_SUBTITLE = 120, 400
_NARROW = 1
# A table with more columns of figures takes the whole width.
_SVG_HEAD = re.compile(r"^<\?xml[^>]*\?>\s*<svg ([^>]*)>")
_KEPT = re.compile(r'(?:viewBox)="[^"]*"')


def sheet_html(
    sheet: Sheet, pictures: Sequence[Picture], narrow: Sequence[Picture], *, units: str, paper: str
) -> str:  # fmt: skip
    """Return a build sheet as a complete HTML document.

    Args:
        sheet: The sheet.
        pictures: Pictures of its head.
        narrow: The same for a phone, one for each.
        units: "mm" or "in".
        paper: "A4" or "Letter", for printing.
    """
    notes = sheet.marks
    page = _Page(notes, units)
    head, *stages = sheet.stages
    title = _words(lettering.clean(sheet.title, _MOST_TITLE))
    parts = [
        "<!DOCTYPE html>",
        '<html lang="en">',
        "<head>",
        '<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{title}: build sheet</title>",
        f"<style>\n{style(paper)}</style>",
        "</head>",
        "<body>",
        "<header>",
        f"<h1>{title}</h1>",
        f'<p class="sub">{_words(lettering.clean(sheet.subtitle, _MOST_SUBTITLE))}</p>',
        f'<p class="code">Build sheet, design <b>{_words(sheet.code)}</b>. The same code stands on drawing, template '
        "and report. Numbers in brackets lead to where a figure comes from.</p>",
        "</header>",
        "<main>",
        *(_picture(one, slim) for one, slim in zip(pictures, narrow, strict=True)),
        page.stage(head, None),
        _order(stages),
        *(page.stage(stage, n) for n, stage in enumerate(stages, start=1)),
        "</main>",
        "<footer>",
        page.weighed(sheet),
        _notes(notes),
        '<div class="last">',
        f"<p><b>{_words(sheet.closing)}</b></p>",
        "</div>",
        "</footer>",
        "</body>",
        "</html>",
    ]
    return "\n".join(part for part in parts if part) + "\n"


def _words(text: str) -> str:
    return escape(text, quote=True)


def _picture(picture: Picture, narrow: Picture) -> str:
    """Return a picture twice, for a wide page and for a phone; the page's style shows one of them."""
    return "\n".join(
        f'<figure class="{kind}">\n{inline_svg(one)}\n<figcaption>{_words(one.caption)}</figcaption>\n</figure>'
        for kind, one in (("broad", picture), ("slim", narrow))
    )


def inline_svg(picture: Picture) -> str:
    """Return a picture as SVG to stand in a page: no XML head, its classes under names of their own."""
    text = marks_svg(picture.marks, picture.desc, "")
    head = _SVG_HEAD.match(text)
    assert head is not None
    kept = " ".join(_KEPT.findall(head[1]))
    width = re.search(r'width="([\d.]+)mm"', head[1])
    wide = f' style="width:{width[1]}mm"' if width else ""
    body = text[head.end() :].strip().replace(' class="', ' class="pic-')
    return f'<svg role="img" {kept}{wide} xmlns="http://www.w3.org/2000/svg">{body}'


def _order(stages: Sequence[Stage]) -> str:
    """Return the order of the work, each with a box to tick."""
    links = "".join(f'<li><a href="#stage-{n}">{_words(s.title)}</a></li>' for n, s in enumerate(stages, start=1))
    return f'<nav aria-label="Order of the work"><h2>Order of the work</h2><ol>{links}</ol></nav>'


def _notes(notes: dict[Standing, int]) -> str:
    rows = "\n".join(
        f'<li id="note-{n}" value="{n}"><b>{_words(s.status)}</b>: {_words(s.source)}</li>' for s, n in notes.items()
    )
    return (
        f'<section class="notes"><h2>Where the figures come from</h2>\n<p>{_words(OWN_WORDS)}</p>\n'
        f"<ol>\n{rows}\n</ol></section>"
    )


class _Page:
    """Writes stages, knowing the numbers of the notes and the reader's units."""

    def __init__(self, notes: dict[Standing, int], units: str) -> None:
        self._notes = notes
        self._units = units

    def stage(self, stage: Stage, number: int | None) -> str:
        """Return one stage as a section."""
        name = f"stage-{number}" if number is not None else "knife"
        title = f'<span class="n">{number}</span> ' if number is not None else ""
        tables = [self._rows(stage.rows)] if stage.rows else []
        tables += [self._table(t) for t in stage.tables]
        figures = f'<div class="figures">\n{_joined(tables)}\n</div>' if tables else ""
        first = [
            self._list("Have ready", "check", "ul", stage.ready),
            self._list("Do", "do", "ol", stage.steps),
            self._list("Know", "know", "ul", stage.facts),
        ]
        beside = [
            self._list("Check before going on", "check", "ul", stage.checks),
            self._list("Mind", "mind", "ul", stage.cautions),
        ]
        halves = [f'<div class="half">\n{_joined(half)}\n</div>' for half in (first, beside) if any(half)]
        words = f'<div class="words">\n{_joined(halves)}\n</div>' if halves else ""
        return (
            f'<section class="stage" id="{name}">\n<h2>{title}{_words(stage.title)}</h2>\n'
            f"{_joined([figures, words])}\n</section>"
        )

    def _rows(self, rows: Iterable[Row]) -> str:
        body = "\n".join(
            f'<tr class="{self._kind(r.standing)}"><th scope="row">{_words(r.label)}{self._mark(r.standing)}</th>'
            f"<td>{_words(joined(r.values, self._units, r.sign))}{_note(r.note)}</td></tr>"
            for r in rows
        )
        return f'<table class="one">\n<tbody>\n{body}\n</tbody>\n</table>'

    def _table(self, table: Table) -> str:
        heads = "".join(f'<th scope="col">{_words(h)}</th>' for h in table.head_words(self._units))
        body = "\n".join(
            f'<tr class="{self._kind(r.standing, table.standing)}"><th scope="row">{_words(r.label)}'
            f"{self._mark(r.standing, table.standing)}</th>" + "".join(self._cell(v) for v in r.values) + "</tr>"
            for r in table.rows
        )
        mark, fig = (
            (self._mark(table.standing), f' class="{self._kind(table.standing)}"') if table.standing else ("", "")
        )
        kind = "wide full" if len(table.heads) > _NARROW else "wide"
        return (
            f'<div class="{kind}"><table class="many">\n'
            f'<thead><tr{fig}><th scope="col">{_words(table.title)}{mark}</th>{heads}</tr>'
            f"</thead>\n<tbody>\n{body}\n</tbody>\n</table></div>"
        )

    def _cell(self, value: Value) -> str:
        kind = ' class="size"' if isinstance(value, Size) else ""
        return f"<td{kind}>{_words(joined((value,), self._units, ''))}</td>"

    def _list(self, title: str, name: str, tag: str, lines: Sequence[Line]) -> str:
        if not lines:
            return ""
        items = "\n".join(self._line(line) for line in lines)
        return f'<div class="{name}"><h3>{title}</h3>\n<{tag}>\n{items}\n</{tag}></div>'

    def _line(self, line: Line) -> str:
        if line.standing is None:
            return f"<li>{_words(line.text(self._units))}</li>"
        return (
            f'<li class="{self._kind(line.standing)}">{_words(line.text(self._units))}{self._mark(line.standing)}</li>'
        )

    def weighed(self, sheet: Sheet) -> str:
        """Return where sources disagree, as the end of the sheet has it."""
        if not sheet.weighed:
            return ""
        items = "\n".join(
            f'<li class="fig"><b>{_words(title)}:</b> {_words(line.text(self._units))}'
            f"{self._mark(line.standing) if line.standing else ''}</li>"
            for title, line in sheet.weighed
        )
        return f'<section class="notes weighed"><h2>Where sources disagree</h2>\n<ul>\n{items}\n</ul></section>'

    def _kind(self, standing: Standing, above: Standing | None = None) -> str:
        """Return the classes of a figure: its mark is its own, the table's, or needless as the design itself has it."""
        return "fig own" if standing not in self._notes else "fig same" if standing == above else "fig"

    def _mark(self, standing: Standing, above: Standing | None = None) -> str:
        """Return the mark of a standing; none where the head of the table has it already."""
        if standing == above or standing not in self._notes:
            return ""
        n = self._notes[standing]
        title = _words(f"{standing.source} ({standing.status})")
        return f' <span class="mark">[<a href="#note-{n}" title="{title}">{n}</a>]</span>'


def _note(note: str) -> str:
    return f' <span class="note">{_words(note)}</span>' if note else ""


def _joined(parts: Iterable[str]) -> str:
    return "\n".join(part for part in parts if part)
