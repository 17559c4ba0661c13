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
from flangewise.part import Part
from flangewise.pattern import FlatHole, FlatPattern
from flangewise.sheet.data import Point, SheetData, SheetStep
from flangewise.sheet.label_room import with_room_for_labels
from flangewise.sheet.loading_view import BAND_MM, FINGER_MM, LoadingView, loading_view, rim_of, stretches
from flangewise.sheet.top_view import LineSeen, edges_seen, hole_seen, lines_seen, reach, start_across
from flangewise.sheet.wording import Wording

WORD_MM = 4.0
NOTE_MM = 3.2
SIDE_MM = 27.0
"""Room left and right of the part for its dimensions and labels."""


def blank_picture(
    sheet: SheetData,
    step: SheetStep,
    wording: Wording,
    *,
    width_mm: float = 178.0,
    height_mm: float = 80.0,
    sized: bool = True,
) -> Drawing:
    """How the part is laid for one step. `sized` adds the blank's own sizes, for the first picture of a sheet."""
    return with_room_for_labels(partial(_build, sheet, step, wording, width_mm, height_mm, sized))


def _build(
    sheet: SheetData,
    step: SheetStep,
    wording: Wording,
    width_mm: float,
    height_mm: float,
    sized: bool,
    growth_mm: float,
) -> tuple[Drawing, list[Label]]:
    part, pattern = sheet.part, sheet.pattern
    described = wording.word("alt.blank", step=step.keyed.step, face=wording.word(f"face-{step.keyed.marked_face}"))
    room = Box(0.0, BAND_MM - 0.5, width_mm, height_mm + growth_mm - BAND_MM + 0.5)
    drawing = Drawing(width_mm, height_mm + growth_mm, described=described, labels_in=room)
    view = loading_view(
        pattern, step, Box(SIDE_MM, 0.0, width_mm - SIDE_MM, height_mm), growth_mm=growth_mm, sized=sized
    )
    drawing = drawing.adding(_viewpoint(drawing, wording))
    rims = list(_rims(view, pattern, step))
    drawing = drawing.adding([*_part(view, step), *(Line(rim, THIN, closed=True) for _, rim in rims)])
    seen = lines_seen(pattern, step)
    drawing = drawing.adding(_bend_lines(view, seen)).adding(_fingers(view, step)).adding(_triangle(view, step))
    grain, grain_labels = _grain(view, step, part, wording)
    sizes = [*_stop_size(view, step, wording), *(_sizes(view, step, pattern, wording) if sized else ())]
    drawing = drawing.adding([*grain, *(line for size in sizes for line in size[0])])
    labels = [
        *_face_labels(view, step, part, wording),
        *(size[1] for size in sizes),
        *_line_labels(view, seen, step, wording),
        *_finger_labels(view, step, wording),
        *grain_labels,
        *(_hole_label(hole, rim) for hole, rim in rims),
        _datum_label(view, step, wording),
    ]
    return drawing, labels


def _viewpoint(drawing: Drawing, wording: Wording) -> Iterator[Text]:
    middle = drawing.width_mm / 2
    yield Text((middle, 4.2), wording.word("backgauge"), WORD_MM, True, "middle")
    yield Text((middle, drawing.height_mm - 1.6), wording.word("operator"), WORD_MM, True, "middle")


def _part(view: LoadingView, step: SheetStep) -> Iterator[Line]:
    """Outline with its breaks, and the edges that show on the formed part."""
    first, last = reach(step.before.outline_mm)
    columns, rows = stretches(view.along, view.left_mm), stretches(view.across, view.top_mm)
    levels = [(view.y(first), MEDIUM), (view.y(last), MEDIUM), (view.y(step.rear_mm), BOLD)]
    levels += [(view.y(across_mm), THIN) for across_mm in edges_seen(step.before.outline_mm)]
    for left, right in columns:
        yield from (Line(((left, level), (right, level)), pen) for level, pen in levels)
    for top, bottom in rows:
        upper, lower = max(top, view.y(first)), min(bottom, view.y(last))
        yield from (Line(((edge, upper), (edge, lower)), MEDIUM) for edge in (columns[0][0], columns[-1][1]))
    ends = (view.y(first) - 1.5, view.y(last) + 1.5)
    for (_, left), (right, _) in pairwise(columns):
        yield from (zigzag((edge, ends[0]), (edge, ends[1])) for edge in (left, right))
    for (_, top), (bottom, _) in pairwise(rows):
        yield from (zigzag((columns[0][0] - 1.5, edge), (columns[-1][1] + 1.5, edge)) for edge in (top, bottom))


def _bend_lines(view: LoadingView, seen: tuple[LineSeen, ...]) -> Iterator[Line]:
    """The line to bend: thick, past both edges. Those to come: thin dashes. Formed ones are edges already."""
    left, right = view.bed_x(0.0), view.bed_x(view.length_mm)
    for each in seen:
        level = view.y(each.across_mm)
        if each.state == "active":
            yield Line(((left - 4.0, level), (right + 4.0, level)), BOLD)
        elif each.state == "later":
            yield Line(((left, level), (right, level)), DASHED)


def _rims(view: LoadingView, pattern: FlatPattern, step: SheetStep) -> Iterator[tuple[FlatHole, tuple[Point, ...]]]:
    """The holes that show, each with its rim on paper."""
    for hole in pattern.holes:
        rim = hole_seen(hole, step, points=rim_of(hole), thickness_mm=pattern.thickness_mm)
        if rim is not None:
            yield hole, tuple(view.spot(*spot) for spot in rim)


def hole_name(hole: FlatHole) -> str:
    """Holes go by letters, so that they are not taken for bends: A, B, ... Z, A2, B2 ..."""
    turn, letter = divmod(hole.number - 1, 26)
    return chr(ord("A") + letter) + (str(turn + 1) if turn else "")


def _hole_label(hole: FlatHole, rim: tuple[Point, ...]) -> Label:
    box = bounds(rim)
    return Label((hole_name(hole),), (box.right_mm, box.centre_mm[1]), NOTE_MM, True, (RIGHT, ABOVE, LEFT))


def _fingers(view: LoadingView, step: SheetStep) -> Iterator[Line]:
    """The stop fingers, their front on the gauged edge; crossed, so that no word stands in them."""
    wide, high = FINGER_MM
    for x, y in _finger_spots(view, step):
        corners = Box(x - wide / 2, y - high, x + wide / 2, y - 0.4).corners_mm
        yield Line(corners, MEDIUM, closed=True)
        yield from (Line((corners[start], corners[start + 2]), THIN) for start in (0, 1))


def _finger_spots(view: LoadingView, step: SheetStep) -> list[Point]:
    level = view.y(step.rear_mm)
    return [
        (view.bed_x(min(max(z - step.keyed.part_from_mm, 0.0), view.length_mm)), level) for z in step.keyed.stops.z_mm
    ]


def _finger_labels(view: LoadingView, step: SheetStep, wording: Wording) -> Iterator[Label]:
    for place, (z, (x, y)) in enumerate(zip(step.keyed.stops.z_mm, _finger_spots(view, step), strict=True), start=1):
        words = wording.word("picture.finger", number=place, at=wording.stop(z))
        yield Label((words,), (x, y - FINGER_MM[1]), NOTE_MM, prefer=(ABOVE, RIGHT, LEFT))


def _triangle(view: LoadingView, step: SheetStep) -> Iterator[Line]:
    x, y = _datum_corner(view, step)
    middle = view.bed_x(view.length_mm / 2)
    inward = (1.0 if x < middle else -1.0, 1.0 if step.start_at == "backgauge" else -1.0)
    size_mm = min(5.0, 0.35 * view.across.length_mm, 0.35 * view.along.length_mm)
    yield datum((x, y), inward, leg_mm=size_mm)


def _datum_corner(view: LoadingView, step: SheetStep) -> Point:
    return view.spot(0.0, start_across(step.before))


def _datum_label(view: LoadingView, step: SheetStep, wording: Wording) -> Label:
    x, y = _datum_corner(view, step)
    side = LEFT if x < view.bed_x(view.length_mm / 2) else RIGHT
    return Label((wording.word("picture.datum"),), (x, y), NOTE_MM, prefer=(side, ABOVE, BELOW))


def _face_labels(view: LoadingView, step: SheetStep, part: Part, wording: Wording) -> Iterator[Label]:
    """What to see on the upper face, in words, in the middle of the part or beside it."""
    first, last = reach(step.before.outline_mm)
    middle = (view.bed_x(view.length_mm / 2), view.spot(0, (first + last) / 2)[1])
    marked_up = step.keyed.marked_face == "up"
    notes = []
    if part.burr != "unknown":
        notes.append(wording.word("burr-up" if (part.burr == "marked") == marked_up else "burr-down"))
    if part.film == "both":
        notes.append(wording.word("film-both"))
    elif part.film != "none":
        notes.append(wording.word("film-up" if (part.film == "marked") == marked_up else "film-down"))
    face = wording.word(f"face-{step.keyed.marked_face}")
    yield Label((face,), middle, WORD_MM, True, gap_mm=0.0, led=False)
    if notes:
        yield Label((", ".join(notes),), middle, NOTE_MM, True, gap_mm=0.0, led=False)


def _grain(view: LoadingView, step: SheetStep, part: Part, wording: Wording) -> tuple[tuple[Line, ...], list[Label]]:
    """A two-headed arrow: single heads are for motion only."""
    if part.grain == "any":
        return (), []
    first, last = reach(step.before.outline_mm)
    upper, lower = view.y(first), view.y(last)
    left, right = view.bed_x(0.0), view.bed_x(view.length_mm)
    if part.grain == "along":
        start, end = (right - min(20.0, (right - left) * 0.3) - 3, lower - 3.0), (right - 3, lower - 3.0)
    else:
        half_mm = min(9.0, (lower - upper) * 0.3)
        middle = (upper + lower) / 2
        start, end = (right - 4.0, middle - half_mm), (right - 4.0, middle + half_mm)
    spot = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    words = Label((wording.word("grain"),), spot, NOTE_MM, True, (ABOVE, LEFT, BELOW, RIGHT))
    return arrow(start, end, pen=MEDIUM, both=True), [words]


def _line_labels(view: LoadingView, seen: tuple[LineSeen, ...], step: SheetStep, wording: Wording) -> Iterator[Label]:
    right = view.bed_x(view.length_mm)
    for each in seen:
        level = view.y(each.across_mm)
        if each.state == "active":
            yield Label((each.label,), (right + 4.0, level), 5.0, True, (RIGHT, ABOVE, BELOW))
        elif each.state == "later":
            yield Label((each.label,), (right, level), NOTE_MM, False, (RIGHT,))
        else:
            words = wording.word("picture.formed-up" if each.upward else "picture.formed-down", bend=each.label)
            yield Label((words,), (right, level), NOTE_MM, False, (RIGHT,))


def _stop_size(view: LoadingView, step: SheetStep, wording: Wording) -> Iterator[tuple[tuple[Line, ...], Label]]:
    """From the gauged edge to the bend line: what X is."""
    x_mm = step.keyed.stops.x_mm
    if x_mm is None:
        return
    left = view.bed_x(0.0) - 1.0
    stop, centre = view.y(step.rear_mm), view.y(0.0)
    size = linear((left, centre), (left, stop), off_mm=5.0, words=f"X {wording.stop(x_mm)}")
    yield size.lines, Label(size.label.lines, size.label.at_mm, 3.6, True, (LEFT, RIGHT))


def _sizes(
    view: LoadingView, step: SheetStep, pattern: FlatPattern, wording: Wording
) -> Iterator[tuple[tuple[Line, ...], Label]]:
    first, last = reach(step.before.outline_mm)
    left, right = view.bed_x(0.0), view.bed_x(view.length_mm)
    upper, lower = view.y(first), view.y(last)
    along = linear((left, lower), (right, lower), off_mm=-7.0, words=wording.size(pattern.along_bends_mm))
    yield along.lines, along.label
    words = wording.size(pattern.developed_mm)
    off_mm = SIDE_MM - text_width_mm(words, 3.5) - 3.0
    developed = linear((right + 5.0, lower), (right + 5.0, upper), off_mm=-max(off_mm - 5.0, 5.0), words=words)
    yield developed.lines, developed.label
