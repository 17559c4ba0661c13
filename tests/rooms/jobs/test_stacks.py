"""Punch, die and machine as bodies: where each stands, which goes with the ram, which way round."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flangewise.jobs.machines import blanked
from flangewise.jobs.problem import tool_stack
from flangewise.punch_die import Ideal, PunchDie

from .made import GOOSE, STRAIGHT, TOWER, built_in, part, steel, toy


def pair_of(tools: tuple[str, str]) -> PunchDie:
    pair = blanked(part([20, 60], [90], tools), toy()).pairs[1]
    assert pair is not None
    return pair


def extent(points: tuple[tuple[float, float], ...]) -> tuple[float, float, float, float]:
    """Least and greatest across, least and greatest up."""
    across, up = zip(*points, strict=True)
    return min(across), max(across), min(up), max(up)


def test_ram_on_punch_and_die_on_bed() -> None:
    """Punch 100 high, clamp 60 wide and 40 high above it, die 60 high, bed 120 wide below."""
    stack = tool_stack(pair_of(STRAIGHT).tools, toy().machines["toy"])
    bodies = {body.name: body for body in stack.bodies}
    assert {name for name, body in bodies.items() if body.with_ram} == {"punch", "ram"}
    assert set(bodies) == {"punch", "ram", "die", "bed"}
    assert extent(bodies["punch"].points_mm) == pytest.approx((-10, 10, 0, 100), abs=0.01)
    assert extent(bodies["ram"].points_mm) == pytest.approx((-60, 60, 100, 640))
    assert extent(bodies["die"].points_mm) == pytest.approx((-20, 20, -60, 0), abs=0.01)
    assert extent(bodies["bed"].points_mm) == pytest.approx((-60, 60, -800, -60))


@pytest.mark.parametrize(("tools", "height"), [(STRAIGHT, 60), (TOWER, 120)])
def test_the_opening_is_what_the_daylight_leaves(tools: tuple[str, str], height: float) -> None:
    stack = tool_stack(pair_of(tools).tools, toy().machines["toy"])
    assert stack.open_limit_mm == pytest.approx(660 - 100 - height)
    assert (stack.opening_mm, stack.shoulder_radius_mm) == (12, 0.5)


def test_a_relieved_punch_has_two_ways_and_a_plain_one_has_not() -> None:
    assert pair_of(GOOSE).has_two_ways and not pair_of(STRAIGHT).has_two_ways


def test_a_punch_set_turned_shows_its_other_side() -> None:
    """Only the punch is turned: the die is the same both ways round."""
    pair, machine = pair_of(GOOSE), toy().machines["toy"]
    plain, turned = tool_stack(pair.tools, machine), tool_stack(pair.tools, machine, turned=True)
    shape = {body.name: extent(body.points_mm) for body in plain.bodies}
    other = {body.name: extent(body.points_mm) for body in turned.bodies}
    assert other["punch"][:2] == pytest.approx((-shape["punch"][1], -shape["punch"][0]))
    assert {name: shape[name] for name in ("die", "bed", "ram")} == {
        name: other[name] for name in ("die", "bed", "ram")
    }
    assert plain.name != turned.name and turned.turned and not plain.turned


def test_an_offset_pair_is_turned_as_a_pair_and_its_levels_change_sides() -> None:
    pair = blanked(steel([30, 60], [{"offset": 4, "radius": 1}], thickness=1.5), built_in()).pairs[1]
    assert pair is not None and pair.kind == "offset" and pair.has_two_ways
    machine = built_in().machines["bench-310"]
    plain, turned = tool_stack(pair.tools, machine), tool_stack(pair.tools, machine, turned=True)
    assert plain.levels_mm == (0.0, -4.0) and turned.levels_mm == (-4.0, 0.0)
    die, other = (next(body for body in stack.bodies if body.name == "die") for stack in (plain, turned))
    assert extent(other.points_mm)[:2] == pytest.approx(tuple(-side for side in extent(die.points_mm)[1::-1]))


def test_ideal_tools_have_no_bodies() -> None:
    ideal = replace(pair_of(STRAIGHT), tools=replace(pair_of(STRAIGHT).tools, punch=None))
    assert Ideal().nose_radius_mm is None and not ideal.has_two_ways
    with pytest.raises(ValueError, match="no bodies"):
        tool_stack(ideal.tools, toy().machines["toy"])
