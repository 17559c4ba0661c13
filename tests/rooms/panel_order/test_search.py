"""The search of a panel's order against all orders, poses and stations, each summed up by itself."""

from __future__ import annotations

import math
from typing import Any

import pytest

from flangewise.panel_order import PanelSearch

from ...how_many import WHOLE
from . import real
from .every_order import least_of_all
from .made_up import drawn_blank, made_up

# Drawn problems of two to six bends, those from 60 on with two sets of tools.
SEEDS = range(72)
# Random panels of two to six bends, hems among them, with the tools of the example shop and a few rows of each.
REAL = range(60)


@pytest.mark.parametrize("seed", SEEDS if WHOLE else SEEDS[16::64])
def test_no_order_costs_less_than_the_one_found(seed: int) -> None:
    problem = made_up(seed, mountings=1 if seed < 60 else 2)
    found = PanelSearch(problem).solve()
    least_s, order = least_of_all(problem)
    assert found.cost_s == (pytest.approx(least_s, abs=1e-6) if order else math.inf)
    if order:
        assert found.feasible and found.bound_s <= least_s + 1e-6
        assert not found.proven_least or found.cost_s <= least_s + 1e-6
    else:
        assert not found.feasible


@pytest.mark.parametrize("seed", REAL if WHOLE else REAL[2::58])
def test_no_order_costs_less_with_the_real_geometry(seed: int) -> None:
    problem = real.problem(seed)
    if problem is None:
        pytest.skip("no blank")
    found = PanelSearch(problem).solve()
    least_s, order = least_of_all(problem)
    assert found.cost_s == (pytest.approx(least_s, abs=1e-6) if order else math.inf)
    assert not order or found.bound_s <= least_s + 1e-6


ODD = [(real.stepped, seed) for seed in (REAL if WHOLE else (1,))]
ODD += [(real.narrow, seed) for seed in (REAL if WHOLE else (6,))]


@pytest.mark.parametrize(("made", "seed"), ODD, ids=lambda each: getattr(each, "__name__", str(each)))
def test_no_order_costs_less_with_an_offset_or_with_tabs_for_the_side_stop(made: Any, seed: int) -> None:
    problem = real.problem(seed, made)
    if problem is None or len(problem.operations) > 5:
        pytest.skip("no blank, or more than all orders can be tried of")
    found = PanelSearch(problem).solve()
    least_s, order = least_of_all(problem)
    assert found.cost_s == (pytest.approx(least_s, abs=1e-6) if order else math.inf)


@pytest.mark.parametrize("seed", (118, 126))
def test_rows_that_are_outdone_are_taken_where_segments_lack(seed: int) -> None:
    """The rows that outdo them want the same segments, of which the shop holds two."""
    problem = real.problem(seed)
    assert problem is not None
    found = PanelSearch(problem).solve()
    assert found.feasible and found.cost_s == pytest.approx(least_of_all(problem)[0], abs=1e-6)


def test_changes_between_tools_are_not_counted_twice_in_what_sets_cost_at_least() -> None:
    """A hem is bent and flattened with different tools: each plan changes once, which two stations are counted for."""
    problem = real.problem(2)
    assert problem is not None and problem.flattened
    found = PanelSearch(problem).solve()
    assert found.proven_least and found.bound_s <= found.cost_s


@pytest.mark.parametrize("seed", SEEDS if WHOLE else (3, 6, 11, 62))
def test_what_is_searched_for_less_than_a_plan_takes_is_found_or_bounded(seed: int) -> None:
    """Of a search for less no station may be looked at: what it says that no plan costs less than, none does."""
    problem = made_up(seed, mountings=1 if seed < 60 else 2)
    least_s, order = least_of_all(problem)
    if not order:
        pytest.skip("no order at all")
    above = PanelSearch(problem).solve(below_s=least_s + 0.01)
    assert above.cost_s == pytest.approx(least_s, abs=1e-6)
    for share in (0.5, 0.8, 0.9):
        below = PanelSearch(problem).solve(below_s=least_s * share)
        assert below.path is None and below.feasible is None
        assert least_s * share - 1e-6 <= below.bound_s <= least_s + 1e-6


@pytest.mark.parametrize("seed", [3, 6, 11])
def test_an_order_that_is_asked_for_is_kept_and_priced(seed: int) -> None:
    free = made_up(seed)
    count = len(free.operations)
    asked = 0
    for turned in range(count):
        order = tuple((at + turned) % count for at in range(count))
        kept = made_up(seed, order=order)
        found, (least_s, _) = PanelSearch(kept).solve(), least_of_all(kept)
        assert found.cost_s == (pytest.approx(least_s, abs=1e-6) if least_s < math.inf else math.inf)
        if found.path is not None:
            assert tuple(kept.ways[step.way].operation for step in found.path.steps) == order
            assert found.cost_s >= PanelSearch(free).solve().cost_s - 1e-6
            asked += 1
    assert asked > 0


def test_the_drawn_panels_have_two_to_six_bends() -> None:
    assert {len(drawn_blank(seed).zones) for seed in SEEDS} == {2, 3, 4, 5, 6}
