"""Scans with a known truth: an outline drawn by PDFium, then blurred, unevenly lit and noisy."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

PAPER, STEEL = 232.0, 70.0


@dataclass(frozen=True)
class Scan:
    """How a scan comes out.

    Args:
        dpi: What the scanner says.
        blur_px: Standard deviation of the blur [pixels].
        noise: Standard deviation of the grey, of 255.
        skew_deg: How far the thing is turned on the glass [degrees].
        light: Share by which the light falls off from one corner to the other.
        scale: How much larger than true it comes out, across and down.
        seed: Of the noise.
        margin_mm: Paper around it [mm].
        invert: Whether the thing is bright and its ground dark.
    """

    dpi: float = 300.0
    blur_px: float = 0.8
    noise: float = 3.0
    skew_deg: float = 1.3
    light: float = 0.2
    scale: tuple[float, float] = (1.0, 1.0)
    seed: int = 1
    margin_mm: float = 12.0
    invert: bool = False


def drawn(rings_mm, how: Scan):
    """Return the picture of rings [mm], y up, the first one steel and the rest holes: (h, w) bytes."""
    c, s = np.cos(np.radians(how.skew_deg)), np.sin(np.radians(how.skew_deg))
    turned = [ring @ np.array([[c, s], [-s, c]]) for ring in rings_mm]
    low = turned[0].min(axis=0) - how.margin_mm
    size = np.ptp(turned[0], axis=0) + 2 * how.margin_mm
    px = 25.4 / how.dpi
    wide, high = (int(np.ceil(size[k] * how.scale[k] / px)) for k in (0, 1))
    rings = [((ring - low) * how.scale) / px for ring in turned]
    grey = coverage(rings, wide, high)
    y, x = np.mgrid[0:high, 0:wide]
    lit = 1.0 - how.light * (x / wide + y / high) / 2
    rng = np.random.default_rng(how.seed)
    dark, bright = (PAPER, STEEL) if how.invert else (STEEL, PAPER)
    values = blurred(bright + (dark - bright) * grey, how.blur_px) * lit
    values += rng.normal(0, how.noise, values.shape)
    return np.clip(np.round(values), 0, 255).astype(np.uint8)


def coverage(rings_px, wide, high):
    """Return which share of each pixel is covered, drawn by PDFium; ring coordinates in pixels, y up."""
    import pypdfium2

    page = pdf_page(rings_px, wide, high)
    document = pypdfium2.PdfDocument(page)
    over = 4 if wide * high < 4e6 else 2
    bitmap = document[0].render(scale=over, grayscale=True)
    grey = np.array(bitmap.to_numpy()).reshape(bitmap.height, bitmap.width, -1)[:, :, 0]
    document.close()
    grey = grey[: high * over, : wide * over].reshape(high, over, wide, over).mean(axis=(1, 3))
    return 1.0 - grey / 255.0


def pdf_page(rings, wide, high):
    """Return a PDF of one page with rings filled by the even-odd rule (ISO 32000-1, 8.5.3)."""
    path = "\n".join(
        "\n".join(f"{x:.4f} {y:.4f} {'l' if k else 'm'}" for k, (x, y) in enumerate(ring)) + "\nh" for ring in rings
    )
    stream = f"0 g\n{path}\nf*\n".encode()
    objects = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {wide} {high}] /Contents 4 0 R >>".encode(),
        f"<< /Length {len(stream)} >>\nstream\n".encode() + stream + b"endstream",
    ]
    out, places = b"%PDF-1.4\n", []
    for k, body in enumerate(objects, start=1):
        places.append(len(out))
        out += f"{k} 0 obj\n".encode() + body + b"\nendobj\n"
    table = "".join(f"{p:010d} 00000 n \n" for p in places)
    end = f"xref\n0 5\n0000000000 65535 f \n{table}trailer << /Size 5 /Root 1 0 R >>\nstartxref\n{len(out)}\n%%EOF\n"
    return out + end.encode()


def blurred(values, sigma):
    """Return values blurred by a bell."""
    import cv2

    return cv2.GaussianBlur(values.astype(np.float32), (0, 0), sigma) if sigma > 0 else values


def circle(x, y, diameter, count=720):
    """Return a ring [mm]."""
    a = np.linspace(0, 2 * np.pi, count, endpoint=False)
    return np.column_stack([x + diameter / 2 * np.cos(a), y + diameter / 2 * np.sin(a)])


def saved(pixels, path: Path, dpi=None):
    """Write a picture with Pillow."""
    from PIL import Image

    image = Image.fromarray(pixels)
    image.save(path, dpi=(dpi, dpi)) if dpi else image.save(path)
    return path
