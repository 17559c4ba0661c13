"""The loading picture: the part on the die from the operator's eye, BACKGAUGE above, OPERATOR below.

One is drawn for every new way of laying the part, never turned to fit the page. The datum triangle stays on the same
corner of the part in all of them. Source: common practice.
"""

from collections.abc import Iterator
from functools import partial
from itertools import pairwise

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
    Text,
    arrow,
    bounds,
    datum,
    linear,
    text_width_mm,
    zigzag,
)
from flangewise.sheet.data import Blank, Hole, MaterialCheck, Point, Step
from flangewise.sheet.lay import BAND_MM, FINGER_MM, Lay, laid, rim_of, stretches
from flangewise.sheet.settle import settled
from flangewise.sheet.top_view import LineSeen, edges_seen, hole_seen, lines_seen, reach, start_across
from flangewise.sheet.voice import Voice

WORD_MM = 4.0
NOTE_MM = 3.2
SIDE_MM = 27.0
"""Room left and right of the part for its dimensions and labels."""


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
    room = Box(0.0, BAND_MM - 0.5, width_mm, height_mm + growth_mm - BAND_MM + 0.5)
    drawing = Drawing(width_mm, height_mm + growth_mm, described=described, labels_in=room)
    lay = laid(blank, step, Box(SIDE_MM, 0.0, width_mm - SIDE_MM, height_mm), growth_mm=growth_mm, sized=sized)
    drawing = drawing.adding(_viewpoint(drawing, voice))
    drawing = drawing.adding([*_part(lay, step), *_holes(lay, blank, step, material)])
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


def _viewpoint(drawing: Drawing, voice: Voice) -> Iterator[Text]:
    middle = drawing.width_mm / 2
    yield Text((middle, 4.2), voice.word("backgauge"), WORD_MM, True, "middle")
    yield Text((middle, drawing.height_mm - 1.6), voice.word("operator"), WORD_MM, True, "middle")


def _part(lay: Lay, step: Step) -> Iterator[Line]:
    """Outline with its breaks, and the edges that show on the formed part."""
    first, last = reach(step.before.outline_mm)
    columns, rows = stretches(lay.along, lay.left_mm), stretches(lay.across, lay.top_mm)
    levels = [(lay.y(first), MEDIUM), (lay.y(last), MEDIUM), (lay.y(step.rear_mm), BOLD)]
    levels += [(lay.y(across_mm), THIN) for across_mm in edges_seen(step.before.outline_mm)]
    for left, right in columns:
        yield from (Line(((left, level), (right, level)), pen) for level, pen in levels)
    for top, bottom in rows:
        upper, lower = max(top, lay.y(first)), min(bottom, lay.y(last))
        yield from (Line(((edge, upper), (edge, lower)), MEDIUM) for edge in (columns[0][0], columns[-1][1]))
    ends = (lay.y(first) - 1.5, lay.y(last) + 1.5)
    for (_, left), (right, _) in pairwise(columns):
        yield from (zigzag((edge, ends[0]), (edge, ends[1])) for edge in (left, right))
    for (_, top), (bottom, _) in pairwise(rows):
        yield from (zigzag((columns[0][0] - 1.5, edge), (columns[-1][1] + 1.5, edge)) for edge in (top, bottom))


def _bend_lines(lay: Lay, seen: tuple[LineSeen, ...]) -> Iterator[Line]:
    """The line to bend: thick, past both edges. Those to come: thin dashes. Formed ones are edges already."""
    left, right = lay.bed_x(0.0), lay.bed_x(lay.length_mm)
    for each in seen:
        level = lay.y(each.across_mm)
        if each.state == "active":
            yield Line(((left - 4.0, level), (right + 4.0, level)), BOLD)
        elif each.state == "later":
            yield Line(((left, level), (right, level)), DASHED)


def _holes(lay: Lay, blank: Blank, step: Step, material: MaterialCheck) -> Iterator[Line]:
    for hole in blank.holes:
        rim = hole_seen(hole, step, points=rim_of(hole), thickness_mm=material.thickness_mm)
        if rim is not None:
            yield Line(tuple(lay.spot(*spot) for spot in rim), THIN, closed=True)


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
    level = lay.y(step.rear_mm)
    return [(lay.bed_x(min(max(z - step.part_from_mm, 0.0), lay.length_mm)), level) for z in step.z_mm]


def _finger_labels(lay: Lay, step: Step, voice: Voice) -> Iterator[Label]:
    for place, (z, (x, y)) in enumerate(zip(step.z_mm, _finger_spots(lay, step), strict=True), start=1):
        words = voice.word("picture.finger", number=place, at=voice.stop(z))
        yield Label((words,), (x, y - FINGER_MM[1]), NOTE_MM, prefer=(ABOVE, RIGHT, LEFT))


def _triangle(lay: Lay, step: Step) -> Iterator[Line]:
    x, y = _datum_corner(lay, step)
    middle = lay.bed_x(lay.length_mm / 2)
    inward = (1.0 if x < middle else -1.0, 1.0 if step.start_at == "backgauge" else -1.0)
    size_mm = min(5.0, 0.35 * lay.across.length_mm, 0.35 * lay.along.length_mm)
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
    upper, lower = lay.y(first), lay.y(last)
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
        level = lay.y(each.across_mm)
        if each.state == "active":
            yield Label((each.label,), (right + 4.0, level), 5.0, True, (RIGHT, ABOVE, BELOW))
        elif each.state == "later":
            yield Label((each.label,), (right, level), NOTE_MM, False, (RIGHT,))
        else:
            words = voice.word("picture.formed-up" if each.upward else "picture.formed-down", bend=each.label)
            yield Label((words,), (right, level), NOTE_MM, False, (RIGHT,))


def _stop_size(lay: Lay, step: Step, voice: Voice) -> Iterator[tuple[tuple[Line, ...], Label]]:
    """From the gauged edge to the bend line: what X is."""
    if step.x_mm is None:
        return
    left = lay.bed_x(0.0) - 1.0
    stop, centre = lay.y(step.rear_mm), lay.y(0.0)
    size = linear((left, centre), (left, stop), off_mm=5.0, words=f"X {voice.stop(step.x_mm)}")
    yield size.lines, Label(size.label.lines, size.label.at_mm, 3.6, True, (LEFT, RIGHT))


def _sizes(lay: Lay, step: Step, blank: Blank, voice: Voice) -> Iterator[tuple[tuple[Line, ...], Label]]:
    first, last = reach(step.before.outline_mm)
    left, right = lay.bed_x(0.0), lay.bed_x(lay.length_mm)
    upper, lower = lay.y(first), lay.y(last)
    along = linear((left, lower), (right, lower), off_mm=-7.0, words=voice.size(blank.along_mm))
    yield along.lines, along.label
    words = voice.size(blank.developed_mm)
    off_mm = SIDE_MM - text_width_mm(words, 3.5) - 3.0
    developed = linear((right + 5.0, lower), (right + 5.0, upper), off_mm=-max(off_mm - 5.0, 5.0), words=words)
    yield developed.lines, developed.label
