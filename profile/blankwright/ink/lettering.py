"""How wide a text is on the sheet, and how to make any text safe and short enough to stand there.

Lettering heights follow ISO 3098 (2.5 and 5 mm here, the height of a capital letter; from memory of the
standard). The font is whatever the reader's machine calls sans-serif, so a width can only be estimated.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache

NOTE_MM = 2.5
"""Height of a capital in dimensions, facts, legend and cautions [mm]."""
TITLE_MM = 5.0
"""Height of a capital in the title [mm]."""

FONT_FAMILY = "sans-serif"
CAPITAL_PER_EM = 0.72
"""Height of a capital letter as a share of the font size; 0.716 to 0.729 in the common sans-serif faces."""
RISE = 1.08
"""Ascenders above the baseline, in capital heights."""
FALL = 0.32
"""Descenders below the baseline, in capital heights."""

_SAFETY = 1.03
# The table is that of a wide face; most faces run narrower. The margin is for the few that do not.

_WIDTHS: dict[str, int] = {
    "'": 28, "ijl": 29, "IJ|": 34, " ,.·’/:;\\": 34, "f-": 36, "()[]t!²³r": 41, '"*_`°–sz“”?': 53,
    "cLFkvxy": 59, "PTYaoeøäöé": 62, "ESbdghnpquüß$0123456789{}µ": 64, "KAVÄBRXZC": 70,
    "UÜHNDG&": 78, "OQØÖw": 82, "#+<=>^~×±M": 86, "%Wm½¼@—…": 100,
}  # fmt: skip
# Advance widths in hundredths of the font size, grouped and rounded up.
_ADVANCE = {char: width / 100 for chars, width in _WIDTHS.items() for char in chars}
_UNLISTED = 1.05
# Any other character is taken as wide as the widest: a full-width ideograph is one font size wide.


def font_size_mm(height_mm: float) -> float:
    """Return the font size whose capitals are as high as asked [mm]."""
    return round(height_mm / CAPITAL_PER_EM, 3)


@lru_cache(maxsize=2048)
def width_mm(text: str, height_mm: float) -> float:
    """Estimate the width of a text, on the safe side.

    Args:
        text: One line.
        height_mm: Height of a capital [mm].

    Returns:
        Width [mm], a few per cent more than in a wide sans-serif face.
    """
    return sum(_ADVANCE.get(char, _UNLISTED) for char in text) * font_size_mm(height_mm) * _SAFETY


def clean(text: str, most: int) -> str:
    r"""Return a text as one line that any XML file may hold, cut to a number of characters.

    Line breaks and runs of blanks become one blank; control, format and private characters and lone
    surrogates go. What is cut away is shown by an ellipsis.

    >>> clean("a\n  b\x00c", 20)
    'a bc'
    """
    head = text[: 4 * most + 100]  # enough to fill the line, and no time lost on a text without end
    line = " ".join(head.split())
    if not line.isprintable():  # else it holds none of them
        line = "".join(char for char in line if unicodedata.category(char)[0] != "C" and char not in "\ufffe\uffff")
    return line if len(line) <= most else line[: most - 1].rstrip() + "…"


def shortened(text: str, height_mm: float, most_mm: float) -> str:
    """Return the text, or as much of it as fits a width with an ellipsis behind it."""
    if width_mm(text, height_mm) <= most_mm:
        return text
    while text and width_mm(text + "…", height_mm) > most_mm:
        text = text[:-1].rstrip()
    return text + "…"


def wrapped(text: str, height_mm: float, most_mm: float, most_lines: int) -> tuple[str, ...]:
    """Break a text into lines no wider than a width; what does not fit the last line is cut.

    Args:
        text: One line, already clean.
        height_mm: Height of a capital [mm].
        most_mm: Greatest width of a line [mm].
        most_lines: Greatest number of lines.

    Returns:
        The lines, none empty; no line at all for an empty text.
    """
    lines: list[str] = []
    words = text.split()
    while words:
        if len(lines) == most_lines - 1:
            lines.append(shortened(" ".join(words), height_mm, most_mm))
            break
        line = words.pop(0)
        while words and width_mm(f"{line} {words[0]}", height_mm) <= most_mm:
            line = f"{line} {words.pop(0)}"
        if width_mm(line, height_mm) > most_mm:  # one word wider than the line: break the word
            kept = len(line) - 1
            while kept > 1 and width_mm(line[:kept], height_mm) > most_mm:
                kept -= 1
            words.insert(0, line[kept:])
            line = line[:kept]
        lines.append(line)
    return tuple(lines)
