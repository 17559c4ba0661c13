"""Which tools are put before the search, and what is claimed of the answer."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flangewise.jobs import Job
from flangewise.jobs.machines import blanked, worked_out
from flangewise.jobs.order import Ordered, find_order
from flangewise.jobs.problem import pair_price
from flangewise.part import Part
from flangewise.punch_die import usable
from flangewise.shop import Shop

from .made import STRAIGHT, built_in, channel, order, part, steel, toy, with_handler


def found(wanted: Part, shop: Shop | None = None, **more: object) -> tuple[Ordered, Job]:
    job = blanked(wanted, shop or toy())
    assert job.pattern is not None
    ordered = find_order(job.part, job.pattern, job.offers, machine=job.machine, handler=job.handler, **more)  # type: ignore[arg-type]
    return ordered, job


def test_only_the_best_pair_is_searched_where_no_other_can_cost_less() -> None:
    """Two hits are the least there is; whatever another pair costs comes on top."""
    ordered, _ = found(part([20, 60, 20], [90, 90], None))
    assert ordered.solution.cost == 2 and ordered.solution.proven_least
    assert [len(choices) for choices in ordered.offered.values()] == [1, 1]


def test_other_pairs_are_searched_where_the_best_cannot_bend_it() -> None:
    """Legs of 40 over a web of 30 fold into the plain punch; the relieved one is added."""
    ordered, _ = found(part([40.75, 31.5, 40.75], [90, 90], None))
    assert ordered.solution.feasible is True and ordered.solution.proven_least
    assert "goose-84" in {step.stacks[0].punch for step in ordered.solution.steps}


def test_the_cost_holds_what_the_pairs_cost_above_the_best() -> None:
    """Two hits, the rank of the relieved punch twice, and half a point where it is set turned."""
    ordered, job = found(part([40.75, 31.5, 40.75], [90, 90], None))
    prices = {pair.punch_name: pair_price(pair) for pair in usable(job.offers[1]) if pair.die_name == "block-12"}
    extra = prices["goose-84"] - min(pair_price(pair) for pair in usable(job.offers[1]))
    turned = 0.5 * sum(step.stacks[0].turned for step in ordered.solution.steps)
    assert ordered.solution.cost == pytest.approx(2 + 2 * extra + turned)


def test_best_pairs_that_differ_are_not_proven_against_one_that_serves_all() -> None:
    """The 60 degree bend has the blunt punch best and the stiff ones the sharper: one change of it costs 40."""
    wanted = replace(steel([14, 32, 85, 32, 14], [-90, 90, 60, -90], thickness=1.2), material="1.4301")
    ordered, job = found(wanted, built_in())
    best = {usable(pairs)[0].punch_name for pairs in job.offers.values()}
    assert len(best) == 2, "the part no longer shows what it is here for"
    assert ordered.solution.proven_least and ordered.solution.cost is not None
    assert ordered.solution.cost < job.handler.tool_change_cost
    assert len({step.stacks[0].name for step in ordered.solution.steps}) == 1


def test_pairs_that_alone_may_be_used_keep_their_price_among_all() -> None:
    free = part([20, 60, 20], [90, 90], None)
    plain, job = found(free)
    dearer = usable(job.offers[1])[-1]
    ordered, _ = found(free, only={1: [dearer.name], 2: [dearer.name]})
    extra = pair_price(dearer) - min(pair_price(pair) for pair in usable(job.offers[1]))
    assert extra > 0 and plain.solution.cost is not None and ordered.solution.cost is not None
    assert ordered.solution.cost >= plain.solution.cost + 2 * extra - 1e-9
    assert {step.stacks[0].name.removesuffix(" turned") for step in ordered.solution.steps} == {dearer.name}


def test_what_a_narrow_look_does_not_find_is_not_proven_impossible() -> None:
    """The low die's block is in the way of a web of 15; the narrow tall die, which is not asked, would do."""
    wanted = part([30.75, 20, 30.75], [90, -90], None)
    narrow, _ = found(wanted, narrow=True)
    assert narrow.solution.feasible is None
    wide, _ = found(wanted)
    assert wide.solution.feasible is True
    assert {step.stacks[0].die for step in wide.solution.steps} == {"tower-12"}


def test_a_narrow_look_at_the_only_tools_proves() -> None:
    narrow, _ = found(part([52, 60, 52], [90, 90], STRAIGHT), narrow=True)
    assert narrow.solution.feasible is False


def test_no_other_pair_is_asked_where_the_part_closes_on_itself() -> None:
    """Without any tool the last leg runs into the first."""
    ordered, _ = found(part([30, 20, 20, 20, 30], [90] * 4, None))
    assert ordered.solution.feasible is False
    assert [len(choices) for choices in ordered.offered.values()] == [1] * 4


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
        find_order(job.part, job.pattern, job.offers, machine=job.machine, handler=job.handler)


def test_a_fixed_order_is_kept_whatever_it_costs() -> None:
    free = channel()
    assert free.ordered is not None and free.ordered.solution.cost is not None
    fixed = worked_out(replace(free.part, order=(1, 2)), toy())
    assert order(free) == [2, 1] and order(fixed) == [1, 2]
    assert fixed.ordered is not None and fixed.ordered.solution.cost is not None
    assert fixed.ordered.solution.cost >= free.ordered.solution.cost


def test_prices_decide_between_turning_and_gauging_on_a_flange() -> None:
    """Near bend first: then the far one is gauged on the flange for 1 point, or on its own edge after a turn."""
    wanted = part([20, 60, 20], [90, 90], order=[1, 2])
    stops = {"stop_x_mm": (1.0, 60.0)}
    near = replace(toy(), machines={"toy": toy().machines["toy"].model_copy(update=stops)})
    dear, _ = found(wanted, near)
    assert dear.solution.cost == pytest.approx(2 + 0.5 + 0.5)
    cheap, _ = found(wanted, with_handler(near, turn_cost=0.25))
    assert cheap.solution.cost == pytest.approx(2 + 0.25)


def test_in_the_example_shop_the_least_is_proven_among_all_pairs() -> None:
    ordered, _ = found(steel([40, 60], [90]), built_in())
    assert ordered.solution.proven_least
    assert len(next(iter(ordered.offered.values()))) < len(built_in().punches) * len(built_in().dies)
