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


def _ways(taken: Taken, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Return the directions in which places of the photo look, in the world."""
    w, h = taken.size
    f = taken.focal_px()
    u, v = np.meshgrid((x - (w - 1) / 2) / f, (y - (h - 1) / 2) / f)
    bent = np.hypot(u, v)
    r = bent.copy()
    for _ in range(6):
        r -= (r + taken.k1 * r**3 - bent) / (1 + 3 * taken.k1 * r**2)
    share = np.where(bent > 1e-9, r / np.maximum(bent, 1e-9), 1.0)
    turn, _ = taken.camera()
    return np.stack([u * share, v * share, np.ones_like(u)], axis=-1) @ turn


def _spread(places: np.ndarray, n: int, step: float) -> list[np.ndarray]:
    """Return where each of n x n rays of every pixel ends, from where those through places `step` pixels apart do."""
    by_y, by_x = np.gradient(places, axis=(0, 1))
    steps = ((np.arange(n) + 0.5) / n - 0.5) / step
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
    """Return how much of each cell the thing covers, drawn three times as fine: the library draws half a pixel wide."""
    dots, finer = 20.0, 3
    low = taken.thing.min(axis=0) - 2
    size = np.ceil((taken.thing.max(axis=0) - low + 2) * dots).astype(int)
    shape = np.zeros((size[1] * finer, size[0] * finer), dtype=np.uint8)

    def at(points):
        return np.round(((points - low) * dots * finer + (finer - 1) / 2) * 16).astype(np.int32)

    cv2.fillPoly(shape, [at(taken.thing)], 255, cv2.LINE_8, 4)
    for x, y, d in taken.holes:
        angle = np.linspace(0, 2 * np.pi, 400, endpoint=False)
        cv2.fillPoly(
            shape, [at(np.array([x, y]) + d / 2 * np.column_stack([np.cos(angle), np.sin(angle)]))], 0, cv2.LINE_8, 4
        )
    small = cv2.resize(shape, (int(size[0]), int(size[1])), interpolation=cv2.INTER_AREA)
    return small.astype(np.float32) / 255, low, dots


def _sheet(points: np.ndarray, page: np.ndarray, taken: Taken) -> np.ndarray:
    """Return the light of the paper at places of its own; nan beside it."""
    x = points[..., 0] / taken.print_x * DOTS - 0.5
    y = page.shape[0] - points[..., 1] / taken.print_y * DOTS - 0.5
    light = cv2.remap(
        page, x.astype(np.float32), y.astype(np.float32), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    on = (x > -0.5) & (y > -0.5) & (x < page.shape[1] - 0.5) & (y < page.shape[0] - 0.5)
    return np.where(on, light, np.nan)


_TILE, _COARSE = 64, 8


def _light(taken: Taken) -> np.ndarray:
    """Return the light of the photo; where nothing changes, only every eighth pixel is looked at."""
    w, h = taken.size
    raster = _raster(taken)
    x, y = np.arange(-_COARSE, w + 2 * _COARSE, _COARSE), np.arange(-_COARSE, h + 2 * _COARSE, _COARSE)
    plain = _shown(taken, x, y, raster, 1, _COARSE)
    grown = cv2.dilate(plain, np.ones((5, 5))) - cv2.erode(plain, np.ones((5, 5)))
    xs, ys = np.meshgrid((np.arange(w) + _COARSE) / _COARSE, (np.arange(h) + _COARSE) / _COARSE)
    light = cv2.remap(plain, xs.astype(np.float32), ys.astype(np.float32), cv2.INTER_LINEAR)
    cells = _TILE // _COARSE
    for top in range(0, h, _TILE):
        for left in range(0, w, _TILE):
            seen = grown[top // _COARSE : top // _COARSE + cells + 2, left // _COARSE : left // _COARSE + cells + 2]
            if seen.max() > 0.02:
                across, down = np.arange(left, min(left + _TILE, w)), np.arange(top, min(top + _TILE, h))
                light[top : top + _TILE, left : left + _TILE] = _shown(taken, across, down, raster, taken.rays, 1)
    return light


def _shown(taken: Taken, x: np.ndarray, y: np.ndarray, raster, rays: int, step: float) -> np.ndarray:
    """Return the light at places of the photo."""
    _, place = taken.camera()
    ways = _ways(taken, x, y)
    over = -place[2] / ways[..., 2:]
    ground = place[:2] + ways[..., :2] * over
    p = np.random.default_rng(taken.seed).uniform(0, 6.28, 4)
    spots = ground
    if taken.bulge_mm:
        for _ in range(2):
            sx, sy = spots[..., 0], spots[..., 1]
            z = taken.bulge_mm / 2 * (np.sin(sx / 45 + p[0]) * np.sin(sy / 60 + p[1]) + np.sin(sx / 130 + p[2]))
            spots = place[:2] + ways[..., :2] * (over * (1 - z / place[2])[..., None])
    shape, low, dots = raster
    heights = np.linspace(0, taken.thickness, 7) if taken.body else [taken.thickness]
    tops = [_spread(place[:2] + ways[..., :2] * (over * (1 - z / place[2])), rays, step) for z in heights]
    total = np.zeros(over.shape[:2], dtype=np.float32)
    for i, at in enumerate(_spread(spots, rays, step)):
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
    return (total / rays**2 * shade).astype(np.float32)


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
