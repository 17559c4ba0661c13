"""What speaks against a pair: angle, opening, radius, nose, leg, and the range in which the model is good."""

from __future__ import annotations

import pytest

from flangewise.punch_die import BendWish, Ideal, PunchDie
from flangewise.punch_die.limits import die_room_deg, radius_off_share

from ...published.source import printed_at
from .made import codes, finding, offers, stock, tooling, value


def pair(punch: str, die: str, wish: BendWish, **sheet: object) -> PunchDie:
    """The pair named, judged for a wish."""
    named = BendWish(**{**vars(wish), "punch": punch, "die": die})
    (made,) = offers(named, stock(**sheet))  # type: ignore[arg-type]
    return made


def test_an_88_degree_die_cannot_finish_stainless_at_90() -> None:
    """1.4301, 2 mm, V 16 has 93.2 degrees under load: an 88 degree die stops at 91."""
    assert die_room_deg(88, 1) == 91
    made = pair("straight-80-nose-2", "vee-8-86", BendWish(1, 94), thickness_mm=1.0)
    assert made.refused and "die-wall-touched" in codes(made)
    assert value(made, "die-wall-touched", "die_deg") == pytest.approx(86)


def test_stainless_at_90_in_an_80_degree_die_has_room() -> None:
    made = pair("straight-80-nose-2", "vee-16-80", BendWish(1, 90), material="1.4301")
    assert not codes(made) & {"die-wall-touched", "punch-flank-touched"}
    assert made.loaded_turn_deg == pytest.approx(93.2, abs=0.3)


def test_a_punch_of_88_touches_the_flange_of_stainless_at_90() -> None:
    made = pair("straight-88", "vee-16-80", BendWish(1, 90), material="1.4301")
    assert codes(made) & {"punch-flank-touched"} and made.refused


def test_the_margin_is_the_shops() -> None:
    wish = BendWish(1, 91, punch="straight-80-nose-2", die="vee-12-85")
    (close,) = offers(wish)
    tools = tooling()
    (strict,) = offers(wish, tools=type(tools)(tools.punches, tools.dies, tools.machine, overbend_margin_deg=5.0))
    assert "die-wall-touched" not in codes(close)
    assert "die-wall-touched" in codes(strict)


@pytest.mark.parametrize(("thickness_mm", "told"), [(0.99, True), (1.01, False), (3.19, False), (3.3, True)])
def test_openings_under_5_and_over_16_thicknesses_are_told(thickness_mm: float, told: bool) -> None:
    made = pair("straight-80-nose-2", "vee-16-80", BendWish(1, 90), thickness_mm=thickness_mm)
    assert ("opening-out-of-range" in codes(made)) is told


def test_a_radius_under_the_least_of_the_standard_is_told_for_each_grain() -> None:
    """EN 10025-2, S235JRC, 4 to 5 mm: 6 across and 8 along the rolling direction."""
    wish = BendWish(1, 90)
    for grain, least in (("across", 6), ("along", 8), ("any", 8)):
        made = pair("straight-80-nose-3", "vee-40-78", wish, material="S235JR", thickness_mm=4.5, grain=grain)
        assert value(made, f"radius-under-least-{grain}", "least_mm") == least
        assert finding(made, f"radius-under-least-{grain}").severity == "caution"


def test_an_ordinary_bend_in_deep_drawing_steel_draws_no_caution() -> None:
    made = pair("straight-80-nose-2", "vee-12-85", BendWish(1, 90))
    assert not any(each.severity != "note" for each in made.findings)


def test_a_nose_under_63_percent_of_the_thickness_is_told() -> None:
    thin, thick = (pair("straight-88", "vee-16-80", BendWish(1, 90), thickness_mm=t) for t in (1.5, 2.0))
    assert not codes(thin) & {"nose-sharp", "nose-too-sharp"}
    assert finding(thick, "nose-sharp").severity == "note"


def test_a_radius_formed_under_63_percent_of_the_thickness_is_a_caution() -> None:
    """A weakly hardening steel in a narrow opening closes round the nose: natural radius 0.034 V at V = 6 t."""
    made = pair("straight-88", "vee-20-80", BendWish(1, 85), material="S700MC", thickness_mm=3.0)
    assert finding(made, "nose-too-sharp").severity == "caution"
    assert value(made, "nose-too-sharp", "least_mm") == pytest.approx(0.63 * 3)


@pytest.mark.parametrize(("wanted", "told"), [(2.3, False), (2.0, False), (1.8, True), (3.2, True)])
def test_a_radius_more_than_a_fifth_off_is_told(wanted: float, told: bool) -> None:
    made = pair("straight-80-nose-2", "vee-12-85", BendWish(1, 90, radius_mm=wanted))
    off = abs((made.formed_radius_mm or 0.0) - wanted) / wanted
    assert ("radius-off" in codes(made)) is (off > 0.2) is told


def test_how_far_a_radius_is_off() -> None:
    assert radius_off_share(2.4, 2.0) == pytest.approx(0.2)
    assert radius_off_share(1.0, 0.0) == 1.0


def test_the_least_leg_is_near_seven_tenths_of_the_opening() -> None:
    """A tool maker's chart keeps some tenth in hand, as ours does."""
    chart = printed_at("force-chart-least-leg-and-radius", "least_leg_chart_mm", "opening_mm")
    for die, opening, thickness in (("vee-12-85", 12, 2.0), ("vee-16-80", 16, 2.0), ("vee-40-78", 40, 5.0)):
        made = pair("straight-80-nose-2", die, BendWish(1, 90), thickness_mm=thickness)
        assert made.least_leg_mm == pytest.approx(chart[opening,], rel=0.06)


def test_a_leg_is_refused_below_the_least_and_cautioned_within_a_tenth() -> None:
    bare = pair("straight-80-nose-2", "vee-12-85", BendWish(1, 90)).hard_leg_mm
    assert bare is not None
    told = {
        share: codes(pair("straight-80-nose-2", "vee-12-85", BendWish(1, 90, legs_mm=(bare * share, 50.0))))
        for share in (0.99, 1.05, 1.11)
    }
    assert "leg-too-short" in told[0.99] and "leg-near-least" not in told[0.99]
    assert "leg-near-least" in told[1.05] and "leg-too-short" not in told[1.05]
    assert not told[1.11] & {"leg-near-least", "leg-too-short"}


def test_the_shorter_leg_counts_and_an_unknown_one_does_not() -> None:
    short = pair("straight-80-nose-2", "vee-12-85", BendWish(1, 90, legs_mm=(60.0, 5.0)))
    assert value(short, "leg-too-short", "leg_mm") == 5
    unknown = pair("straight-80-nose-2", "vee-12-85", BendWish(1, 90, legs_mm=(60.0, None)))
    assert "leg-too-short" not in codes(unknown)


def test_beyond_what_the_model_was_compared_with() -> None:
    deep = pair("acute-30", "vee-16-30", BendWish(1, 125))
    assert "turn-beyond-verified" in codes(deep)
    narrow = pair("straight-80-nose-2", "vee-12-85", BendWish(1, 90, length_mm=15.9))
    assert "width-beyond-verified" in codes(narrow)
    wide = pair("straight-80-nose-2", "vee-12-85", BendWish(1, 90, length_mm=16.0))
    assert "width-beyond-verified" not in codes(wide)
    blunt = pair("straight-80-nose-3", "vee-10-86", BendWish(1, 85), thickness_mm=1.0)
    assert "nose-beyond-verified" in codes(blunt)


def test_ideal_tools_have_no_walls_and_no_load() -> None:
    wish = BendWish(1, 120, ideal=Ideal(nose_radius_mm=1.0, opening_mm=16.0, shoulder_radius_mm=1.5))
    (made,) = offers(wish)
    assert not codes(made) & {"die-wall-touched", "punch-flank-touched", "over-die-load", "over-punch-load"}
    # Check values of the process model with the nose corrected hold at 90; at 120 the loaded turn is 122.0.
    assert made.loaded_turn_deg == pytest.approx(122.0, abs=0.05)
