"""A picture file as an array: scans and photos (PNG, JPEG, TIFF) and pages of PDF, never more than fits.

Nothing is decoded before its size is known. The resolution that a file names is told, not trusted.
"""

from __future__ import annotations

import contextlib
import importlib
import io
import logging
import math
import os
import warnings
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Place
from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.base.reading import read_limited
from blankwright.base.units import MM_PER_INCH

Pixels = NDArray[np.uint8]
"""(h, w) grey or (h, w, 3) red, green, blue; row 0 is the top."""

MOST_BYTES = 100_000_000
MOST_PIXELS = 60_000_000
"""A sheet of A4 at 600 dots to the inch has 35 million."""
MOST_SIDE = 32_000
LEAST_SIDE = 64
"""Pixels; a smaller picture shows no outline."""
PAGE_DPI = 300.0
"""Resolution at which a PDF page is drawn when none is said."""
EXTRA = "python -m pip install '.[pictures]'"

Kind = Literal["PNG", "JPEG", "TIFF", "PDF"]

_STARTS: tuple[tuple[bytes, Kind], ...] = (
    (b"\x89PNG\r\n\x1a\n", "PNG"), (b"\xff\xd8\xff", "JPEG"), (b"II*\0", "TIFF"), (b"MM\0*", "TIFF"), (b"%PDF", "PDF"),
)  # fmt: skip
_LEAST_DPI, _MOST_DPI = 30.0, 5_000.0
_EXIF, _FOCAL_35, _SIZE = 0x8769, 0xA405, (0xA002, 0xA003)
# Tags of Exif 2.32 (CIPA DC-008): its own directory; focal length in 35 mm film; width and height when it was taken.
_LEAST_FOCAL, _MOST_FOCAL = 8.0, 400.0
_CUT_SHARE = 0.01


@dataclass(frozen=True, eq=False)
class Picture:
    """A decoded picture.

    Args:
        pixels: Its pixels.
        dpi: Dots to the inch across and down as the file names them, or None.
        kind: What kind of file it came from.
        focal_35_mm: Focal length in 35 mm film as a photo names it [mm], or None.
    """

    pixels: Pixels
    dpi: Place | None
    kind: Kind
    focal_35_mm: float | None = None

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return int(self.pixels.shape[1]), int(self.pixels.shape[0])


def picture_kind(data: bytes) -> Kind | None:
    """Return what kind of picture some bytes begin like; None for none."""
    return next((kind for start, kind in _STARTS if data.startswith(start)), None)


def library(name: str, why: str) -> ModuleType:
    """Return a library of the extra for pictures.

    Args:
        name: The module.
        why: What needs it, such as "reading a scan".

    Raises:
        RequestError: It is not installed; says the line to type.
    """
    try:
        return importlib.import_module(name)
    except ImportError:
        raise RequestError(f"{why} needs the libraries for pictures. Type: {EXTRA}") from None


def read_picture(path: Path, *, dpi: float | None = None, page: int = 1) -> Picture:
    """Read a picture file.

    Args:
        path: The file.
        dpi: Resolution at which a PDF page is drawn; others keep their pixels.
        page: Which page of a PDF.

    Raises:
        RequestError: Missing, too large, damaged, of another kind, or the libraries are not installed.
    """
    data = read_limited(path, MOST_BYTES, "a scan or a photo")
    kind = picture_kind(data)
    if kind is None:
        raise RequestError(f"{path}: is no picture that can be read. Save it as PNG, JPEG, TIFF or PDF.")
    if kind == "PDF":
        return _page(data, path, dpi or PAGE_DPI, page)
    return _decoded(data, path, kind)


def _refuse_size(path: Path, width: float, height: float) -> None:
    if width * height > MOST_PIXELS:
        raise RequestError(
            f"{path}: {width:.0f} x {height:.0f} pixels are more than {MOST_PIXELS // 1_000_000} million. "
            "Scan at 300 dots to the inch, or cut away what is beside the thing."
        )
    if max(width, height) > MOST_SIDE:
        raise RequestError(f"{path}: {max(width, height):.0f} pixels on one side are more than {MOST_SIDE}. Cut it.")
    if min(width, height) < LEAST_SIDE:
        raise RequestError(f"{path}: {width:.0f} x {height:.0f} pixels show no outline. Scan at 300 dots to the inch.")


def _decoded(data: bytes, path: Path, kind: Kind) -> Picture:
    image_module = library("PIL.Image", "reading a picture")
    ops = library("PIL.ImageOps", "reading a picture")
    logging.getLogger("PIL").setLevel(logging.CRITICAL)  # what it has to say of a damaged file, we say ourselves
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of tags and metadata, which nobody reads here
            image = image_module.open(io.BytesIO(data), formats=[kind])
            _refuse_size(path, *image.size)
            with _quiet():
                image.load()
            dpi = _named_dpi(image.info)
            focal = _named_focal(image)
            before = image.size
            image = ops.exif_transpose(image)
            if image.size != before and dpi is not None:
                dpi = (dpi[1], dpi[0])
            return Picture(_eight_bits(image, image_module), dpi, kind, focal)
    except RequestError:
        raise
    except MemoryError:
        raise RequestError(f"{path}: does not fit into memory. Scan at a lower resolution.") from None
    except image_module.UnidentifiedImageError:  # its own words name an object in memory
        raise RequestError(f"{path}: its header fits no picture. Save it again as PNG, JPEG or TIFF.") from None
    except Exception as error:  # a decoder meets anything in a damaged file, and raises what it likes
        raise RequestError(
            f"{path}: the picture is damaged or not what its first bytes say ({_short(error)}). Save it again."
        ) from None


@contextlib.contextmanager
def _quiet() -> Iterator[None]:
    """Keep what a decoder in C says of a damaged file from the terminal: it is told in words of ours."""
    try:
        kept = os.dup(2)
    except OSError:  # there is no terminal to be kept clean
        yield
        return
    sink = os.open(os.devnull, os.O_WRONLY)
    os.dup2(sink, 2)
    try:
        yield
    finally:
        os.dup2(kept, 2)
        os.close(sink)
        os.close(kept)


def _short(error: BaseException) -> str:
    text = "".join(c if c.isprintable() else "?" for c in str(error).split("\n")[0])
    return text[:80] or type(error).__name__


def _named_dpi(info: dict[str, Any]) -> Place | None:
    """Return the resolution that a file names, when it is one that a scanner can have."""
    try:
        x, y = (float(v) for v in info.get("dpi", ()))
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    fits = all(math.isfinite(v) and _LEAST_DPI <= v <= _MOST_DPI for v in (x, y))
    return (x, y) if fits else None


def _named_focal(image: Any) -> float | None:
    """Return the focal length in 35 mm film that a photo names [mm]; None where it names none, or was cut since."""
    details = image.getexif().get_ifd(_EXIF)
    try:
        focal = float(details[_FOCAL_35])
        size = [int(details[tag]) for tag in _SIZE if tag in details]
    except (KeyError, TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None
    if len(size) == 2 and min(size) > 0:
        wide, high = sorted(size, reverse=True)
        now = max(image.size) / min(image.size)
        if abs(now / (wide / high) - 1) > _CUT_SHARE:
            return None
    return focal if _LEAST_FOCAL <= focal <= _MOST_FOCAL else None


def _eight_bits(image: Any, module: Any) -> Pixels:
    """Return a picture in grey or colour, whatever it was; what can be seen through shows white paper."""
    if image.mode.startswith(("I", "F")):
        deep = np.asarray(image, dtype=np.float32)
        if not np.isfinite(deep).all():
            raise ValueError("a grey that is no number")
        low, high = float(deep.min()), float(deep.max())
        grey = (deep - low) * (255.0 / max(high - low, 1e-6))
        return np.ascontiguousarray(np.round(grey).astype(np.uint8))
    if image.mode in {"RGBA", "LA", "PA"} or "transparency" in image.info:
        image = image.convert("RGBA")
        paper = module.new("RGBA", image.size, (255, 255, 255, 255))
        image = module.alpha_composite(paper, image).convert("RGB")
    if image.mode in {"1", "L"}:
        return np.ascontiguousarray(np.asarray(image.convert("L"), dtype=np.uint8))
    return np.ascontiguousarray(np.asarray(image.convert("RGB"), dtype=np.uint8))


def _page(data: bytes, path: Path, dpi: float, number: int) -> Picture:
    pdfium = library("pypdfium2", "reading a PDF page")
    try:
        document = pdfium.PdfDocument(data)
        try:
            pages = len(document)
            if not 1 <= number <= pages:
                raise RequestError(f"--page: {number} is out of range. {path} has {pages} pages.")
            page = document[number - 1]
            scale = dpi / 72.0
            _refuse_size(path, *(side * scale for side in page.get_size()))
            bitmap = page.render(scale=scale, grayscale=True, may_draw_forms=False)
            pixels = np.array(bitmap.to_numpy()).reshape(bitmap.height, bitmap.width, -1)[:, :, 0]
        finally:
            document.close()
    except RequestError:
        raise
    except Exception as error:  # as of any decoder
        raise RequestError(f"{path}: the PDF cannot be read ({_short(error)}). Print it anew, or scan it.") from None
    return Picture(np.ascontiguousarray(pixels), (dpi, dpi), "PDF")


def mm_per_pixel(dpi: float) -> float:
    """Return the size of a pixel [mm].

    >>> round(mm_per_pixel(254), 6)
    0.1
    """
    return MM_PER_INCH / dpi
