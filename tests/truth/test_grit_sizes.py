"""Mean grain sizes against printed charts."""

import pytest

from blankwright.shop.grit import grit
from rooms.every import cases

SOURCE = "FEPA P and CAMI grades as printed in two public charts; P240 and P1200 from memory of the FEPA list"
TOLERANCE_UM = 1e-9
REASON = "Charts print whole micrometres, held as printed."

P = {12: 1815, 24: 764, 36: 538, 40: 425, 50: 336, 60: 269, 80: 201, 100: 162, 120: 125, 150: 100, 180: 82, 220: 68}
P_FINE = {320: 46, 400: 35, 600: 26, 800: 22, 1000: 18, 1500: 13, 2000: 10, 2500: 8}
CAMI = {36: 535, 40: 428, 50: 351, 60: 268, 80: 192, 100: 141, 120: 116, 150: 93, 220: 68, 240: 52, 400: 22, 600: 15}


@cases(("number", "um"), {**P, **P_FINE}.items())
def test_fepa(number, um):
    assert grit("P", number).size_um == pytest.approx(um, abs=TOLERANCE_UM)


@cases(("number", "um"), CAMI.items())
def test_cami(number, um):
    assert grit("CAMI", number).size_um == pytest.approx(um, abs=TOLERANCE_UM)


def test_the_same_number_is_not_the_same_grit():
    # CAMI 400 is like P800, CAMI 600 like P1200.
    assert grit("CAMI", 400).size_um == pytest.approx(grit("P", 800).size_um, rel=0.05)
    assert grit("CAMI", 600).size_um == pytest.approx(grit("P", 1200).size_um, rel=0.05)
