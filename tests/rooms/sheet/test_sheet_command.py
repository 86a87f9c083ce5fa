"""The command sheet: files, JSON, papers, hands, prices, and what is said to a wrong word."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from blankwright.base.errors import RequestError
from blankwright.commands.cli import app
from rooms.every import cases
from rooms.written import under

RUN = CliRunner()


def line(folder: Path, *words: str) -> str:
    done = RUN.invoke(app(), ["sheet", *words, "--out", str(folder)], catch_exceptions=True)
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    return done.output


def names(folder: Path) -> list[str]:
    return sorted(p.name for p in under(folder))


def test_a_sheet_and_nothing_else(tmp_path: Path) -> None:
    said = line(tmp_path, "chef")
    assert names(tmp_path) == ["chef_card_a4.pdf", "chef_sheet.html", "chef_sheet_a4.pdf"]
    assert "Ream, before any heat" in said
    assert "No hardness is promised" in said


@pytest.mark.parametrize("start", [
    ["spreader", "--set", "handle.construction=one-piece"], ["chef", "--set", "start.from=hardened-blank"],
])  # fmt: skip
def test_nothing_is_said_of_drill_or_heat_where_there_is_none(tmp_path: Path, start: list[str]) -> None:
    said = line(tmp_path, *start)
    page = next(tmp_path.rglob("*.html")).read_text(encoding="utf-8")
    words = re.sub(r"<[^>]*>", " ", page)
    for text in (said, words):
        assert not re.search(r"(?i)\bdrill(?! chart)|\bharden\b|coupon|quench|ream\b|until\s+after hardening", text)


def test_letter_and_inches(tmp_path: Path) -> None:
    line(tmp_path, "paring", "--paper", "letter", "--units", "in")
    assert names(tmp_path) == ["paring_card_letter.pdf", "paring_sheet.html", "paring_sheet_letter.pdf"]
    assert " in<" in (tmp_path / "paring" / "paring_sheet.html").read_text(encoding="utf-8")


def test_json_holds_the_stages(tmp_path: Path) -> None:
    table = json.loads(line(tmp_path, "chef", "--json", "--hand", "women 5"))
    assert table["files"] == ["chef_sheet.html", "chef_sheet_a4.pdf", "chef_card_a4.pdf"]
    assert table["stages"][0]["code"] == "head"
    handle = next(s for s in table["stages"] if s["code"] == "handle")
    assert any("women 5" in row["label"] for row in handle["rows"])


def test_prices(tmp_path: Path) -> None:
    prices = tmp_path / "p.toml"
    prices.write_text('currency = "EUR"\nstock = "9.80 per kg"\n', encoding="utf-8")
    line(tmp_path / "o", "chef", "--prices", str(prices))
    assert "3.94 EUR" in (tmp_path / "o" / "chef" / "chef_sheet.html").read_text(encoding="utf-8")


def test_the_same_bytes_twice(tmp_path: Path) -> None:
    for folder in ("a", "b"):
        line(tmp_path / folder, "chef", "spreader")
    for one in (tmp_path / "a").rglob("*.*"):
        assert one.read_bytes() == (tmp_path / "b" / one.relative_to(tmp_path / "a")).read_bytes()


@cases(
    ("words", "says"),
    [
        (["--paper", "A3"], "Allowed: A4, Letter"),
        (["--units", "cm"], "Allowed: mm, in"),
        (["--hand", "men 33"], "men 33"),
        (["--hand", "big"], "Write men 50"),
        (["--prices", "none.toml"], "none.toml"),
        (["--set", "start.from=kit"], "hardened-blank"),
        (["--set", "start.form=bar"], "Did you mean"),
    ],
)
def test_wrong_words(tmp_path: Path, words: list[str], says: str) -> None:
    with pytest.raises(RequestError, match=says):
        line(tmp_path, "chef", *words)
    assert names(tmp_path) == []


def test_a_hostile_name_stays_a_name(tmp_path: Path) -> None:
    line(tmp_path, "chef", "--set", "name=<script>alert(1)</script>")
    (page,) = tmp_path.rglob("*.html")
    text = page.read_text(encoding="utf-8")
    assert "<script" not in text
    assert "&lt;script&gt;" in text
