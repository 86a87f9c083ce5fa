"""What a blade of wood asks for, whatever knife it is: thickness, edge, tip, how it is cut, how its grain runs."""

from __future__ import annotations

from functools import cache

from blankwright.base.fields import Fields, read_toml
from blankwright.base.frozen import dataclass
from blankwright.base.readrows import TableRow, need, read_row
from blankwright.shop.bands import Rule
from blankwright.shop.records import Figure
from blankwright.shop.tables import DATA, process


@dataclass(frozen=True)
class WoodBlade(TableRow):
    """The table's one row.

    Args:
        name: Name in the table.
        thickness_mm: Thickness of the board [mm].
        edge_mm: Thickness of the edge, and the least that does not break out [mm].
        tip_mm: Thickness near the tip [mm].
        process: How it is cut, a name of the table of processes.
        grain: How its grain runs.
    """

    name: str
    thickness_mm: Figure
    edge_mm: Figure
    tip_mm: Figure
    process: str
    grain: Rule

    def check(self) -> None:
        """Refuse a way of cutting that cuts no wood, and an edge thicker than its board.

        Raises:
            RequestError: One of them.
        """
        need("wood" in process(self.process).materials, f"process '{self.process}' cuts no wood.")
        thin = self.edge_mm.value <= self.tip_mm.value <= self.thickness_mm.value
        need(thin, "edge, tip and thickness must rise in this order.")


@cache
def wood_blade() -> WoodBlade:
    """Return what a blade of wood asks for.

    >>> wood_blade().edge_mm.value
    0.8
    """
    return read_row(WoodBlade, Fields(read_toml(DATA / "woodblades.toml"), "woodblades.toml").sub("wood"), name="wood")
