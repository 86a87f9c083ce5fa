"""The report at a terminal: it prints the numbers of the report data, in the reader's unit."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from blankwright.base.finding import finding
from blankwright.base.said import mm, said
from blankwright.design.family import load_family
from blankwright.design.request import read_design
from blankwright.desk.make import Made, make
from blankwright.knife.rules import FIGURE_CODES
from blankwright.knife.words import size_in_words
from blankwright.report.data import Report
from blankwright.report.families import families_json, families_text
from blankwright.report.text import text_report
from rooms.design.cases import FAMILIES
from rooms.written import in_folder


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    return make(read_design("chef", {"blade.length": "210 mm"}), tmp_path_factory.mktemp("report"))


def printed(made: Made, units: str) -> str:
    return text_report(replace(made.shown, folder="out/chef"), units)


def test_every_dimension_is_there_with_what_was_asked_and_reached(made: Made) -> None:
    text = printed(made, "mm")
    for d in made.report["dimensions"]:
        (line,) = [row for row in text.splitlines() if row.split()[:1] == [d["key"]]]
        assert line.endswith(f"{d['value_mm']:.2f} mm")
        assert ("follows" in line) == (d["asked_mm"] is None)


def test_the_numbers_are_those_of_the_report(made: Made) -> None:
    text, r = printed(made, "mm"), made.report
    for number in (
        f"{r['mass_g']['cut_blank']:.1f} g", f"{r['mass_g']['finished_blank']:.1f} g",
        f"{r['outlines']['finished']['area_mm2']:.0f} mm²", f"{r['outlines']['cut']['area_mm2']:.0f} mm²",
        f"{r['clearance']['least_mm']:.3f} mm", f"{r['clearance']['worst_case_part_mm']:.3f} mm",
    ):  # fmt: skip
        assert number in text
    for region, wide in r["allowance"]["regions_mm"].items():
        assert f"{region} {wide:.2f} mm" in text
    for name in r["files"]:
        assert f"out/chef/{name}" in text


def test_inches_are_the_same_lengths_divided_by_25_4(made: Made) -> None:
    text = printed(made, "in")
    assert f"{210 / 25.4:.3f} in" in text
    without_words = text.replace(size_in_words(made.knife.cut.size_mm, 3.0), "")
    assert not re.search(r"\d mm\b", without_words)


def test_warnings_are_spelled_out_and_fine_checks_are_counted(made: Made) -> None:
    bump = finding("EDGE-BUMP", said("A bump near {}.", mm(25.4)), None, "warning")
    proof = replace(made.proof, findings=(bump, finding("SIZE", "Fine.", level="ok")))
    fine = sum(f.level == "ok" for f in made.knife.findings)
    text = text_report(Report(made.knife, proof), "in")
    assert not [f for f in made.knife.findings if f.level != "ok"]
    assert f"{fine + 1} ok, 1 to look at, 0 wrong" in text
    assert "! EDGE-BUMP: A bump near 1.000 in." in text
    assert "Fine." not in text


def test_figures_are_told_and_kept_apart_from_checks(made: Made) -> None:
    text, figures = printed(made, "mm"), made.report["figures"]
    assert {f["code"] for f in figures} == set(FIGURE_CODES)
    assert not {c["code"] for c in made.report["checks"]} & set(FIGURE_CODES)
    joined = " ".join(text.split())
    for f in figures:
        assert f["message"] in joined
    ok = sum(c["level"] == "ok" for c in made.report["checks"])
    assert f"checks   {ok} ok, 0 to look at, 0 wrong" in text


def test_lines_fit_a_terminal(made: Made) -> None:
    assert max(len(line) for line in printed(made, "mm").splitlines()) <= 120


def test_the_list_of_families_has_every_dimension_with_its_range() -> None:
    families = [load_family(name) for name in FAMILIES]
    for units, factor, digits in (("mm", 1.0, 1), ("in", 25.4, 2)):
        text = families_text(families, units)
        for f in families:
            assert f.title in text
            for d in f.dimensions:
                assert d.key in text
                assert (
                    f"{d.least_mm / factor:.{digits}f} {units} to {d.greatest_mm / factor:.{digits}f} {units}" in text
                )
    assert all(f'"{name}"' in families_json(families) for name in FAMILIES)


def test_the_words_for_the_size_name_both_units() -> None:
    words = size_in_words((345.3, 49.46), 3)
    assert "345.3 mm" in words
    assert f"{345.3 / 25.4:.2f} x" in words


def test_nothing_is_written_to_the_folder_but_the_files(made: Made) -> None:
    assert sorted(p.name for p in in_folder(Path(made.folder))) == sorted(made.report["files"])
