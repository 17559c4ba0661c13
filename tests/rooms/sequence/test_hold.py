"""How the part lies on the die before a hit: by hand, with the toy block 20 to each side and 10 g a mm of sheet."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from flangewise.geometry import Chain
from flangewise.sequence import Backgauge, Costs, HoldRule, solve
from flangewise.sequence.candidates import Candidate
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.hold import BREACH_S, die_edges_mm, keeps
from flangewise.sequence.moves import END, START

RULE = HoldRule(0.01, least_mm=60.0, most_behind_nm=3.0, behind_wish_s=2.0, small_wish_s=1.5)
GRIPPER = replace(RULE, small_wish_s=None)
FINGER = ((0.0, 0.0), (0.0, 12.0), (-40.0, 12.0), (-40.0, 0.0))
G = 9.81


def held(problem, way: Candidate, done: int = 0, rule: HoldRule = RULE):
    found = FeasibilityTable(replace(problem, hold=rule)).hold(way, done)
    assert found is not None
    return found


def test_a_flat_sheet_lies_by_itself_with_its_middle_over_the_block(toy):
    """40 behind, 60 in front: the middle of 100 is 10 in front of the centre, the block's edge is at 20."""
    hold = held(toy([40, 60], [90]), Candidate(0, 0, True, START))
    assert (hold.front_mm, hold.front_kg, hold.behind_kg) == pytest.approx((60, 0.6, 0.4))
    assert (hold.moment_nm, hold.tips, hold.by, hold.breach) == (0, None, "hand", 0)
    assert held(toy([40, 60], [90]), Candidate(0, 0, True, START), rule=GRIPPER).by == "jaw"


def test_the_same_sheet_the_other_way_round_leaves_40_for_the_hand(toy):
    hold = held(toy([40, 60], [90]), Candidate(0, 0, True, END))
    assert (hold.front_mm, hold.front_kg, hold.behind_kg) == pytest.approx((40, 0.4, 0.6))
    assert hold.breach == 1 and hold.little_in_front and hold.by == "tool"


@pytest.mark.parametrize("first", [90, -90], ids=["leg up", "leg hanging"])
def test_a_formed_leg_in_front_counts_at_its_own_place(toy, first):
    """40 flat behind; in front 100 of web at 50 and 40 of leg at 100: (9000 - 800) / 180 = 45.6, past the edge."""
    hold = held(toy([40, 100, 40], [first, 90]), Candidate(1, 0, True, END), done=0b01)
    assert (hold.front_mm, hold.front_kg, hold.behind_kg) == pytest.approx((100, 1.4, 0.4))
    assert hold.moment_nm == pytest.approx((8200 / 180 - 20) / 1000 * 1.8 * G)
    assert (hold.tips, hold.breach, hold.by) == ("front", 0, "hand")


def test_a_flange_behind_hangs_its_weight_where_its_web_ends(toy):
    """60 in front at 30; behind 400 of web at 200 and 100 of flange at 400: (1800 - 80000 - 40000) / 560 = -211.1."""
    hold = held(toy([100, 400, 60], [-90, 90]), Candidate(1, 0, True, START), done=0b01)
    assert hold.moment_nm == pytest.approx((118200 / 560 - 20) / 1000 * 5.6 * G) and hold.tips == "behind"
    assert hold.by == "support" and not hold.little_in_front
    assert hold.breach == 1 and hold.moment_nm > 3


def test_a_long_sheet_behind_tips_the_part_off_the_back_edge(toy):
    """400 behind, 60 in front: the middle is (1800 - 80000) / 460 = -170, 150 past the edge, with 4.6 kg: 6.77 N m."""
    hold = held(toy([400, 60], [90]), Candidate(0, 0, True, START))
    assert hold.moment_nm == pytest.approx(0.150 * 4.6 * G) == pytest.approx(6.769, abs=1e-3)
    assert hold.breach == 1
    allowed = held(toy([400, 60], [90]), Candidate(0, 0, True, START), rule=replace(RULE, most_behind_nm=7.0))
    assert (allowed.breach, allowed.by, allowed.tips) == (0, "hand", "behind")


@pytest.mark.parametrize("behind_mm", [20.0, 20.0 - 1e-9, 20.0 + 1e-9])
def test_a_sheet_balanced_on_the_block_s_edge_tips_to_neither_side(toy, behind_mm):
    """60 in front, 20 behind: the middle lies over the edge at 20; a billionth of a millimetre is nothing to tell."""
    hold = held(toy([behind_mm, 60], [90]), Candidate(0, 0, True, START))
    assert hold.tips is None and hold.moment_nm == pytest.approx(0, abs=1e-6)


def test_tipping_to_the_front_is_the_hand_s_own_work(toy):
    """The same sheet turned round: 6.77 N m to the front, which whoever stands there holds up."""
    hold = held(toy([400, 60], [90]), Candidate(0, 0, True, END))
    assert hold.tips == "front" and hold.moment_nm == pytest.approx(0.150 * 4.6 * G)
    assert (hold.breach, hold.front_mm) == (0, pytest.approx(400))


def test_both_conditions_broken_add_up(toy):
    """400 behind, 15 in front: 45 of 60 are lacking; (112.5 - 80000) / 415 = -192.5, 4.15 kg."""
    hold = held(toy([400, 15], [90]), Candidate(0, 0, True, START))
    moment = (79887.5 / 415 - 20) / 1000 * 4.15 * G
    assert hold.moment_nm == pytest.approx(moment)
    assert hold.breach == 2


def test_what_is_too_small_for_a_hand_whichever_way_is_held_with_a_tool(toy):
    """Legs of 30 and 20: no way round leaves 60. A tool is a wish of 1.5 s, no breach; a gripper has no tool."""
    small, way = toy([20, 30], [90]), Candidate(0, 0, True, START)
    hold = held(small, way)
    assert (hold.by, hold.breach, hold.little_in_front) == ("tool", 0, False)
    feasibility = FeasibilityTable(replace(small, hold=RULE))
    assert dict(feasibility.wishes(way, 0, datum=0)) == {"holding": 1.5}
    assert dict(feasibility.wishes(Candidate(0, 0, True, END), 0, datum=0)) == {
        "holding": pytest.approx(1.5 + 2 * 10 / 50)
    }
    assert held(small, way, rule=GRIPPER).breach == 1


def test_small_is_said_of_the_flat_part_only(toy):
    """60 in front where the web still lies flat; formed before, 55 are left: little, not small."""
    channel, way = toy([20, 40, 20], [90, 90]), Candidate(0, 0, True, START)
    assert held(channel, way).breach == 0
    formed = held(channel, way, done=0b10)
    assert formed.front_mm == pytest.approx(40) and formed.breach == 1


def test_exactly_as_much_as_is_asked_is_enough(toy):
    assert held(toy([40, 60.0 - 1e-12], [90]), Candidate(0, 0, True, START)).breach == 0


def test_the_wish_for_the_heavier_side_in_front_goes_with_the_share_behind(toy):
    """Half and half costs nothing; 75 of 100 behind: half of the whole weight too much, so half of 2 s."""
    for lengths, seconds in (([50, 50], 0), ([40, 60], 0), ([75, 25], 1.0), ([400, 100], 1.2)):
        rule = replace(RULE, least_mm=0.0, most_behind_nm=1000.0)
        feasibility = FeasibilityTable(replace(toy(lengths, [90]), hold=rule))
        assert sum(dict(feasibility.wishes(Candidate(0, 0, True, START), 0, datum=0)).values()) == pytest.approx(
            seconds
        )


def test_a_formed_bend_keeps_its_sheet_along_its_arc(stack, bend_all):
    """40 of web, a quarter round of middle radius 10 that weighs what it did flat, 30 of leg: an arc's middle is at
    2/pi of its radius. The bend itself, 8 flat, lies half to each side."""
    chain = Chain((50.0, 40.0, 30.0), (8.0, 14.0), (90.0, 90.0), (5.0, 9.25), 1.5)
    hold = held(bend_all(chain, [stack()]), Candidate(0, 0, True, START), done=0b10)
    ahead = 4 * 2 + 40 * 24 + 14 * (44 + 10 * 2 / math.pi) + 30 * 54
    behind = 4 * 2 + 50 * 29
    whole = 50 + 8 + 40 + 14 + 30
    assert hold.front_mm == pytest.approx(54, abs=0.01)
    assert (hold.front_kg, hold.behind_kg) == pytest.approx((0.88, 0.54))
    # The block is taken narrower, so that the part tips: the arc's weight is in the moment.
    assert hold.tips is None
    narrow = held(bend_all(chain, [stack(die_half=7.0)]), Candidate(0, 0, True, START), done=0b10)
    assert narrow.moment_nm == pytest.approx(((ahead - behind) / whole - 7) / 1000 * 1.42 * G, rel=1e-3)


def test_the_edges_are_those_of_the_block_s_top(toy):
    operation = toy([40, 60], [90]).operations[0]
    assert die_edges_mm(operation.options[0]) == (-20, 20)
    option = operation.options[0]
    bare = replace(option.hits[0].stack, bodies=())
    bodiless = replace(operation, options=(replace(option, hits=(replace(option.hits[0], stack=bare),)),))
    assert die_edges_mm(bodiless.options[0]) is None


def test_another_rule_is_asked_of_the_same_part(toy):
    hold = held(toy([400, 60], [90]), Candidate(0, 0, True, START))
    assert not keeps(RULE, hold)
    assert keeps(replace(RULE, most_behind_nm=7.0), hold)
    assert not keeps(replace(RULE, most_behind_nm=7.0, least_mm=61.0), hold)


# --- in the search

REACH = Backgauge(5.0, 900.0, -80.0, 200.0, FINGER)
DEAR_TURN = Costs(turn_in_plane=500.0, turn_over_bed=700.0, turn_over_front_back=700.0)


def test_no_price_outweighs_a_broken_rule(toy):
    """A channel 30/500/30: from one edge for both, one step has 30 in front. Turned round, dear as it is, none has."""
    free = toy([30, 500, 30], [90, 90], gauge=REACH, costs=DEAR_TURN)
    assert {step.gauged.on for step in solve(free).steps} in ({"start"}, {"end"})
    kept = solve(replace(free, hold=RULE))
    assert kept.breach == 0 and kept.proven_least and kept.cost > 500
    assert all(step.hold.front_mm >= 60 for step in kept.steps)
    assert {step.gauged.on for step in kept.steps} == {"start", "end"}


def test_what_no_order_keeps_is_broken_as_little_as_can_be(toy):
    """An angle of 300 and 40: 300 in front where the stops reach its short leg; where they do not 40, and 20 lack.

    Then it tips by (45000 - 800) / 340 - 20 = 110 mm of 3.4 kg, 3.67 N m, where 3 are allowed.
    """
    sheet = toy([300, 40], [90], gauge=Backgauge(5.0, 100.0, -80.0, 200.0, FINGER), hold=RULE)
    good = solve(sheet)
    assert good.breach == 0 and good.steps[0].hold.front_mm == pytest.approx(300)
    only = solve(replace(sheet, gauge=Backgauge(200.0, 900.0, -80.0, 200.0, FINGER)))
    hold = only.steps[0].hold
    assert only.feasible and only.proven_least and hold.front_mm == pytest.approx(40)
    assert only.breach == hold.breach == 2
    # The cost is in seconds, without the breach, and its bound is in the same money.
    assert only.cost == only.lower_bound == pytest.approx(only.steps[0].cost - BREACH_S * only.breach)


def test_breaches_add_up_over_the_steps_of_a_plan(toy):
    """A narrow channel, half of whose steps leave too little for the hand, whatever the order."""
    found = solve(toy([20, 55, 20], [90, 90], gauge=REACH, hold=RULE))
    assert found.breach == pytest.approx(sum(step.hold.breach for step in found.steps)) and found.breach == 1
    assert found.weight == pytest.approx(found.cost + BREACH_S * found.breach)
    fronts = np.array([step.hold.front_mm for step in found.steps])
    assert (fronts < 60).sum() == sum(step.hold.breach > 0 for step in found.steps) == 1
