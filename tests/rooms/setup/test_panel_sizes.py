"""What gauging may put a panel's sizes off by: by hand, as sections have it, and by making it many times."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from flangewise.geometry import fold_tree
from flangewise.panel_order import PanelGauging, PanelStep, operations_of
from flangewise.part import PanelPart
from flangewise.pattern import PanelBlank, hinge_of
from flangewise.punch_die import Mounting, Placed, PunchDie, Row
from flangewise.sequence import Tolerances
from flangewise.sequence.datum import Gauged, leg_errors
from flangewise.setup import PanelSize, panel_corrections, panel_sizes

from ...published.panels import SQUARE, blank_of, panel_of

LIMITS = Tolerances(stop_mm=0.1, cut_mm=0.07, half_deduction_mm=0.05, angle_deg=0.5)
PAN = f"{{base: [300, 200], flanges: {{all: {{height: 40, bend: {SQUARE}}}}}}}"
NEAR_AND_FAR = (
    f"{{base: [300, 80], flanges: {{near: {{height: 30, bend: {SQUARE}}}, far: {{height: 40, bend: {SQUARE}}}}}}}"
)
RIM = (
    f"{{base: [300, 200], flanges: {{far: {{height: 40, bend: {SQUARE}}}, "
    f"near: {{height: 40, bend: {SQUARE}, tip: {{height: 20, bend: {SQUARE}}}}}}}}}"
)
NO_TOOLS = Mounting(PunchDie.__new__(PunchDie))
NO_ROW = Placed(Row((), 0.0), 0.0)
# Of a bend: its number, whether its parent lies behind, on what and which face it is gauged, the height of the contact.
Made = tuple[int, bool, str, int, float]


def steps_of(blank: PanelBlank, made: Sequence[Made]) -> tuple[PanelStep, ...]:
    """Steps of a plan, as far as gauging goes."""
    operations = {operation.bends: operation for operation in operations_of(blank)}
    names = {face.number: face.name for face in blank.faces}
    steps = []
    for at, (bend, parent_behind, on, face, height_mm) in enumerate(made):
        gauged = PanelGauging(on, face, names[face], 100.0, 0.0, height_mm, (0.0,), 0.0, False)  # type: ignore[arg-type]
        done = frozenset(each[0] for each in made[:at])
        steps.append(
            PanelStep(
                operation=operations[bend,],
                mounting=NO_TOOLS,
                marked_up=True,
                parent_behind=parent_behind,
                done=done,
                station=0,
                punch=NO_ROW,
                die=NO_ROW,
                short_mm=0.0,
                gap_mm=0.0,
                gauged=gauged,
                moves=(),
                leaving=None,
                cost=1.0,
                clearance_mm=None,
                open_height_mm=None,
                opening_reason=None,
                side_exit=False,
                least_opening_mm=9.0,
                reach_mm=9.0,
                hold=None,
                wishes_s=(),
            )
        )
    return tuple(steps)


def sizes(text: str, made: Sequence[Made], limits: Tolerances = LIMITS) -> dict[tuple[str, ...], PanelSize]:
    """The sizes by face and edges."""
    part = panel_of(text)
    blank = blank_of(part)
    return {(each.face_name, *each.edges): each for each in panel_sizes(part, blank, steps_of(blank, made), limits)}


def test_each_flange_by_its_own_tip() -> None:
    """A height is off by its stop and half its deduction; the base by two stops, two halves and the cut."""
    found = sizes(PAN, [(bend, False, "edge", bend + 1, 1.0) for bend in (1, 2, 3, 4)])
    assert {key for key in found if len(key) > 1} == {("base", "near", "far"), ("base", "right", "left")}
    assert found["near",].worst_mm == pytest.approx(0.15)
    assert found["near",].statistical_mm == pytest.approx(math.hypot(0.1, 0.05))
    assert [found["near",].per_mm(step) for step in range(4)] == pytest.approx([1, 0, 0, 0])
    assert found["base", "near", "far"].worst_mm == pytest.approx(0.2 + 0.1 + 0.07)
    assert [found["base", "near", "far"].per_mm(step) for step in range(4)] == pytest.approx([-1, 0, -1, 0])


def test_the_far_one_by_the_near_one_formed() -> None:
    """Its outer face is felt: the base is then off by one stop, the far half, and the lean of what is felt."""
    found = sizes(
        PAN,
        [
            (1, False, "edge", 2, 1.0),
            (3, True, "flange", 2, 20.0),
            (2, False, "edge", 3, 1.0),
            (4, False, "edge", 5, 1.0),
        ],
    )
    lean = (20.0 - 1.0) * math.radians(0.5)
    assert found["base", "near", "far"].worst_mm == pytest.approx(0.1 + 0.05 + lean, abs=0.02)
    assert found["far",].worst_mm > 0.3


def test_what_a_stop_corrects_and_what_else_it_shifts() -> None:
    """Each flange comes out with its own stop, which takes as much off the base; over the base the base does."""
    part = panel_of(PAN)
    blank = blank_of(part)
    steps = steps_of(blank, [(bend, False, "edge", bend + 1, 1.0) for bend in (1, 2, 3, 4)])
    found = panel_corrections(panel_sizes(part, blank, steps, LIMITS), steps, (1, 2, 3, 4))
    assert [each.leg for each in found if each is not None] == [3, 4, 5, 6]
    assert found[2] is not None
    assert (found[2].x_per_mm, found[2].also, found[2].read_after) == (pytest.approx(-1.0), ((1, -1.0),), 3)
    steps = steps_of(
        blank,
        [
            (1, False, "edge", 2, 1.0),
            (2, False, "edge", 3, 1.0),
            (3, True, "flange", 2, 20.0),
            (4, True, "flange", 3, 9.0),
        ],
    )
    found = panel_corrections(panel_sizes(part, blank, steps, LIMITS), steps, (1, 2, 3, 4))
    # The base lies on the side of the stop; what it gets the far flange loses.
    assert [each.leg for each in found if each is not None] == [3, 4, 1, 2]
    assert found[2] is not None
    assert (found[2].x_per_mm, found[2].also, found[2].read_after) == (pytest.approx(-1.0), ((5, -1.0),), 3)


def test_without_a_tolerance_of_its_own_a_size_has_the_general_one() -> None:
    part = panel_of(PAN)
    blank = blank_of(part)
    made = steps_of(blank, [(bend, False, "edge", bend + 1, 1.0) for bend in (1, 2, 3, 4)])
    assert panel_sizes(part, blank, made, LIMITS)[0].allowed_mm == 0.5
    named = replace(part, tolerances=replace(part.tolerances, faces_mm={"near": 0.12}))
    assert [each.allowed_mm for each in panel_sizes(named, blank, made, LIMITS) if each.face_name == "near"] == [0.12]


WAYS = {"own tip": (False, "edge"), "over the base": (True, "edge"), "other formed": (True, "flange")}


@pytest.mark.parametrize("one", ["own tip", "over the base"])
@pytest.mark.parametrize("other", ["own tip", "other formed"])
def test_a_chain_is_off_as_a_section_is(one: str, other: str) -> None:
    """Near flange, base, far flange are the legs of a channel; its start edge is the tip of near."""
    made: list[Made] = []
    gauged = []
    for bend, way, opposite in ((1, one, 2), (2, other, 1)):
        parent_behind, on = WAYS[way]
        # Over the base behind: its other flange flat, whose tip is touched, or standing, whose face is.
        face = {"own tip": bend + 1, "over the base": opposite + 1, "other formed": opposite + 1}[way]
        made.append((bend, parent_behind, on, face, 12.0))
        if on == "flange":
            gauged.append(Gauged("flange", opposite - 1, height_mm=11.0, flange_turn_deg=90.0))
        else:
            gauged.append(Gauged("start" if face == 2 else "end"))
    found = sizes(NEAR_AND_FAR, made)
    expected = leg_errors(gauged, LIMITS)
    panel = [found["near",], found["base", "near", "far"], found["far",]]
    assert len(expected) == len(panel)
    for own, leg in zip(panel, expected, strict=True):
        assert own.worst_mm == pytest.approx(leg.worst_mm, abs=0.02)
        assert own.statistical_mm == pytest.approx(leg.statistical_mm, abs=0.02)


MANY = [
    (
        PAN,
        [
            (1, False, "edge", 2, 1.0),
            (3, True, "flange", 2, 20.0),
            (2, True, "edge", 5, 1.0),
            (4, True, "flange", 3, 15.0),
        ],
    ),
    (RIM, [(3, False, "edge", 4, 1.0), (2, True, "edge", 2, 1.0), (1, True, "flange", 3, 10.0)]),
]


@pytest.mark.parametrize(("text", "made"), MANY, ids=["pan", "rim"])
def test_made_many_times_it_scatters_so(text: str, made: list[Made]) -> None:
    """Lines put down one after another by what stops feel of the part as it came out; sizes taken off it."""
    part = panel_of(text)
    blank = blank_of(part)
    steps = steps_of(blank, made)
    draw = random.Random(7)
    found = panel_sizes(part, blank, steps, LIMITS)
    samples = [_made_once(part, blank, steps, draw) for _ in range(400)]
    assert found
    for size in found:
        key = (size.face_name, *size.edges)
        spread = float(np.std([sample[key] for sample in samples]))
        assert spread * 3 == pytest.approx(size.statistical_mm, rel=0.15), key
        assert abs(float(np.mean([sample[key] for sample in samples])) - size.nominal_mm) < 0.01
        assert max(abs(sample[key] - size.nominal_mm) for sample in samples) < size.worst_mm + 0.01


def _within(draw: random.Random, limit: float) -> float:
    """Off by some of a limit, which is three standard deviations."""
    return max(-limit, min(limit, draw.gauss(0, limit / 3)))


def _made_once(
    part: PanelPart, blank: PanelBlank, steps: Sequence[PanelStep], draw: random.Random
) -> dict[tuple[str, ...], float]:
    """One part: each line is moved until what the stop feels stands at its X, off by the stop; then it is measured."""
    hinges = {zone.bend: hinge_of(zone) for zone in blank.zones}
    true = dict(hinges)
    turns = {zone.bend: zone.signed_turn_deg + _within(draw, 0.5) for zone in blank.zones}
    for zone in blank.zones:
        own = _within(draw, 0.05)
        true[zone.bend] = replace(true[zone.bend], radius_mm=true[zone.bend].radius_mm + own)
    edges = {"low": 0.0, "high": _within(draw, 0.07), "left": 0.0, "right": _within(draw, 0.07)}
    for step in steps:
        (bend,) = step.bends
        planned = _feel(blank, hinges, {b: hinges[b].turn_deg for b in step.done}, step, {})
        felt = _feel(blank, true, {b: turns[b] for b in step.done}, step, edges)
        off = planned + _within(draw, 0.1) - felt
        # More distance from the stop moves the line away from it: outward with the parent behind, else inward.
        outward = off if step.parent_behind else -off
        axis = math.radians(true[bend].axis_deg)
        at = true[bend].edge_mm
        true[bend] = replace(true[bend], edge_mm=(at[0] - outward * math.sin(axis), at[1] + outward * math.cos(axis)))
    return _measured(part, blank, hinges, true, edges)


def _feel(blank, hinges, turns, step, edges):  # type: ignore[no-untyped-def]
    """How far behind the line the touched thing stands, by points of the outer skin of the face as it is folded."""
    order = [zone.bend for zone in blank.zones]
    (bend,) = step.bends
    root = hinges[bend].face_from if step.parent_behind else hinges[bend].face_to
    fold = fold_tree(
        [hinges[b] for b in order], [turns.get(b, 0.0) for b in order], thickness_mm=blank.thickness_mm, root=root
    )
    own, axis = hinges[bend], math.radians(hinges[bend].axis_deg)
    left = np.array([-math.sin(axis), math.cos(axis), 0.0])
    behind = -left if step.parent_behind else left
    line = np.array([*own.edge_mm, 0.0]) + left * own.width_mm / 2
    face = next(each for each in blank.faces if each.number == step.gauged.face)
    ring = [_cut_at(blank, point, edges) for point in face.outline_mm]
    if step.gauged.on == "edge":
        return float(((fold.folded_mm(face.number, ring) - line) @ behind).max())
    height = step.gauged.height_mm - blank.thickness_mm / 2
    best = -math.inf
    for up in (-blank.thickness_mm / 2, blank.thickness_mm / 2):
        skin = fold.folded_mm(face.number, ring, up_mm=up) - line
        across, tall = skin @ behind, skin[:, 2]
        low, high = int(np.argmin(tall)), int(np.argmax(tall))
        share = (height - tall[low]) / (tall[high] - tall[low])
        best = max(best, float(across[low] + share * (across[high] - across[low])))
    return best


def _cut_at(blank: PanelBlank, point: tuple[float, float], edges: dict[str, float]) -> tuple[float, float]:
    """A corner of a face, moved with the outermost edge of the blank that it stands on."""
    (low_x, low_y), (size_x, size_y) = blank.corner_mm, blank.size_mm
    x, y = point
    if not edges:
        return point
    x += edges["right"] if abs(x - low_x - size_x) < 0.01 else 0.0
    y += edges["high"] if abs(y - low_y - size_y) < 0.01 else 0.0
    return x, y


def _measured(part, blank, planned, true, edges):  # type: ignore[no-untyped-def]
    """Heights and base by what each bend leaves of the sheet beside it, and the setback that its radius makes."""
    t, found = blank.thickness_mm, {}

    def setback(bend: int) -> float:
        half = math.radians(abs(planned[bend].turn_deg)) / 2
        # What is more of the radius is half a deduction more on either leg, for a square bend.
        return (planned[bend].radius_mm + t) * math.tan(half) + (true[bend].radius_mm - planned[bend].radius_mm)

    def sides(bend: int) -> tuple[float, float, int]:
        """Where the strip ends along the axis of coordinates that it lies across: inner, outer, and which."""
        axis = math.radians(true[bend].axis_deg)
        left = (-math.sin(axis), math.cos(axis))
        which = int(abs(left[1]) > 0.5)
        inner = true[bend].edge_mm[which]
        return inner, inner + left[which] * true[bend].width_mm, which

    by_bend = {flange.bend.number: flange for flange in part.panel.all_flanges()}
    (low_x, low_y), (size_x, size_y) = blank.corner_mm, blank.size_mm
    for bend, flange in by_bend.items():
        _, outer, which = sides(bend)
        hung = [each for each in by_bend.values() if each.on == flange.face]
        if hung:
            end, more = sides(hung[0].bend.number)[0], setback(hung[0].bend.number)
        else:
            low, size = ((low_x, size_x), (low_y, size_y))[which]
            plus = edges["right" if which == 0 else "high"]
            end, more = (low if outer < sides(bend)[0] else low + size + plus), 0.0
        found[flange.face,] = abs(end - outer) + setback(bend) + more
    for one, other in (("near", "far"), ("right", "left")):
        ends = []
        for name in (one, other):
            bends = [bend for bend, flange in by_bend.items() if flange.on == "base" and flange.edge == name]
            if bends:
                ends.append((sides(bends[0])[0], setback(bends[0])))
            else:
                ends.append(({"near": 0.0, "far": 200.0, "right": 300.0 + edges["right"], "left": 0.0}[name], 0.0))
        found["base", one, other] = abs(ends[0][0] - ends[1][0]) + ends[0][1] + ends[1][1]
    return found
