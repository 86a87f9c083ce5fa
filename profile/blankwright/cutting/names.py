"""What is a cutting file called? By the rule of its shop; a name that is too long is shortened by a rule of ours."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.cutting.delivery import Delivery
from blankwright.knife.knife import Knife
from blankwright.shop.services import Service

_SAFE = "-_."
_ENDING = ".dxf"

LETTERS = 4
"""Letters of the design code at the end of a shortened name: two designs of one set then differ."""


@dataclass(frozen=True)
class FileName:
    """The name of a cutting file.

    Args:
        name: What it is called.
        full: What it would be called without the shop's limit.
    """

    name: str
    full: str

    @property
    def shortened(self) -> bool:
        """Whether it is not the whole name."""
        return self.name != self.full


def file_name(sent: Delivery, taken: Collection[str] = ()) -> FileName:
    """Return the name of the cutting file of a delivery.

    Args:
        sent: The delivery.
        taken: Names that other designs of the same run have at the same shop.

    Raises:
        RequestError: Even the shortest name is longer than the shop takes, or all are taken.
    """
    knife, service = sent.knife, sent.service
    if service is None:
        name = f"{knife.design.slug}_cut_mm{_ENDING}"
        return FileName(name, name)
    return name_by_rule(knife, service, sent.quantity, knife.design.slug, knife.code, taken)


def name_by_rule(
    knife: Knife, service: Service, quantity: int, slug: str, code: str, taken: Collection[str] = ()
) -> FileName:
    """Return a file name by the rule of a service, no longer than it takes.

    What is too long loses letters of the slug only: thickness, unit and code stay.

    Args:
        knife: The knife, or the first of several.
        service: Whose rule.
        quantity: How many parts are wanted.
        slug: Name of the part in lower case.
        code: Its design code.
        taken: Names that are taken at the same shop.

    Raises:
        RequestError: Even the shortest name is longer than the shop takes, or all are taken.
    """

    def named(part: str) -> str:
        text = service.file_name.format(
            slug=part,
            thickness=f"{knife.stock_mm:g}".replace(".", "-"),
            unit=service.unit,
            process=knife.oversize.process,
            quantity=quantity,
            code=code,
        )
        return "".join(c if c.isalnum() or c in _SAFE else "-" for c in text) + _ENDING

    full = named(slug)
    room = len(slug) - (len(full) - service.longest_name)
    tail = "" if "{code}" in service.file_name else "".join(c for c in code if c.isalnum())
    tried = [named(part) for part in slugs(slug, tail, room)]
    used = {name.casefold() for name in taken}  # some systems know no capitals in a file's name
    for name in tried:
        if len(name) <= service.longest_name and name.casefold() not in used:
            return FileName(name, full)
    short = min(tried, key=len)
    if len(short) <= service.longest_name:
        raise RequestError(f"{full}: another design of this run has the same name. Give one of them another name.")
    raise RequestError(
        f"{short}: {service.title} takes file names of at most {service.longest_name} characters, and the shortest by "
        f"the rule of its file has {len(short)}. Shorten the rule 'name' in a copy of it."
    )


def slugs(slug: str, tail: str, room: int) -> Iterator[str]:
    """Yield what may stand for a slug: itself, then its start with letters of the code, then those alone.

    Args:
        slug: Name of the part in lower case.
        tail: Letters and digits of its code; "" where the code stands in the name anyway.
        room: How many letters there is room for.
    """
    yield slug
    for count in (LETTERS, len(tail)) if tail else ():
        left = room - count - 1
        if left > 0:
            yield f"{_cut(slug, left)}-{tail[:count]}"
    if not tail:
        yield _cut(slug, max(room, 1))
        return
    if len(tail) <= room:
        yield tail
    yield tail[:LETTERS]


def _cut(slug: str, room: int) -> str:
    """Return the start of a slug: whole words where at least half of the room is used, else letters."""
    if len(slug) <= room:
        return slug
    words = slug[: room + 1].rpartition("-")[0]
    return words if 2 * len(words) >= room else slug[:room].rstrip("-")
