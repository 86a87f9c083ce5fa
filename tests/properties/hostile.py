"""Hostile text files: designs, families, services, dialects, prices and printers, mutated or built from nothing.

A file and the line that reads it follow from a seed and a number alone, so that one that shows a fault can be made
again: `Maker(seed).file(number)`.
"""

from __future__ import annotations

import json
import random
import re
from dataclasses import dataclass
from pathlib import Path

from blankwright.base.library import templates_dir
from blankwright.design.keys import SETTINGS

KINDS = ("design", "design", "design", "family", "family", "service", "service", "dialect", "prices", "printers")

STOCK_KINDS = ("stock",)
"""What lies on the bench; read by a run of its own, for a placing takes longer than a reading."""

PRICES = """currency = "EUR"
stock = "9.80 per kg"
handle = "30 per piece"
pins = "4,50 per m"
cutting = "18 per piece"
"""
PRINTERS = """["office"]
measured_x = "99.2 mm"
measured_y = "100.4 mm"

["shop"]
measured_x = "99 mm"
measured_y = "100 mm"
"""

TEXTS = (
    "", " ", "\x1b[31mred", "a\nb", "a\r\n0\nEOF\n", "\u202egnp.exe", "\u2066a", "\x00", "\x7f", "\ufeff", "\ufffe",
    "x" * 61, "x" * 3000, "{slug}", "{0}", "{slug.__class__}", "{slug:>99999999}", "%s%n%d", "../../etc/passwd",
    "/dev/zero", "CON", "nul.toml", "-rf", "~/x", "$(x)", "`x`", "<b>&amp;", "]]>", "--><script>", "(x) Tj ET",
    "N10 G0 X0", "; M3 (a", "éè刃🔪", "e\u0301" * 30, "سكين", "می\u200cخواهم", "chef.toml", "no.toml", "pipe.toml",
    "self.toml", "NaN", "inf", "None", "true", "0x10", "beech", "80CrV2", "none", "full", "blade", "plasma-table",
    "rs274",
)  # fmt: skip
LENGTHS = (
    "0 mm", "-0 mm", "-1 mm", "1e-30 mm", "1e30 mm", "1e400 mm", "1e999999 mm", "210", "210 km", "8 1/4 in", "1/0 in",
    "0/0 in", "1/3 in", "9" * 50 + " mm", "9" * 400 + " mm", "nan mm", "inf mm", "１２ mm", "1.2.3 mm", "1,5 mm",
    "+5 mm", "5mm", "5 MM", "5 '", '5 "', "1e3 mm", "0.0000001 mm", "16.4999999999 mm", "25.00000001 mm", "50 %",
    "12 deg", "360 deg", "100 g", "1e9 kg", "2.5 m/min", "1e-9 s",
)  # fmt: skip
RAW = (
    "0", "-1", "1", "2", "7", "1e308", "-1e308", "1e400", "nan", "inf", "-inf", "true", "[]", "{}", "[[]]", "[1, 2]",
    '["1 mm", 2]', "9" * 18, "9" * 25, "9" * 400, "9" * 5000, "0x" + "f" * 30, "0x" + "f" * 5000, "0o777", "0b1",
    "1979-05-27", "07:32:00", "1_000", "[" * 60 + "]" * 60, "[" * 3000, "{a = " * 50 + "1" + "}" * 50,
    "{a.b.c.d = 1}", "[{}]", '"""a\nb"""', "'''x'''", "", "=", "# x", "[0.0, 0.0]", "[1e308, -1e308]",
    "[[0, 0], [1, 1]]", "[" + "1, " * 3000 + "1]", '["' + "x" * 3000 + '"]',
)  # fmt: skip
WORDS = (
    "length", "name", "family", "points", "curve", "dimension", "a.b.c.d.e.f.g.h", "handle.construction", "x" * 300,
    '""', '"\\u0000"', "'a b'", "__proto__", "blade.length", "file", "holes", "limits", "table",
)  # fmt: skip


@dataclass(frozen=True)
class Hostile:
    """A file and the line that reads it.

    Args:
        kind: One of KINDS or STOCK_KINDS.
        data: The file.
        line: Words of the command line; the file is called x.toml, printers are kept in config/.
    """

    kind: str
    data: bytes
    line: tuple[str, ...]


def sources(kind: str) -> list[str]:
    """Return sound files of a kind."""
    if kind in ("prices", "printers"):
        return [PRICES if kind == "prices" else PRINTERS]
    folder = {"family": "families"}.get(kind, f"{kind}s")
    return [path.read_text(encoding="utf-8") for path in sorted((templates_dir() / folder).glob("*.toml"))]


class Maker:
    """Hostile files by number.

    Args:
        seed: Another seed gives other files.
        kinds: What the files are, each as often as it stands there.
    """

    def __init__(self, seed: int, kinds: tuple[str, ...] = KINDS) -> None:
        self._seed, self._kinds = seed, kinds
        self._sources = {kind: sources(kind) for kind in set(kinds)}

    def file(self, number: int) -> Hostile:
        """Return a file."""
        dice = random.Random(f"{self._seed} {number}")
        kind = dice.choice(self._kinds)
        text = _built(kind, dice) if dice.random() < 0.25 else _mutated(dice.choice(self._sources[kind]), dice)
        return Hostile(kind, _bytes(text, dice), _line(kind, dice))


def _line(kind: str, dice: random.Random) -> tuple[str, ...]:
    if kind in ("design", "family"):
        reads = (
            [["weigh", "x.toml"]] * 8
            + [["cut", "x.toml"]] * 5
            + [["make", "x.toml", "--with", "finished,notes,grind,marks"]]
        )
        reads += [["template", "x.toml"], ["sheet", "x.toml"], ["cut", "x.toml", "--part", "template"]]
        reads += [["aim", "x.toml", "--weight", "190 g", "--let", "heel_height"], ["new", "x.toml", "y.toml"]]
        reads += [["families", "x.toml"]] * 3 if kind == "family" else []
        return tuple(dice.choice(reads))
    if kind == "stock":
        more = dice.choice([(), (), (), (), ("--json",), ("--largest", "blade.length"), ("--grain", "10deg")])
        return ("place", dice.choice(["paring", "utility"]), "x.toml", *more)
    if kind in ("service", "dialect"):
        program = ["--with", "program"] if kind == "dialect" or dice.random() < 0.3 else []
        service = "table.toml" if kind == "dialect" else "x.toml"
        return ("cut", dice.choice(["chef", "utility"]), "--service", service, *program)
    if kind == "prices":
        return ("sheet", "chef", "--prices", "x.toml")
    reads = [["printer"], ["printer", "office"], ["printer", "new", "--measured-x", "99mm", "--measured-y", "100.5mm"]]
    return tuple(dice.choice([*reads, ["printer", "office", "--forget"], ["template", "chef", "--printer", "office"]]))


def _bytes(text: str, dice: random.Random) -> bytes:
    """Return the bytes of a text, now and then not those of UTF-8."""
    data = text.encode("utf-8", errors="surrogatepass")
    roll = dice.random()
    if roll < 0.02:
        return b"\xef\xbb\xbf" + data
    if roll < 0.03:
        return text.encode("utf-16", errors="surrogatepass")
    if roll < 0.05:
        return data.replace(b"\n", b"\r\n" if dice.random() < 0.7 else b"\r")
    if roll < 0.10 and data:
        at = dice.randrange(len(data))
        return data[:at] + bytes([dice.randrange(256)]) + data[at + 1 :]
    if roll < 0.12:
        return data[: dice.randrange(len(data) + 1)]
    return data


def _value(dice: random.Random) -> str:
    """Return something that may stand behind an equals sign."""
    roll = dice.random()
    if roll < 0.35:
        return json.dumps(dice.choice(LENGTHS), ensure_ascii=False)
    if roll < 0.65:
        return json.dumps(dice.choice(TEXTS), ensure_ascii=dice.random() < 0.7)
    if roll < 0.75:
        return f'"{dice.uniform(-20, 400):.3f} {dice.choice(["mm", "mm", "in", "deg", "g", "%"])}"'
    return dice.choice(RAW)


def _mutated(text: str, dice: random.Random) -> str:
    lines = text.splitlines()
    for _ in range(dice.choice((1, 1, 1, 1, 1, 2, 3))):
        at = dice.randrange(len(lines))
        line = lines[at]
        roll = dice.random()
        if roll < 0.25:  # another value
            full = [i for i, one in enumerate(lines) if "=" in one and not one.lstrip().startswith("#")]
            at = dice.choice(full or [at])
            lines[at] = f"{lines[at].partition('=')[0]}= {_value(dice)}"
        elif roll < 0.62:  # another number somewhere in the line
            full = [i for i, one in enumerate(lines) if "=" in one and re.search(r"\d", one.partition("#")[0])]
            at = dice.choice(full or [at])
            line = lines[at]
            numbers = list(re.finditer(r"-?\d+(\.\d+)?", line.partition("#")[0]))
            if numbers:
                hit = dice.choice(numbers)
                odd = ("0", "-1", "1e9", "0.001", "nan", "99999999999999999999", f"{dice.uniform(-300, 300):.3f}")
                new = dice.choice(odd) if dice.random() < 0.25 else f"{float(hit[0]) * dice.uniform(0.9, 1.1):.4g}"
                lines[at] = line[: hit.start()] + new + line[hit.end() :]
        elif roll < 0.68:
            del lines[at]
        elif roll < 0.74:
            lines.insert(at, line)
        elif roll < 0.80:
            other = dice.randrange(len(lines))
            lines[at], lines[other] = lines[other], lines[at]
        elif roll < 0.86:
            lines.insert(at, f"{dice.choice(WORDS)} = {_value(dice)}")
        elif roll < 0.92:
            lines.insert(
                at,
                dice.choice(
                    ("[a]", "[[a]]", "[blade]", "[file]", "[[limits]]", "[a.b.c.d.e.f.g.h]", f"[{dice.choice(WORDS)}]")
                ),
            )
        else:
            cut = dice.randrange(len(line) + 1)
            lines[at] = (
                line[:cut]
                + dice.choice(("\x00", "\x1b", "\u202e", "\ud800", '"', "'", "\\", "]", "}", "#", "=", "\t", "."))
                + line[cut:]
            )
        if not lines:
            return ""
    return "\n".join(lines) + "\n"


def _built(kind: str, dice: random.Random) -> str:
    """Return a file of known keys with any values."""
    if kind == "design":
        out = [f"name = {_value(dice) if dice.random() < 0.1 else json.dumps('one')}"]
        family = json.dumps(dice.choice(["chef", "paring", "utility", "spreader"]))
        out.append(f"family = {_value(dice) if dice.random() < 0.1 else family}")
        chosen = dice.sample(SETTINGS, dice.randrange(1, 4))
        tables: dict[str, list[str]] = {}
        for setting in chosen:
            table, key = setting.key.split(".")
            value = (
                json.dumps(dice.choice(setting.choices))
                if setting.choices and dice.random() < 0.7
                else _sensible(setting.kind, dice)
            )
            tables.setdefault(table, []).append(f"{key} = {value}")
        if dice.random() < 0.4:
            key = dice.choice(("length", "heel_height", "overall_length", "flat_length", "spine_drop", "tip_height"))
            tables.setdefault("blade", []).append(f'{key} = "{dice.uniform(0, 350):.2f} mm"')
        for table, rows in tables.items():
            out += [f"[{table}]", *rows]
        return "\n".join(out) + "\n"
    if kind == "stock":
        return _stock(dice)
    keys = dice.choices(WORDS, k=dice.randrange(0, 12))
    return "\n".join(f"{key} = {_value(dice)}" if dice.random() < 0.8 else f"[{key}]" for key in keys) + "\n"


def _stock(dice: random.Random) -> str:
    """Return a stock file of known keys, most of their values sensible."""

    def mm(low: float, high: float) -> str:
        return _value(dice) if dice.random() < 0.03 else f'"{dice.uniform(low, high):.2f} mm"'

    def pairs(count: int, high: float) -> str:
        x = sorted(dice.uniform(0, 400) for _ in range(count))
        if dice.random() < 0.5:
            x[0], x[-1] = 0.0, 400.0
        return "[" + ", ".join(f'["{at:.1f} mm", {mm(1, high)}]' for at in x) + "]"

    kind = dice.choice(["bar", "sheet", "found", "found"])
    name = dice.choice(TEXTS) if dice.random() < 0.1 else "one"
    out = ["format = 1", "[[piece]]", f"name = {json.dumps(name)}", f'kind = "{kind}"']
    if kind == "found" and dice.random() < 0.5:
        out.append(f"outline = {pairs(dice.randrange(2, 9), 90)}")
    else:
        wide = pairs(3, 80) if kind == "found" and dice.random() < 0.3 else mm(20, 90)
        out += [f"length = {mm(400, 400) if wide.startswith('[') else mm(150, 500)}", f"width = {wide}"]
    out.append(f"thickness = {pairs(2, 8) if dice.random() < 0.2 else mm(2, 8)}")
    out += [f"margin = {mm(0, 5)}"] if dice.random() < 0.5 else []
    steels = ("80CrV2", "80CrV2", "unknown", "AEB-L", "beech", "steel.toml")
    out += (
        [f"material = {json.dumps(dice.choice(steels)) if dice.random() < 0.9 else _value(dice)}"]
        if dice.random() < 0.4
        else []
    )
    out += [f"{dice.choice(WORDS)} = {_value(dice)}"] if dice.random() < 0.1 else []
    for _ in range(dice.choice((0, 0, 1, 2, 5))):
        out += ["[[piece.zone]]", f'kind = "{dice.choice(["avoid", "avoid", "keep"])}"']
        circle = f"[{mm(0, 250)}, {mm(0, 40)}, {mm(1, 20)}]"
        out.append(f"circle = {circle}" if dice.random() < 0.6 else f"points = {pairs(3, 60)}")
        out += [f"margin = {mm(0, 8)}"] if dice.random() < 0.5 else []
    return "\n".join(out) + "\n"


def _sensible(kind: str, dice: random.Random) -> str:
    """Return a value of a setting's kind, in most cases."""
    if dice.random() < 0.1:
        return _value(dice)
    unit = {"angle": "deg", "mass": "g", "share": "%"}.get(kind, "mm")
    numbers = [
        f'"{dice.choice((dice.uniform(0, 5), dice.uniform(0, 40), dice.uniform(-130, 130))):.2f} {unit}"'
        for _ in range(3)
    ]
    if kind == "count":
        return str(dice.randrange(0, 7))
    if kind == "lengths":
        return "[" + ", ".join(numbers[: dice.randrange(1, 4)]) + "]"
    return (
        json.dumps(dice.choice(("beech", "oak", "80CrV2", "brass", "water-jet", "laser", "plasma-table")))
        if kind == "name"
        else numbers[0]
    )


TABLE = 'dialect = "x.toml"\n'


def laid(hostile: Hostile, folder: Path) -> None:
    """Lay a file and what stands beside it into an empty folder."""
    (folder / "x.toml").write_bytes(hostile.data)
    if hostile.kind == "dialect":
        text = (templates_dir() / "services" / "own-table.toml").read_text(encoding="utf-8")
        (folder / "table.toml").write_text(re.sub(r'dialect = "[^"]*"\n', "", text) + TABLE, encoding="utf-8")
    (folder / "config" / "blankwright").mkdir(parents=True)
    if hostile.kind == "printers":
        (folder / "config" / "blankwright" / "printers.toml").write_bytes(hostile.data)


UNFIT = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]")
"""What no text of ours holds, whatever was read."""


def wrong(hostile: Hostile, folder: Path, code: object, out: str, err: str) -> list[str]:
    """Return what is wrong with the outcome of a line."""
    said = []
    if code not in (0, 1, 2):
        said.append(f"exit code {code}")
    if any(word in out + err for word in ("internal error", "Traceback", "Exception ignored", "Warning")):
        said.append("a fault of ours")
    if UNFIT.search(out) or UNFIT.search(err):
        said.append("a character that cannot be shown is printed")
    if code == 2 and (out or not err.startswith("blankwright: ") or len(err) > 2000):
        said.append(f"a refusal of {len(err)} characters, beside {len(out)} on the other stream")
    before = {"x.toml", "table.toml", "config"}
    if code == 2 and (left := {p.name for p in folder.iterdir()} - before):
        said.append(f"refused, but {sorted(left)} is there")
    for path in folder.rglob("*"):
        if path.name.startswith(".writing"):
            said.append(f"{path.name} was left")
        if path.suffix in (".dxf", ".svg", ".txt", ".html", ".nc", ".json") and UNFIT.search(
            path.read_text(encoding="utf-8")
        ):
            said.append(f"a character that cannot be shown is in {path.name}")
    return said
