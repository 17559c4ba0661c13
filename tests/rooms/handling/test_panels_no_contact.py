"""Panel and gripper moved through the hits of random orders by another simulator: nothing is touched."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely

from flangewise.handling import AtHit, HeldPanel, PanelGripPlanner, rise_of
from flangewise.handling.panel_moves import PanelMoves, attitude, axes_of
from flangewise.panel_order import Leaving
from flangewise.panel_order.moves import moves_for
from flangewise.pattern import PanelBlank
from flangewise.punch_die import Placed, Row, SegmentUse
from flangewise.sequence import Costs, HitTime

from ...how_many import one_in
from ...published.panels import blank, blank_of, panel_of
from ..panel_order.made import hits
from ..panel_order.test_against_points import panel_of_seed
from . import panel_simulator as simulator
from .toys import GRIPPERS, robot

PANELS = 200
MOMENTS = 13
# Pieces of a body count as their whole outline; points and chords of arcs see a little less.
ALIKE_MM = 0.3


def planner(own: PanelBlank, name: str, seed: int) -> PanelGripPlanner:
    """A random order of a panel, each bend in a random pose, over rows as long as the line, held by a gripper."""
    rng = np.random.default_rng(7000 + seed)
    found, done, before = [], frozenset[int](), None
    made = hits(own)
    order = rng.permutation(len(made) // 2)
    for place in order.tolist():
        hit = made[2 * place + int(rng.integers(2))]
        stops = hit.stops(done)
        step = SimpleNamespace(
            operation=hit.operation,
            marked_up=hit.marked_up,
            parent_behind=hit.parent_behind,
            done=done,
            punch=_row(hit.operation.length_mm, float(rng.uniform(-3, 3))),
            die=_row(hit.operation.length_mm + 40.0, -20.0),
            gauged=stops[0] if stops else None,
            leaving=Leaving("up", 40.0),
            moves=(),
        )
        base = np.array(attitude(own, step, done))  # type: ignore[arg-type]
        if before is not None:
            was = np.array(attitude(own, before, done))
            step.moves = moves_for(Costs(), base @ was.T)
        found.append(AtHit(step, hit, float(rng.uniform(60, 200))))  # type: ignore[arg-type]
        done, before = done | frozenset(hit.operation.bends), step
    part = HeldPanel(found[0].hit.shapes, own.area_mm2 * own.thickness_mm * 7.85e-6)
    return PanelGripPlanner(part, robot(GRIPPERS[name]()), found, lambda _, hit: rise_of(hit.stroke, None, None))


def _row(length_mm: float, from_mm: float) -> Placed:
    return Placed(Row((SegmentUse(length_mm, None),)), from_mm)


def _walked(own: PanelBlank, name: str, seed: int) -> int:
    """A plan held with a gripper and walked through; how many steps were held."""
    asked = planner(own, name, seed)
    cloud, held, row = simulator.body_cloud(asked.shape.row), 0, asked.shape.row
    for number, (at, told) in enumerate(zip(asked.steps, asked.way.steps, strict=True)):
        if told.between == "in-hand" and number:
            was = asked.way.steps[number - 1].grip_out
            assert was is not None and simulator.turned_clear(own, row, asked.grips[was], at.done), (seed, number)
        if told.grip is None or told.grip_out is None:
            continue
        rows = [(each.from_mm, each.to_mm) for each in (at.step.punch, at.step.die)]
        scene = simulator.Scene(own, at.hit, at.done, (rows[0], rows[1]), at.step.gauged, row.pad_across_mm)
        halves = scene.halves(MOMENTS)
        moments = {0: told.grip, MOMENTS - 1: told.grip_out}
        if told.within in ("follow", "float"):
            moments = dict.fromkeys(range(MOMENTS), told.grip)
        for moment, place in moments.items():
            _is_clear(scene, asked.grips[place], cloud, row, float(halves[moment]), first=not moment)
        held += 1
    return held


def _is_clear(scene: Any, grip: Any, cloud: np.ndarray, row: Any, half: float, *, first: bool) -> None:
    body, nose = scene.laid(grip.face, simulator.on_blank(grip, cloud, scene.blank.thickness_mm), half)
    assert min(scene.tool_gaps_mm(body, nose)) >= row.clear_mm - ALIKE_MM, (grip, half)
    assert scene.lies_in_part(grip, body, half) is None, (grip, half)
    if first:
        assert min(scene.finger_gaps_mm(body), default=math.inf) >= row.fingers_clear_mm - ALIKE_MM, grip


@pytest.mark.parametrize("name", GRIPPERS)
def test_a_held_panel_touches_nothing_through_every_hit_and_turn(name: str) -> None:
    numbers = range(0, PANELS, one_in(33))
    held = [_walked(panel_of_seed(seed), name, seed) for seed in numbers]
    assert sum(held) >= len(held), "enough of the steps are held for anything to be seen"
