"""Odd combinations of grind, tang, scales and block settings through the command line: a weight, or words that help."""

from __future__ import annotations

import math
import random
import re

import pytest

from blankwright.commands import cli
from blankwright.design.keys import SETTINGS, Setting
from rooms.design.cases import KINDS
from rooms.often import often, repeated

SEEDS = range(often(25, 5))
EACH = 12
TABLES = ("grind", "tang", "scales", "block")
CHOSEN = [s for s in SETTINGS if s.key.split(".")[0] in TABLES or s.key in ("material.thickness", "pins.count")]
UNITS = {"length": "mm", "height": "mm", "angle": "deg", "mass": "g", "share": "%"}
WRONG = ("0", "-1 mm", "nan", "inf mm", "full", "1e99 mm", "3", "5 furlongs", "2,5 mm", "50 %", "straight", "50", "''")


def value(rng: random.Random, one: Setting) -> str:
    """Return a value for a setting: mostly one that is allowed, its ends too, now and then a wrong one."""
    if rng.random() < 0.06:
        return rng.choice(WRONG)
    if one.kind == "choice":
        return rng.choice(one.choices)
    if one.kind == "name":
        return rng.choice(("beech", "black-walnut", "brass", "no-such-wood"))
    if one.kind == "count":
        return str(rng.randint(int(one.least), int(one.greatest)))

    def number() -> str:
        # small and large numbers alike
        low = max(one.least, 0.01)
        drawn = rng.choice((one.least, one.greatest, math.exp(rng.uniform(math.log(low), math.log(one.greatest)))))
        return f"{drawn:.4g} {UNITS.get(one.kind, 'mm')}"

    if one.kind == "lengths":
        return ",".join(number() for _ in range(rng.choice((3, 3, 3, 2))))
    return "full" if one.kind == "height" and rng.random() < 0.2 else number()


def line(rng: random.Random) -> list[str]:
    """Return one odd command."""
    family, construction = rng.choice(KINDS)
    words = ["weigh", family, "--set", f"handle.construction={construction}"]
    for one in rng.sample(CHOSEN, rng.randint(1, 6)):
        words += ["--set", f"{one.key}={value(rng, one)}"]
    return words + (["--json"] if rng.random() < 0.3 else [])


def run(words: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    """Run the command line in this process and return exit code, output and messages."""
    monkeypatch.setattr("sys.argv", ["blankwright", *words])
    monkeypatch.setattr("gc.disable", lambda: None)
    monkeypatch.setattr("signal.signal", lambda *_: None)
    code = 0
    try:
        cli.main()
    except SystemExit as end:
        code = int(end.code or 0)
    out = capsys.readouterr()
    return code, out.out, out.err


@repeated
@pytest.mark.parametrize("seed", SEEDS)
def test_odd_settings_are_weighed_or_refused_in_words(
    seed: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    rng = random.Random(seed)
    weighed = 0
    for _ in range(EACH):
        words = line(rng)
        code, out, err = run(words, monkeypatch, capsys)
        told = f"seed {seed}: {' '.join(words)}\n{code} {err} {out[:3000]}"
        assert "Traceback" not in err, told
        assert "internal error" not in err, told
        assert code in (0, 2, 3), told
        assert not re.search(r"(?<![\w'\" =])-?(nan|inf|NaN|Infinity)\b", out), told
        if code:
            assert out == "", told
            assert err.startswith("blankwright: "), told
            assert err.strip().endswith((".", ")")), told
            assert len(err) > 40, told
        else:
            weighed += 1
            assert err == "", told
            weights, _, _ = out.partition("what moves it")
            assert not re.search(r"-[\d.]+ g\b", weights), told
    print(f"seed {seed}: {weighed} of {EACH} weighed")


@pytest.mark.parametrize(("sets", "words"), [
    (["block.front_height=10mm", "block.butt_height=10mm", "block.width=9mm"], "Make the block higher"),
    (["block.width=3mm"], "Allowed: 8 mm to 50 mm"),
    (["material.thickness=9mm", "grind.tip_thickness=1mm", "block.width=8mm"], "leaves no wood"),
    (["grind.height=2mm", "grind.behind_edge=1.5mm", "grind.edge_angle=8deg"], "lies inside the edge bevel"),
    (["grind.bevel=uneven", "grind.right_share=100%"], "an uneven bevel. Allowed: 1 % to 99 %"),
    (["grind.bevel=uneven"], "such as 70 %"),
    (["grind.bevel=single", "grind.right_share=70%"], "Allowed: 0 % or 100 %"),
    (["grind.right_share=70%"], "double bevel. Allowed: 50 %"),
    (["grind.kind=hollow", "grind.height=12mm"], "wheel's diameter, such as 400 mm"),
    (["block.weighed=300g"], "give both weighed and weighed_size"),
    (["block.weighed=300g", "block.weighed_size=12mm,4mm,3mm"], "Check units and size"),
    (["block.weighed=300g", "block.weighed_size=120mm,40mm"], "expected 3 lengths, got 2"),
    (["block.weighed=300mm"], "g, kg, oz, lb"),
    (["grind.right_share=120%"], "Allowed: 0 % to 100 %"),
    (["grind.taper=late", "grind.spine_middle=2mm"], "give either a named taper or spine_middle"),
    (["grind.taper=none", "grind.tip_thickness=1mm"], "contradict"),
    (["tang.butt_thickness=4mm"], "more than the stock's 3 mm"),
    (["grind.spine_heel=4mm"], "more than the stock's 3 mm"),
])  # fmt: skip
def test_a_wrong_setting_is_refused_with_what_would_do(
    sets: list[str], words: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = [word for one in ("handle.construction=hidden", *sets) for word in ("--set", one)]
    code, out, err = run(["weigh", "chef", *asked], monkeypatch, capsys)
    assert code == 2
    assert out == ""
    assert words in err, err
