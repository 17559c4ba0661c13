"""Orders of panels worked out by hand: short sides first, returns before their flanges, what covers is bent first."""

from __future__ import annotations

import itertools
from functools import cache

import pytest

from flangewise.panel_order import (
    PanelProblem,
    PanelRows,
    PanelSolution,
    PanelStep,
    PanelWay,
    RowRules,
    SpaceHit,
    find_panel_order,
    lie_of,
)
from flangewise.pattern import PanelBlank
from flangewise.punch_die import Mounting, PunchDie, rows_of
from flangewise.sequence import Costs

from ...published.panels import SQUARE, blank, blank_of, example_shop, panel_of
from .made import hits

# Points in place of seconds: hit 1, turn 2, over 4 or 5, a tool 10, a segment 0.5, an ear 2 more, 0.3 a mm short.
COSTS = Costs(
    base=0.0, hit=1.0, turn_in_plane=2.0, turn_over_bed=4.0, turn_over_front_back=5.0, rehandle=0.0, side_exit=3.0
)


def problem_of(panel: PanelBlank, *, ears: bool = True) -> PanelProblem:
    """A panel with the shop's straight punch over its V 12, its hits in space."""
    punch = example_shop().punches["straight-88"]
    found = hits(panel)
    operations = tuple(dict.fromkeys(hit.operation for hit in found))
    lines_mm = [operation.length_mm for operation in operations]
    t = panel.thickness_mm
    rules = RowRules(
        clear_mm=0.5,
        free_short_mm=0.0,
        beside_short_mm=2 * t,
        near_mm=3 * t + 0.5,
        tool_s=10.0,
        segment_s=0.5,
        ear_s=2.0,
        short_wish_s_per_mm=0.3,
        change_s=0.5,
    )
    rows = rows_of(
        punch.segments,
        least_mm=min(lines_mm) - 4 * t,
        most_mm=max(lines_mm) + 20,
        ear_reach_mm=punch.ear_reach_mm if ears else None,
    )
    made = Mounting(PunchDie.__new__(PunchDie))
    held = example_shop().dies["vee-12-85"].segments
    every = rows_of(held, least_mm=min(lines_mm) - 4 * t, most_mm=max(lines_mm) + 20)
    # Of die rows the longest for the long lines, and those for the short ones.
    dies = [row for row in every if row.length_mm <= min(lines_mm) + 10 or row.length_mm >= max(lines_mm) - 5]
    dies = [row for row in dies if len(row.segments) <= 3] + list(rows_of(held, least_mm=400, most_mm=405))
    return PanelProblem(
        panel,
        operations,
        tuple(_way(hit, operations.index(hit.operation), made) for hit in found),
        (PanelRows(tuple(itertools.product(rows, dies))),),
        rules,
        COSTS,
    )


def _way(hit: SpaceHit, index: int, made: Mounting) -> PanelWay:
    lie = lie_of(hit.operation.zones[0].line_mm, marked_up=hit.marked_up, parent_behind=hit.parent_behind)
    every = frozenset(bend for face in hit.faces for bend in hit.depends(face))
    return PanelWay(index, 0, hit.parent_behind, lie, hit, hit.tools, made, every)


@cache
def ordered(name: str) -> tuple[PanelProblem, PanelSolution]:
    """A panel of the table in its order."""
    problem = problem_of(blank(name))
    return problem, find_panel_order(problem)


def faces(problem: PanelProblem, step: PanelStep) -> str:
    """What a step bends, by name."""
    return "+".join(problem.names()[face] for face in step.operation.faces)


def told(name: str) -> list[str]:
    """The faces in the order they are bent."""
    problem, solution = ordered(name)
    return [faces(problem, step) for step in solution.steps]


def rows(solution: PanelSolution) -> list[float]:
    """The punch rows of a plan, by first use."""
    return list(dict.fromkeys(step.punch.row.length_mm for step in solution.steps))


def test_a_pan_short_sides_first_with_one_row_between_them() -> None:
    """Lines of 292 and 192: between short sides 293.16 is free, so 290 serves both, 1.0 short at the long ones.

    Four hits and one turn at least: base behind and flange behind lie alike, so both short sides go without one. The
    one row: two tools, three segments and one of the die; shortfall twice 0.3.
    """
    _, solution = ordered("pan")
    order = told("pan")
    assert set(order[:2]) == {"left", "right"} and set(order[2:]) == {"near", "far"}
    assert rows(solution) == [290.0]
    assert [round(step.short_mm, 3) for step in solution.steps] == [0.0, 0.0, 1.0, 1.0]
    assert solution.proven_least and solution.cost is not None
    wishes = sum(price for step in solution.steps for name, price in step.wishes_s if name == "gauging")
    turns = sum(len(step.moves) for step in solution.steps)
    segments = {step.punch.row: step.die.row for step in solution.steps}
    (punch, die), *_ = segments.items()
    put_in = 20 + 0.5 * (len(punch.segments) + len(die.segments))
    assert solution.cost == pytest.approx(put_in + 4 + 2 * turns + 2 * 0.3 + wishes, abs=1e-6)
    assert turns == 1


def test_the_least_shortfall_of_a_row_that_fits_between_the_sides() -> None:
    problem, solution = ordered("pan")
    last = solution.steps[-1]
    assert faces(problem, last) in ("near", "far")
    assert (last.punch.from_mm, last.punch.to_mm) == (pytest.approx(1.0), pytest.approx(291.0))


def test_a_closed_tray_has_one_station_of_230() -> None:
    _, solution = ordered("closed-tray")
    assert set(told("closed-tray")[:2]) == {"left", "right"}
    assert rows(solution) == [230.0] and solution.proven_least


def test_a_lapped_tray_bends_what_covers_first_and_takes_two_stations() -> None:
    """Over-bent by a degree the short sides lean in by 0.47 > 0.3: near and far come first, and then a short row."""
    _, solution = ordered("lapped-tray")
    assert set(told("lapped-tray")[:2]) == {"near", "far"} and set(told("lapped-tray")[2:]) == {"left", "right"}
    assert rows(solution) == [235.0, 150.0]


def test_tabs_on_one_line_in_one_hit_and_the_one_bent_away_turned_over() -> None:
    _, solution = ordered("tabs")
    assert "near.1+near.2" in told("tabs") and len(solution.steps) == 4
    over = [step for step in solution.steps if any(move.move == "turn-over" for move in step.moves)]
    assert len(over) <= 1 and sum(not step.marked_up for step in solution.steps) == 1
    assert len({step.station for step in solution.steps}) == 1


def test_a_box_with_returns_each_before_its_flange_one_row_with_two_ears() -> None:
    _, solution = ordered("box")
    order = told("box")
    assert len(order) == 8
    for side in ("near", "right", "far", "left"):
        assert order.index(f"{side}.tip") < order.index(side)
    assert max(order.index(side) for side in ("left", "right")) < min(order.index(side) for side in ("near", "far"))
    assert rows(solution) == [290.0] and {step.punch.row.ears for step in solution.steps} == {(True, True)}


def test_a_box_with_returns_needs_ears() -> None:
    """Without ears nothing of 290 goes in under returns of 15 at each end, and nothing shorter covers the line."""
    solution = find_panel_order(problem_of(blank("box"), ears=False))
    assert solution.feasible is False and not solution.steps
    assert solution.blockers and {each.against for each in solution.blockers} <= {"row", "machine"}
    assert all(each.bent and each.operation.bends[0] not in each.bent for each in solution.blockers)


@pytest.mark.parametrize("name", ["pan", "lapped-tray", "box"])
def test_the_steps_add_up_to_the_cost(name: str) -> None:
    _, solution = ordered(name)
    stations = {step.station: step for step in solution.steps}
    put_in = 0.0
    for step in stations.values():
        segments = (*step.punch.row.segments, *step.die.row.segments)
        put_in += 20 + 0.5 * len(segments) + 2 * sum(segment.ear is not None for segment in segments)
    assert solution.cost == pytest.approx(put_in + sum(step.cost for step in solution.steps), abs=1e-6)


def test_mirrored_the_same_cost() -> None:
    """A pan with a low side at the left, and at the right; its covering flanges lie over both."""
    costs = []
    for low, high in (("left", "right"), ("right", "left")):
        sides = f"{low}: {{height: 20, bend: {SQUARE}}}, {high}: {{height: 45, bend: {SQUARE}}}"
        flanges = f"{{near: {{height: 40, bend: {SQUARE}}}, {sides}}}"
        problem = problem_of(blank_of(panel_of(f"{{base: [300, 200], flanges: {flanges}}}")))
        solution = find_panel_order(problem)
        assert solution.cost is not None
        moves = [
            (move.move, None if move.angle_deg is None else abs(move.angle_deg))
            for step in solution.steps
            for move in step.moves
        ]
        costs.append((round(solution.cost, 6), moves))
    assert costs[0] == costs[1]


def test_the_order_of_edges_in_the_file_changes_numbers_alone() -> None:
    flange = f"{{height: 40, bend: {SQUARE}}}"
    costs = set()
    for edges in ("near, right, far", "far, near, right"):
        flanges = ", ".join(f"{edge}: {flange}" for edge in edges.split(", "))
        found = find_panel_order(problem_of(blank_of(panel_of(f"{{base: [300, 200], flanges: {{{flanges}}}}}"))))
        assert found.cost is not None
        costs.add(round(found.cost, 6))
    assert len(costs) == 1
