"""What do careful readers refuse a drawing for? Two libraries of others, ezdxf with its audit and GDAL."""

from __future__ import annotations

from pathlib import Path

import ezdxf
import pyogrio


def refusals(path: Path) -> list[str]:
    """Return what careful readers refuse a file for."""
    said = []
    try:
        doc = ezdxf.readfile(path)
        said += [f"ezdxf: audit: {error.message}" for error in doc.audit().errors[:3]]
    except Exception as error:
        said.append(f"ezdxf: {type(error).__name__}: {error}")
    try:
        pyogrio.raw.read(path)
    except Exception as error:
        said.append(f"GDAL: {type(error).__name__}: {error}")
    return said
