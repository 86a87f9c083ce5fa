"""Photos of a thing that lies in a frame, taken by a camera that is reckoned here and knows nothing of ours.

The frame is our own PDF, drawn by PDFium. The camera is a pinhole with a lens that bends by k1; each pixel is several
rays, each of which meets the top of the thing, or the paper (which need not be flat), or the table. Blur is that of
light; then come the curve of sRGB (IEC 61966-2-1), noise and JPEG.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, field
from functools import cache

import cv2
import numpy as np
import pypdfium2
from PIL import Image

from blankwright.ink.papers import paper
from blankwright.lift.framepage import printed_frame

DOTS = 10.0
"""Pixels of the printed page to the mm."""
TABLE, INK, PAPER = 0.35, 0.04, 0.85


@cache
def pages(name: str, sheets: int) -> tuple[np.ndarray, ...]:
    """Return the pages of a frame as pictures in linear light, first row uppermost."""
    document = pypdfium2.PdfDocument(printed_frame(paper(name), sheets).pdf)
    found = []
    for page in document:
        grey = np.asarray(page.render(scale=DOTS * 25.4 / 72).to_pil().convert("L"), dtype=np.float32) / 255
        found.append(INK + (PAPER - INK) * grey)
    document.close()
    return tuple(found)


@dataclass
class Taken:
    """How a photo is taken; mm, degrees, pixels."""

    thing: np.ndarray  # (n, 2) outline of the thing's top on the paper, in true mm
    paper: str = "A3"
    sheets: int = 1
    print_x: float = 1.0
    print_y: float = 1.0
    second: tuple[float, float, float] = (0.0, 0.0, 0.0)  # where the right half lies: mm, mm, degrees
    bulge_mm: float = 0.0
    thickness: float = 3.0
    height: float = 1000.0
    tilt: float = 0.0
    toward: float = 0.0
    roll: float = 0.0
    aside: tuple[float, float] = (0.0, 0.0)
    size: tuple[int, int] = (2400, 1800)
    focal_35: float = 28.0
    k1: float = -0.05
    blur: float = 0.8
    noise: float = 3.0
    quality: int = 92
    rays: int = 2
    steel: float = 0.2
    body: bool = False  # the side walls are seen too, as dark as the top
    holes: tuple[tuple[float, float, float], ...] = ()
    seed: int = 1
    exif: bool = True
    fill: float | None = None  # the focal length follows, so that the frame fills this share of the photo
    place: np.ndarray = field(init=False)

    def focal_px(self) -> float:
        return self.focal_35 / 43.267 * float(np.hypot(*self.size))

    def middle(self) -> np.ndarray:
        page = pages(self.paper, self.sheets)[0]
        return np.array(
            [
                page.shape[1] / DOTS * self.print_x * (self.sheets if self.sheets > 1 else 1) / 2,
                page.shape[0] / DOTS * self.print_y / 2,
            ]
        )

    def camera(self) -> tuple[np.ndarray, np.ndarray]:
        """Return turn (rows: right, down, ahead) and place."""
        t, a, r = np.radians([self.tilt, self.toward, self.roll])
        ahead = np.array([np.sin(t) * np.cos(a), np.sin(t) * np.sin(a), -np.cos(t)])
        right = np.array([np.cos(r), np.sin(r), 0.0])
        right -= ahead * (right @ ahead)
        right /= np.linalg.norm(right)
        turn = np.array([right, np.cross(ahead, right), ahead])
        aim = np.array([*(self.middle() + self.aside), 0.0])
        return turn, aim - ahead * self.height / np.cos(t)  # the lens is `height` above the paper


def _ways(taken: Taken) -> np.ndarray:
    """Return the direction in which each pixel looks, in the world."""
    w, h = taken.size
    f = taken.focal_px()
    u, v = np.meshgrid((np.arange(w) - (w - 1) / 2) / f, (np.arange(h) - (h - 1) / 2) / f)
    bent = np.hypot(u, v)
    r = bent.copy()
    for _ in range(6):
        r -= (r + taken.k1 * r**3 - bent) / (1 + 3 * taken.k1 * r**2)
    share = np.where(bent > 1e-9, r / np.maximum(bent, 1e-9), 1.0)
    turn, _ = taken.camera()
    return np.stack([u * share, v * share, np.ones_like(u)], axis=-1) @ turn


def _spread(places: np.ndarray, n: int) -> list[np.ndarray]:
    """Return where each of n x n rays of every pixel ends, from where those through the pixels' middles do."""
    by_y, by_x = np.gradient(places, axis=(0, 1))
    steps = (np.arange(n) + 0.5) / n - 0.5
    return [(places + x * by_x + y * by_y).astype(np.float32) for y in steps for x in steps]


def _cover(points: np.ndarray, shape: np.ndarray, origin: np.ndarray, dots: float) -> np.ndarray:
    at = (points - origin) * dots
    return cv2.remap(
        shape,
        at[..., 0].astype(np.float32),
        at[..., 1].astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=0.0,
    )


def _raster(taken: Taken) -> tuple[np.ndarray, np.ndarray, float]:
    dots = 20.0
    low = taken.thing.min(axis=0) - 2
    size = np.ceil((taken.thing.max(axis=0) - low + 2) * dots).astype(int)
    shape = np.zeros((size[1], size[0]), dtype=np.uint8)
    # a pixel's middle is a whole number for the raster too
    cv2.fillPoly(shape, [np.round((taken.thing - low) * dots * 256).astype(np.int32)], 255, cv2.LINE_AA, 8)
    for x, y, d in taken.holes:
        centre = np.round((np.array([x, y]) - low) * dots * 256).astype(int)
        cv2.circle(shape, tuple(map(int, centre)), round(d / 2 * dots * 256), 0, -1, cv2.LINE_AA, 8)
    return shape.astype(np.float32) / 255, low, dots


def _sheet(points: np.ndarray, page: np.ndarray, taken: Taken) -> np.ndarray:
    """Return the light of the paper at places of its own; nan beside it."""
    x = points[..., 0] / taken.print_x * DOTS - 0.5
    y = page.shape[0] - points[..., 1] / taken.print_y * DOTS - 0.5
    light = cv2.remap(
        page, x.astype(np.float32), y.astype(np.float32), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    on = (x > -0.5) & (y > -0.5) & (x < page.shape[1] - 0.5) & (y < page.shape[0] - 0.5)
    return np.where(on, light, np.nan)


def _light(taken: Taken) -> np.ndarray:
    _, place = taken.camera()
    ways = _ways(taken)
    over = -place[2] / ways[..., 2:]
    ground = place[:2] + ways[..., :2] * over
    p = np.random.default_rng(taken.seed).uniform(0, 6.28, 4)
    spots = ground
    if taken.bulge_mm:
        for _ in range(2):
            x, y = spots[..., 0], spots[..., 1]
            z = taken.bulge_mm / 2 * (np.sin(x / 45 + p[0]) * np.sin(y / 60 + p[1]) + np.sin(x / 130 + p[2]))
            spots = place[:2] + ways[..., :2] * (over * (1 - z / place[2])[..., None])
    shape, low, dots = _raster(taken)
    heights = np.linspace(0, taken.thickness, 7) if taken.body else [taken.thickness]
    tops = [_spread(place[:2] + ways[..., :2] * (over * (1 - z / place[2])), taken.rays) for z in heights]
    total = np.zeros(over.shape[:2], dtype=np.float32)
    for i, at in enumerate(_spread(spots, taken.rays)):
        light = np.full(total.shape, TABLE, dtype=np.float32)
        for half, page in enumerate(pages(taken.paper, taken.sheets)):
            on = at
            if half:
                dx, dy, angle = taken.second
                c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
                on = (at - np.float32([dx, dy])) @ np.float32([[c, -s], [s, c]])
            seen = _sheet(on, page, taken)
            light = np.where(np.isfinite(seen), seen, light)
        cover = np.max([_cover(top[i], shape, low, dots) for top in tops], axis=0)
        total += light * (1 - cover) + taken.steel * cover
    shade = 1 + 0.15 * np.sin(ground[..., 0] / 300 + p[3]) * np.cos(ground[..., 1] / 250)
    return total / taken.rays**2 * shade


def photo(taken: Taken) -> bytes:
    """Return the photo as a JPEG."""
    light = _light(taken)
    light = cv2.GaussianBlur(light, (0, 0), taken.blur) if taken.blur > 0 else light
    grey = np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 1e-9) ** (1 / 2.4) - 0.055) * 255
    grey = grey + np.random.default_rng(taken.seed + 1).normal(0, taken.noise, grey.shape)
    picture = Image.fromarray(np.clip(np.round(grey), 0, 255).astype(np.uint8)).convert("RGB")
    exif = Image.Exif()
    if taken.exif:
        exif.get_ifd(0x8769)[0xA405] = round(taken.focal_35)
    stream = io.BytesIO()
    picture.save(stream, "JPEG", quality=taken.quality, exif=exif)
    return stream.getvalue()
