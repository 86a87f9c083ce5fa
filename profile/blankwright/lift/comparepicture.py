"""The picture of a comparison: the drawing, and along it bars of what is left and what is short, in tenths.

SVG 1.1 (W3C). Bars are drawn larger than they are, and the picture says by how much.
"""

from __future__ import annotations

import textwrap
from typing import Any

import numpy as np

from blankwright.base.arrays import Array
from blankwright.ink import lettering
from blankwright.lift.compare import MOST_TOLD, Comparison

SHEET_MM, MARGIN_MM, TEXT_MM = 297.0, 12.0, 2.6
LINE_MM = TEXT_MM * 1.7
BAR_MM = 2.0
"""A tenth of a millimetre is drawn so long."""
MOST_TENTHS = 6
"""What differs by more is drawn as long as this."""
LEFT, SHORT = ("#9ecae1", "#4292c6", "#08519c"), ("#fcae91", "#ef3b2c", "#99000d")
"""Up to one tenth, up to three, and more; left stands outward and short inward: colour alone tells nobody."""
_STEPS_MM = (0.1, 0.3)
_LEGEND_MM = 36.0
_INK, _GREY = "#000000", "#8a8a8a"


def comparison_svg(one: Comparison, name: str) -> str:
    """Return the picture as SVG text.

    Args:
        one: The comparison.
        name: Name of the design.
    """
    ring = one.drawing.flattened(0.02)
    low, high = ring.min(axis=0), ring.max(axis=0)
    scale = (SHEET_MM - 2 * MARGIN_MM - 2 * BAR_MM * MOST_TENTHS) / float(high[0] - low[0])
    top = MARGIN_MM + 4 * LINE_MM + BAR_MM * MOST_TENTHS
    foot = top + float(high[1] - low[1]) * scale + BAR_MM * MOST_TENTHS + LINE_MM
    words = _words(one)
    tall = int(np.ceil(foot + (len(words) + 4) * LINE_MM + MARGIN_MM))

    def at(places: Array) -> Array:
        x = MARGIN_MM + BAR_MM * MOST_TENTHS + (places[:, 0] - low[0]) * scale
        return np.column_stack([x, top + (high[1] - places[:, 1]) * scale])

    import svgwrite  # noqa: PLC0415 - only who draws needs it

    page: Any = svgwrite.Drawing(
        size=(f"{SHEET_MM:g}mm", f"{tall}mm"), viewBox=f"0 0 {SHEET_MM:g} {tall}", debug=False, profile="full"
    )
    title = _plain(f"{one.file} on the drawing of {name}")
    page.set_desc(title=title)
    page.add(page.rect((0, 0), (SHEET_MM, tall), fill="#ffffff"))
    _write(page, MARGIN_MM, MARGIN_MM + TEXT_MM, title, 1.3, bold=True)
    _bars(page, one, at)
    page.add(page.path(d=_path(at(ring)) + "Z", fill="none", stroke=_INK, stroke_width=0.25, class_="drawing"))
    _numbers(page, one, at)
    _legend(page, foot)
    for k, line in enumerate(words):
        _write(page, MARGIN_MM, foot + (k + 3) * LINE_MM, line)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{page.tostring()}\n'


def _bars(page: Any, one: Comparison, at: Any) -> None:
    """Draw one bar for each place: outward what is left, inward what is short."""
    d = one.differences
    tenths = np.clip(d.off_mm * 10, -MOST_TENTHS, MOST_TENTHS)
    foot = at(d.points)
    head = foot + (d.out * np.array([1.0, -1.0])) * (tenths * BAR_MM)[:, None]
    for colours, sign in ((LEFT, 1), (SHORT, -1)):
        for k, colour in enumerate(colours):
            rows = np.flatnonzero(
                (sign * d.off_mm > max(0.02, ((0.0, *_STEPS_MM)[k]))) & (sign * d.off_mm <= (*_STEPS_MM, np.inf)[k])
            )
            if not len(rows):
                continue
            line = "".join(
                f"M{a:.2f} {b:.2f}L{c:.2f} {e:.2f}"
                for (a, b), (c, e) in zip(foot[rows].tolist(), head[rows].tolist(), strict=True)
            )
            kind = "left" if sign > 0 else "short"
            page.add(page.path(d=line, stroke=colour, stroke_width=0.3, fill="none", class_=kind))


def _numbers(page: Any, one: Comparison, at: Any) -> None:
    """Number the places that are told, beside their bars."""
    for k, s in enumerate(one.stretches[:MOST_TOLD]):
        d = one.differences
        nearest = int(np.hypot(*(d.points - np.array(s.at_mm)).T).argmin())
        out = d.out[nearest] * np.array([1.0, -1.0])
        long = BAR_MM * min(abs(s.mm) * 10, MOST_TENTHS) if s.mm > 0 else 0.0
        x, y = (at(np.array([s.at_mm]))[0] + out * (long + 3.2)).tolist()
        page.add(page.circle((round(x, 2), round(y, 2)), 2.0, fill="#ffffff", stroke=_INK, stroke_width=0.2))
        _write(page, x, y + TEXT_MM * 0.35, str(k + 1), 0.9, anchor="middle")


def _legend(page: Any, y: float) -> None:
    x = MARGIN_MM
    upto = ("up to 0.1 mm", "to 0.3 mm", "more")
    for kind, colours in (("left (outward):", LEFT), ("short (inward):", SHORT)):
        _write(page, x, y + TEXT_MM, kind)
        x += _LEGEND_MM
        for colour, text in zip(colours, upto, strict=True):
            page.add(page.rect((round(x, 2), round(y + 0.2, 2)), (4, TEXT_MM), fill=colour))
            _write(page, x + 5.5, y + TEXT_MM, text)
            x += _LEGEND_MM
    tenth = f"{BAR_MM:g} mm on this sheet for each tenth of a millimetre"
    text = f"Bars: {tenth}, at most {MOST_TENTHS} tenths. Line: the drawing."
    _write(page, MARGIN_MM, y + TEXT_MM + LINE_MM, text, colour=_GREY)


def _words(one: Comparison) -> list[str]:
    out = []
    for k, s in enumerate(one.stretches[:MOST_TOLD]):
        out += textwrap.wrap(f"{k + 1}  {s.line.text()}", 150)
    if not out:
        out = ["Nothing is left and nothing is short that the file could tell."]
    out.append(f"Less than {one.told_from_mm:.2f} mm the file does not tell.")
    return [*out, "For seeing, not for measuring: the picture is not at true size."]


def _plain(text: str) -> str:
    return "".join(c if c.isprintable() else "?" for c in text)


def _write(page: Any, x: float, y: float, text: str, size: float = 1.0, *, bold: bool = False, colour: str = _INK, anchor: str = "start") -> None:  # fmt: skip # noqa: E501
    more = {"font_weight": "bold"} if bold else {}
    font = round(lettering.font_size_mm(TEXT_MM * size), 3)
    style = {"font_size": font, "fill": colour, "text_anchor": anchor, "font_family": lettering.FONT_FAMILY}
    page.add(page.text(_plain(text), insert=(round(x, 3), round(y, 3)), **style, **more))


def _path(points: Array) -> str:
    return "M" + "L".join(f"{x:.3f} {y:.3f}" for x, y in points.tolist())
