"""What a step tells."""

from __future__ import annotations

import pytest
import shapely

from flangewise.sequence import Backgauge, solve

FINGER = ((0.0, 0.0), (0.0, 12.0), (-40.0, 12.0), (-40.0, 0.0))
REACH = Backgauge(5.0, 300.0, -80.0, 200.0, FINGER)


def test_steps_of_a_z_fit_together(toy):
    solution = solve(toy([60, 70, 60], [90, -90], gauge=REACH, check_exits=True))
    first, second = solution.steps
    assert first.moves == () and [move.axis for move in second.moves] == ["the bed"]
    assert first.marked_up != second.marked_up
    assert first.done == 0 and second.done == 1 << first.operation
    assert solution.cost == pytest.approx(first.cost + second.cost)
    assert second.cost >= 1.0 + 10.0
    assert first.lift_mm == pytest.approx(30.0, abs=5.0) and first.opening_reason == "this-bend"
    assert first.label == str(first.operation + 1) and not second.tool_changed


def test_outlines_are_the_sheet_before_and_after(toy):
    (step,) = solve(toy([40, 60], [90])).steps
    before, after = shapely.Polygon(step.before.outline_mm), shapely.Polygon(step.after.outline_mm)
    assert before.area == pytest.approx(100 * 1.5) and before.bounds[1] == pytest.approx(0.0)
    assert after.bounds[1] < -4.0 and after.bounds[3] > 25.0


def test_clearance_is_the_least_distance_to_what_is_not_meant_to_touch(toy):
    # a leg hanging beside the die block: web 30, block 20, half the sheet 0.75
    solution = solve(toy([30, 30, 30], [90, -90]))
    assert solution.steps[1].clearance_mm == pytest.approx(30 - 20 - 0.75, abs=0.03)


def test_one_bend_far_from_the_ram_has_the_clamp_to_measure(toy):
    (step,) = solve(toy([40, 60], [90])).steps
    assert step.clearance_mm is not None and step.clearance_mm > 20


def test_tools_and_option_of_a_step(toy, stack):
    (step,) = solve(toy([40, 60], [90], stack=stack(punch_half=6.0))).steps
    assert step.option == 0 and step.stacks[0].name.startswith("toy 6.0")
