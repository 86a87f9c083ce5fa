"""Figures in the cautions against the public regulations they cite."""

import pytest

from blankwright.shop.finishes import advice
from blankwright.shop.stagecautions import cutting_cautions, stage
from blankwright.shop.tables import process

SOURCE = (
    "29 CFR 1910.133(a)(5) filter shades; 29 CFR 1910.252 fire watch and ventilation; 29 CFR 1910.1026 hexavalent "
    "chromium; 29 CFR 1910.126(a)(2) quench tanks; 29 CFR 1910.215(a)(4) tool rests; 29 CFR 1910.1027(c) cadmium; "
    "NIOSH recommended limit for wood dust; 21 CFR 178.3620 and 172.878 mineral oil"
)
TOLERANCE_NONE = 0
REASON = "Limits are quoted, not computed: the very figures must stand in the text that cites the source."


def text_citing(stage_name: str, citation: str) -> str:
    found = cutting_cautions(process(stage_name)) if stage_name == "oxy-fuel" else stage(stage_name).rules
    rules = [r for r in found if citation in r.source]
    assert rules, citation
    assert all(rule.status == "published" for rule in rules)
    return " ".join(rule.text for rule in rules)


@pytest.mark.parametrize("name", ["plasma-table", "plasma-hand"])
def test_plasma_shades(name):
    text = cutting_cautions(process(name))[0].text
    assert cutting_cautions(process(name))[0].source == "29 CFR 1910.133(a)(5)"
    assert "shade 8 or darker below 300 A, 9 from 300 to 400 A, 10 from 400 to 800 A" in text


def test_flame_shades():
    assert "shade 3 for plate under 25 mm (1 in), 4 from 25 to 150 mm" in text_citing("oxy-fuel", "1910.133")


def test_fire_watch_and_distance():
    text = text_citing("oxy-fuel", "1910.252(a)")
    assert "10.7 m (35 ft)" in text
    assert "30 minutes" in text


def test_ventilation():
    text = text_citing("hot-cutting", "1910.252(c)")
    assert "2,000 cubic feet" in text
    assert "100 feet a minute" in text


def test_hexavalent_chromium():
    text = text_citing("hot-cutting", "1910.1026")
    assert "5 µg/m3" in text
    assert "2.5 µg/m3" in text


def test_wood_dust():
    text = text_citing("wood-dust", "NIOSH")
    assert "15 mg/m3" in text
    assert "1 mg/m3" in text


def test_quench_oil_margin():
    assert "28 °C (50 °F) below its flash point" in text_citing("quench-oil", "1910.126(a)(2)")


def test_tool_rest_and_cadmium():
    assert "3 mm (1/8 in)" in text_citing("grinding", "1910.215(a)(4)")
    assert "5 µg/m3" in text_citing("hot-cutting", "1910.1027(c)")


def test_epoxy_findings():
    assert "8 of 18" in text_citing("epoxy", "HETA 2011-0180-3193")


def test_food_oil():
    rule = advice("food-oil").rules[0]
    assert "178.3620(a)" in rule.source
    assert "172.878" in rule.source
    assert "Saybolt colour of 20 or more" in rule.text
