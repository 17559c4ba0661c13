"""Hand force formulas against worked examples and a printed chart."""

import pytest

from flangewise.bend.force import (
    hand_force_kn_per_m,
    limit_force_kn_per_m,
    usual_force_kn_per_m,
)

from ...published.hand_formulas import FORCES, KN_PER_M_PER_US_TON_PER_FOOT
from ...published.source import printed_at


def test_groover_example():
    # Groover ch. 20: TS 450, w 44.5, t 3.2, D 25, V-die 1.33: 10,909 N; edge 0.33, TS 600, 35 x 5, 28: 6,188 N.
    assert FORCES["1.33"](450, 3.2, 25) * 44.5 == pytest.approx(10909, abs=1)
    assert FORCES["edge"](600, 5, 28) * 35 == pytest.approx(6188, abs=1)


def test_one_case_by_each_formula():
    # t 3, V 24, Rm 420, one metre: worked by hand from each printed constant.
    expected = {
        "1.33": 209.5,
        "1.42": 223.7,
        "1+4t/V": 236.3,
        "575-rule": 251.6,
        "1.43-austenitic": 225.2,
        "650-rule": 227.5,
    }
    looked_at = list(expected.items())
    assert looked_at
    for name, kn in looked_at:
        assert FORCES[name](420, 3, 24) == pytest.approx(kn, abs=0.1), name


def test_the_575_rule_in_its_own_units():
    # t 0.125, V 1.0 in, 4 ft of 60,000 psi steel: 8.98 tons a foot, 35.9 tons.
    per_foot = FORCES["575-rule"](413.7, 0.125 * 25.4, 25.4) / KN_PER_M_PER_US_TON_PER_FOOT
    assert per_foot == pytest.approx(8.98, abs=0.01)
    assert per_foot * 4 == pytest.approx(35.9, abs=0.05)


@pytest.mark.parametrize("cell", [(2, 16), (3, 25), (8, 63), (4, 32), (5, 40)])
def test_chart_near_eight_thicknesses(cell):
    chart = printed_at("force-chart-metric-mild-steel-450", "force_kn_per_m", "thickness_mm", "opening_mm")
    for name in ("1+4t/V", "1.42", "650-rule"):
        assert FORCES[name](450, *cell) == pytest.approx(chart[cell], rel=0.08), name


def test_quarter_inch_in_a_two_inch_die():
    # Imperial charts print 14 to 15.5 tons a foot; 1.33 gives 14.96.
    assert FORCES["1.33"](413.7, 6.35, 50.8) / KN_PER_M_PER_US_TON_PER_FOOT == pytest.approx(14.96, abs=0.05)


@pytest.mark.parametrize("name", sorted(FORCES))
def test_every_formula_scales_with_strength_and_shape(name):
    formula = FORCES[name]
    assert formula(900, 2, 16) == pytest.approx(2 * formula(450, 2, 16))
    assert formula(450, 6, 48) == pytest.approx(3 * formula(450, 2, 16))


def test_austenitic_floor_and_its_name():
    # 1 + 4t/V falls below 1.43 where V is wider than 9.3 t.
    assert hand_force_kn_per_m(700, 2, opening_mm=24, austenitic=True) == (
        pytest.approx(1.43 * 700 * 4 / 24),
        "1.43-austenitic",
    )
    assert hand_force_kn_per_m(700, 2, opening_mm=16, austenitic=True) == (pytest.approx(1.5 * 700 * 4 / 16), "1+4t/V")
    assert hand_force_kn_per_m(700, 2, opening_mm=24)[1] == "1+4t/V"


def test_limit_force_names_what_set_it():
    low = limit_force_kn_per_m(150, "model", tensile_mpa=700, thickness_mm=2, opening_mm=16, austenitic=True)
    assert low == (pytest.approx(250.25), "1.43-austenitic")
    high = limit_force_kn_per_m(150, "model", tensile_mpa=700, thickness_mm=2, opening_mm=16, austenitic=False)
    assert high == (150, "model")


def test_force_in_the_usual_opening():
    # 3 mm in V 24 at Rm 420, as above.
    assert usual_force_kn_per_m(420, 3) == pytest.approx(236.25)
