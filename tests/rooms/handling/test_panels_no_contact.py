"""Panel and gripper moved through the hits of random orders by another simulator: nothing is touched."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely

from flangewise.handling import AtHit, HeldPanel, PanelGripPlanner, rise_of
from flangewise.handling.panel_moves import PanelMoves, attitude_at
from flangewise.panel_order import Leaving, PressedHit, SpaceHit
from flangewise.panel_order.moves import moves_for
from flangewise.pattern import PanelBlank
from flangewise.punch_die import Placed, Row, SegmentUse
from flangewise.sequence import Costs, Hit as ToolHit

from ...how_many import one_in
from ...published.panels import blank, blank_of, panel_of
from ..panel_order.made import fingers, hits, stack
from ..panel_order.test_against_points import panel_of_seed
from ..panel_order.test_pressed import flattened, hemmed
from ..panel_order.test_stepped import moved, poses, stepped
from . import panel_simulator as simulator
from .toys import GRIPPERS, robot

PANELS = 200
MOMENTS = 9
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
        base = np.array(attitude_at(own, step, done))  # type: ignore[arg-type]
        if before is not None:
            was = np.array(attitude_at(own, before, done))
            step.moves = moves_for(Costs(), base @ was.T)
        found.append(AtHit(step, hit, float(rng.uniform(60, 200))))  # type: ignore[arg-type]
        done, before = done | frozenset(hit.operation.bends), step
    part = HeldPanel(found[0].hit.shapes, own.area_mm2 * own.thickness_mm * 7.85e-6)
    return PanelGripPlanner(part, robot(GRIPPERS[name]()), found, lambda _, hit: rise_of(hit.stroke, None, None))


def _row(length_mm: float, from_mm: float) -> Placed:
    return Placed(Row((SegmentUse(length_mm, None),)), from_mm)


def _walked(own: PanelBlank, name: str, seed: int) -> int:
    """A plan held with a gripper and walked through, and another grip that holds at each step; how many were held."""
    asked, rng = planner(own, name, seed), np.random.default_rng(seed)
    cloud, held, row = simulator.body_cloud(asked.shape.row), 0, asked.shape.row
    for number, (at, told) in enumerate(zip(asked.steps, asked.way.steps, strict=True)):
        if told.between == "in-hand" and number:
            was = asked.way.steps[number - 1].grip_out
            assert was is not None and simulator.turned_clear(own, row, asked.grips[was], at.done), (seed, number)
        ends = [] if told.grip is None or told.grip_out is None else [(told.grip, told.grip_out, told.within)]
        others = np.flatnonzero(asked.grips_at[number].through)
        ends += [(place, place, "follow") for place in rng.permutation(others)[:1].tolist()]
        rows = [(each.from_mm, each.to_mm) for each in (at.step.punch, at.step.die)]
        scene = simulator.Scene(own, at.hit, at.done, (rows[0], rows[1]), at.step.gauged, row.pad_across_mm)
        halves = scene.halves(MOMENTS)
        for first, last, within in ends:
            moments = {0: first, MOMENTS - 1: last}
            if within in ("follow", "float"):
                moments = dict.fromkeys(range(MOMENTS), first)
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
    numbers = range(1, PANELS, one_in(100))
    held = [_walked(panel_of_seed(seed), name, seed) for seed in numbers]
    assert sum(held) >= len(held), "enough of the steps are held for anything to be seen"


def _at(hit: Any, done: frozenset[int], opening_mm: float, then: AtHit | None = None) -> AtHit:
    stops = hit.stops(done) if then is None or hit.fingers is not None else ()
    step = SimpleNamespace(
        operation=hit.operation,
        marked_up=hit.marked_up,
        parent_behind=hit.parent_behind,
        done=done,
        punch=_row(hit.operation.length_mm, 0.0),
        die=_row(hit.operation.length_mm + 40.0, -20.0),
        gauged=stops[0] if stops else None,
        leaving=Leaving("up", opening_mm),
        moves=(),
    )
    return AtHit(step, hit, opening_mm, then)  # type: ignore[arg-type]


def _asked(own: PanelBlank, name: str, at: AtHit) -> PanelGripPlanner:
    part = HeldPanel(at.hit.shapes, own.area_mm2 * own.thickness_mm * 7.85e-6)
    return PanelGripPlanner(part, robot(GRIPPERS[name]()), [at], lambda _, hit: rise_of(None, None, None))


def _some(rng: np.random.Generator, names: tuple[str, ...], height: str) -> str:
    """Some of the other edges with plain flanges."""
    chosen = [name for name in names if rng.random() < 0.6] or [names[0]]
    return ", ".join(f"{name}: {{height: {rng.uniform(18, 45):.1f}, bend: SQ{height}}}" for name in chosen)


def _grips_to_walk(asked: PanelGripPlanner, rng: np.random.Generator) -> list[int]:
    found: list[int] = rng.permutation(np.flatnonzero(asked.grips_at[0].through))[:3].tolist()
    return found


def _walked_step(name: str, seed: int) -> int:
    """An offset in one of its poses, some other bends made, walked with three of the grips that hold it."""
    rng = np.random.default_rng(8000 + seed)
    away = ("", ", away: true")[seed % 2]
    base = f"[{rng.uniform(110, 260):.1f}, {rng.uniform(60, 220):.1f}]"
    own = stepped(base, away, _some(rng, ("near", "left", "right"), ", inset: 7"))
    hit = list(poses(own))[int(rng.integers(4))]
    others = [zone.bend for zone in own.zones if zone.bend not in hit.operation.bends]
    done = frozenset(bend for bend in others if rng.random() < 0.5)
    at = _at(hit, done, float(rng.uniform(60, 200)))
    asked = _asked(own, name, at)
    rows = [(each.from_mm, each.to_mm) for each in (at.step.punch, at.step.die)]
    row, cloud = asked.shape.row, simulator.body_cloud(asked.shape.row)
    scene = simulator.SteppedScene(own, hit, done, (rows[0], rows[1]), at.step.gauged, row.pad_across_mm, moved)
    chosen = _grips_to_walk(asked, rng)
    for place in chosen:
        for number, share in enumerate(scene.halves(MOMENTS)):
            _is_clear(scene, asked.grips[place], cloud, row, float(share), first=not number)
    return len(chosen)


def _walked_hem(name: str, seed: int) -> int:
    """A hem bent and flattened, some other bends made: walked through its first hit, and looked at when it is flat."""
    rng = np.random.default_rng(9000 + seed)
    base = f"[{rng.uniform(110, 260):.1f}, {rng.uniform(90, 220):.1f}]"
    own = hemmed(base, _some(rng, ("far", "left", "right"), ""), leg_mm=int(rng.integers(10, 16)))
    behind = bool(rng.integers(2))
    flat = flattened(own, parent_behind=behind)
    tools = ToolHit(stack("acute-30", "vee-12-30"), 148.0, 1.0)
    first = SpaceHit(flat.shapes, flat.operation, parent_behind=behind, tools=tools, fingers=fingers())
    others = [zone.bend for zone in own.zones if zone.bend not in flat.operation.bends]
    done = frozenset(bend for bend in others if rng.random() < 0.5)
    at = _at(first, done, float(rng.uniform(80, 200)), _at(flat, done, float(rng.uniform(60, 200))))
    assert at.then is not None and isinstance(flat, PressedHit)
    asked = _asked(own, name, at)
    row, cloud = asked.shape.row, simulator.body_cloud(asked.shape.row)
    rows = [(each.from_mm, each.to_mm) for each in (at.step.punch, at.step.die)]
    bent = simulator.Scene(own, first, done, (rows[0], rows[1]), at.step.gauged, row.pad_across_mm)
    made = done | frozenset(flat.operation.bends)
    pressed = simulator.PressedScene(own, flat, made, (rows[0], rows[1]), None, row.pad_across_mm, flat.leg_mm)
    chosen = _grips_to_walk(asked, rng)
    for place in chosen:
        for number, half in enumerate(bent.halves(MOMENTS)):
            _is_clear(bent, asked.grips[place], cloud, row, float(half), first=not number)
        _is_clear(pressed, asked.grips[place], cloud, row, 1.0, first=False)
    return len(chosen)


@pytest.mark.parametrize("walked", [_walked_step, _walked_hem])
@pytest.mark.parametrize("name", GRIPPERS)
def test_offsets_and_hems_are_walked_through_as_well(name: str, walked: Any) -> None:
    held = [walked(name, seed) for seed in range(0, PANELS, one_in(20))]
    assert sum(held) > 0, "some of them are held"


def test_the_simulator_sees_a_contact() -> None:
    """A jaw over the tip of a short flange in front: it comes under the punch, and to the other flange."""
    own = blank("pan")
    asked = planner(own, "slim", 0)
    row, cloud = asked.shape.row, simulator.body_cloud(asked.shape.row)
    at = asked.steps[0]
    rows = [(each.from_mm, each.to_mm) for each in (at.step.punch, at.step.die)]
    scene = simulator.Scene(own, at.hit, at.done, (rows[0], rows[1]), at.step.gauged, row.pad_across_mm)
    sides = scene.sides
    near = [grip for grip in asked.grips if grip.face in at.hit.operation.faces]
    assert near and (sides.front if not at.step.parent_behind else sides.behind)
    grip = replace(near[0], at_mm=tuple(np.array(near[0].at_mm) - 30.0 * np.array(near[0].arm)))
    with pytest.raises(AssertionError):
        _is_clear(scene, grip, cloud, row, float(scene.halves(2)[1]), first=False)


@pytest.mark.parametrize("name", GRIPPERS)
def test_grips_of_a_panel_never_lie_across_a_bend_a_hole_or_an_edge(name: str) -> None:
    """Pads as rectangles on the flat blank, drawn from the record alone."""
    looked_at = 0
    for seed in range(0, PANELS, one_in(75)):
        flat = panel_of_seed(seed) if seed % 4 else blank_of(panel_of(HOLED))
        asked = planner(flat, name, seed)
        row = asked.shape.row
        faces = {face.number: shapely.Polygon(face.outline_mm) for face in flat.faces}
        deep = row.pad_across_mm + (row.spacing_mm or 0.0) * (row.rows_across - 1)
        for grip in asked.grips:
            (x, y), (ax, ay) = grip.at_mm, grip.arm
            half = grip.wide_mm / 2
            corners = ((-deep / 2, -half), (deep / 2, -half), (deep / 2, half), (-deep / 2, half))
            pads = shapely.Polygon([(x + i * ax - j * ay, y + i * ay + j * ax) for i, j in corners])
            assert shapely.area(shapely.difference(pads, faces[grip.face])) < 0.05 * deep
            for zone in flat.zones:
                assert shapely.distance(pads, shapely.LineString(zone.line_mm)) >= zone.width_mm / 2
            for hole in flat.holes:
                edge = shapely.distance(pads, shapely.Point(hole.centre_mm)) - max(hole.half_size_mm)
                assert hole.diameter_mm is None or edge >= row.edge_free_mm - 0.01
            looked_at += 1
        for at, found in zip(asked.steps, asked.grips_at, strict=True):
            for place in np.flatnonzero(found.load):
                # Off the line that is bent now by more than half the die's opening.
                line = next(zone for zone in flat.zones if zone.bend in at.hit.operation.bends).line_mm
                far = math.dist(_nearest(asked.grips[place].at_mm, line), asked.grips[place].at_mm)
                grip = asked.grips[place]
                beside = grip.face in {
                    z
                    for zone in flat.zones
                    if zone.bend in at.hit.operation.bends
                    for z in (zone.face_from, zone.face_to)
                }
                assert not beside or far > at.hit.tools.stack.opening_mm / 2
    assert looked_at > 10


HOLED = "{base: [180, 120], flanges: {all: {height: 34, bend: 90}}, holes: [{face: base, at: [90, 60], diameter: 40}]}"


def _nearest(point: tuple[float, float], line: tuple[tuple[float, float], ...]) -> tuple[float, float]:
    at = shapely.line_interpolate_point(
        shapely.LineString(line), shapely.line_locate_point(shapely.LineString(line), shapely.Point(point))
    )
    return float(at.x), float(at.y)


def test_the_moves_told_bring_each_gripper_where_the_part_goes() -> None:
    """Turned by the arm the gripper goes round with the part, turned in hand it stands: the part comes out alike."""
    turned = 0
    for seed in range(0, PANELS, one_in(100)):
        for name in ("cups", "jaw"):
            own = panel_of_seed(seed)
            asked = planner(own, name, seed)
            moves = PanelMoves(asked.handler, asked.shape, asked.grips)
            every, steps = np.arange(len(asked.grips)), list(asked._holds(np.arange(len(asked.grips)), asked.grips))
            room = np.ones(len(every), dtype=bool)
            for step in steps[1:]:
                for one in every[:: max(1, len(every) // 6)].tolist():
                    for turns, held in moves._held_on(one, step, room):
                        stands = step.before[one]
                        for turn, made in zip(turns, step.turned, strict=True):
                            if turn.by == "arm":
                                stands = simulator.turned_about(made.about, made.angle_deg) @ stands
                        own_axes = step.after[held]
                        alike = own_axes if np.allclose(own_axes, stands, atol=1e-6) else own_axes * (-1.0, -1.0, 1.0)
                        over = own_axes * (1.0, -1.0, -1.0)
                        assert np.allclose(alike, stands, atol=1e-6) or np.allclose(over, stands, atol=1e-6)
                        turned += bool(turns)
    assert turned > 5


def test_the_mass_centre_of_a_pan_by_hand() -> None:
    """Four flanges of one height about a base: beside the sheet's own middle, as far up as their share of the sheet."""
    own = blank("pan")
    asked = planner(own, "cups", 1)
    x, y, z = asked.part.centre_mm(frozenset(zone.bend for zone in own.zones))
    # Base 292 x 192; flanges 292 and 192 by 36 on 2 + 4 up to 40; strips of 4.461 about r 2, at 3 (1 - 2/pi) up.
    base, flange, strip = 292 * 192, 36 * 2 * (292 + 192), 4.46106 * 2 * (292 + 192)
    arc = 3.0 - 3.0 * 2 / math.pi
    up = (flange * (3.0 + 18.0) + strip * arc) / (base + flange + strip)
    assert (x, y) == pytest.approx((150.0, 100.0)) and z == pytest.approx(up, abs=0.02)
