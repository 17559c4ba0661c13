"""A pair and an offer: names, sizes, what refuses them."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, replace

import pytest

from flangewise.findings import caution, refuse
from flangewise.punch_die import BendWish, Ideal, Pair, PunchDie
from flangewise.punch_die.forming import form
from flangewise.punch_die.judge import vee_pair

from .made import shop, stock

PAIR = vee_pair(shop().punches["straight-88"], shop().dies["vee-12-85"], Ideal())
MADE = PunchDie(PAIR, "bend")


def test_a_pair_is_named_for_both_tools() -> None:
    assert PAIR.name == "straight-88 on vee-12-85"
    assert (PAIR.punch_name, PAIR.die_name) == ("straight-88", "vee-12-85")


def test_its_sizes_are_those_of_the_outlines() -> None:
    assert PAIR.nose_radius_mm == pytest.approx(1)
    assert PAIR.opening_mm == pytest.approx(12)
    assert PAIR.named_opening_mm == 12
    assert PAIR.shoulder_radius_mm == pytest.approx(1.2)
    assert PAIR.shut_height_mm == shop().punches["straight-88"].height_mm + shop().dies["vee-12-85"].height_mm
    assert PAIR.punch_segments == shop().punches["straight-88"].segments
    assert PAIR.die_segments == shop().dies["vee-12-85"].segments


def test_an_ideal_pair_has_no_names_no_height_and_is_its_own_named_opening() -> None:
    ideal = vee_pair(None, None, Ideal(1.0, 16.0, 1.6))
    assert (ideal.punch_name, ideal.die_name, ideal.punch, ideal.die) == (None, None, None, None)
    assert (ideal.shut_height_mm, ideal.named_opening_mm) == (0, 16)
    assert (ideal.punch_segments, ideal.die_segments) == ((), ())


def test_a_refusal_of_the_second_hit_refuses_the_hem() -> None:
    flat = PunchDie(Pair(None, None, "flatten"), "flatten", findings=(refuse("side"),))
    hem = replace(MADE, kind="hem", findings=(caution("one-finger"),), then=flat)
    assert hem.refused and not MADE.refused
    assert [each.code for each in hem.all_findings] == ["one-finger", "side"]


def test_without_a_radius_nothing_set_it() -> None:
    assert MADE.radius_from is None
    assert replace(MADE, formed_radius_mm=1.0).radius_from == "die"
    (formed,) = form([PAIR], BendWish(1, 90.0), stock())
    assert formed is not None and formed.air is not None
    wrapped = replace(formed.air, nose_contact_deg=10.0)
    assert replace(formed, air=wrapped).radius_from == "punch"


def test_an_offer_is_frozen() -> None:
    with pytest.raises(FrozenInstanceError):
        MADE.cost = 1.0  # type: ignore[misc]
