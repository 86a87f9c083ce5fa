"""Who decides how a blank is cut? The shop, or the table, that cuts it; without one the design."""

from __future__ import annotations

from dataclasses import replace

from blankwright.base.errors import RequestError
from blankwright.base.finding import Finding, finding
from blankwright.base.said import mm, said
from blankwright.design.request import BY_CUTTER, Design
from blankwright.knife.start import BOUGHT
from blankwright.shop.allowance import Allowance
from blankwright.shop.services import Service
from blankwright.shop.tables import process

_KEY = "cutting.process"

MORE_MM = 0.05
"""An allowance of the design's own is told of when it is more than needed by this: sums are rounded up to it."""


def as_cut(design: Design, service: Service | None) -> Design:
    """Return a design that is cut the way its shop cuts, whatever it asks for; a bought blank is not cut.

    Raises:
        RequestError: The design asks to be cut by hand, and a machine cuts it.
    """
    if service is None or design.start in BOUGHT:
        return design
    asked = design.settings.get(_KEY)
    if design.asked(_KEY) and not process(str(asked), "[cutting] process").machine_cut:
        raise RequestError(
            f"[cutting] process: '{asked}' is work by hand, but {service.title} cuts by {service.process}. Leave the "
            "process out, the service decides it; or leave --service out."
        )
    if asked == service.process:
        return design
    return replace(
        design, settings={**design.settings, _KEY: service.process}, sources={**design.sources, _KEY: BY_CUTTER}
    )


def cutter_findings(asked: Design, service: Service | None, oversize: Allowance | None) -> list[Finding]:
    """Say where the shop decides otherwise than the design, and where the design leaves more than its cutter needs.

    Args:
        asked: The design as its maker asked for it.
        service: Who cuts it.
        oversize: What is left outside the finished outline; None for a bought blank.
    """
    if service is None or oversize is None:
        return []
    out = []
    own = asked.settings.get(_KEY)
    if asked.asked(_KEY) and own != oversize.process:
        words = f"The design asks for {own}, but {service.title} cuts by {oversize.process}: allowance, holes and the "
        out.append(finding("SERVICE", f"{words}worst case are those of {oversize.process}.", level="warning"))
    for region, given in asked.allowance_mm.items():
        needed = oversize.needed_mm[region]
        if given > needed + MORE_MM:
            words = "[allowance] {}: {} is more than {} needs, which is {}: more steel to grind away. It is kept."
            line = said(words, region, mm(given), oversize.process, mm(needed))
            out.append(finding("SERVICE", line, level="warning"))
    return out
