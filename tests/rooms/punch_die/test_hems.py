"""A hem: an acute pre-bend and a flattener; force by the printed table; legs by the pre-bend."""

from __future__ import annotations

import math

import pytest

from flangewise.punch_die import BendWish, Tooling

from .made import codes, offers, stock, tooling, value

HEM = BendWish(1, 180, kind="hem", legs_mm=(12.0, 60.0), length_mm=500)


def test_the_pre_bend_is_acute_and_the_second_hit_flat() -> None:
    best = offers(HEM, stock(thickness_mm=1.0))[0]
    assert best.kind == "hem" and not best.refused
    assert best.tools.punch is not None and best.tools.die is not None
    assert best.tools.punch.nose.included_deg <= 45 and best.tools.die.vee.included_deg <= 45
    assert best.turn_deg is not None and best.turn_deg >= 135
    assert best.then is not None and best.then.kind == "flatten"
    assert (best.then.tools.punch_name, best.then.tools.die_name) == ("flattener", "flat-bed")


def test_the_pre_bend_stays_off_wall_and_flank() -> None:
    best = offers(HEM, stock(thickness_mm=1.0))[0]
    assert best.tools.die is not None and best.tools.punch is not None and best.loaded_turn_deg is not None
    assert best.loaded_turn_deg <= 180 - best.tools.die.vee.included_deg - 1 + 1e-6
    assert best.loaded_turn_deg <= 180 - best.tools.punch.nose.included_deg + 1e-6


def test_a_closed_hem_of_1_mm_takes_392_kn_per_m() -> None:
    """40 metric tons a metre (Benson 1997)."""
    best = offers(HEM, stock(thickness_mm=1.0))[0]
    assert best.then is not None
    assert best.then.limit_force_kn_per_m == pytest.approx(392, abs=1)
    assert best.then.force_kn(HEM.length_mm) == pytest.approx(196, abs=0.5)
    assert best.then.air is None and best.then.loaded_turn_deg is None


def test_an_open_hem_takes_less_and_keeps_its_gap() -> None:
    wish = BendWish(1, 180, kind="hem", gap_mm=1.5, legs_mm=(12.0, 60.0))
    best = offers(wish, stock(thickness_mm=1.0))[0]
    assert best.then is not None
    assert best.then.limit_force_kn_per_m == pytest.approx(15 * 9.80665, abs=0.5)
    assert best.formed_radius_mm == best.then.formed_radius_mm == 0.75
    assert best.then.depth_mm == -3.5


def test_a_closed_hem_has_radius_0_and_the_plates_stop_two_sheets_apart() -> None:
    best = offers(HEM, stock(thickness_mm=1.0))[0]
    assert best.formed_radius_mm == 0
    assert best.then is not None and best.then.depth_mm == -2


def test_the_hemmed_leg_must_reach_the_shoulder_from_the_middle_of_its_zone() -> None:
    """Outside size to the outermost point of the fold: half of 2 (r + t) - pi (r + t/2) more than the contact."""
    best = offers(HEM, stock(thickness_mm=1.0))[0]
    assert best.air is not None
    half_deduction = (2 * 1 - math.pi * 0.5) / 2
    assert best.hard_leg_mm == pytest.approx(best.air.contact_length_mm + half_deduction)
    assert best.least_leg_mm == pytest.approx(1.1 * (best.air.contact_length_mm + half_deduction))


def test_a_leg_too_short_for_every_acute_die_is_refused() -> None:
    made = offers(BendWish(1, 180, kind="hem", legs_mm=(3.0, 60.0)), stock(thickness_mm=1.0))
    assert made and all("leg-too-short" in codes(each) for each in made)


def test_plate_thicker_than_the_table_is_refused_not_guessed() -> None:
    made = offers(BendWish(1, 180, kind="hem"), stock(thickness_mm=5.0))
    assert made
    for each in made:
        assert "hem-beyond-table" in codes(each) and each.refused
        assert each.then is not None and each.then.limit_force_kn_per_m is None


def test_a_hem_in_hard_aluminium_is_cautioned() -> None:
    assert "hem-under-least" in codes(offers(HEM, stock("6082-T6", 1.5))[0])
    assert "hem-under-least" not in codes(offers(HEM, stock(thickness_mm=1.0))[0])


def test_the_flattener_is_refused_where_it_does_not_carry_the_force() -> None:
    made = offers(BendWish(1, 180, kind="hem", length_mm=500), stock(thickness_mm=3.0), tooling("bench-310"))
    assert all(each.refused for each in made)
    assert "over-machine-force" in codes(made[0])


def test_a_pre_bend_that_stays_open_is_refused() -> None:
    wish = BendWish(1, 180, kind="hem", punch="acute-60", die="vee-12-30")
    assert offers(wish, stock(thickness_mm=1.0)) == ()


def test_without_a_flattener_there_is_no_hem() -> None:
    tools = tooling()
    bare = Tooling(tuple(p for p in tools.punches if p.kind != "flat"), tools.dies, tools.machine)
    assert offers(HEM, stock(thickness_mm=1.0), bare) == ()


def test_a_pinned_die_is_for_the_pre_bend() -> None:
    made = offers(BendWish(1, 180, kind="hem", die="vee-10-30", legs_mm=(20.0, 60.0)), stock(thickness_mm=1.0))
    assert {each.tools.die_name for each in made} == {"vee-10-30"}
    assert not made[0].refused
    assert "leg-too-short" not in codes(made[0])
    assert (
        value(
            offers(BendWish(1, 180, kind="hem", die="vee-10-30", legs_mm=(5.0, 60.0)), stock(thickness_mm=1.0))[0],
            "leg-too-short",
            "leg_mm",
        )
        == 5
    )
