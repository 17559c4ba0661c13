"""One hit seen from the left end of the machine: operator right, backgauge left.

The part before the stroke is thin, after it solid black; tools are hatched; long legs are cut off with a break line,
and a stop that stands far off is drawn in a strip of its own, beyond a break.
"""

from collections.abc import Iterator, Sequence

from flangewise import drawing as draw
from flangewise.clearance import Body, Outline
from flangewise.records import dataclass, replace
from flangewise.sheet.data import Point, SheetStep
from flangewise.sheet.loading_view import reach
from flangewise.sheet.wording import Wording

WORD_MM = 3.2
BAND_MM = 5.5
"""Strip at the foot for the words BACKGAUGE and OPERATOR."""
STRIP_MM = 16.0
"""Width of the strip in which a far stop is drawn."""
SHEET_DRAWN_MM = 1.0
"""A sheet is drawn at least this thick, even if the ends of its legs then do not fit."""
OPEN_SIDE_MM = 14.0
"""Room on the right for the opening's arrow and its number."""


@dataclass(frozen=True)
class Window:
    """A stretch of the machine put on paper: where its origin (die centre, die top) stands, and what of it shows."""

    scale: float
    origin: Point
    box: draw.Box

    def spot(self, point: Point) -> Point:
        """Paper of a place (across, up)."""
        return (self.origin[0] + point[0] * self.scale, self.origin[1] - point[1] * self.scale)

    def drawn(self, outline: Outline) -> tuple[Point, ...]:
        """A whole outline on paper, not yet cut to the window."""
        return tuple(self.spot(point) for point in outline)


@draw.with_room_for_labels
def step_picture(
    growth_mm: float, step: SheetStep, wording: Wording, *, width_mm: float = 79.0, height_mm: float = 60.0
) -> draw.Built:
    """The picture of one step, as the row of the sheet shows it."""
    described = wording.word("alt.step", step=step.keyed.step, bends=", ".join(step.labels))
    free = draw.Box(0.0, 0.0, width_mm, height_mm + growth_mm - BAND_MM + 0.6)
    drawing = draw.Drawing(width_mm, height_mm + growth_mm, described=described, labels_in=free)
    drawing = drawing.adding(_viewpoint(drawing, wording))
    room = draw.Box(0.5, 0.5, width_mm - OPEN_SIDE_MM, drawing.height_mm - BAND_MM - 7.0)
    main, strip = _windows(step, room)
    drawing = drawing.adding(_bodies(step.bodies, main, far_stop=strip is not None))
    drawing = drawing.adding(_part(step, main))
    if strip is not None:
        drawing = drawing.adding(_stop_strip(step, strip, main))
    opening, opening_label = _opening(step, main, drawing, wording)
    stop, stop_label = _stop_size(step, main, strip, drawing, wording)
    return drawing.adding([*opening, *stop]), [opening_label, *stop_label]


def _viewpoint(drawing: draw.Drawing, wording: Wording) -> Iterator[draw.Item]:
    """The two words at the foot with arrows to their sides."""
    level, wide = drawing.height_mm - 1.4, drawing.width_mm
    yield draw.head((0.6, level - 1.1), (6.0, level - 1.1))
    yield draw.Text((3.6, level), wording.word("backgauge"), WORD_MM, True)
    yield draw.head((wide - 0.6, level - 1.1), (wide - 6.0, level - 1.1))
    yield draw.Text((wide - 3.6, level), wording.word("operator"), WORD_MM, True, "end")


def _heart(step: SheetStep) -> draw.Box:
    """What must show whatever the scale: the die's opening and the bend; as a box of (across, -up)."""
    die = next((body.points_mm for body in step.bodies if body.name == "die"), ())
    half_mm = min(max(abs(reach(die)[0]), abs(reach(die)[1])), 30.0) if die else 10.0
    deep_mm = max(half_mm * 0.8, (step.keyed.ram.depth_mm or 0.0) * 1.6)
    return draw.Box(-half_mm, -half_mm * 1.6, half_mm, deep_mm)


def _wanted(step: SheetStep) -> draw.Box:
    """What should show: the part before and after, the stop, and enough of the tools."""
    points = [*step.before.outline_mm, *step.after_mm]
    part, heart = draw.bounds((across, -up) for across, up in points), _heart(step)
    left_mm, right_mm = min(part.left_mm, heart.left_mm, step.rear_mm - 14.0), max(part.right_mm, heart.right_mm)
    top_mm, bottom_mm = min(part.top_mm - 2, heart.top_mm), max(part.bottom_mm + 1, heart.bottom_mm)
    return draw.Box(left_mm - 1, top_mm, right_mm + 1, bottom_mm)


def _windows(step: SheetStep, room: draw.Box) -> tuple[Window, Window | None]:
    """The main window, and one for a stop that the main window does not reach."""
    wanted = _wanted(step)
    thickness_mm = _thickness(step)
    scale = min(_scale_for(wanted, room.width_mm, room.height_mm), 4.0)
    if scale * thickness_mm >= SHEET_DRAWN_MM:
        return _centred(wanted, room, scale=scale), None
    heart = _heart(step)
    scale = min(max(SHEET_DRAWN_MM / thickness_mm, scale), _scale_for(heart, room.width_mm * 0.6, room.height_mm))
    far = step.rear_mm - 4.0 < -(room.width_mm - STRIP_MM) / scale * 0.62
    inner = draw.Box(room.left_mm + STRIP_MM + 3.0, room.top_mm, room.right_mm, room.bottom_mm) if far else room
    view = _trimmed(wanted, heart, width_mm=inner.width_mm / scale, height_mm=inner.height_mm / scale)
    main = _centred(view, inner, scale=scale)
    if not far:
        return main, None
    box = draw.Box(room.left_mm, room.top_mm, room.left_mm + STRIP_MM, room.bottom_mm)
    return main, Window(scale, (box.left_mm + 9.0 - step.rear_mm * scale, main.origin[1]), box)


def _scale_for(box: draw.Box, width_mm: float, height_mm: float) -> float:
    sides = ((box.width_mm, width_mm), (box.height_mm, height_mm))
    return min(draw.scale_for(side_mm, room_mm, largest=draw.SCALES[-1]) for side_mm, room_mm in sides)


def _thickness(step: SheetStep) -> float:
    """Thickness as drawn: between the upper and lower face at the die's centre."""
    ups = draw.crossings_mm(step.before.outline_mm, 0.01, axis=0)
    return ups[1] - ups[0] if len(ups) > 1 else 1.0


def _trimmed(wanted: draw.Box, heart: draw.Box, *, width_mm: float, height_mm: float) -> draw.Box:
    """A view of the given size inside what is wanted, the heart kept, what is over given to the longer side."""
    left, right = _share(wanted.left_mm, wanted.right_mm, heart.left_mm, heart.right_mm, width_mm)
    top, bottom = _share(wanted.top_mm, wanted.bottom_mm, heart.top_mm, heart.bottom_mm, height_mm)
    return draw.Box(left, top, right, bottom)


def _share(low: float, high: float, must_low: float, must_high: float, size: float) -> tuple[float, float]:
    if high - low <= size:
        return low, high
    spare = size - (must_high - must_low)
    below, above = must_low - low, high - must_high
    take = min(below, max(spare / 2, spare - above))
    return must_low - take, must_low - take + size


def _centred(view: draw.Box, room: draw.Box, *, scale: float) -> Window:
    """The middle of a view in the middle of the room; where the view is wider than that, all of it shows."""
    left_mm = room.left_mm + (room.width_mm - view.width_mm * scale) / 2
    top_mm = room.top_mm + (room.height_mm - view.height_mm * scale) / 2
    origin = (left_mm - view.left_mm * scale, top_mm - view.top_mm * scale)
    return Window(scale, origin, replace(room, left_mm=min(left_mm, room.left_mm)))


def _bodies(bodies: Sequence[Body], window: Window, *, far_stop: bool) -> Iterator[draw.Item]:
    """Tool and machine bodies, cut to the window; punch and die hatched, each its own way."""
    for body in bodies:
        if far_stop and body.name == "finger":
            continue
        outline = window.drawn(body.points_mm)
        if body.name in ("punch", "die"):
            shape = draw.cut_to(outline, window.box)
            if len(shape) > 2:
                yield from draw.hatch(shape, pitch_mm=2.4, angle_deg=45 if body.name == "die" else -45)
        pen = draw.MEDIUM if body.name in ("punch", "die", "finger") else draw.THIN
        yield from (draw.Line(run, pen) for run in draw.clipped(outline, window.box, closed=True))


def _part(step: SheetStep, window: Window) -> Iterator[draw.Item]:
    after = draw.cut_to(window.drawn(step.after_mm), window.box)
    if len(after) > 2:
        yield draw.Line(after, None, closed=True, fill="black")
    before = window.drawn(step.before.outline_mm)
    yield from (draw.Line(run, draw.THIN) for run in draw.clipped(before, window.box, closed=True))
    # A break line across each place where the part runs out of the window.
    for outline in (step.before.outline_mm, step.after_mm):
        for start, end in _cuts(window.drawn(outline), window.box):
            yield draw.zigzag(start, end, tooth_mm=1.0)


def _cuts(outline: Sequence[Point], box: draw.Box) -> Iterator[tuple[Point, Point]]:
    """Pairs of places where an outline crosses one side of the box, a little longer than the sheet is thick."""
    for axis, limit in ((0, box.left_mm), (0, box.right_mm), (1, box.top_mm)):
        low, high = (box.top_mm, box.bottom_mm) if axis == 0 else (box.left_mm, box.right_mm)
        places = draw.crossings_mm(outline, limit, axis=axis)
        for first, last in zip(places[::2], places[1::2], strict=False):
            if low <= first and last <= high:
                inside = limit + (0.3 if limit in (box.left_mm, box.top_mm) else -0.3)
                start, end = max(first - 2.0, low), min(last + 2.0, high)
                yield ((inside, start), (inside, end)) if axis == 0 else ((start, inside), (end, inside))


def _stop_strip(step: SheetStep, strip: Window, main: Window) -> Iterator[draw.Item]:
    """The far stop with the edge of the part that touches it, beyond a break."""
    yield from _bodies([body for body in step.bodies if body.name == "finger"], strip, far_stop=False)
    before = strip.drawn(step.before.outline_mm)
    yield from (draw.Line(run, draw.THIN) for run in draw.clipped(before, strip.box, closed=True))
    for start, end in _cuts(before, strip.box):
        if start[0] > strip.box.left_mm + 1.0:
            yield draw.zigzag(start, end, tooth_mm=1.0)


def _opening(
    step: SheetStep, window: Window, drawing: draw.Drawing, wording: Wording
) -> tuple[list[draw.Item], draw.Label]:
    """Between die top and nose with the ram up: an arrow at the right, broken off where it is longer than the room."""
    across = drawing.width_mm - 4.0
    foot = window.origin[1]
    tip = foot - step.keyed.ram.opening.open_height_mm * window.scale
    top = max(tip, window.box.top_mm + 1.0)
    lines: list[draw.Item] = [draw.Line(((window.box.right_mm - 3.0, foot), (across + 1.2, foot)), draw.THIN)]
    lines += [*draw.arrow((across, foot), (across, top), both=True)]
    if tip < top:
        lines.append(draw.zigzag((across - 2.5, (foot + top) / 2), (across + 2.5, (foot + top) / 2), tooth_mm=1.0))
    else:
        lines.append(draw.Line(((across - 3.0, top), (across + 1.2, top)), draw.THIN))
    words = (wording.word("picture.opening"), wording.opening(step.keyed.ram.opening.open_height_mm))
    spot = (across, (foot + top) / 2 - 4.0)
    return lines, draw.Label(words, spot, WORD_MM, True, (draw.LEFT, draw.ABOVE, draw.BELOW))


def _stop_size(
    step: SheetStep, main: Window, strip: Window | None, drawing: draw.Drawing, wording: Wording
) -> tuple[list[draw.Item], list[draw.Label]]:
    """X, from the stop face to the die's centre, below the tools; and the centre line it is measured from."""
    level = drawing.height_mm - BAND_MM - 2.8
    stop_at = (strip or main).spot((step.rear_mm, step.keyed.stops.r_mm or 0.0))
    centre = main.origin[0]
    lines: list[draw.Item] = [draw.Line(((centre, main.box.top_mm), (centre, level + 1.2)), draw.CHAIN)]
    x_mm = step.keyed.stops.x_mm
    if x_mm is None:
        return lines, []
    lines.append(draw.Line(((stop_at[0], stop_at[1] + 0.8), (stop_at[0], level + 1.2)), draw.THIN))
    size = draw.linear((stop_at[0], level), (centre, level), off_mm=0.001, words=f"X {wording.stop(x_mm)}")
    lines += size.lines[2:]
    if strip is not None:
        cut = strip.box.right_mm + 1.5
        lines.append(draw.zigzag((cut, level - 2.5), (cut, level + 2.5), tooth_mm=1.0))
    return lines, [replace(size.label, size_mm=WORD_MM, bold=True)]
