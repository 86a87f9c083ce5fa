"""Job files and stock files spoiled in many ways, each from a seed and a number; and what is wrong with an answer."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from pathlib import Path

JOB = """name = "Galley"
stock = "sheet.toml"
gap = "4 mm"
rim = "3 mm"
held = "left"
[[part]]
design = "paring"
quantity = 2
flip = true
turn = "grain"
within = "15 deg"
[[part]]
name = "short utility"
design = "utility"
quantity = 1
turn = ["0 deg", "180 deg"]
outline = "finished"
set = { "blade.length" = "130 mm" }
"""

STOCK = """format = 1
[[piece]]
name = "sheet"
kind = "sheet"
length = "320 mm"
width = "120 mm"
thickness = "3 mm"
material = "80CrV2"
grain = "along"
quantity = 2
[[piece.zone]]
kind = "avoid"
circle = ["300 mm", "100 mm", "12 mm"]
margin = "2 mm"
[[piece]]
name = "spring"
kind = "found"
length = "300 mm"
width = [["0 mm", "60 mm"], ["300 mm", "48 mm"]]
thickness = ["5 mm", "3 mm"]
grain = "10 deg"
"""

VALUES = (
    '""', "true", "-1", "0", "1e300", "nan", "inf", '"nan mm"', '"-5 mm"', '"1e9 mm"', '"0 mm"', '"4"', "[]", "{}",
    "[[]]", '["1 mm"]', '"\\u0000"', '"../../etc/passwd"', '"/dev/zero"', '"job.toml"', "9999999999999999999",
    "1979-05-27", '"any"', '"grain"', '"chef"', '"x" ', "[1, 2, 3]", '[["0 mm", "0 mm"], ["9 mm", "0 mm"]]',
    '"5000 mm"', '"0.001 mm"', "'''a\nb'''", "{ a = { b = { c = { d = 1 } } } }", '"' + "9" * 300 + ' mm"',
    '"keep"', '"found"', '"bar"', "1000", "1001", '"80CrV2"', '"AEB-L"', '"beech"', '"unknown"', '"sheet.toml"',
)  # fmt: skip

_TOLD = re.compile(r"^blankwright: .+", re.DOTALL)


def _value(text: str, rng: random.Random) -> str:
    """Put another value behind a key."""
    lines = text.split("\n")
    keyed = [k for k, line in enumerate(lines) if "=" in line]
    if not keyed:
        return text
    k = rng.choice(keyed)
    lines[k] = f"{lines[k].split('=', 1)[0]}= {rng.choice(VALUES)}"
    return "\n".join(lines)


def _key(text: str, rng: random.Random) -> str:
    """Put a key under another name, or one that is not known."""
    keys = re.findall(r"(?m)^(\w+) =", text)
    if not keys:
        return text
    one = rng.choice(keys)
    return re.sub(rf"(?m)^{one} =", f"{rng.choice([*keys, one + 's', 'x', one.upper()])} =", text, count=1)


def _lines(text: str, rng: random.Random) -> str:
    """Lose, double or move lines."""
    lines = text.split("\n")
    for _ in range(rng.randint(1, 3)):
        k = rng.randrange(len(lines))
        way = rng.randrange(3)
        if way == 0 and len(lines) > 1:
            del lines[k]
        elif way == 1:
            lines.insert(rng.randrange(len(lines)), lines[k])
        else:
            lines.append(lines.pop(k))
    return "\n".join(lines)


def _cut(text: str, rng: random.Random) -> str:
    return text[: rng.randrange(len(text) + 1)]


def _letters(text: str, rng: random.Random) -> str:
    letters = list(text or " ")
    for _ in range(rng.randint(1, 6)):
        letters[rng.randrange(len(letters))] = rng.choice('"[]{}=.,\n\t\x00\x7fé9-0 mmé😀')
    return "".join(letters)


def _number(text: str, rng: random.Random) -> str:
    """Put another number where one stands."""
    found = list(re.finditer(r"\d+", text))
    if not found:
        return text
    one = rng.choice(found)
    new = str(rng.choice([0, 1, 7, 250, 999, 5000, 20000, 20001, 10**12, -3, 0.0001]))
    return text[: one.start()] + new + text[one.end() :]


WAYS: tuple[Callable[[str, random.Random], str], ...] = (_value, _key, _lines, _cut, _letters, _number)


def spoiled(seed: int, number: int) -> tuple[str, str]:
    """Return a job file and a stock file of which at least one is spoiled."""
    rng = random.Random(f"{seed} {number}")
    job, stock = JOB, STOCK
    for _ in range(rng.randint(1, 3)):
        way = rng.choice(WAYS)
        if rng.random() < 0.6:
            job = way(job, rng) or " "
        else:
            stock = way(stock, rng) or " "
    return job, stock


def laid(folder: Path, seed: int, number: int) -> list[str]:
    """Write the files of a case; return the line that reads them."""
    job, stock = spoiled(seed, number)
    (folder / "job.toml").write_bytes(job.encode("utf-8", "surrogatepass"))
    (folder / "sheet.toml").write_bytes(stock.encode("utf-8", "surrogatepass"))
    return ["nest", "job.toml", "--seconds", "0.2"]


def wrong(folder: Path, code: int, out: str, err: str) -> list[str]:
    """Say what is wrong with an answer: no traceback, a refusal in words, whole files or none."""
    faults = []
    if "Traceback" in out + err or "internal error" in err:
        faults.append("a traceback")
    if code not in (0, 1, 2):
        faults.append(f"ends with {code}")
    if code == 2 and not _TOLD.match(err):
        faults.append("does not say why")
    written = [p for p in (folder / "out").rglob("*") if p.is_file()] if (folder / "out").exists() else []
    if code == 2 and written:
        faults.append("wrote files of a job that it refused")
    if any(p.name.startswith(".writing-") for p in folder.rglob(".*")):
        faults.append("left half of a set")
    return faults
