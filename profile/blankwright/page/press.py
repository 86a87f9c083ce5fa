"""Files out: the ones the command line writes, by the same functions, and pages as they will print."""

from __future__ import annotations

import io
import threading
from collections import OrderedDict
from pathlib import Path
from typing import Any

from blankwright.base.errors import ProofError, RequestError, unknown
from blankwright.base.frozen import dataclass
from blankwright.base.plain import plain_text
from blankwright.base.reading import is_plain_file
from blankwright.design.request import Design
from blankwright.page.folder import Folder
from blankwright.page.protocol import Asked
from blankwright.shop.services import Service, service
from blankwright.template.scenes import Wishes, wishes

WHAT = ("all", "cut", "template", "sheet")
SHOWN = ("template", "card", "sheet", "drawing")

DOTS_PER_MM = 4.0
"""A preview is rendered with this many dots to the mm."""

_MOST_KEPT = 6
_MOST_PAGES = 40

KINDS = (
    ("_cut_mm.dxf", "cutting file"), ("_drawing_mm.svg", "drawing"), ("_template_mm.svg", "template to cut from board"),
    ("_sheet.html", "build sheet, to read"), ("_note.txt", "cover note for the shop"), (".json", "report as data"),
    ("_check_mm.pdf", "print of what the file cuts"), ("_blade_mm.stl", "blade, to print"),
    ("_handle_mm.stl", "handle, to print"), ("_knife_mm.stl", "whole knife, to print"),
    ("_parts_note.txt", "cover note of the parts"), ("_parts_maker.txt", "the parts, for the maker"),
)  # fmt: skip
_PRINTED = (("_template_", "trace template"), ("_sheet_", "build sheet"), ("_card_", "bench card"))


@dataclass(frozen=True)
class Seen:
    """A picture of a page, to be fetched."""

    kind: str
    content: bytes


class Previews:
    """The last pages that were looked at, kept in memory."""

    def __init__(self) -> None:
        self._kept: OrderedDict[int, list[Seen]] = OrderedDict()
        self._last = 0
        self._lock = threading.Lock()

    def add(self, pages: list[Seen]) -> int:
        """Keep pages and return their number."""
        with self._lock:
            self._last += 1
            self._kept[self._last] = pages
            while len(self._kept) > _MOST_KEPT:
                self._kept.popitem(last=False)
            return self._last

    def get(self, number: int, page: int) -> Seen | None:
        """Return a page, from 1; None for one that is not there."""
        with self._lock:
            pages = self._kept.get(number, [])
        return pages[page - 1] if 1 <= page <= len(pages) else None


def write(folder: Folder, design: Design, asked: Asked) -> dict[str, Any]:
    """Write files as the command line does, and say which.

    Args:
        folder: The started folder.
        design: The design.
        asked: What is wanted.

    Raises:
        BlankwrightError: As the command; nothing was written.
    """
    what = asked["what"]
    if what not in WHAT:
        raise unknown("file", what, WHAT)
    shop, out = _shop(folder, asked["service"]), folder.out(design.slug)
    if what in ("all", "cut"):
        return _made(design, out, asked, shop, only_cut=what == "cut")
    from blankwright.desk.papers import make_sheet, make_template  # noqa: PLC0415

    if what == "template":
        _, place, names, kept = make_template(design, out, _wishes(asked))
    else:
        from blankwright.sheet.files import SheetWishes, sheet_paper  # noqa: PLC0415

        _, place, names, kept = make_sheet(design, out, SheetWishes(sheet_paper(asked["paper"])))
    return _told(asked, place, names, kept, [])


def _made(design: Design, out: Path, asked: Asked, shop: Service | None, *, only_cut: bool) -> dict[str, Any]:
    from blankwright.desk.make import make  # noqa: PLC0415

    wanted = None if only_cut else _wishes(asked)
    made = make(design, out, tuple(asked["with"]), only_cut, wanted, shop, asked["quantity"])
    checks = [
        {"level": f.level, "code": f.code, "text": f.message, "at": f.at_mm}
        for f in made.shown.findings
        if f.level != "ok"
    ]
    return _told(asked, made.folder, list(made.shown.files), list(made.notes), checks)


def _told(
    asked: Asked, place: Path, names: list[str], notes: list[str], checks: list[dict[str, Any]]
) -> dict[str, Any]:
    folder = place.as_posix()
    return {
        "say": "made", "n": asked.n, "folder": folder, "checks": checks, "notes": notes,
        "files": [
            {
                "name": name, "words": kind_words(name), "get": f"made/{folder}/{name}",
                "bytes": (place / name).stat().st_size,
            }
            for name in names
        ],
    }  # fmt: skip


def refused(asked: Asked, error: ProofError) -> dict[str, Any]:
    """Return what the page is told when a check was wrong and nothing was written."""
    return {"say": "wrong", "n": asked.n, "text": str(error), "key": None}


def kind_words(name: str) -> str:
    """Return what a written file is, in words."""
    for ending, words in KINDS:
        if name.endswith(ending):
            return words
    found = next((words for part, words in _PRINTED if part in name and name.endswith(".pdf")), "")
    return f"{found}, to print" if found else "cutting file" if name.endswith(".dxf") else "file"


def _wishes(asked: Asked) -> Wishes:
    return wishes(
        asked["paper"], margin=asked["margin"], printer=asked["printer"], both_faces=asked["both_faces"],
        dummy=asked["dummy"],
    )  # fmt: skip


def _shop(folder: Folder, name: str | None) -> Service | None:
    """Return a service by name, or by a file in the folder that names no file outside of it."""
    if name is None:
        return None
    plain_text(name, "service")
    if name.endswith(".toml"):
        folder.check_file(folder.design(name))
    found = service(name)
    if found.parts == "together":
        raise RequestError(f"{found.title} wants several designs in one file, which the page does not write: use cut.")
    return found


def preview(design: Design, asked: Asked, units: str, previews: Previews) -> dict[str, Any]:
    """Render what would be printed.

    Args:
        design: The design.
        asked: What is wanted.
        units: mm or in, for what follows them.
        previews: Where the pages are kept.

    Raises:
        BlankwrightError: As the command that writes it.
    """
    from blankwright.knife.knife import finish  # noqa: PLC0415

    what = asked["what"]
    if what not in SHOWN:
        raise unknown("page", what, SHOWN)
    knife = finish(design)
    if what == "drawing":
        from blankwright.drawing.content import part_drawing  # noqa: PLC0415
        from blankwright.drawing.svg import drawing_svg  # noqa: PLC0415

        svg = drawing_svg(part_drawing(knife, sections="sections" in asked["with"]))
        number = previews.add([Seen("image/svg+xml", svg.encode("utf-8"))])
        pages: list[dict[str, Any]] = [{"get": f"seen/{number}/1.svg", "wide_mm": None, "high_mm": None}]
    else:
        rendered = _rendered(_printed(what, knife, asked, units))
        number = previews.add([Seen("image/png", png) for png, _, _ in rendered])
        pages = [
            {"get": f"seen/{number}/{i}.png", "wide_mm": wide, "high_mm": high}
            for i, (_, wide, high) in enumerate(rendered, start=1)
        ]
    return {"say": "preview", "n": asked.n, "what": what, "pages": pages}


def _printed(what: str, knife: Any, asked: Asked, units: str) -> bytes:
    if what == "template":
        from blankwright.template.scenes import template_pdf  # noqa: PLC0415

        return template_pdf(knife, _wishes(asked))
    from blankwright.sheet.files import SheetWishes, card_file, sheet_files, sheet_paper  # noqa: PLC0415

    wanted = SheetWishes(sheet_paper(asked["paper"]), units)
    files = card_file(knife, wanted) if what == "card" else sheet_files(knife, wanted)
    ending = "_card_" if what == "card" else "_sheet_"
    return next(c for name, c in files.items() if isinstance(c, bytes) and ending in name and name.endswith(".pdf"))


def _rendered(pdf: bytes) -> list[tuple[bytes, float, float]]:
    """Return each page of a PDF as PNG, with its size [mm]."""
    import pypdfium2  # noqa: PLC0415 - only a preview renders

    found = []
    document = pypdfium2.PdfDocument(pdf)
    try:
        for page in list(document)[:_MOST_PAGES]:
            wide, high = (points * 25.4 / 72 for points in page.get_size())
            picture = page.render(scale=DOTS_PER_MM * 25.4 / 72).to_pil()
            stream = io.BytesIO()
            picture.save(stream, "PNG")
            found.append((stream.getvalue(), round(wide, 2), round(high, 2)))
    finally:
        document.close()
    return found


def given_out(folder: Folder, name: str) -> Path | None:
    """Return a written file to be handed to the browser; None for what is no file of ours in the folder.

    Args:
        folder: The started folder.
        name: Its path, such as out/chef/chef_cut_mm.dxf.
    """
    try:
        path = Path(name)
        parts = path.parts
        if len(parts) != 3 or parts[0] != "out" or any(p.startswith(".") or "\\" in p for p in parts):
            return None
        plain_text(name, "file")
        folder.check(path)
    except RequestError:
        return None
    return path if is_plain_file(path) else None
