"""What material costs: a small text file of prices, each per kg, per m or per piece."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import field
from pathlib import Path

from blankwright.base.errors import RequestError, told, unknown
from blankwright.base.fields import read_toml
from blankwright.base.frozen import dataclass

ITEMS: dict[str, tuple[str, ...]] = {
    "stock": ("kg", "piece"),
    "handle": ("kg", "piece"),
    "pins": ("kg", "m", "piece"),
    "cutting": ("piece",),
    "glue": ("piece",),
}
"""What can have a price, and per what."""

_PRICE = re.compile(r"^\s*(\d+(?:[.,]\d+)?)\s+per\s+(\S+)\s*$")
_MOST = 1_000_000.0


@dataclass(frozen=True)
class Price:
    """A price.

    Args:
        amount: How much money.
        per: kg, m or piece.
    """

    amount: float
    per: str


@dataclass(frozen=True)
class Prices:
    """The prices of a file.

    Args:
        currency: Three letters or a word, as it shall be printed.
        by_item: Prices by what they are for.
        source: Name of the file.
    """

    currency: str
    by_item: Mapping[str, Price] = field(hash=False)
    source: str


def read_prices(path: Path) -> Prices:
    """Read a file of prices: currency = "EUR", then stock = "9.80 per kg" and the like.

    Args:
        path: The file.

    Raises:
        RequestError: It cannot be read, has an unknown key, or a price without a fitting unit.
    """
    table = read_toml(path)
    currency = table.get("currency")
    if not isinstance(currency, str) or not currency.strip().isalpha() or len(currency) > 12:
        raise RequestError(f'{path.name} currency: write a word of letters, such as currency = "EUR".')
    found: dict[str, Price] = {}
    for key, value in table.items():
        if key == "currency":
            continue
        if key not in ITEMS:
            raise unknown("key", key, ["currency", *ITEMS], path.name)
        found[key] = _price(value, ITEMS[key], f"{path.name} {key}")
    if not found:
        raise RequestError(f"{path.name}: no price in it. Allowed: {', '.join(ITEMS)}.")
    return Prices(currency.strip(), found, path.name)


def _price(value: object, units: tuple[str, ...], where: str) -> Price:
    example = f'"9.80 per {units[0]}"'
    match = _PRICE.match(value) if isinstance(value, str) else None
    if match is None:
        raise RequestError(f"{where}: {told(value)} is not a price. Write it with its unit, such as {example}.")
    if match[2] not in units:
        raise RequestError(f"{where}: per '{match[2]}' does not go with it. Allowed: {', '.join(units)}.")
    amount = float(match[1].replace(",", "."))
    if amount > _MOST:
        raise RequestError(f"{where}: {amount:g} is beyond any price of it.")
    return Price(amount, match[2])
