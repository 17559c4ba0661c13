"""Which dies are tried, what is hopeless at a glance, and that the glance never differs from the model."""

from __future__ import annotations

import pytest

from flangewise.punch_die import BendWish, Ideal
from flangewise.punch_die.judge import hopeless, is_pinned, named, vee_pair, vee_pairs, worth_a_try

from .made import codes, judge, offers, shop, stock, tooling


def tried(wish: BendWish, thickness_mm: float = 2.0, material: str = "DC01") -> set[str]:
    return {die.name for die in worth_a_try(tooling().dies, wish, stock(material, thickness_mm), margin_deg=1.0)}


def test_openings_from_4_to_16_thicknesses_are_tried() -> None:
    openings = {shop().dies[name].vee.opening_mm for name in tried(BendWish(1, 90))}
    assert min(openings) == pytest.approx(8) and max(openings) == pytest.approx(32)


def test_of_one_opening_no_die_sharper_than_needed_is_tried() -> None:
    assert "vee-12-85" in tried(BendWish(1, 90))
    assert not tried(BendWish(1, 90)) & {"vee-12-80", "vee-12-30"}
    # Stainless springs back further, but not past what 85 degrees leave at 75 of turn.
    assert not tried(BendWish(1, 75), material="1.4301") & {"vee-12-80", "vee-12-30"}


def test_a_sharp_bend_tries_the_sharp_dies_too() -> None:
    assert {"vee-12-85", "vee-12-80", "vee-12-30"} <= tried(BendWish(1, 110))


def test_sheet_beyond_every_opening_tries_the_nearest() -> None:
    assert tried(BendWish(1, 90), thickness_mm=25.0) == {"vee-63-78", "vee-50-78"}


def test_the_pinned_die_is_always_tried() -> None:
    assert {"vee-63-78"} <= tried(BendWish(1, 90, die="vee-63-78"))
    assert {"vee-12-30"} <= tried(BendWish(1, 90, die="vee-12-30"))


def test_ideal_tools_stand_in_the_place_of_the_shops() -> None:
    wish = BendWish(1, 90, ideal=Ideal(opening_mm=16.0, shoulder_radius_mm=1.6))
    pairs = vee_pairs(tooling(), wish, stock())
    assert {pair.opening_mm for pair in pairs} == {16.0}
    assert all(pair.die is None and pair.punch is not None for pair in pairs)
    both = BendWish(1, 90, ideal=Ideal(1.0, 16.0, 1.6))
    (pair,) = vee_pairs(tooling(), both, stock())
    assert (pair.punch, pair.die, pair.name) == (None, None, "ideal nose on ideal opening")


@pytest.mark.parametrize(
    ("punch", "die", "turn", "code"),
    [
        ("straight-88", "vee-12-30", 95, "punch-flank-touched"),
        ("acute-30", "vee-12-85", 95, "die-wall-touched"),
        ("round-nose-6", "vee-12-85", 80, "nose-too-wide"),
    ],
)
def test_what_is_hopeless_at_a_glance(punch: str, die: str, turn: float, code: str) -> None:
    pair = vee_pair(shop().punches[punch], shop().dies[die], Ideal())
    found = hopeless(pair, BendWish(1, turn), tooling=tooling())
    assert found is not None and (found.code, found.severity) == (code, "refuse")


def test_a_glance_lets_a_good_pair_pass() -> None:
    pair = vee_pair(shop().punches["straight-88"], shop().dies["vee-12-85"], Ideal())
    assert hopeless(pair, BendWish(1, 90), tooling=tooling()) is None


def test_pairs_without_an_answer_stand_last() -> None:
    pairs = [
        vee_pair(shop().punches[punch], shop().dies["vee-12-85"], Ideal())
        for punch in ("round-nose-10", "straight-80-nose-2")
    ]
    made = judge(pairs, BendWish(1, 90), stock(), tooling=tooling())
    assert [each.tools.punch_name for each in made] == ["straight-80-nose-2", "round-nose-10"]
    assert made[-1].air is None and made[-1].formed_radius_mm is None and made[-1].refused


def test_tools_not_as_named_are_told_with_the_pair() -> None:
    die = shop().dies["vee-12-85"].model_copy(update={"named_opening_mm": 14.0})
    found = named(vee_pair(shop().punches["straight-88"], die, Ideal()))
    assert [finding.code for finding in found] == ["opening-not-as-named"]


def test_the_named_opening_chooses_and_the_outline_computes() -> None:
    """V at the corners of 16 mm, shoulder 1.5, 80 degrees: 16 stamped, 17.4 between the tangent points."""
    made = offers(BendWish(1, 90, die="vee-16-80"))
    assert all(each.tools.named_opening_mm == 16 for each in made)
    assert made[0].tools.opening_mm == pytest.approx(16, abs=1e-6)


def test_pins() -> None:
    made = offers(BendWish(1, 90))[0]
    assert is_pinned(made, BendWish(1, 90))
    assert is_pinned(made, BendWish(1, 90, die=made.tools.die_name))
    assert not is_pinned(made, BendWish(1, 90, die="vee-63-78"))
    assert codes(made) == set()
