"""How this knife is hardened and tempered: medium and wrap for its thickness, and the rows of the chart it asks for."""

from __future__ import annotations

from blankwright.base.finding import Finding, finding
from blankwright.base.frozen import dataclass
from blankwright.design.request import Design
from blankwright.knife.start import Start
from blankwright.shop.bands import Rule
from blankwright.shop.edges import usual_hardness
from blankwright.shop.hardening import Hardening, Quench, TemperChoice, hardening, temper_for
from blankwright.shop.quenches import Medium, medium
from blankwright.shop.records import Material


@dataclass(frozen=True)
class Heat:
    """What is known of this knife's heat.

    Args:
        entry: Its steel's row of the table.
        media: What it is quenched in at its thickness, the one that is used first.
        quench: How, in words.
        wished_hrc: The hardness that was wished for [HRC]; None without a wish.
        usual: Why the range that is looked for is usual, where nobody wished.
        temper: The rows of the steel's chart for it.
    """

    entry: Hardening
    media: tuple[Quench, ...]
    quench: Rule
    wished_hrc: float | None
    usual: Rule
    temper: TemperChoice

    @property
    def medium(self) -> Medium:
        """The medium that is used."""
        return medium(self.media[0])

    @property
    def foil(self) -> bool:
        """Whether the blade lies in a foil packet at heat."""
        return self.entry.protect.by == "foil"

    @property
    def cold_first(self) -> bool:
        """Whether it may be frozen before its first temper."""
        return self.entry.cold is not None and self.entry.cold.when == "before the first temper"


def heat_of(design: Design, material: Material, start: Start, *, blunt: bool) -> Heat | None:
    """Return what is known of a knife's heat; None where it sees none, or where nothing is known.

    Args:
        design: The request.
        material: What the blade is made of.
        start: How the work starts.
        blunt: Whether its edge is rounded.
    """
    entry = hardening(material.name) if start.heated and start.known else None
    if entry is None:
        return None
    media, quench = entry.quench_for(design.stock.thickness_mm)
    wish = design.stock.hardness_hrc
    usual = usual_hardness(design.family.name, blunt=blunt)
    low, high = (usual.low, usual.high) if wish is None else (wish, wish)
    rows = temper_for(entry.chosen_temper, low, high)
    if wish is None and not rows.points:
        points = entry.chosen_temper.points
        near = points[0] if high > points[0].hrc_high else points[-1]
        rows = TemperChoice((near,), low, high, "the nearest row")
    rule = Rule(f"Usual for this knife: {usual.words()}.", usual.source, usual.status)
    return Heat(entry, media, quench, wish, rule, rows)


def heat_findings(heat: Heat | None) -> list[Finding]:
    """Say when a wished hardness stands in no row of the steel's chart."""
    if heat is None or heat.wished_hrc is None or heat.temper.points:
        return []
    text = (
        f"[material] hardness: {heat.wished_hrc:g} HRC is not in the temper chart of {heat.entry.title}: "
        f"{heat.temper.words}. No temper is picked."
    )
    return [finding("HARDNESS", text, level="warning")]
