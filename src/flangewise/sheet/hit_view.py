"""A hit of a panel in space: the sheet flat on the die at the stops, and bent under the punch; rows, ears, fingers.

The operator stands to the lower left, the bed runs to the lower right. Tools are cut off above and below the part.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from flangewise import drawing as draw
from flangewise.geometry import Facet, Frame, Outline, Point, shift, turn_about_along, vee_of_die
from flangewise.panel_order import PanelStep
from flangewise.pattern import BendZone, OffsetZone, PanelBlank, bar_facets, part_facets
from flangewise.punch_die import Placed
from flangewise.setup import SetupStep, panel_step
from flangewise.sheet.space_picture import Spot, in_space
from flangewise.sheet.strip_picture import holder_sign
from flangewise.sheet.wording import Wording
from flangewise.shop import Machine

if TYPE_CHECKING:
    from flangewise.handling import HeldAt

PUNCH_MM, DIE_MM = 75.0, 40.0
"""So much of the punch is drawn above its nose, and of the die below its top."""
BEYOND_MM = 15.0
"""A die row that reaches further beyond part and punch is cut off there."""
LIFTED_MM = 35.0
"""How high the punch is drawn over the sheet before the hit."""
BENT_EYE = draw.Eye(around_deg=35.0, above_deg=52.0)
"""Bent by 90 degrees the wing in front would stand edge-on before the isometric eye: it is looked at from higher up."""
CHORD_MM = 0.4
WORD_MM, SMALL_WORD_MM = 2.8, 2.2
FRONT_MM, HELD_MM = 0.5, 1.6
"""The edge in front reaches back so far; a hand holds the sheet so far in from it, on paper."""
TWO_HANDS_MM = 22.0
PRE_BENT_DEG = 150.0
"""What a hem is bent to before it is flattened, for its picture (common practice: 30 degrees included)."""
FAR_MM = 1e4
UNSEEN = 0.2
"""A way that is seen shorter than so much of it is none on paper."""


def hit_picture(
    blank: PanelBlank,
    keyed: SetupStep,
    step: PanelStep,
    machine: Machine,
    wording: Wording,
    *,
    held: HeldAt | None = None,
    bent: bool,
    width_mm: float,
    height_mm: float,
) -> draw.Drawing:
    """One hit in a room of that size: before it, the sheet at the stops; or `bent`, at the bottom of the stroke.

    `held`: where a gripper holds the part.
    """
    facets = standing_part(blank, keyed, step, bent=bent)
    along_mm = [float(each) for facet in facets for each in facet.corners_mm[:, 0]]
    shown_mm = min(*along_mm, step.punch.from_mm) - BEYOND_MM, max(*along_mm, step.punch.to_mm) + BEYOND_MM
    nose_mm = _nose_mm(blank, keyed, step) if bent else blank.thickness_mm + LIFTED_MM
    bodies = [draw.SpaceBody(facets), *rows_of_tools(step, nose_mm, shown_mm)]
    if not bent:
        bodies += fingers_of(keyed, machine)
    word = "alt.hit-bent" if bent else "alt.hit"
    described = wording.word(word, step=str(keyed.step))
    eye = BENT_EYE if bent else draw.ISOMETRIC
    drawing, spot = in_space(bodies, width_mm=width_mm, height_mm=height_mm - 2 * WORD_MM, described=described, eye=eye)
    words = (
        draw.Text((1.0, height_mm - 1.0), wording.word("operator"), WORD_MM, True),
        draw.Text((width_mm - 1.0, height_mm - 1.0), wording.word("picture.bed-right"), WORD_MM, True, "end"),
    )
    drawing = draw.Drawing(width_mm, height_mm, (*drawing.items, *words), described)
    return drawing if bent else holding(drawing, facets, keyed, held, spot, wording)


def holding(
    drawing: draw.Drawing,
    facets: Sequence[Facet],
    keyed: SetupStep,
    held: HeldAt | None,
    spot: Spot,
    wording: Wording,
) -> draw.Drawing:
    """A picture with what holds the part: the gripper where it takes hold, with how far its middle lies along and
    across the base from the datum corner; else hands."""
    if held is None or held.grip is None or held.lies is None or held.on_blank_mm is None:
        return drawing.adding(held_in(facets, keyed, spot))
    (x, y, z), way = held.lies
    at, out = spot((x, y, z)), spot((x + way[0], y + way[1], z + way[2]))
    right, down, long_mm = draw.towards(at, out)
    # Seen along its arm it has no way on paper: it is drawn as if the arm came from below there.
    is_seen = long_mm > UNSEEN * math.dist(spot((0.0, 0.0, 0.0)), spot((1.0, 0.0, 0.0)))
    way_out = (right, down) if is_seen else (0.0, 1.0)
    drawing = drawing.adding(holder_sign("cup" if held.grip.kind == "face" else "jaw", at, way_out))
    words = wording.word("picture.gripper"), " | ".join(map(wording.size, held.on_blank_mm))
    for size_mm in (WORD_MM, SMALL_WORD_MM):
        for lines in ((" ".join(words),), words):
            found, unplaced = draw.place(drawing, [draw.Label(lines, at, size_mm, True, gap_mm=3.0)])
            if not unplaced:
                return found
    return drawing


def held_in(facets: Sequence[Facet], keyed: SetupStep, spot: Spot) -> Iterator[draw.Item]:
    """What holds the part at its edge in front: two hands where it is broad enough on paper, else one."""
    by = "hand" if keyed.hold is None else keyed.hold.by
    corners = [tuple(map(float, corner)) for facet in facets for corner in facet.corners_mm]
    first_mm = min(y for _, y, _ in corners)
    front = [corner for corner in corners if corner[1] < first_mm + FRONT_MM]
    left, right = min(front), max(front)
    broad = math.dist(spot(left), spot(right)) > TWO_HANDS_MM
    for share in (0.2, 0.8) if broad else (0.5,):
        x, y, z = (one + share * (other - one) for one, other in zip(left, right, strict=True))
        at, out = spot((x, y, z)), spot((x, y - 1.0, z))
        way_right, way_down, _ = draw.towards(at, out)
        yield from holder_sign(by, draw.moved(at, (way_right, way_down), -HELD_MM), (way_right, way_down))


def stands_up_behind(blank: PanelBlank, keyed: SetupStep, step: PanelStep) -> bool:
    """Whether a formed flange stands between ram or stops and the bend: more than two thicknesses high."""
    facets = standing_part(blank, keyed, step, bent=False)
    corners = (tuple(map(float, corner)) for facet in facets for corner in facet.corners_mm)
    return any(y > 0.0 and z > 2 * blank.thickness_mm + HELD_MM for _, y, z in corners)


def standing_part(blank: PanelBlank, keyed: SetupStep, step: PanelStep, *, bent: bool) -> Sequence[Facet]:
    """The part as it is folded and stands: its parent face level on the die, or tilted by half the turn.

    A hem lies under the flattener as its first hit left it, and level when it is pressed; an offset stays level.
    """
    flat = stand_of(step, blank.thickness_mm)
    root, after = step.operation.parents[0], step.done | set(step.operation.bends)
    if keyed.hit == "flatten":
        shown = blank if bent else _pre_bent(blank, step, PRE_BENT_DEG)
        return part_facets(shown, done=after, root=root, stand=flat)
    if not bent:
        return part_facets(blank, done=step.done, root=root, stand=flat)
    sign = 1.0 if step.parent_behind else -1.0
    pressed = step.operation.zones[0]
    if isinstance(pressed, OffsetZone):
        # Both sides go level, against each other, each to its own land.
        out_mm = (pressed.across_mm(blank.thickness_mm) - pressed.width_mm) / 2
        up_mm = -_step_mm(step) if step.parent_behind == step.mounting.turned else 0.0
        return part_facets(blank, done=after, root=root, stand=shift(0.0, sign * out_mm, up_mm).after(flat))
    if keyed.hit == "pre-bend":
        blank = _pre_bent(blank, step, 180.0 - keyed.finished_deg)
    zone = _zone(blank, step)
    half = math.radians(zone.turn_deg) / 2
    middle_mm = zone.inside_radius_mm + blank.thickness_mm / 2
    out_mm = middle_mm * math.sin(half) - zone.allowance.allowance_mm / 2 * math.cos(half)
    up_mm = _centre_mm(blank, step) - middle_mm * math.cos(half) - zone.allowance.allowance_mm / 2 * math.sin(half)
    # The wing turns about the bend line at the sheet's middle, then stands where its arc ends.
    tilted = turn_about_along(sign * math.degrees(half)).after(shift(0.0, 0.0, -blank.thickness_mm / 2).after(flat))
    stand = shift(0.0, sign * out_mm, up_mm).after(tilted)
    return part_facets(blank, done=after, root=root, stand=stand)


def _zone(blank: PanelBlank, step: PanelStep) -> BendZone:
    """The zone that a hit forms, the first of several."""
    return next(zone for zone in blank.zones if zone.bend in step.operation.bends)


def _step_mm(step: PanelStep) -> float:
    """How far apart the two lands of an offset pair lie."""
    die = step.mounting.pair.tools.die
    return 0.0 if die is None else die.offset_mm or 0.0


def _pre_bent(blank: PanelBlank, step: PanelStep, turn_deg: float) -> PanelBlank:
    """The blank with a hem bent so far: its strip, as long as it is, round a larger radius."""
    half_mm = blank.thickness_mm / 2

    def opened(zone: BendZone) -> BendZone:
        radius_mm = max(zone.allowance.allowance_mm / math.radians(turn_deg) - half_mm, zone.inside_radius_mm)
        return replace(zone, turn_deg=turn_deg, inside_radius_mm=radius_mm)

    return replace(
        blank, zones=tuple(opened(zone) if zone.bend in step.operation.bends else zone for zone in blank.zones)
    )


def stand_of(step: PanelStep, thickness_mm: float) -> Frame:
    """From the blank to the bed with the sheet flat on the die: x to the right from the line's left end, y to the
    back, z up."""
    operation = step.operation
    (dx, dy), up = operation.along, 1.0 if step.marked_up else -1.0
    back = -1.0 if step.parent_behind else 1.0
    x_way, y_way = (up * back * dx, up * back * dy), (-back * dy, back * dx)
    ends = [end for zone in operation.zones for end in zone.line_mm]
    left_mm = min(x * x_way[0] + y * x_way[1] for x, y in ends)
    on_mm = ends[0][0] * y_way[0] + ends[0][1] * y_way[1]
    rotation = ((*x_way, 0.0), (*y_way, 0.0), (0.0, 0.0, up))
    return Frame(rotation, (-left_mm, -on_mm, thickness_mm / 2))


def _centre_mm(blank: PanelBlank, step: PanelStep) -> float:
    """How high the centre of the bend's arc stands above the die's top: its outer face is tangent to the shoulders.

    (r + t + rd - (V/2) sin h) / cos h - rd with h half the turn (plane geometry).
    """
    zone, die = _zone(blank, step), step.mounting.pair.tools.die
    half = math.radians(zone.turn_deg) / 2
    reach_mm = zone.inside_radius_mm + blank.thickness_mm
    vee = vee_of_die(die.outline_mm) if die is not None and die.kind == "vee" else None
    if vee is None:
        return reach_mm
    shoulder_mm = vee.shoulder_radius_mm
    return (reach_mm + shoulder_mm - vee.opening_mm / 2 * math.sin(half)) / math.cos(half) - shoulder_mm


def _nose_mm(blank: PanelBlank, keyed: SetupStep, step: PanelStep) -> float:
    """How high the punch nose stands at the bottom of the stroke."""
    if keyed.hit == "flatten":
        return 2 * (blank.thickness_mm + _zone(blank, step).inside_radius_mm)
    if keyed.hit == "offset":
        return blank.thickness_mm - _step_mm(step)
    shown = _pre_bent(blank, step, 180.0 - keyed.finished_deg) if keyed.hit == "pre-bend" else blank
    return _centre_mm(shown, step) - _zone(shown, step).inside_radius_mm


def rows_of_tools(step: PanelStep, nose_mm: float, shown_mm: tuple[float, float]) -> Iterator[draw.SpaceBody]:
    """The punch and the die, segment by segment; over the reach of an ear only its foot stands."""
    tools = step.mounting.pair.tools
    if tools.punch is not None:
        outline = tools.punch.outline_mm.turned() if step.mounting.turned else tools.punch.outline_mm
        foot_mm = tools.punch.ear_foot_mm
        for from_mm, to_mm, is_foot in stretches(step.punch):
            high_mm = foot_mm if is_foot and foot_mm is not None else PUNCH_MM
            yield _bar(_cut(outline, -FAR_MM, high_mm), from_mm, to_mm, nose_mm, "grey")
    if tools.die is not None:
        # An offset pair is turned as a pair.
        turned = step.mounting.turned and tools.kind == "offset"
        die = tools.die.outline_mm.turned() if turned else tools.die.outline_mm
        for from_mm, to_mm, _ in stretches(step.die):
            low_mm, high_mm = max(from_mm, shown_mm[0]), min(to_mm, shown_mm[1])
            if low_mm < high_mm:
                yield _bar(_cut(die, -DIE_MM, FAR_MM), low_mm, high_mm, 0.0, "pale")


def stretches(placed: Placed) -> Iterator[tuple[float, float, bool]]:
    """From where to where each segment stands, an ear in two: its foot alone at its outer end."""
    row = placed.row
    for segment, (from_mm, to_mm) in zip(row.segments, placed.segments_mm, strict=True):
        reach_mm = min(row.ear_reach_mm, segment.length_mm)
        if segment.ear == "left" and reach_mm:
            yield from_mm, from_mm + reach_mm, True
            yield from_mm + reach_mm, to_mm, False
        elif segment.ear == "right" and reach_mm:
            yield from_mm, to_mm - reach_mm, False
            yield to_mm - reach_mm, to_mm, True
        else:
            yield from_mm, to_mm, False


def _cut(outline: Outline, low_mm: float, high_mm: float) -> tuple[Point, ...]:
    """An outline between two heights."""
    points = [(float(across), float(up)) for across, up in outline.drawn_mm(CHORD_MM)]
    return draw.cut_to(points, draw.Box(-FAR_MM, low_mm, FAR_MM, high_mm))


def _bar(outline: Sequence[Point], from_mm: float, to_mm: float, up_mm: float, fill: draw.Fill) -> draw.SpaceBody:
    """An outline (toward the operator, up) along the bed."""
    ring = [(-across, up + up_mm) for across, up in reversed(outline)]
    return draw.SpaceBody(bar_facets(ring, from_mm, to_mm), fill)


def fingers_of(keyed: SetupStep, machine: Machine) -> Iterator[draw.SpaceBody]:
    """The fingers of the backgauge where they stand, and the side stop in front."""
    gauged = panel_step(keyed.planned).gauged
    if gauged is not None and gauged.side is not None and machine.side_stop is not None:
        (near, far), (low, high) = machine.side_stop.front_mm, machine.side_stop.up_mm
        at_mm, wide_mm = gauged.side.at_mm, machine.side_stop.wide_mm
        ends = (at_mm - wide_mm, at_mm) if gauged.side.side == "left" else (at_mm, at_mm + wide_mm)
        yield _bar([(near, low), (far, low), (far, high), (near, high)], *ends, 0.0, "pale")
    stops, half_mm = keyed.stops, machine.finger_width_mm / 2
    if stops.x_mm is None or stops.r_mm is None:
        return
    drawn = machine.finger_outline_mm.drawn_mm(CHORD_MM)
    outline = [(float(across) - stops.x_mm, float(up) + stops.r_mm) for across, up in drawn]
    for z_mm in stops.z_mm:
        at_mm = z_mm - keyed.part_from_mm
        yield _bar(outline, at_mm - half_mm, at_mm + half_mm, 0.0, "pale")
