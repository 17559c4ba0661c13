"""Which tools are put before the search, and what is claimed of the answer."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flangewise.jobs import Job
from flangewise.jobs.job import Ordered
from flangewise.jobs.machines import blanked, worked_out
from flangewise.jobs.order import find_order
from flangewise.jobs.problem import pair_price
from flangewise.part import Part
from flangewise.punch_die import PunchDie, usable
from flangewise.shop import Shop

from .made import (
    AROUND_S,
    HIT_S,
    NEXT_STOP_S,
    STRAIGHT,
    built_in,
    channel,
    order,
    part,
    risen_mm,
    slips_mm,
    steel,
    toy,
    toy_stroke_s,
    with_handler,
)


def found(wanted: Part, shop: Shop | None = None) -> tuple[Ordered, Job]:
    job = blanked(wanted, shop or toy())
    assert job.pattern is not None
    ordered = find_order(job).ordered
    assert ordered is not None
    return ordered, job


def dearer_of(job: Job, bend: int) -> PunchDie:
    """The pair of a bend that costs most of those that may be used."""
    return usable(job.offers[bend])[-1]


def tools_s(ordered: Ordered) -> float:
    """What the tools cost by themselves, over all steps."""
    return sum(dict(step.wishes_s).get("tools", 0.0) for step in ordered.solution.steps)


def test_the_best_pair_is_proven_where_no_other_can_cost_less() -> None:
    """Both bends from one edge, the far one first: nothing is turned, and the relieved punch would cost more on top.

    Either wing behind is longer than what slips out over the narrow block's front edge, 8 off the centre.
    """
    tools = {"turn": 90, "die": "tower-12"}
    ordered, job = found(part([20, 60, 20], [tools, tools], None))
    pair = job.pairs[1]
    assert pair is not None and pair.depth_mm is not None and pair.formed_radius_mm is not None
    stroke = toy_stroke_s(slips_mm(8, pair.formed_radius_mm, pair), pair.depth_mm + 1.5)
    expected = AROUND_S + 2 * HIT_S + NEXT_STOP_S + 2 * stroke + 2 * pair_price(pair)
    assert ordered.solution.cost == pytest.approx(expected) and ordered.solution.proven_least


def test_other_pairs_are_searched_where_the_best_cannot_bend_it() -> None:
    """Legs of 40 over a web of 30 fold into the plain punch; the relieved one is added."""
    ordered, _ = found(part([40.75, 31.5, 40.75], [90, 90], None))
    assert ordered.solution.feasible is True and ordered.solution.proven_least
    assert "goose-84" in {step.stacks[0].punch for step in ordered.solution.steps}


def test_the_cost_holds_what_the_pairs_cost_above_the_best() -> None:
    """The rank of the relieved punch twice, and half a second where it is set turned; the rest is time."""
    ordered, job = found(part([40.75, 31.5, 40.75], [90, 90], None))
    prices = {(pair.tools.punch_name, pair.tools.die_name): pair_price(pair) for pair in usable(job.offers[1])}
    used = [step.stacks[0] for step in ordered.solution.steps]
    expected = sum(prices[stack.punch, stack.die] + 0.5 * stack.turned for stack in used)
    assert expected > 2 * prices["straight-84", "tower-12"] and tools_s(ordered) == pytest.approx(expected)
    steps = sum(step.cost for step in ordered.solution.steps)
    assert ordered.solution.cost == pytest.approx(ordered.problem.costs.base + steps)


def test_best_pairs_that_differ_are_not_proven_against_one_that_serves_all() -> None:
    """The 60 degree bend has the blunt punch best and the stiff ones the sharper: a change costs more than either."""
    wanted = replace(steel([14, 32, 85, 32, 14], [-90, 90, 60, -90], thickness=1.2), material="1.4301")
    ordered, job = found(wanted, built_in())
    best = {usable(pairs)[0].tools.punch_name for pairs in job.offers.values()}
    assert len(best) == 2, "the part no longer shows what it is here for"
    assert ordered.solution.proven_least and ordered.solution.cost is not None
    assert tools_s(ordered) < ordered.problem.costs.station_change + ordered.problem.costs.tool_change
    assert len({step.stacks[0].name for step in ordered.solution.steps}) == 1


def test_pairs_that_alone_may_be_used_keep_their_price_among_all() -> None:
    free = part([20, 60, 20], [90, 90], None)
    plain, job = found(free)
    dearer = dearer_of(job, 1)
    alone = find_order(replace(job, offers={bend: (dearer_of(job, bend),) for bend in job.offers}))
    ordered = alone.ordered
    assert ordered is not None
    assert pair_price(dearer) > 1 and plain.solution.cost is not None and ordered.solution.cost is not None
    assert tools_s(ordered) >= 2 * pair_price(dearer)
    assert ordered.solution.cost - tools_s(ordered) >= plain.solution.cost - tools_s(plain) - 1e-9
    assert {step.stacks[0].name.removesuffix(" turned") for step in ordered.solution.steps} == {dearer.tools.name}


def test_what_the_first_die_cannot_bend_another_may() -> None:
    """The low die's block is in the way of a web of 15; the narrow tall die would do."""
    ordered, _ = found(part([30.75, 20, 30.75], [90, -90], None))
    assert ordered.solution.feasible is True and ordered.solution.proven_least
    assert {step.stacks[0].die for step in ordered.solution.steps} == {"tower-12"}


def test_where_there_is_no_other_die_it_is_proven() -> None:
    ordered, _ = found(part([52, 60, 52], [90, 90], STRAIGHT))
    assert ordered.solution.feasible is False


def test_no_tools_help_where_the_part_closes_on_itself() -> None:
    """Without any tool the last leg runs into the first."""
    ordered, _ = found(part([30, 20, 20, 20, 30], [90] * 4, None))
    assert ordered.solution.feasible is False


def test_reasons_are_told_for_the_best_pairs() -> None:
    ordered, _ = found(part([70, 30, 70], [90, 90], None))
    assert ordered.solution.feasible is False
    first = next(iter(ordered.offered.values()))
    assert len(first) > 1
    assert {blocker.stack for blocker in ordered.solution.blockers} == {"straight-84 on block-12"}


def test_a_bend_without_usable_tools_is_no_question_to_ask() -> None:
    job = blanked(part([5, 40], [90]), toy())
    assert job.pattern is not None and usable(job.offers[1]) == ()
    with pytest.raises(ValueError, match="no usable pair"):
        find_order(job)


def test_a_fixed_order_is_kept_whatever_it_costs() -> None:
    free = channel()
    assert free.ordered is not None and free.ordered.solution.cost is not None
    fixed = worked_out(replace(free.part, order=(1, 2)), toy())
    assert order(free) == [2, 1] and order(fixed) == [1, 2]
    assert fixed.ordered is not None and fixed.ordered.solution.cost is not None
    assert fixed.ordered.solution.cost >= free.ordered.solution.cost


def test_prices_decide_between_turning_and_gauging_on_a_flange() -> None:
    """Near bend first, and the stops do not reach the far bend from its edge.

    Then it is gauged on the flange that stands 20 up at 60, risen with its web to some 54, which the ram must open for
    and which is a wish of 0.5; or turned end for end onto its own edge: out 1, in 1, turned 1, less the 0.5 of drawing
    it to the next stop, and opened no wider than for the near bend.
    """
    wanted = part([20, 60, 20], [90, 90], order=[1, 2])
    stops = {"stop_x_mm": (1.0, 60.0)}
    near = replace(toy(), machines={"toy": toy().machines["toy"].model_copy(update=stops)})
    dear, job = found(wanted, near)
    pair, pattern = job.pairs[1], job.pattern
    assert pair is not None and pair.depth_mm is not None and pattern is not None
    travel, radius = pair.depth_mm + 1.5, pattern.zones[0].inside_radius_mm
    leg, web = pattern.flats_mm[:2]
    small = toy_stroke_s(risen_mm(leg, radius, pair), travel)
    wide = toy_stroke_s(risen_mm(web + 2 * (radius + 0.75) + leg, radius, pair), travel)
    bare = AROUND_S + 2 * HIT_S + NEXT_STOP_S + small
    assert wide + 0.5 < small + 1.0 + 1.0 + 1.0 - 0.5, "the flange is no longer the cheaper"
    assert dear.solution.steps[1].gauged is not None and dear.solution.steps[1].gauged.on == "flange"
    assert dear.solution.cost == pytest.approx(bare + wide + 0.5)
    cheap, _ = found(wanted, with_handler(near, turn_s=0.0, insert_s=0.5, withdraw_s=0.5))
    assert [move.move for move in cheap.solution.steps[1].moves] == ["turn-in-plane"]
    # Putting in and taking out are half a second shorter each around the part, half a second longer than the next stop.
    assert cheap.solution.cost == pytest.approx(bare - 0.5 - 0.5 + small + 0.5 + 0.5 - 0.5)


def test_in_the_example_shop_the_least_is_proven_among_all_pairs() -> None:
    ordered, _ = found(steel([40, 60], [90]), built_in())
    assert ordered.solution.proven_least
    assert len(next(iter(ordered.offered.values()))) < len(built_in().punches) * len(built_in().dies)
