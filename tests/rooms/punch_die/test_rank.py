"""Which pair stands first: what a step of opening, a caution, a neck, an acute tool weigh against each other."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from flangewise.findings import caution, note, refuse
from flangewise.punch_die import BendWish, Ideal, PunchDie
from flangewise.punch_die.judge import best_first, cost_of, vee_pair, with_remedies
from flangewise.punch_die.limits import caution_for_now

from .made import judge, shop, stock, tooling

WISH = BendWish(1, 90)


def made(punch: str, die: str) -> PunchDie:
    (one,) = judge([vee_pair(shop().punches[punch], shop().dies[die], Ideal())], WISH, stock(), tooling=tooling())
    return replace(one, findings=())


def cost(one: PunchDie, wish: BendWish = WISH) -> float:
    return cost_of(one, wish, stock())


def test_the_next_die_costs_the_logarithm_of_its_ratio() -> None:
    near, far = made("straight-80-nose-2", "vee-12-85"), made("straight-80-nose-2", "vee-16-80")
    assert cost(far) - cost(near) == pytest.approx(math.log(16 / 12), abs=0.06)


def test_a_caution_outweighs_one_step_of_opening_and_a_note_does_not() -> None:
    near, far = made("straight-80-nose-2", "vee-12-85"), made("straight-80-nose-2", "vee-16-80")
    assert cost(replace(near, findings=(caution("one-finger"),))) > cost(far)
    assert cost(replace(near, findings=(note("one-finger"),))) < cost(far)


def test_a_radius_wanted_outweighs_the_rule() -> None:
    wish = BendWish(1, 90, radius_mm=2.55)
    near, far = made("straight-80-nose-2", "vee-12-85"), made("straight-80-nose-2", "vee-20-80")
    assert cost(near, wish) < cost(far, wish)
    wide = BendWish(1, 90, radius_mm=2.9)
    assert cost(near, wide) > cost(far, wide)


def test_a_hopeless_radius_does_not_drown_everything_else() -> None:
    wish = BendWish(1, 90, radius_mm=0.1)
    assert cost(made("straight-80-nose-2", "vee-12-85"), wish) < 4


def test_straight_tools_go_before_necks_and_acute_ones() -> None:
    straight, neck, acute = (cost(made(punch, "vee-12-85")) for punch in ("straight-88", "neck-shallow", "acute-60"))
    assert straight < neck and straight < acute


def test_a_neck_is_known_by_its_outline() -> None:
    vees = [name for name, punch in shop().punches.items() if punch.kind == "vee"]
    necks = {name for name in vees if PunchDie(vee_pair(shop().punches[name], None, Ideal()), "bend").has_two_ways}
    assert necks == {"neck-shallow", "neck-deep"}


def test_fewest_refusals_then_cost_then_name() -> None:
    base = made("straight-80-nose-2", "vee-12-85")
    twice = replace(base, findings=(refuse("one-finger"), refuse("side")), cost=0.0)
    once = replace(base, findings=(refuse("one-finger"),), cost=5.0)
    dear, cheap = replace(base, cost=2.0), replace(base, cost=1.0)
    assert best_first([twice, once, dear, cheap]) == (cheap, dear, once, twice)
    other = made("straight-88", "vee-12-85")
    same = [replace(other, cost=1.0), replace(base, cost=1.0)]
    assert [one.tools.name for one in best_first(same)] == sorted(one.tools.name for one in same)


def test_the_remedy_is_the_best_pair_without_the_fault() -> None:
    bad = replace(made("straight-80-nose-2", "vee-12-85"), findings=(caution_for_now("radius-off", None),))
    good = made("straight-80-nose-2", "vee-16-80")
    (told,) = with_remedies([bad], [bad, good])
    assert dict(told.findings[0].phrase.values)["remedy"].code == "remedy.pair"
    (none,) = with_remedies([bad], [bad, bad])
    assert dict(none.findings[0].phrase.values)["remedy"].code == "remedy.none"
    (alone,) = with_remedies([bad], [bad])
    assert dict(alone.findings[0].phrase.values)["remedy"].code == "remedy.unknown"
