"""Is it a DXF at all? Looks at the first bytes of a file and says plainly what it is instead."""

from __future__ import annotations

import re
from pathlib import Path

from blankwright.base.errors import RequestError

MAX_BYTES = 50_000_000
"""A larger file is not read; a knife with its notes needs a thousandth."""

_BINARY_DXF = b"AutoCAD Binary DXF"  # sentinel of the binary form (DXF reference, "Binary DXF files")
_OTHERS = (
    (b"%PDF", "a PDF page"),
    (b"\x89PNG", "a picture (PNG)"),
    (b"\xff\xd8\xff", "a picture (JPEG)"),
    (b"GIF8", "a picture (GIF)"),
    (b"II*\0", "a picture (TIFF)"),
    (b"MM\0*", "a picture (TIFF)"),
    (b"%!PS", "a PostScript page"),
    (b"\x1f\x8b", "a packed drawing (SVGZ or other)"),
    (b"PK\x03\x04", "a packed archive (ZIP)"),
    (b"ISO-10303", "a STEP model"),
    (b"solid ", "an STL model"),
)


def read_bytes(path: Path) -> bytes:
    """Return the bytes of a file, at most one more than MAX_BYTES.

    Raises:
        RequestError: There is no such file, it is a folder, or it cannot be opened.
    """
    try:
        if path.is_dir():
            raise RequestError(f"{path} is a folder. Name one file in it.")
        if path.exists() and not path.is_file():
            raise RequestError(f"{path} is no plain file. Name a drawing.")
        with path.open("rb") as stream:
            return stream.read(MAX_BYTES + 1)
    except FileNotFoundError:
        raise RequestError(f"{path} is not there. Check the name and the folder.") from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or type(error).__name__
        raise RequestError(f"{path}: cannot be read ({why}).") from None


def is_svg(data: bytes) -> bool:
    """Say whether bytes begin like an SVG drawing; some programs write a long comment before it."""
    head = data[:65_536].removeprefix(b"\xef\xbb\xbf").lstrip()
    return len(data) <= MAX_BYTES and head[:1] == b"<" and re.search(rb"<(\w+:)?svg[\s>]", head) is not None


def why_not_dxf(data: bytes) -> str | None:
    """Return in a sentence why bytes are no ASCII DXF, or None when they may be one."""
    if len(data) > MAX_BYTES:
        return (
            f"The file is larger than {MAX_BYTES // 1_000_000} MB; no cutting file needs that. Send the outline alone."
        )
    head = data[:4096].removeprefix(b"\xef\xbb\xbf").lstrip()
    if not head:
        return "The file is empty. Export it again."
    if head.startswith(_BINARY_DXF):
        return "This is the binary form of DXF, which many cutters cannot read. Save it again as ASCII DXF."
    if head[:4] == b"AC10" and head[4:6].isdigit():
        return "This is a DWG drawing, not a DXF. Save it as ASCII DXF, release R2000 or R12."
    for start, kind in _OTHERS:
        if head.startswith(start):
            return f"This is {kind}, not a DXF. Export the outline as ASCII DXF."
    if head[:1] == b"<":
        return "This is a page or XML file, not a drawing. Export the outline as ASCII DXF."
    if data[:2] in {b"\xff\xfe", b"\xfe\xff"}:
        return "The file is written in UTF-16, which DXF readers do not take. Save it again as ASCII DXF."
    if b"\0" in data:
        return "The file holds binary data and is no ASCII DXF. Save it again as ASCII DXF."
    return None


def text_of(data: bytes) -> str:
    """Return the text of a file; releases before 2007 use a code page, numbers are the same in all of them."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")
