"""The parts of the manual that are made from the code: directives `made`, `run` and `script`.

`made NAME` puts in what a function of MADE returns, so that a reference cannot differ from what it refers to.
`run` shows a line for a terminal and `script` a piece of Python; the tests run both.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import MISSING, fields, is_dataclass
from html import escape
from typing import Any, ClassVar

from docutils import nodes
from docutils.parsers.rst import Directive
from sphinx.util.docutils import SphinxDirective

Row = Sequence[str]


def table(head: Row, rows: Iterable[Row]) -> str:
    """Return a table in Markdown."""

    def line(cells: Row) -> str:
        return "| " + " | ".join(str(c).replace("|", "\\|").replace("\n", " ") for c in cells) + " |"

    return "\n".join([line(head), line(["---"] * len(head)), *map(line, rows)])


def first(text: str | None) -> str:
    """Return the first paragraph of a docstring in one line."""
    return " ".join((text or "").strip().split("\n\n")[0].split())


def commands() -> str:
    """Every command with its options, as `--help` says them."""
    import typer

    from blankwright.commands.cli import app

    found = typer.main.get_command(app()).commands  # type: ignore[attr-defined]
    return "\n\n".join(_command(name, found[name]) for name in found)


def _command(name: str, command: Any) -> str:
    words = [p for p in command.params if p.param_type_name == "argument"]
    usage = " ".join(["blankwright", name, *(p.make_metavar(_context(command)) for p in words)])
    rows = [
        (f"`{', '.join(p.opts)}`", _value(p), p.help or "")
        for p in command.params
        if p not in words and p.name != "help"
    ]
    text = [f"## {name}", first(command.help), f"```text\n{usage}\n```", f"{command.epilog}"]
    return "\n\n".join([*text, *([table(("option", "value", "meaning"), rows)] if rows else [])])


def _context(command: Any) -> Any:
    return command.make_context(command.name, [], resilient_parsing=True)


def _value(option: Any) -> str:
    return "" if option.is_flag else f"`{option.metavar or option.name.upper()}`"


def design_keys() -> str:
    """Every key of a design file that is not a dimension, by table."""
    from blankwright.design.keys import SETTING_UNITS, SETTINGS

    groups: dict[str, list[Row]] = {}
    for s in SETTINGS:
        group, key = s.key.split(".", 1)
        unit = SETTING_UNITS.get(s.kind, "mm")
        span = f"{s.least:g} to {s.greatest:g}" + ("" if s.kind == "count" else f" {unit}")
        allowed = {
            "choice": ", ".join(f"`{c}`" for c in s.choices),
            "name": f"a {' or '.join(s.kinds)} of `tables`" if s.kinds else "a name",
            "height": f"{span}, or `full`",
            "lengths": f"{s.items[0]} to {s.items[1]} lengths, {span}",
        }.get(s.kind, span)
        groups.setdefault(group, []).append((f"`{key}`", allowed, s.meaning))
    return "\n\n".join(f"## [{g}]\n\n{table(('key', 'allowed', 'meaning'), rows)}" for g, rows in groups.items())


def families() -> str:
    """Every family with its dimensions."""
    from blankwright.design.family import family_names, load_family

    blocks = []
    for name in family_names():
        family = load_family(name)
        rows, seen = [], set()
        for d in family.dimensions:
            row = (f"`{d.key}`", f"{d.default_mm:.1f} mm", f"{d.least_mm:.1f} to {d.greatest_mm:.1f} mm", d.meaning)
            if d.key not in seen:
                rows.append(row)
            seen.add(d.key)
        head = f"### {name}\n\n{family.title}: {family.use}. Constructions: {', '.join(family.curves)}."
        blocks.append(f"{head}\n\n{table(('key', 'default', 'range', 'meaning'), rows)}")
    return "\n\n".join(blocks)


def handles() -> str:
    """Every shipped handle."""
    from blankwright.base.library import template_file
    from blankwright.design.pattern import handle_names, load_handle_table

    rows = []
    for name in handle_names():
        found = load_handle_table(name, str(template_file("handle", name, "the manual")))
        rows.append((f"`{name}`", found["title"], found["use"], ", ".join(found["constructions"])))
    return table(("pattern", "what it is", "for", "constructions"), rows)


def shipped(folder: str, name: str) -> str:
    """Return a shipped file as it is."""
    from blankwright.base.library import templates_dir

    text = (templates_dir() / folder / f"{name}.toml").read_text(encoding="utf-8")
    return f"````toml\n{text.rstrip()}\n````"


def service_keys() -> str:
    """The keys of a service file, as the records that read it say them."""
    from blankwright.shop import services

    return "\n\n".join(_record(one) for one in (services.Service, services.Limit, services.Table))


def _record(one: type) -> str:
    meanings = _meanings(one.__doc__ or "")
    rows = []
    for f in fields(one) if is_dataclass(one) else ():
        if f.name in meanings:
            needed = "" if f.default is MISSING and f.default_factory is MISSING else "may be left out"
            rows.append((f"`{f.name.removesuffix('_mm')}`", meanings[f.name], needed))
    return f"### {first(one.__doc__)}\n\n{table(('key', 'meaning', ''), rows)}"


def _meanings(doc: str) -> dict[str, str]:
    """Return the arguments of a docstring with their meaning."""
    found: dict[str, str] = {}
    name, inside = "", False
    for line in doc.splitlines():
        text = line.strip()
        if text == "Args:":
            inside = True
        elif inside and not text:
            break
        elif inside and ": " in text and text.split(": ")[0].isidentifier():
            name, _, meaning = text.partition(": ")
            found[name] = meaning
        elif inside and name:
            found[name] += f" {text}"
    return found


def trade_tables() -> str:
    """The tables of the trade and what each row is called."""
    from blankwright.report.tables import tables_data

    rows = [(f"`{t['name']}`", t["holds"], str(t["rows"])) for t in tables_data()["tables"]]
    return table(("table", "what it holds", "rows"), rows)


def finding_codes() -> str:
    """Every code of a finding and of a figure."""
    from blankwright.knife.rules import BLANK_FIGURES, DESIGN_CODES, FIGURE_CODES
    from blankwright.proof.findings import CODES

    groups = (
        ("Of the design", DESIGN_CODES),
        ("Of a file", CODES),
        ("Figures, which cannot be wrong", FIGURE_CODES),
        ("Figures of a blank that exists", BLANK_FIGURES),
    )
    head = ("code", "what is looked at")
    return "\n\n".join(
        f"## {title}\n\n{table(head, [(f'`{code}`', says) for code, says in codes.items()])}" for title, codes in groups
    )


def python_names() -> str:
    """The names of the package, each with its signature and its docstring."""
    import blankwright as bw

    kinds = {name: getattr(bw, name) for name in bw.__all__ if name != "__version__"}
    lines = []
    for name, value in kinds.items():
        kind = "autoexception" if isinstance(value, type) and issubclass(value, Exception) else None
        kind = kind or ("autoclass" if isinstance(value, type) else "autofunction")
        home = f"{value.__module__}.{value.__qualname__}"
        members = "\n:members:" if kind == "autoclass" else ""
        lines.append(
            f"## {name}\n\n```{{eval-rst}}\n.. {kind}:: {home}{members.replace(chr(10), chr(10) + '   ')}\n```"
        )
    return "\n\n".join(lines)


_PARTS = (
    # words, place along and up as shares of the blade or of the handle, and where the words stand
    ("tip", "blade", 1.0, None, "below"),
    ("belly", "blade", 0.72, "edge", "below"),
    ("flat of the edge", "blade", 0.2, "edge", "below"),
    ("heel", "blade", 0.0, "edge", "left"),
    ("spine", "blade", 0.55, "spine", "above"),
    ("blade face", "blade", 0.35, "middle", "above"),
    ("notch", "handle", 0.0, "edge", "farther left"),
    ("pin", "hole", 0.0, None, "above"),
    ("tang, under the scales", "handle", 0.62, "middle", "above"),
    ("butt", "handle", 1.0, "middle", "below"),
)


def parts_of_a_knife() -> str:
    """A knife with the names of its parts, drawn from a solved one."""
    import blankwright as bw
    from blankwright.geometry.picture import outline_way

    knife = bw.solve("chef")
    o = knife.finished
    x0, y0, x1, y1 = o.bounds_mm
    marks = [_named(words, at, side, (x0, y0, x1, y1)) for words, at, side in _places(knife)]
    holes = "".join(
        f'<circle cx="{h.x_mm:.2f}" cy="{-h.y_mm:.2f}" r="{h.diameter_mm / 2:.2f}" fill="none"/>' for h in knife.holes
    )
    view = f"{x0 - 12:.1f} {-y1 - 26:.1f} {x1 - x0 + 24:.1f} {y1 - y0 + 52:.1f}"
    return (
        f'```{{raw}} html\n<svg viewBox="{view}" role="img" aria-label="The parts of a knife: tip, edge with its flat '
        'and belly, heel, notch, spine, tang, pins, butt" style="width:100%" '
        'font-family="system-ui, sans-serif" font-size="7">'
        f'<g stroke="currentColor" stroke-width=".7" fill="none"><path d="{outline_way(o.starts, o.ends, o.bulges)}" '
        f'fill="currentColor" fill-opacity=".08"/>{holes}</g>{"".join(marks)}</svg>\n```'
    )


def _places(knife: Any) -> list[tuple[str, tuple[float, float], str]]:
    """Return words, place on the knife and side of the words."""
    import shapely

    shape = knife.finished.to_shapely(0.05)
    x0, _, x1, _ = knife.finished.bounds_mm
    found = []
    for words, part, share, line, side in _PARTS:
        if part == "hole":
            h = knife.holes[0]
            found.append((words, (h.x_mm, h.y_mm), side))
            continue
        front = -knife.dimensions_mm.get("handle_gap", 14.0)
        x = x1 * share if part == "blade" else front / 2 if line == "edge" else front + (x0 - front) * share
        x = min(max(x, x0 + 0.2), x1 - 0.05)
        cross = shape.intersection(shapely.LineString([(x, -200), (x, 300)])).bounds
        y = {"edge": cross[1], "spine": cross[3], "middle": (cross[1] + cross[3]) / 2, None: cross[1]}[line]
        found.append((words, (x, y), side))
    return found


def _named(words: str, at: tuple[float, float], side: str, box: tuple[float, float, float, float]) -> str:
    """Return a leader with its words, outside of the knife."""
    x, y = at
    end = box[3] + 12 if side == "above" else box[1] - 14
    dx = {"left": -10, "farther left": -26}.get(side, 0)
    text = end - 7 if end < y else end + 2
    return (
        f'<path d="M{x:.2f} {-y:.2f}L{x + dx:.2f} {-end:.2f}" stroke="currentColor" stroke-width=".4"/>'
        f'<circle cx="{x:.2f}" cy="{-y:.2f}" r="1.2" fill="currentColor"/>'
        f'<text x="{x + dx:.2f}" y="{-text:.2f}" text-anchor="middle">{escape(words)}</text>'
    )


MADE: dict[str, Callable[[], str]] = {
    "commands": commands,
    "design_keys": design_keys,
    "families": families,
    "handles": handles,
    "family_example": lambda: shipped("families", "paring"),
    "handle_example": lambda: shipped("handles", "swell"),
    "service_keys": service_keys,
    "service_example": lambda: shipped("services", "plasma"),
    "stock_example": lambda: shipped("stocks", "leaf_spring"),
    "job_example": lambda: shipped("jobs", "galley_set"),
    "trade_tables": trade_tables,
    "finding_codes": finding_codes,
    "python_names": python_names,
    "parts_of_a_knife": parts_of_a_knife,
}
"""What can be put in, by name."""


class Made(SphinxDirective):
    """Put in what the code says."""

    required_arguments: ClassVar[int] = 1

    def run(self) -> list[nodes.Node]:
        """Return the parsed text."""
        return self.parse_text_to_nodes(MADE[self.arguments[0]](), allow_section_headings=True)


class Run(Directive):
    """A line for a terminal."""

    required_arguments: ClassVar[int] = 1
    optional_arguments: ClassVar[int] = 1
    has_content = True

    def run(self) -> list[nodes.Node]:
        """Return it as a block of text."""
        text = "\n".join(self.content)
        return [nodes.literal_block(text, text, language="none")]


class Script(Run):
    """A piece of Python."""

    def run(self) -> list[nodes.Node]:
        """Return it as a block of Python."""
        text = "\n".join(self.content)
        return [nodes.literal_block(text, text, language="python")]


def setup(app: Any) -> dict[str, Any]:
    """Tell Sphinx of the directives."""
    for name, kind in (("made", Made), ("run", Run), ("script", Script)):
        app.add_directive(name, kind)
    return {"version": "1", "parallel_read_safe": True}
