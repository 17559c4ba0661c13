"""The loading picture: the part on the die from the operator's eye, BACKGAUGE above, OPERATOR below.

One is drawn for every new way of laying the part, never turned to fit the page. The datum triangle stays on the same
corner of the part in all of them. Source: common practice.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

from flangewise import drawing as draw
from flangewise.part import Part
from flangewise.pattern import FlatHole
from flangewise.sheet import loading_view as loading
from flangewise.sheet.data import Point, SheetData, SheetStep
from flangewise.sheet.marks import bend_mark
from flangewise.sheet.wording import Wording

WORD_MM = 3.4
NOTE_MM = 3.2
SIZE_MM = 3.9
"""11 pt: what is keyed in or measured is read from a bench away."""
SIDE_MM = 21.0
"""Least room left and right of the part for its dimensions and labels."""
X_OFF_MM, SIZE_OFF_MM = 5.0, 11.0
"""How far from the part the line of X stands, and that of the size across the bends."""


@draw.within
def blank_picture(
    growth_mm: float,
    sheet: SheetData,
    step: SheetStep,
    wording: Wording,
    *,
    width_mm: float,
    height_mm: float,
    sized: bool = True,
) -> draw.Built:
    """How the part is laid for one step, in a given room. `sized` adds the blank's own sizes."""
    high_mm = height_mm + growth_mm
    described = wording.word("alt.blank", step=step.keyed.step, face=wording.word(f"face-{step.keyed.marked_face}"))
    drawing = draw.Drawing(width_mm, high_mm, described=described)
    left_mm, right_mm = _sides(sheet, step, wording, sized=sized)
    inner = draw.Box(left_mm, 0.0, width_mm - right_mm, height_mm)
    view = loading.loading_view(sheet.pattern, step, inner, growth_mm=growth_mm, sized=sized)
    seen, rims = loading.lines_seen(sheet.pattern, step), list(_rims(view))
    grain, grain_label = _grain(view, sheet.part, wording)
    fingers, finger_labels = _fingers(view, wording)
    triangle, datum_label = _datum(view, wording)
    sizes = list(_sizes(view, wording, sized=sized))
    views = (("backgauge", (width_mm / 2, 3.2)), ("operator", (width_mm / 2, high_mm - 1.0)))
    eye = (draw.Text(spot, wording.word(word), WORD_MM, True, "middle") for word, spot in views)
    drawing = drawing.adding(eye).adding(
        [
            *_part(view),
            *(draw.Line(rim, draw.THIN, closed=True) for _, rim in rims),
            *_bend_lines(view, seen),
            *fingers,
            triangle,
            *grain,
            *(line for size in sizes for line in size.lines),
        ]
    )
    labels = [
        *_face_labels(view, sheet.part, wording),
        *(size.label for size in sizes),
        *_line_labels(view, seen, wording),
        *finger_labels,
        *grain_label,
        *(_hole_label(hole, rim) for hole, rim in rims),
        datum_label,
    ]
    return drawing, labels


def _sides(sheet: SheetData, step: SheetStep, wording: Wording, *, sized: bool) -> tuple[float, float]:
    """Room left and right of the part: X stands left of its line, the size across the bends right of its own."""
    x_mm = step.keyed.stops.x_mm
    stop_mm = 0.0 if x_mm is None else draw.text_width_mm(_stop_words(x_mm, wording), SIZE_MM, bold=True)
    size_mm = draw.text_width_mm(wording.size(sheet.pattern.developed_mm), SIZE_MM) if sized else 0.0
    return max(SIDE_MM, X_OFF_MM + 3.0 + stop_mm), max(SIDE_MM, SIZE_OFF_MM + 2.0 + size_mm)


def _stop_words(x_mm: float, wording: Wording) -> str:
    return f"X {wording.stop(x_mm)}"


def _part(view: loading.LoadingView) -> Iterator[draw.Line]:
    """Outline with its breaks, and the edges that show on the formed part."""
    box, columns, rows = view.box, view.along.stretches_mm, view.across.stretches_mm
    levels = [(box.top_mm, draw.MEDIUM), (box.bottom_mm, draw.MEDIUM), (view.y(view.step.rear_mm), draw.BOLD)]
    levels += [(view.y(across_mm), draw.THIN) for across_mm in loading.edges_seen(view.step.before.outline_mm)]
    for left, right in columns:
        yield from (draw.Line(((left, level), (right, level)), pen) for level, pen in levels)
    for top, bottom in rows:
        upper, lower = max(top, box.top_mm), min(bottom, box.bottom_mm)
        yield from (draw.Line(((edge, upper), (edge, lower)), draw.MEDIUM) for edge in (box.left_mm, box.right_mm))
    over = box.grown(1.5)
    for (_, left), (right, _) in pairwise(columns):
        yield from (draw.zigzag((edge, over.top_mm), (edge, over.bottom_mm)) for edge in (left, right))
    for (_, top), (bottom, _) in pairwise(rows):
        yield from (draw.zigzag((over.left_mm, edge), (over.right_mm, edge)) for edge in (top, bottom))


def _bend_lines(view: loading.LoadingView, seen: tuple[loading.LineSeen, ...]) -> Iterator[draw.Line]:
    """The line to bend: thick, past both edges. Those to come: thin dashes. Formed ones are edges already."""
    for each in seen:
        level = view.y(each.across_mm)
        if each.state != "formed":
            past_mm, pen = (4.0, draw.BOLD) if each.state == "active" else (0.0, draw.DASHED)
            yield draw.Line(((view.box.left_mm - past_mm, level), (view.box.right_mm + past_mm, level)), pen)


def _rims(view: loading.LoadingView) -> Iterator[tuple[FlatHole, tuple[Point, ...]]]:
    for hole in view.pattern.holes:
        rim = loading.hole_seen(hole, view.step, points=loading.rim_of(hole), thickness_mm=view.pattern.thickness_mm)
        if rim is not None:
            yield hole, tuple(view.spot(*spot) for spot in rim)


def hole_name(hole: FlatHole) -> str:
    """Holes go by their number in the part file; a small h goes before it: bends have letters, steps bare numbers."""
    return str(hole.number)


def _hole_label(hole: FlatHole, rim: tuple[Point, ...]) -> draw.Label:
    box = draw.bounds(rim)
    spot, beside = (box.right_mm, box.centre_mm[1]), (draw.RIGHT, draw.ABOVE, draw.LEFT)
    return draw.Label((f"h{hole_name(hole)}",), spot, NOTE_MM, True, beside)


def _fingers(view: loading.LoadingView, wording: Wording) -> tuple[list[draw.Line], list[draw.Label]]:
    """The stop fingers, their front on the gauged edge; crossed, so that no word stands in them."""
    (wide, high), y = loading.FINGER_MM, view.y(view.step.rear_mm)
    lines, labels = [], []
    for place, z in enumerate(view.step.keyed.stops.z_mm, start=1):
        x = view.bed_x(min(max(z - view.step.keyed.part_from_mm, 0.0), view.pattern.along_bends_mm))
        corners = draw.Box(x - wide / 2, y - high, x + wide / 2, y - 0.4).corners_mm
        lines.append(draw.Line(corners, draw.MEDIUM, closed=True))
        lines += [draw.Line((corners[start], corners[start + 2]), draw.THIN) for start in (0, 1)]
        words = wording.word("picture.finger", number=place, at=wording.across(z))
        # Outward, so that none comes near another's finger.
        out = 1.0 if x > view.box.centre_mm[0] else -1.0
        beside = (draw.ABOVE, (out * 0.5, -1.0), (out, -1.0), (out, 0.0))
        labels.append(draw.Label((words,), (x, y - high), SIZE_MM, prefer=beside, name=words.split()[0]))
    return lines, labels


def _datum(view: loading.LoadingView, wording: Wording) -> tuple[draw.Line, draw.Label]:
    """The datum triangle in its corner, and its name beside it."""
    corner = view.spot(0.0, view.step.before.flats[0].start_mm[0])
    lies_left = corner[0] < view.bed_x(view.pattern.along_bends_mm / 2)
    inward = (1.0 if lies_left else -1.0, 1.0 if view.step.start_at == "backgauge" else -1.0)
    leg_mm = min(5.0, 0.35 * view.across.length_mm, 0.35 * view.along.length_mm)
    beside = (draw.LEFT if lies_left else draw.RIGHT, draw.ABOVE, draw.BELOW)
    label = draw.Label((wording.word("picture.datum"),), corner, NOTE_MM, prefer=beside)
    return draw.datum(corner, inward, leg_mm=leg_mm), label


def _face_labels(view: loading.LoadingView, part: Part, wording: Wording) -> Iterator[draw.Label]:
    """What to see on the upper face, in words, in the middle of the part or beside it."""
    middle = (view.bed_x(view.pattern.along_bends_mm / 2), view.y(sum(loading.reach(view.step.before.outline_mm)) / 2))
    marked_up = view.step.keyed.marked_face == "up"
    notes = []
    if part.burr != "unknown":
        notes.append(wording.word("burr-up" if (part.burr == "marked") == marked_up else "burr-down"))
    if part.film == "both":
        notes.append(wording.word("film-both"))
    elif part.film != "none":
        notes.append(wording.word("film-up" if (part.film == "marked") == marked_up else "film-down"))
    face = wording.word(f"face-{view.step.keyed.marked_face}")
    for words, size_mm in ((face, WORD_MM), (", ".join(notes), NOTE_MM)):
        if words:
            yield draw.Label((words,), middle, size_mm, True, gap_mm=0.0, led=False)


def _grain(view: loading.LoadingView, part: Part, wording: Wording) -> tuple[tuple[draw.Line, ...], list[draw.Label]]:
    """A two-headed arrow: single heads are for motion only."""
    if part.grain == "any":
        return (), []
    box = view.box
    if part.grain == "along":
        level = box.bottom_mm - 3.0
        start, end = (box.right_mm - min(20.0, box.width_mm * 0.3) - 3, level), (box.right_mm - 3, level)
    else:
        half_mm, middle = min(9.0, box.height_mm * 0.3), box.centre_mm[1]
        start, end = (box.right_mm - 4.0, middle - half_mm), (box.right_mm - 4.0, middle + half_mm)
    beside = (draw.ABOVE, draw.LEFT, draw.BELOW, draw.RIGHT)
    words = draw.Label((wording.word("grain"),), draw.between(start, end), NOTE_MM, True, beside)
    return draw.arrow(start, end, pen=draw.MEDIUM, both=True), [words]


def _line_labels(
    view: loading.LoadingView, seen: tuple[loading.LineSeen, ...], wording: Wording
) -> Iterator[draw.Label]:
    # Both lines of an offset go by its one letter, which stands between them.
    together: dict[tuple[str, str, bool], list[loading.LineSeen]] = {}
    for each in seen:
        upward = each.state == "formed" and each.upward
        together.setdefault((bend_mark(each.label.rstrip("ab")), each.state, upward), []).append(each)
    for (words, *_), lines in together.items():
        each, right = lines[0], view.box.right_mm
        level = sum(view.y(line.across_mm) for line in lines) / len(lines)
        if each.state == "active":
            yield draw.Label((words,), (right + 4.0, level), 5.0, True, (draw.RIGHT, draw.ABOVE, draw.BELOW))
            continue
        if each.state == "formed":
            words = wording.word("picture.formed-up" if each.upward else "picture.formed-down", bend=words)
        yield draw.Label((words,), (right, level), NOTE_MM, False, (draw.RIGHT,))


def _sizes(view: loading.LoadingView, wording: Wording, *, sized: bool) -> Iterator[draw.Dimension]:
    """From the gauged edge to the bend line, which is X; and the blank's own sizes, below and to the right."""
    x_mm, left = view.step.keyed.stops.x_mm, view.box.left_mm - 1.0
    if x_mm is not None:
        ends = (left, view.y(0.0)), (left, view.y(view.step.rear_mm))
        size = draw.linear(*ends, off_mm=X_OFF_MM, words=_stop_words(x_mm, wording), size_mm=SIZE_MM)
        yield replace(size, label=replace(size.label, bold=True, prefer=(draw.LEFT, draw.RIGHT), name="X"))
    if not sized:
        return
    upper_right, lower_right, lower_left = view.box.corners_mm[1:]
    words = wording.size(view.pattern.along_bends_mm)
    yield draw.linear(lower_left, lower_right, off_mm=-6.6, words=words, size_mm=SIZE_MM)
    words = wording.size(view.pattern.developed_mm)
    # The lines to the size begin behind the letter of the line to bend, which stands on that line.
    beside = ((x + SIZE_OFF_MM - 1.0, y) for x, y in (lower_right, upper_right))
    yield draw.linear(*beside, off_mm=-1.0, words=words, size_mm=SIZE_MM)
