"""The drawing library, loaded so that a maker's home folder is neither read nor written for it."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from types import ModuleType

from blankwright.base.errors import RequestError

_NO_FONTS = Path(__file__).resolve().parent / "nofonts"
"""A folder with the library's list of fonts, an empty one: else it looks for all fonts of the machine and keeps a list
of them in the home folder; where that cannot be read or written, it fails or prints so. We write no text with it."""


def drawing_library() -> ModuleType:
    """Return ezdxf.

    Raises:
        RequestError: A settings file of the library in this folder cannot be read.
    """
    import configparser  # noqa: PLC0415 - with the library, which loads both
    import logging  # noqa: PLC0415

    logging.getLogger("ezdxf").setLevel(logging.ERROR)  # what it has to say, we say ourselves
    if "ezdxf" not in sys.modules:
        names = ("XDG_CACHE_HOME", "XDG_CONFIG_HOME")
        before = {name: os.environ.get(name) for name in names}
        os.environ.update(dict.fromkeys(names, str(_NO_FONTS)))
        try:
            import ezdxf  # noqa: F401, PLC0415 - heavy, needed only where it is asked for
        except (configparser.Error, SystemExit):
            raise RequestError("ezdxf.ini: cannot be read as settings of the drawing library. Move it away.") from None
        finally:
            for name, value in before.items():
                if value is None:
                    del os.environ[name]
                else:
                    os.environ[name] = value
    return sys.modules["ezdxf"]
