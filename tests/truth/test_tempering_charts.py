"""Tempering charts of 1095, O1, A2 and W2, and the tempering parameter, against what sheets print."""

import pytest

from blankwright.shop.hardening import TemperPoint, hardening
from rooms.every import cases

SOURCE = (
    "1095: a maker's page that restates a steel maker's sheet. O1: a stockholder's sheet and a metalworkers' page. "
    "A2: a stockholder's sheet, hardened from 1775 F. W2: a handbook's chart, 1.00 % carbon. 52100: ASM International, "
    "One Minute Mentor, 12 June 2019. D2: steel maker's data sheet, issue 8, May 2003, page 2. 13C26: its mill's data "
    "sheet, edition of 11 January 2024. 14C28N: the same mill's Hardening Guide, 25 pages"
)
TOLERANCE_HRC = 1e-9
REASON = "Points are printed whole, so the table holds them exactly."


def c(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


@cases(
    ("steel", "fahrenheit", "low", "high"),
    [
        ("1095", 300, 65, 65),
        ("1095", 350, 63, 64),
        ("1095", 400, 62, 63),
        ("1095", 500, 59, 60),
        ("1095", 650, 53, 54),
        ("O1", 300, 63, 63),
        ("O1", 400, 62, 62),
        ("O1", 600, 57, 57),
        ("O1", 800, 50, 50),
        ("A2", 300, 62, 62),
        ("A2", 400, 61, 61),
        ("A2", 1000, 57, 57),
        ("A2", 1100, 51, 51),
        ("W2", 400, 62, 62),
        ("W2", 600, 55, 55),
    ],
)
def test_a_printed_point_is_in_the_table(steel, fahrenheit, low, high):

    table = hardening(steel).chosen_temper
    point = min(table.points, key=lambda p: abs(p.temper_c - c(fahrenheit)))
    assert point.temper_c == pytest.approx(c(fahrenheit), abs=1e-9)
    assert (point.hrc_low, point.hrc_high) == pytest.approx((low, high), abs=TOLERANCE_HRC)


def _middle(point: TemperPoint) -> float:
    """Return the middle of a point's hardness [HRC]."""
    return (point.hrc_low + point.hrc_high) / 2


def test_the_two_o1_charts_agree_within_one_hrc_of_the_band():
    ours, other = hardening("O1").temper[0], {p.printed: p for p in hardening("O1").temper[1].points}
    both = [(p, other[p.printed]) for p in ours.points if p.printed in other]
    assert len(both) == 7
    assert all(q.hrc_low - 1 <= _middle(p) <= q.hrc_high + 1 for p, q in both)


def test_52100_reads_no_softer_than_its_journal():
    """The journal, 12 June 2019: 58 to 64 HRC after 150 to 230 °C, and 58 HRC allows at most 260 °C."""
    first, last = hardening("52100").chosen_temper.points
    assert (first.temper_c, _middle(first), last.temper_c, _middle(last)) == (150, 64, 260, 58)


def test_d2_does_not_soften_between_700_and_900_f():
    """Common practice of high-chromium tool steel: a second hardening holds it level there."""
    level = [_middle(p) for p in hardening("D2").chosen_temper.points if 370 <= p.temper_c <= 483]
    assert len(level) >= 3
    assert max(level) - min(level) <= 0.5


def test_d2_agrees_with_what_is_printed_up_to_260_c():
    """Metal Forming Handbook, 1998, table 6.7.4: 180 to 250 °C, 60 HRC ± 1; a stockholder's page: 204 °C, 61."""
    entry = hardening("D2")
    low = [p for p in entry.chosen_temper.points if p.temper_c <= 261]
    assert [round(p.temper_c) for p in low] == [204, 260]
    assert all(abs(_middle(p) - 60) <= 1 for p in low)
    assert abs(_middle(low[0]) - 61) <= 1
    ends = [(p.temper_c, p.hrc_low, p.hrc_high) for t in entry.temper if t.status == "published" for p in t.points]
    assert ends == [(180, 59, 61), (250, 59, 61)]


def test_13c26_is_hardened_by_its_own_mill():
    """The mill's data sheet, 11 January 2024: 1060 °C, strip of 1.0 mm, 3 min; brittle above 450 °C."""
    entry = hardening("13C26")
    assert entry.set_c == 1060
    assert [(p.thickness, p.minutes) for p in entry.soak_law.points] == [(1.0, 3.0)]
    assert any("450 C" in note.text and note.status == "published" for note in entry.notes)


def test_14c28n_soaks_by_the_guide():
    """The Hardening Guide: 2.5 mm 5 min, 3.0 6, 3.25 7, 3.5 8, 3.75 10, 4.0 12, at 1080 °C; 53 to 63 HRC."""
    entry = hardening("14C28N")
    table = {2.5: 5, 3.0: 6, 3.25: 7, 3.5: 8, 3.75: 10, 4.0: 12}
    assert {p.thickness: p.minutes for p in entry.soak_law.points} == table
    ends = [(p.temper_c, p.hrc_low) for p in entry.chosen_temper.points]
    assert ends == [(175, 63), (350, 53)]
    assert entry.temper_from == "room temperature"  # the guide: cool to room temperature before tempering is started


def test_aeb_l_soaks_as_long_as_its_own_temperature_asks():
    """Makers' practice, no data sheet was read: 5 min at 1975 F, 15 min at 1940 F; one row, not a mixture of both."""
    entry = hardening("AEB-L")
    assert (round(entry.set_c), entry.soak.low, entry.soak.high) == (1079, 5, 5)
    assert entry.soak.status == "common practice"


def test_d2_is_preheated_and_quenched_by_its_makers_sheet():
    """Issue 8, May 2003, page 2: 1150 to 1250 F, 1400 to 1450 F, 1850 to 1875 F, air to 150 to 125 F."""
    entry = hardening("D2")
    assert [(round(b.low), round(b.high)) for b in entry.preheat] == [(621, 677), (760, 788)]
    assert "66 to 51 °C" in entry.quench.text
    assert round(c(150)) == 66
    assert int(c(125)) == 51


def test_1095_in_oil_is_for_stock_below_three_sixteenths():
    """A maker's page that restates a steel maker's sheet: oil below 3/16 in (4.76 mm), else water or brine."""
    entry = hardening("1095")
    assert entry.quench_thick.over == pytest.approx(3 / 16 * 25.4, abs=0.005)
    assert "water or brine" in entry.quench_thick.quench.text


def test_a_printed_fahrenheit_is_echoed_as_printed():
    assert "1950 °F" in hardening("AEB-L").harden_others[2].words()


@cases(
    ("steel", "low_f", "high_f"),
    [("1095", 1475, 1475), ("O1", 1450, 1500), ("A2", 1750, 1800), ("D2", 1850, 1875), ("440C", 1850, 1900)],
)
def test_the_hardening_range_is_the_printed_one(steel, low_f, high_f):
    band = hardening(steel).harden
    assert (band.low, band.high) == pytest.approx((c(low_f), c(high_f)), abs=2.5)  # sheets round to 5 °C
