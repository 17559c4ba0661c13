"""The loading picture: the part on the die from the operator's eye, BACKGAUGE above, OPERATOR below.

One is drawn for every new way of laying the part, never turned to fit the page. The datum triangle stays on the same
corner of the part in all of them. Source: common practice.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

from flangewise.drawing import (
    ABOVE,
    BELOW,
    BOLD,
    DASHED,
    LEFT,
    MEDIUM,
    RIGHT,
    THIN,
    Box,
    Drawing,
    Label,
    Line,
    Ruler,
    Text,
    arc_points,
    arrow,
    bounds,
    datum,
    linear,
    ruler,
    scale_for,
    text_width_mm,
    zigzag,
)
from flangewise.drawing import SCALES as ROUND_SCALES
from flangewise.sheet.data import Blank, Hole, MaterialCheck, Point, Step
from flangewise.sheet.settle import settled
from flangewise.sheet.top_view import LineSeen, edges_seen, flipped, hole_seen, lines_seen, reach, start_across
from flangewise.sheet.voice import Voice

WORD_MM = 4.0
NOTE_MM = 3.2
BAND_MM = 6.0
"""Height of the strips for the words BACKGAUGE and OPERATOR."""
FINGER_MM = (6.0, 7.0)
SIDE_MM = 27.0
"""Room left and right of the part for its dimensions and labels."""
BROAD_MM = 26.0
"""A part drawn less deep than this is drawn larger and broken along the bed instead."""


@dataclass(frozen=True)
class Lay:
    """The part laid on paper: the ruler along the bed, the scale, and where the die's centre line runs."""

    along: Ruler
    left_mm: float
    centre_mm: float
    length_mm: float
    mirrored: bool

    def spot(self, along_mm: float, across_mm: float) -> Point:
        """Paper of a place on the part: along from the part's own left, across toward the operator."""
        return self.x(along_mm), self.centre_mm + across_mm * self.along.scale

    def x(self, along_mm: float) -> float:
        """Paper of a place along the part, from the part's own left."""
        return self.bed_x(self.length_mm - along_mm if self.mirrored else along_mm)

    def bed_x(self, from_left_mm: float) -> float:
        """Paper of a place along the bed, from the part's left end as it lies."""
        return self.left_mm + self.along.paper_mm(from_left_mm)


def blank_picture(
    blank: Blank,
    step: Step,
    material: MaterialCheck,
    voice: Voice,
    *,
    width_mm: float = 178.0,
    height_mm: float = 80.0,
    sized: bool = True,
) -> Drawing:
    """How the part is laid for one step. `sized` adds the blank's own sizes, for the first picture of a sheet."""
    return settled(partial(_build, blank, step, material, voice, width_mm, height_mm, sized))


def _build(
    blank: Blank,
    step: Step,
    material: MaterialCheck,
    voice: Voice,
    width_mm: float,
    height_mm: float,
    sized: bool,
    growth_mm: float,
) -> tuple[Drawing, list[Label]]:
    described = voice.word("alt.blank", step=step.number, face=voice.word(f"face-{step.marked_face}"))
    drawing = Drawing(width_mm, height_mm + growth_mm, described=described)
    lay = _lay(blank, step, Box(SIDE_MM, 0.0, width_mm - SIDE_MM, height_mm), growth_mm=growth_mm, sized=sized)
    drawing = drawing.adding(_viewpoint(drawing, voice))
    drawing = drawing.adding([*_part(lay, step, material.thickness_mm), *_holes(lay, blank, step, material)])
    seen = lines_seen(blank, step)
    drawing = drawing.adding(_bend_lines(lay, seen)).adding(_fingers(lay, step)).adding(_triangle(lay, step))
    grain, grain_labels = _grain(lay, step, material, voice)
    sizes = [*_stop_size(lay, step, voice), *(_sizes(lay, step, blank, voice) if sized else ())]
    drawing = drawing.adding([*grain, *(line for size in sizes for line in size[0])])
    labels = [
        *_face_labels(lay, step, material, voice),
        *(size[1] for size in sizes),
        *_line_labels(lay, seen, step, voice),
    ]
    labels += [
        *_finger_labels(lay, step, voice),
        *grain_labels,
        *_hole_labels(lay, blank, step, material),
        _datum_label(lay, step, voice),
    ]
    return drawing, labels


def _lay(blank: Blank, step: Step, room: Box, *, growth_mm: float, sized: bool) -> Lay:
    """Scale and place: the whole part if that leaves it broad enough to read, else broken along the bed."""
    first, last = reach(step.before.outline_mm)
    first = min(first, -step.x_mm)
    high_mm = room.height_mm - 2 * BAND_MM - FINGER_MM[1] - (15.0 if sized else 9.0)
    most = scale_for(max(last - first, 1.0), high_mm)
    whole = min(most, scale_for(blank.along_mm, room.width_mm))
    along = ruler(blank.along_mm, room.width_mm, scale=whole)
    if (last - first) * whole < BROAD_MM:
        along = _broken(blank, step, room.width_mm, whole=whole, most=most) or along
    assert along is not None
    top_mm = BAND_MM + FINGER_MM[1] + 4.0 + growth_mm / 2
    spare_mm = max(0.0, high_mm - (last - first) * along.scale)
    left_mm = room.left_mm + (room.width_mm - along.length_mm) / 2
    return Lay(along, left_mm, top_mm + spare_mm / 2 - first * along.scale, blank.along_mm, flipped(step))


def _broken(blank: Blank, step: Step, room_mm: float, *, whole: float, most: float) -> Ruler | None:
    """The part broken at the largest scale up to `most` at which all that stands on it is still whole."""
    keep = []
    for hole in blank.holes:
        half_mm = (hole.diameter_mm or (hole.size_mm or (0.0, 0.0))[0]) / 2
        at_mm = blank.along_mm - hole.centre_mm[0] if flipped(step) else hole.centre_mm[0]
        keep.append((at_mm - half_mm - 2, at_mm + half_mm + 2))
    keep += [(z - step.part_from_mm - 6, z - step.part_from_mm + 6) for z in step.z_mm]
    first, last = reach(step.before.outline_mm)
    enough = BROAD_MM * 1.3 / (last - first)
    for scale in sorted((scale for scale in ROUND_SCALES if whole < scale <= min(most, enough)), reverse=True):
        found = ruler(blank.along_mm, room_mm, scale=scale, keep=keep)
        if found is not None:
            return found
    return None


def _viewpoint(drawing: Drawing, voice: Voice) -> Iterator[Text]:
    middle = drawing.width_mm / 2
    yield Text((middle, 4.2), voice.word("backgauge"), WORD_MM, True, "middle")
    yield Text((middle, drawing.height_mm - 1.6), voice.word("operator"), WORD_MM, True, "middle")


def _part(lay: Lay, step: Step, thickness_mm: float) -> Iterator[Line]:
    """Outline with its breaks, and the edges that show on the formed part."""
    first, last = reach(step.before.outline_mm)
    ends = (
        lay.bed_x(0.0),
        *(edge for gap in lay.along.breaks_mm() for edge in (lay.left_mm + gap[0], lay.left_mm + gap[1])),
    )
    ends = (*ends, lay.bed_x(lay.length_mm))
    top, bottom = lay.spot(0, first)[1], lay.spot(0, last)[1]
    for left, right in zip(ends[::2], ends[1::2], strict=True):
        yield Line(((left, top), (right, top)), MEDIUM)
        yield Line(((left, bottom), (right, bottom)), MEDIUM)
        for across_mm in edges_seen(step.before.outline_mm):
            level = lay.spot(0, across_mm)[1]
            yield Line(((left, level), (right, level)), THIN)
    for edge in (ends[0], ends[-1]):
        yield Line(((edge, top), (edge, bottom)), MEDIUM)
    for edge in ends[1:-1]:
        yield zigzag((edge, top - 1.5), (edge, bottom + 1.5))
    stop = lay.spot(0, -step.x_mm)[1]
    yield from (Line(((left, stop), (right, stop)), BOLD) for left, right in zip(ends[::2], ends[1::2], strict=True))


def _bend_lines(lay: Lay, seen: tuple[LineSeen, ...]) -> Iterator[Line]:
    """The line to bend: thick, past both edges. Those to come: thin dashes. Formed ones are edges already."""
    left, right = lay.bed_x(0.0), lay.bed_x(lay.length_mm)
    for each in seen:
        level = lay.spot(0, each.across_mm)[1]
        if each.state == "active":
            yield Line(((left - 4.0, level), (right + 4.0, level)), BOLD)
        elif each.state == "later":
            yield Line(((left, level), (right, level)), DASHED)


def _holes(lay: Lay, blank: Blank, step: Step, material: MaterialCheck) -> Iterator[Line]:
    for hole in blank.holes:
        rim = hole_seen(hole, step, points=rim_of(hole), thickness_mm=material.thickness_mm)
        if rim is not None:
            yield Line(tuple(lay.spot(*spot) for spot in rim), THIN, closed=True)


def rim_of(hole: Hole) -> tuple[Point, ...]:
    """Points round a hole on the blank, (along, developed)."""
    along, developed = hole.centre_mm
    if hole.size_mm is not None:
        half = (hole.size_mm[0] / 2, hole.size_mm[1] / 2)
        signs = ((-1, -1), (1, -1), (1, 1), (-1, 1))
        return tuple((along + a * half[0], developed + d * half[1]) for a, d in signs)
    return arc_points(hole.centre_mm, (hole.diameter_mm or 0.0) / 2, from_deg=0, to_deg=360, chord_mm=0.05)[:-1]


def hole_name(hole: Hole) -> str:
    """Holes go by letters, so that they are not taken for bends: A, B, ... Z, A2, B2 ..."""
    turn, letter = divmod(hole.number - 1, 26)
    return chr(ord("A") + letter) + (str(turn + 1) if turn else "")


def _hole_labels(lay: Lay, blank: Blank, step: Step, material: MaterialCheck) -> Iterator[Label]:
    for hole in blank.holes:
        rim = hole_seen(hole, step, points=rim_of(hole), thickness_mm=material.thickness_mm)
        if rim is not None:
            box = bounds([lay.spot(*spot) for spot in rim])
            yield Label((hole_name(hole),), (box.right_mm, box.centre_mm[1]), NOTE_MM, True, (RIGHT, ABOVE, LEFT))


def _fingers(lay: Lay, step: Step) -> Iterator[Line]:
    """The stop fingers, their front on the gauged edge; crossed, so that no word stands in them."""
    wide, high = FINGER_MM
    for x, y in _finger_spots(lay, step):
        corners = ((x - wide / 2, y - high), (x + wide / 2, y - high), (x + wide / 2, y - 0.4), (x - wide / 2, y - 0.4))
        yield Line(corners, MEDIUM, closed=True)
        yield from (Line((corners[start], corners[start + 2]), THIN) for start in (0, 1))


def _finger_spots(lay: Lay, step: Step) -> list[Point]:
    level = lay.spot(0, -step.x_mm)[1]
    return [(lay.bed_x(min(max(z - step.part_from_mm, 0.0), lay.length_mm)), level) for z in step.z_mm]


def _finger_labels(lay: Lay, step: Step, voice: Voice) -> Iterator[Label]:
    for place, (z, (x, y)) in enumerate(zip(step.z_mm, _finger_spots(lay, step), strict=True), start=1):
        words = voice.word("picture.finger", number=place, at=voice.stop(z))
        yield Label((words,), (x, y - FINGER_MM[1]), NOTE_MM, prefer=(ABOVE, RIGHT, LEFT))


def _triangle(lay: Lay, step: Step) -> Iterator[Line]:
    x, y = _datum_corner(lay, step)
    middle = lay.bed_x(lay.length_mm / 2)
    first, last = reach(step.before.outline_mm)
    inward = (1.0 if x < middle else -1.0, 1.0 if step.start_at == "backgauge" else -1.0)
    size_mm = min(5.0, 0.35 * (last - first) * lay.along.scale, 0.35 * lay.along.length_mm)
    yield datum((x, y), inward, leg_mm=size_mm)


def _datum_corner(lay: Lay, step: Step) -> Point:
    return lay.spot(0.0, start_across(step.before))


def _datum_label(lay: Lay, step: Step, voice: Voice) -> Label:
    x, y = _datum_corner(lay, step)
    side = LEFT if x < lay.bed_x(lay.length_mm / 2) else RIGHT
    return Label((voice.word("picture.datum"),), (x, y), NOTE_MM, prefer=(side, ABOVE, BELOW))


def _face_labels(lay: Lay, step: Step, material: MaterialCheck, voice: Voice) -> Iterator[Label]:
    """What to see on the upper face, in words, in the middle of the part or beside it."""
    first, last = reach(step.before.outline_mm)
    middle = (lay.bed_x(lay.length_mm / 2), lay.spot(0, (first + last) / 2)[1])
    marked_up = step.marked_face == "up"
    notes = []
    if material.burr != "unknown":
        notes.append(voice.word("burr-up" if (material.burr == "marked") == marked_up else "burr-down"))
    if material.film == "both":
        notes.append(voice.word("film-both"))
    elif material.film != "none":
        notes.append(voice.word("film-up" if (material.film == "marked") == marked_up else "film-down"))
    face = voice.word(f"face-{step.marked_face}")
    yield Label((face,), middle, WORD_MM, True, gap_mm=0.0, led=False)
    if notes:
        yield Label((", ".join(notes),), middle, NOTE_MM, True, gap_mm=0.0, led=False)


def _grain(lay: Lay, step: Step, material: MaterialCheck, voice: Voice) -> tuple[tuple[Line, ...], list[Label]]:
    """A two-headed arrow: single heads are for motion only."""
    if material.grain == "any":
        return (), []
    first, last = reach(step.before.outline_mm)
    upper, lower = lay.spot(0, first)[1], lay.spot(0, last)[1]
    left, right = lay.bed_x(0.0), lay.bed_x(lay.length_mm)
    if material.grain == "along":
        start, end = (right - min(20.0, (right - left) * 0.3) - 3, lower - 3.0), (right - 3, lower - 3.0)
    else:
        half_mm = min(9.0, (lower - upper) * 0.3)
        middle = (upper + lower) / 2
        start, end = (right - 4.0, middle - half_mm), (right - 4.0, middle + half_mm)
    spot = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    words = Label((voice.word("grain"),), spot, NOTE_MM, True, (ABOVE, LEFT, BELOW, RIGHT))
    return arrow(start, end, pen=MEDIUM, both=True), [words]


def _line_labels(lay: Lay, seen: tuple[LineSeen, ...], step: Step, voice: Voice) -> Iterator[Label]:
    right = lay.bed_x(lay.length_mm)
    for each in seen:
        level = lay.spot(0, each.across_mm)[1]
        if each.state == "active":
            yield Label((each.label,), (right + 4.0, level), 5.0, True, (RIGHT, ABOVE, BELOW))
        elif each.state == "later":
            yield Label((each.label,), (right, level), NOTE_MM, False, (RIGHT,))
        else:
            words = voice.word("picture.formed-up" if each.upward else "picture.formed-down", bend=each.label)
            yield Label((words,), (right, level), NOTE_MM, False, (RIGHT,))


def _stop_size(lay: Lay, step: Step, voice: Voice) -> Iterator[tuple[tuple[Line, ...], Label]]:
    """From the gauged edge to the bend line: what X is."""
    left = lay.bed_x(0.0) - 1.0
    stop, centre = lay.spot(0, -step.x_mm)[1], lay.centre_mm
    size = linear((left, centre), (left, stop), off_mm=5.0, words=f"X {voice.stop(step.x_mm)}")
    yield size.lines, Label(size.label.lines, size.label.at_mm, 3.6, True, (LEFT, RIGHT))


def _sizes(lay: Lay, step: Step, blank: Blank, voice: Voice) -> Iterator[tuple[tuple[Line, ...], Label]]:
    first, last = reach(step.before.outline_mm)
    left, right = lay.bed_x(0.0), lay.bed_x(lay.length_mm)
    upper, lower = lay.spot(0, first)[1], lay.spot(0, last)[1]
    along = linear((left, lower), (right, lower), off_mm=-7.0, words=voice.size(blank.along_mm))
    yield along.lines, along.label
    words = voice.size(blank.developed_mm)
    off_mm = SIDE_MM - text_width_mm(words, 3.5) - 3.0
    developed = linear((right + 5.0, lower), (right + 5.0, upper), off_mm=-max(off_mm - 5.0, 5.0), words=words)
    yield developed.lines, developed.label
