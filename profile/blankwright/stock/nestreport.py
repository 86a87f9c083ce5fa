"""What is told of a layout: as data for scripts, and in sentences for the maker."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Any

from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, Quantity, exact_mm, mm, range_mm, said
from blankwright.stock.blank import Blank
from blankwright.stock.cutorder import WHY, in_order
from blankwright.stock.figures import Prices, SheetFigures, sheet_figures, total_cost
from blankwright.stock.grain import across
from blankwright.stock.layout import Layout, Room, Sheet, proven
from blankwright.stock.nest import Nested
from blankwright.stock.nestmap import chalk_map
from blankwright.stock.nestnote import Split, sheet_note
from blankwright.stock.nestpicture import material_words, sheet_name
from blankwright.stock.offcuts import offcuts, whole_size_mm
from blankwright.stock.ofmaterial import named
from blankwright.stock.piece import Piece
from blankwright.stock.underneath import thick_under

_DIGITS = 4
_THICKER_MM = 0.5
"""Steel so much thicker than a blank is drawn for is something to look at: it is more than is ground off its faces."""
_PERCENT = 100.0


@dataclass(frozen=True, eq=False)
class Report:
    """A layout with everything that is told of it.

    Args:
        found: What the search found.
        prices: What the maker pays; None for no costs.
        split: "sheet" for a cutting file a piece, "part" for one a blank.
    """

    found: Nested
    prices: Prices | None = None
    split: Split = "sheet"

    @cached_property
    def layout(self) -> Layout:
        """The layout, each piece in the order of cutting."""
        layout = self.found.layout
        return Layout(layout.job, tuple(in_order(layout, sheet) for sheet in layout.sheets))

    @cached_property
    def rooms(self) -> list[Room]:
        """What the proof measured on each piece."""
        return [proven(self.layout, sheet) for sheet in self.layout.sheets]

    @cached_property
    def figures(self) -> list[SheetFigures]:
        """The figures of each piece."""
        return [sheet_figures(self.layout, sheet, self.prices) for sheet in self.layout.sheets]

    @property
    def complete(self) -> bool:
        """Whether every blank has a place."""
        return not self.layout.left

    @cached_property
    def data(self) -> dict[str, Any]:
        """The layout as data."""
        layout, job = self.layout, self.layout.job
        every = zip(layout.sheets, self.rooms, self.figures, strict=True)
        return {
            "format": 1,
            "job": job.name,
            "gap_mm": job.gap_mm,
            "held": job.held,
            "sheets": [self._sheet(*one) for one in every],
            "left": [
                {"design": job.blanks[k].name, "quantity": n, "why": self._why_left(k)} for k, n in layout.left.items()
            ],
            "cost": self._cost,
            "searched": {
                "strip_search": self.found.library,
                "stopped": self.found.stopped,
            },
        }

    @property
    def _cost(self) -> dict[str, Any] | None:
        total = total_cost(dict(enumerate(self.figures)))
        return (
            None
            if total is None or self.prices is None
            else {"total": round(total, 2), "currency": self.prices.currency}
        )

    def _sheet(self, sheet: Sheet, room: Room, figures: SheetFigures) -> dict[str, Any]:
        layout, piece = self.layout, self.layout.job.pieces[sheet.piece]
        return {
            "piece": piece.name,
            "copy": sheet.copy,
            "material": None if (steel := layout.job.material_of(piece)) is None else steel.name,
            "material_said": piece.material is not None,
            "grain": self._grain(sheet),
            "yield": round(figures.yielded, _DIGITS),
            "yield_without_offcuts": round(figures.without_offcuts, _DIGITS),
            "used_mm": round(figures.used_mm, 3),
            "least_gap_mm": None if room.gap_mm is None else round(room.gap_mm, _DIGITS),
            "least_edge_mm": round(room.edge_mm, _DIGITS),
            "least_zone_mm": None if room.zone_mm is None else round(room.zone_mm, _DIGITS),
            "mass_g": {
                "stock": _rounded(figures.stock_g),
                "blanks": _rounded(figures.blanks_g),
                "offcuts": _rounded(figures.offcuts_g),
            },
            "cut_mm": round(figures.cut_mm, 1),
            "pierces": figures.pierces,
            "cost": None if figures.cost is None else round(figures.cost, 2),
            "parts": [
                {
                    "design": row.name,
                    "design_code": None if (knife := layout.job.blanks[row.laid.blank].knife) is None else knife.code,
                    "x_mm": row.laid.pose.x_mm,
                    "y_mm": row.laid.pose.y_mm,
                    "turn_deg": row.laid.pose.turn_deg,
                    "flipped": row.laid.pose.flipped,
                    "places_mm": {m.name: [round(m.from_left_mm, 2), round(m.from_below_mm, 2)] for m in row.marks},
                }
                for row in chalk_map(layout, sheet)
            ],
            "note": self._note(sheet),
            "offcuts_mm": [[round(v, 1) for v in one.outline.size_mm] for one in offcuts(layout, sheet)],
        }

    def _note(self, sheet: Sheet) -> dict[str, Any] | None:
        """Return the cover note; a row that goes on under the one before has no "about"."""
        note = sheet_note(self.layout, sheet, self.split)
        if note is None:
            return None
        rows = [{"about": row.about, "words": row.words} for row in note.rows if row.words]
        return {"title": note.title, "rows": rows, "closing": note.closing}

    def _grain(self, sheet: Sheet) -> dict[str, Any] | None:
        most = across(self.layout, sheet)
        if most is None:
            return None
        return {"across_deg": round(most.deg, 3), "design": most.name, "number": most.number, "look": most.look}

    def lines(self) -> list[Line]:
        """Return the layout in sentences."""
        layout = self.layout
        job = layout.job
        done = sum(len(sheet.laid) for sheet in layout.sheets)
        count = len(layout.sheets)
        words = f"{done} of {job.parts} blanks on {count} piece{'s' if count != 1 else ''}, at least {{}} apart"
        lines = [said(words + (f": {job.gap_words}." if job.gap_words else "."), exact_mm(job.gap_mm))]
        for sheet, room, figures in zip(layout.sheets, self.rooms, self.figures, strict=True):
            lines += self._sheet_lines(sheet, room, figures)
        for piece in job.pieces:
            if piece.material is not None and not any(blank.of_piece(piece) for blank in job.blanks):
                lines.append(said(f"Not used: {piece.name}; no blank is of {named(piece.material)}."))
        for k, n in layout.left.items():
            lines.append(said(f"Left over: {n} {job.blanks[k].name}: {self._why_left(k)}."))
        if self.figures:
            lines.append(said(f"{WHY}; held {job.held}."))
        lines += self._cost_lines()
        lines += self._search_lines()
        return lines

    def _why_left(self, number: int) -> str:
        """Return why a blank has no place; where it was never looked for, nobody knows."""
        early = self.found.stopped and not self.layout.sheets
        return "stopped before it was laid out" if early else why_left(self.layout, number)

    def _cost_lines(self) -> list[Line]:
        """Say what it costs, and what of: of a knife these are its blank alone."""
        total, prices = total_cost(dict(enumerate(self.figures))), self.prices
        if total is None or prices is None:
            return []
        stuff = "steel" if all(one.kind == "steel" for one, _ in self.layout.job.materials) else "stock"
        paid = " and ".join(what for what, price in ((stuff, prices.stock), ("cutting", prices.cutting)) if price)
        words = f"Cost of {paid} alone, no handle and no pins, at the prices in {prices.source}, offcuts not counted"
        return [said(f"{words}: {{}}.", Quantity(total, prices.currency, 2))]

    def _search_lines(self) -> list[Line]:
        found = self.found
        lines = []
        if not found.library:
            lines.append(
                said("Laid out by our own search alone; with the extra blankwright[nest] closer layouts are found.")
            )
        if found.stopped:
            some = "this is the best so far" if self.layout.sheets else "nothing was laid out yet"
            lines.append(said(f"Stopped before its time; {some}."))
        return lines

    def _sheet_lines(self, sheet: Sheet, room: Room, figures: SheetFigures) -> list[Line]:
        share, closer = (Quantity(v * _PERCENT, "%", 1) for v in (figures.yielded, figures.without_offcuts))
        count = len(sheet.laid)
        name = sheet_name(self.layout, sheet)
        lines = [
            said(
                f"{name}: {count} blank{'s' if count != 1 else ''}, {{}} of the steel, {{}} without the offcuts; they "
                "reach {}.",
                share, closer, mm(figures.used_mm, 1),
            )
        ]  # fmt: skip
        lines += [said(f"  {words}.") for words in [material_words(self.layout, sheet)] if words]
        most = across(self.layout, sheet)
        lines += [] if most is None else [said("  ").then(most.line().words, *most.line().values)]
        lines += _too_thick(self.layout, sheet)
        measured = said("  measured: {} to the edge", mm(room.edge_mm))
        if room.gap_mm is not None:
            measured = measured.then(", {} between blanks", mm(room.gap_mm))
        if room.zone_mm is not None:
            measured = measured.then(", {} to what is kept clear of", mm(room.zone_mm))
        lines.append(measured.then("."))
        if figures.stock_g is not None and figures.blanks_g is not None:
            weights = (Quantity(figures.blanks_g, "g", 0), Quantity(figures.stock_g, "g", 0))
            lines.append(
                said("  blanks {} of {}; ", *weights)
                .then("{} of cut, ", mm(figures.cut_mm, 0))
                .then(f"{figures.pierces} starts.")
            )
        saved = [whole_size_mm(one) for one in offcuts(self.layout, sheet)]
        return lines + [said("  offcut {} x {}.", mm(long, 0), mm(wide, 0)) for long, wide in saved]


def _too_thick(layout: Layout, sheet: Sheet) -> list[Line]:
    """Say which blanks are drawn for less steel than they are cut out of."""
    piece, lines = layout.job.pieces[sheet.piece], []
    words = "  to look at: {} is drawn for {} and is cut out of {}: take other steel, or grind it down."
    for number in dict.fromkeys(one.blank for one in sheet.laid):
        blank = layout.job.blanks[number]
        thick = thick_under(piece, [layout.outline(one) for one in sheet.laid if one.blank == number])
        if blank.knife is not None and thick.most_mm - blank.thickness_mm > _THICKER_MM:
            lines.append(said(words, blank.name, exact_mm(blank.thickness_mm), range_mm(thick.least_mm, thick.most_mm)))
    return lines


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 1)


def why_left(layout: Layout, number: int) -> str:
    """Return why a blank has no place, in words without a full stop."""
    blank = layout.job.blanks[number]
    pieces = list(filter(blank.of_piece, layout.job.pieces))
    thick = [p for p in pieces if max(mm_ for _, mm_ in p.thickness) >= blank.thickness_mm - 1e-9]
    if not thick:
        return f"no piece is as thick as the {blank.thickness_mm:g} mm that it needs"
    sided = [p for p in thick if blank.flips(p)]
    if not sided:
        return "no piece shows the face that it is ground on"
    if not any(_goes_on(blank, piece, layout) for piece in sided):
        return "no piece is large enough for it in a turn that is allowed"
    return "no room was found for it"


def _goes_on(blank: Blank, piece: Piece, layout: Layout) -> bool:
    """Whether a blank goes into the box of a piece in one of its turns at all, roughly."""
    edge = layout.job.edge_mm(blank, piece)
    long, high = (v - 2 * edge for v in piece.outline.size_mm)
    return fits_box(blank, piece, long, high)


def fits_box(blank: Blank, piece: Piece, long_mm: float, high_mm: float) -> bool:
    """Whether a blank goes into a box in one of its turns."""
    return any(w <= long_mm and h <= high_mm for w, h in turned_sizes(blank, piece))


def turned_sizes(blank: Blank, piece: Piece) -> Sequence[tuple[float, float]]:
    """Return the sizes of a blank's box in the turns that are allowed [mm]."""
    from blankwright.stock.fill import turns_to_try  # noqa: PLC0415 - loads what only a search needs

    return [blank.outline.placed(turn, 0.0, 0.0).size_mm for turn in turns_to_try(blank, piece, 3.0)]
