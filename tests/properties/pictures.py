"""Hostile pictures and drawings to lift from: damaged, built to mislead, or made to take long, each by its number."""

from __future__ import annotations

import io
import random
import struct
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from PIL import Image

from rooms.design.cases import solved
from rooms.lift.scans import Scan, circle, drawn, pdf_page

HEAD = '<?xml version="1.0"?>\n<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '


@dataclass(frozen=True)
class HostilePicture:
    """A file and how it was made."""

    way: str
    name: str
    data: bytes
    words: tuple[str, ...]


@lru_cache(maxsize=1)
def sound() -> tuple[tuple[str, bytes], ...]:
    """Return pictures and drawings with nothing wrong in them, by the ending of their names."""
    ring = solved("paring", "full", "default").finished.flattened(0.01)
    pixels = drawn([ring, circle(-40, 12, 4)], Scan(dpi=100.0, skew_deg=2.0))
    grey = Image.fromarray(pixels)
    colour = Image.merge("RGB", (grey, grey.point(lambda v: min(255, v + 9)), grey.rotate(1)))
    seen = grey.convert("RGBA")
    seen.putalpha(grey.point(lambda v: 255 if v < 150 else 40))
    deep = Image.fromarray(pixels.astype(np.uint16) * 200)
    out = [("png", _saved(grey, "PNG", dpi=(100, 100))), ("png", _saved(colour, "PNG")), ("png", _saved(seen, "PNG"))]
    out += [
        ("png", _saved(deep, "PNG")),
        ("png", _saved(colour.quantize(16), "PNG")),
        ("png", _saved(grey.convert("1"), "PNG")),
    ]
    out += [
        ("jpg", _saved(colour, "JPEG", quality=60, dpi=(100, 100))),
        ("jpg", _saved(grey, "JPEG", progressive=True)),
    ]
    out += [("tif", _saved(grey, "TIFF")), ("tif", _saved(colour, "TIFF", compression="tiff_lzw"))]
    out += [
        ("tif", _saved(grey.convert("1"), "TIFF", compression="group4")),
        ("pdf", pdf_page([ring * 2 + 300], 600, 400)),
    ]
    path = "M" + "L".join(f"{x:.3f} {60 - y:.3f}" for x, y in ring[::4]) + "Z"
    size = 'width="300mm" height="80mm" viewBox="-150 0 300 80"'
    svg = f'{HEAD}{size}><path d="{path}"/><circle cx="-40" cy="40" r="2"/></svg>'
    table = "x mm, y mm\n" + "\n".join(f"{x:.2f},{y:.2f}" for x, y in ring[:: max(1, len(ring) // 60)])
    return (*out, ("svg", svg.encode()), ("svg", svg.encode()), ("svg", svg.encode()), ("csv", table.encode()))


def _saved(image: Image.Image, kind: str, **more: object) -> bytes:
    held = io.BytesIO()
    image.save(held, kind, **more)
    return held.getvalue()


class PictureMaker:
    """Hostile pictures by number: the same for the same seed and number."""

    def __init__(self, seed: int) -> None:
        self._seed = seed

    def picture(self, number: int) -> HostilePicture:
        """Return a file."""
        dice = random.Random(f"{self._seed} {number}")
        words = dice.choice(WORDS)
        roll = dice.random()
        if roll < 0.5:
            ending, data = dice.choice(sound())
            for _ in range(dice.choice((1, 1, 2, 4))):
                data = dice.choice(BYTES)(data, dice)
            return HostilePicture("bytes", f"x.{ending}", data, words)
        if roll < 0.65:
            ending, data = dice.choice([one for one in sound() if one[0] in {"png", "jpg", "tif"}])
            return HostilePicture("header", f"x.{ending}", _header(ending, data, dice), words)
        if roll < 0.85:
            image = dice.choice(SCENES)(dice)
            kind, ending = dice.choice((("PNG", "png"), ("JPEG", "jpg"), ("TIFF", "tif")))
            return HostilePicture("scene", f"x.{ending}", _saved(image, kind), words)
        return HostilePicture("svg", "x.svg", dice.choice(DRAWINGS)(dice).encode(), words)


WORDS: tuple[tuple[str, ...], ...] = (
    ("--dpi", "100"), ("--dpi", "300", "--tip", "left"), (), ("--measured-x", "192mm", "--measured-y", "23.8mm"),
    ("--dpi", "100", "--measured-x", "100mm", "--measured-y", "100mm"), ("--measured-x", "192mm"), ("--edge", "up"),
    ("--dpi", "5000"), ("--dpi", "30"), ("--reading", "0.1mm"), ("--dpi", "100", "--page", "2"),
)  # fmt: skip


def _flip(data: bytes, dice: random.Random) -> bytes:
    out = bytearray(data)
    for _ in range(dice.choice((1, 3, 20, 200))):
        out[dice.randrange(len(out))] = dice.randrange(256)
    return bytes(out)


def _cut(data: bytes, dice: random.Random) -> bytes:
    return data[: dice.randrange(1, len(data))]


def _doubled(data: bytes, dice: random.Random) -> bytes:
    a, b = sorted(dice.randrange(len(data)) for _ in range(2))
    return data[:b] + data[a:b] * dice.choice((1, 2, 50)) + data[b:]


def _left_out(data: bytes, dice: random.Random) -> bytes:
    a = dice.randrange(len(data))
    return data[:a] + data[a + dice.choice((1, 4, 300)) :] or b"x"


def _behind(data: bytes, dice: random.Random) -> bytes:
    return data + bytes(dice.randrange(256) for _ in range(dice.choice((1, 500))))


def _head_alone(data: bytes, dice: random.Random) -> bytes:
    return data[:16] + bytes(dice.randrange(256) for _ in range(400))


BYTES: tuple[Callable[[bytes, random.Random], bytes], ...] = (
    _flip,
    _flip,
    _cut,
    _doubled,
    _left_out,
    _behind,
    _head_alone,
)


def _header(ending: str, data: bytes, dice: random.Random) -> bytes:
    """Change what the header says of size or kind, as a whole header that can be read."""
    big = dice.choice((0, 1, 2, 65_535, 2**31 - 1, 40_000, 7_000))
    if ending == "png":
        head = bytearray(data[16:29])
        head[dice.choice((0, 4)) :][:4] = b""
        place = dice.choice((0, 4))
        head[place : place + 4] = struct.pack(">I", big)
        if dice.random() < 0.4:
            head[8] = dice.choice((1, 2, 4, 8, 16))
            head[9] = dice.choice((0, 2, 3, 4, 6))
        chunk = b"IHDR" + bytes(head)
        return data[:12] + chunk + struct.pack(">I", zlib.crc32(chunk)) + data[33:]
    if ending == "jpg":
        for sign in (b"\xff\xc0", b"\xff\xc2"):
            at = data.find(sign)
            if at > 0:
                return (
                    data[: at + 5] + struct.pack(">HH", big % 65_536, dice.choice((1, 65_535, 3_000))) + data[at + 9 :]
                )
        return data
    out = bytearray(data)
    order = "<" if data[:2] == b"II" else ">"
    (at,) = struct.unpack(order + "I", data[4:8])
    if at + 2 > len(data):
        return data
    (count,) = struct.unpack(order + "H", data[at : at + 2])
    for k in dice.sample(range(count), min(count, dice.choice((1, 2)))):
        place = at + 2 + 12 * k + dice.choice((2, 4, 8))
        out[place : place + 4] = struct.pack(order + "I", dice.choice((0, 1, 7, big % 2**32, 2**32 - 1)))
    return bytes(out)


def _size(dice: random.Random) -> tuple[int, int]:
    return dice.choice(((64, 64), (300, 200), (900, 260), (1600, 1200), (63, 500), (4000, 80)))


def _noise(dice: random.Random) -> Image.Image:
    wide, high = _size(dice)
    rng = np.random.default_rng(dice.randrange(2**31))
    return Image.fromarray(rng.integers(0, 256, (high, wide), dtype=np.uint8))


def _plain(dice: random.Random) -> Image.Image:
    return Image.new("L", _size(dice), dice.randrange(256))


def _bands(dice: random.Random) -> Image.Image:
    wide, high = _size(dice)
    x, y = np.meshgrid(np.arange(wide), np.arange(high))
    step = dice.choice((2, 3, 17, 60))
    return Image.fromarray(((((x // step) + dice.choice((0, 1)) * (y // step)) % 2) * 255).astype(np.uint8))


def _slope(dice: random.Random) -> Image.Image:
    wide, high = _size(dice)
    x, y = np.meshgrid(np.linspace(0, 1, wide), np.linspace(0, 1, high))
    return Image.fromarray(np.clip(255 * (dice.random() * x + dice.random() * y**3), 0, 255).astype(np.uint8))


def _blot(dice: random.Random) -> Image.Image:
    """Return a ragged coast, with islands and bays."""
    wide, high = dice.choice(((400, 300), (1200, 500)))
    rng = np.random.default_rng(dice.randrange(2**31))
    total = np.zeros((high, wide))
    for octave in (4, 8, 16, 32, 64):
        rough = Image.fromarray(rng.random((octave, octave)).astype(np.float32)).resize(
            (wide, high), Image.Resampling.BICUBIC
        )
        total += np.asarray(rough) / octave**0.7
    return Image.fromarray(np.where(total > np.quantile(total, dice.random()), 235, 40).astype(np.uint8))


def _star(dice: random.Random) -> Image.Image:
    from PIL import ImageDraw

    wide, high = dice.choice(((500, 400), (1500, 300)))
    image = Image.new("L", (wide, high), 240)
    count = dice.choice((3, 5, 40, 300))
    angle = np.linspace(0, 2 * np.pi, 2 * count, endpoint=False)
    far = np.where(np.arange(2 * count) % 2, dice.uniform(0.05, 0.95), 1.0)
    at = [
        (wide / 2 * (1 + 0.9 * f * np.cos(a)), high / 2 * (1 + 0.9 * f * np.sin(a)))
        for a, f in zip(angle, far, strict=True)
    ]
    ImageDraw.Draw(image).polygon(at, fill=dice.choice((30, 200, 232)))
    return image


def _strokes(dice: random.Random) -> Image.Image:
    from PIL import ImageDraw

    wide, high = 900, 400
    image = Image.new("L", (wide, high), 255)
    pen = ImageDraw.Draw(image)
    for _ in range(dice.choice((1, 5, 80))):
        places = [(dice.randrange(wide), dice.randrange(high)) for _ in range(dice.choice((2, 4, 9)))]
        for a, b in pairwise([*places, places[0]]):
            pen.line([a, b], fill=dice.randrange(120), width=dice.choice((1, 3, 9)))
    return image


def _ring(dice: random.Random) -> Image.Image:
    from PIL import ImageDraw

    image = Image.new("L", (800, 300), 255)
    pen = ImageDraw.Draw(image)
    wide = dice.choice((1, 2, 6, 20))
    pen.ellipse((60, 60, 740, 240), outline=0, width=wide)
    if dice.random() < 0.5:
        pen.line((400, 20, 400, 280), fill=0, width=wide)
    if dice.random() < 0.5:
        pen.rectangle((0, 0, 799, 299), outline=0, width=wide)
    return image


SCENES: tuple[Callable[[random.Random], Image.Image], ...] = (
    _noise,
    _plain,
    _bands,
    _slope,
    _blot,
    _blot,
    _star,
    _star,
    _strokes,
    _ring,
)


def _svg(body: str, more: str = 'width="300mm" height="80mm" viewBox="0 0 300 80"') -> str:
    return f"{HEAD}{more}>{body}</svg>"


def _entities(dice: random.Random) -> str:
    file = dice.choice(("file:///etc/hostname", "http://127.0.0.1:9/x"))
    top = f'<!DOCTYPE svg [<!ENTITY a SYSTEM "{file}">]>'
    return f'<?xml version="1.0"?>{top}<svg xmlns="http://www.w3.org/2000/svg"><text>&a;</text></svg>'


def _laughs(dice: random.Random) -> str:
    lines = "".join(
        f'<!ENTITY l{k} "{"&l" + str(k - 1) + ";" if k else "ha"}{("&l" + str(k - 1) + ";") * 9 if k else ""}">'
        for k in range(9)
    )
    return (
        f'<?xml version="1.0"?><!DOCTYPE svg [{lines}]><svg xmlns="http://www.w3.org/2000/svg"><text>&l8;</text></svg>'
    )


def _deep(dice: random.Random) -> str:
    many = dice.choice((50, 5_000, 60_000))
    return _svg("<g transform='scale(1.01)'>" * many + "<path d='M0 0L9 0 9 9Z'/>" + "</g>" * many)


def _loops(dice: random.Random) -> str:
    return _svg(
        "<g id='a'><use xlink:href='#b'/><use xlink:href='#b'/></g>"
        "<g id='b'><use xlink:href='#a'/><path d='M0 0H50V20Z'/></g>"
    )


def _numbers(dice: random.Random) -> str:
    odd = dice.choice(("1e308", "1e-308", "nan", "inf", "-0", "1e9", "99999999999999999999", "1e5"))
    return _svg(f"<path d='M0 0L{odd} 0L200 {odd}L0 40Z'/><circle cx='{odd}' cy='9' r='{odd}'/>")


def _many(dice: random.Random) -> str:
    count = dice.choice((3_000, 40_000))
    rng = random.Random(dice.random())
    if dice.random() < 0.5:
        path = "L".join(f"{rng.uniform(0, 300):.2f} {rng.uniform(0, 80):.2f}" for _ in range(count))
    else:
        path = "L".join(f"{150 + 140 * np.cos(a):.4f} {40 + 30 * np.sin(a):.4f}" for a in np.linspace(0, 6.283, count))
    return _svg(f"<path d='M{path}Z'/>")


def _curves(dice: random.Random) -> str:
    path = "".join(
        dice.choice("CSQTAaclsqtVHmz")
        + " ".join(f"{dice.uniform(-50, 300):.1f}" for _ in range(dice.choice((2, 4, 6, 7))))
        for _ in range(dice.choice((3, 30)))
    )
    return _svg(f"<path d='M10 10{path}'/>")


def _odd_page(dice: random.Random) -> str:
    more = dice.choice(
        ("width='0mm' height='0mm'", "viewBox='0 0 0 0'", "width='1e9mm' height='1mm' viewBox='0 0 1 1'", "")
    )
    return _svg("<path d='M0 0L200 5L210 20L0 40Z'/>", more)


DRAWINGS: tuple[Callable[[random.Random], str], ...] = (
    _entities,
    _laughs,
    _deep,
    _loops,
    _numbers,
    _many,
    _curves,
    _curves,
    _odd_page,
)


def long_work() -> list[HostilePicture]:
    """Return files that are made to take long, or to fill the memory."""
    out = []
    for wide, high in ((60_000, 60_000), (30_000, 30_000), (7_700, 7_700)):
        rows = zlib.compressobj(9)
        packed = b"".join(rows.compress(b"\0" * (wide + 1)) for _ in range(min(high, 7_700))) + rows.flush()
        out.append(HostilePicture("bomb", "x.png", _png(wide, high, packed), ("--dpi", "600")))
    high = wide = 7_600
    packed = zlib.compress(
        b"".join(
            b"\0" + bytes((0 if (x // 2 + y // 2) % 2 else 255) for x in range(16)) * (wide // 16) for y in range(high)
        ),
        1,
    )
    out.append(HostilePicture("squares", "x.png", _png(wide, high, packed), ("--dpi", "600")))
    rng = np.random.default_rng(5)
    busy = Image.fromarray(rng.integers(0, 256, (6_000, 7_000), dtype=np.uint8))
    out.append(HostilePicture("noise", "x.jpg", _saved(busy, "JPEG", quality=30), ("--dpi", "600")))
    comb = np.full((4_000, 6_000), 240, dtype=np.uint8)
    comb[100:3_900, 100:5_900] = 30
    comb[120:3_880, 100:5_880:8] = 240
    out.append(HostilePicture("comb", "x.png", _saved(Image.fromarray(comb), "PNG"), ("--dpi", "600")))
    return out


def _png(wide: int, high: int, packed: bytes) -> bytes:
    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", wide, high, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")
