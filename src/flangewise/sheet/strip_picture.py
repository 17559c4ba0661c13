"""One frame of the order: the whole section on the die before the hit, seen from the left end, operator right.

Nothing of the part is cut off. Where it would not fit at a scale at which the tools can be told apart, its long flats
are drawn shorter, with a break mark on them; every flange is there, in its own direction. The stop touches what lies on
it, at its height. A dashed line shows what the hit makes of the part.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from itertools import pairwise

from flangewise import drawing as draw
from flangewise.records import dataclass
from flangewise.sheet.data import Gripped, Point, Profile, SheetStep
from flangewise.sheet.marks import bend_mark, ringed
from flangewise.sheet.wording import Wording

FOOT_MM = 4.2
"""Strip at the foot for the words BACKGAUGE and OPERATOR."""
WORD_MM, SMALL_WORD_MM = 2.8, 2.2
FREE_MM = 10.0
"""A flat drawn up to this long keeps its length; of what is longer only a share is drawn."""
SHARES = (1.0, 0.5, 0.25, 0.1, 0.04)
OPENING_MM = 4.0
"""The die's opening is drawn at least this wide, and no flat shorter than SHORT_MM, if shortening can do that."""
SHORT_MM = 2.6
BEHIND_MM, IN_FRONT_MM = 11.0, 8.0
"""Room behind the stop's face, and in front of the part for the hand."""
OVER_MM, UNDER_MM = 7.0, 7.0
"""Room over the die for the punch, and under its top for its opening; the rest of the tools may be cut off."""
SCALES = tuple(2.5 * 0.9**place for place in range(56))
"""From the largest down to 1 : 130. The frame is not measured, so they are no round ones."""
LIFT_MM = 3.0
"""Paper between the sheet and the nose of the raised punch."""


@dataclass(frozen=True)
class SizeChain:
    """A section as a run of flats on its middle surface, at scale about the die: each (start, end), up positive."""

    flats: tuple[tuple[Point, Point], ...]
    shortened: tuple[bool, ...]

    @property
    def corners(self) -> tuple[Point, ...]:
        """The ends of the flats, as far as the run reaches but for the bulge of its bends."""
        return tuple(spot for flat in self.flats for spot in flat)

    @property
    def spots(self) -> tuple[Point, ...]:
        """The run with its bends drawn round."""
        found: list[Point] = [self.flats[0][0]]
        for (start, end), (then, last) in pairwise(self.flats):
            found += [end, *_round(start, end, then, last), then]
        return (*found, self.flats[-1][1])


def _round(start: Point, end: Point, then: Point, last: Point) -> Iterator[Point]:
    """Places on a bend between two flats: a curve that leaves the one and comes into the other along them."""
    came, goes = draw.towards(start, end), draw.towards(then, last)
    apart = math.dist(end, then)
    for share in (0.25, 0.5, 0.75):
        one, two = draw.moved(end, came[:2], apart * 0.66), draw.moved(then, goes[:2], -apart * 0.66)
        first, middle, second = (
            draw.between(end, one, share),
            draw.between(one, two, share),
            draw.between(two, then, share),
        )
        yield draw.between(draw.between(first, middle, share), draw.between(middle, second, share), share)


def drawn_chain(profile: Profile, active: int, *, scale: float, share: float) -> SizeChain:
    """The section at a scale, its flats longer than FREE_MM on paper cut down to a share of the rest.

    The bend `active`, counted from 0 along the section, keeps its place; all else follows from it.
    """
    flats = [(_scaled(flat.start_mm, scale), _scaled(flat.end_mm, scale)) for flat in profile.flats]
    lengths = [math.dist(*flat) for flat in flats]
    short = [min(each, FREE_MM) + max(0.0, each - FREE_MM) * share for each in lengths]
    found = list(flats)
    for place in range(active, -1, -1):
        start, end = flats[place]
        if place < active:
            end = _shifted(end, flats[place + 1][0], found[place + 1][0])
        found[place] = (draw.moved(end, draw.towards(flats[place][1], start)[:2], short[place]), end)
    for place in range(active + 1, len(flats)):
        start, end = flats[place]
        if place > active + 1:
            start = _shifted(start, flats[place - 1][1], found[place - 1][1])
        found[place] = (start, draw.moved(start, draw.towards(flats[place][0], end)[:2], short[place]))
    return SizeChain(tuple(found), tuple(one - other > 0.2 for one, other in zip(lengths, short, strict=True)))


def _scaled(point: Point, scale: float) -> Point:
    return point[0] * scale, point[1] * scale


def _shifted(point: Point, was: Point, now: Point) -> Point:
    return point[0] + now[0] - was[0], point[1] + now[1] - was[1]


@dataclass(frozen=True)
class StripFrame:
    """A hit laid on paper: scale, where the die's centre stands, the part before and after, how the stop moves."""

    scale: float
    origin: Point
    before: SizeChain
    after: SizeChain | None
    stop_shift: Point
    touched: Point | None

    def spot(self, point: Point) -> Point:
        """Paper of a place that is at scale already, up positive."""
        return self.origin[0] + point[0], self.origin[1] - point[1]


def frame_picture(step: SheetStep, wording: Wording, *, width_mm: float, height_mm: float) -> draw.Drawing:
    """The frame of one hit."""
    described = wording.word("alt.frame", step=step.keyed.step, bends=", ".join(map(bend_mark, step.labels)))
    drawing = draw.Drawing(width_mm, height_mm, described=described)
    window = draw.Box(0.0, 0.0, width_mm, height_mm - FOOT_MM)
    frame = laid_out(step, window)
    drawing = drawing.adding(_bodies(step, frame, window))
    drawing = drawing.adding(_part(step, frame))
    drawing = drawing.adding(_held(step, frame))
    drawing = drawing.adding(_letter(step, frame, window))
    drawing = drawing.adding(_viewpoint(drawing, wording))
    return _with_gripper(drawing, step, frame, wording)


def laid_out(step: SheetStep, window: draw.Box) -> StripFrame:
    """The largest scale at which all of the part shows, its long flats shortened as little as that takes."""
    opening_mm = step.mounting.pair.tools.opening_mm or 8.0
    best: StripFrame | None = None
    for share in SHARES:
        # What fits fits at every smaller scale.
        fits = bisect_left(
            SCALES, True, key=lambda scale: _at_scale(step, window, scale=scale, share=share) is not None
        )
        frame = _at_scale(step, window, scale=SCALES[fits], share=share) if fits < len(SCALES) else None
        if frame is None:
            continue
        best = frame
        shortest = min(math.dist(*flat) for flat in frame.before.flats)
        real = min(math.dist(flat.start_mm, flat.end_mm) for flat in step.before.flats)
        if frame.scale * opening_mm >= OPENING_MM and (shortest >= SHORT_MM or real < 1.0):
            break
    return best or _at_scale(step, window, scale=SCALES[-1], share=SHARES[-1], forced=True)  # type: ignore[return-value]


def _at_scale(
    step: SheetStep, window: draw.Box, *, scale: float, share: float, forced: bool = False
) -> StripFrame | None:
    active = _active(step)
    before = drawn_chain(step.before, active, scale=scale, share=share)
    after = drawn_chain(step.after, active, scale=scale, share=share) if step.after.flats else None
    shift, touched = _stop(step, before, scale)
    at, way = _held_at(step, before, scale)
    spots = [*before.corners, *(after.corners if after else ()), draw.moved(at, way, IN_FRONT_MM)]
    left = min([x for x, _ in spots] + ([touched[0] - BEHIND_MM] if touched else [])) - 1.0
    right = max(x for x, _ in spots) + 2.0
    top = max([y for _, y in spots] + [OVER_MM]) + 1.0
    bottom = min([y for _, y in spots] + [-UNDER_MM]) - 1.0
    if not forced and (right - left > window.width_mm or top - bottom > window.height_mm):
        return None
    origin = (
        (window.left_mm + window.right_mm - right - left) / 2,
        (window.top_mm + window.bottom_mm + top + bottom) / 2,
    )
    return StripFrame(scale, origin, before, after, shift, touched)


def _active(step: SheetStep) -> int:
    """Which gap between flats the hit bends: the one that comes nearest to the die's centre."""
    gaps = [draw.between(one.end_mm, two.start_mm) for one, two in pairwise(step.before.flats)]
    return min(range(len(gaps)), key=lambda place: math.hypot(*gaps[place]))


def _stop(step: SheetStep, before: SizeChain, scale: float) -> tuple[Point, Point | None]:
    """How the stop moves with a shortened part, and the place that it touches; none for a hit without stops."""
    x_mm, r_mm = step.keyed.stops.x_mm, step.keyed.stops.r_mm
    if x_mm is None or r_mm is None:
        return (0.0, 0.0), None
    found: list[tuple[float, Point, Point]] = []
    for flat, drawn in zip(step.before.flats, before.flats, strict=True):
        for part in (0.0, 0.25, 0.5, 0.75, 1.0):
            at = draw.between(flat.start_mm, flat.end_mm, part)
            off_mm = abs(at[0] + x_mm) + 0.02 * abs(at[1] - r_mm - 3.0)
            found.append((off_mm, at, draw.between(*drawn, part)))
    _, at, drawn_at = min(found)
    return (drawn_at[0] - at[0] * scale, drawn_at[1] - at[1] * scale), drawn_at


def _bodies(step: SheetStep, frame: StripFrame, window: draw.Box) -> Iterator[draw.Item]:
    """Punch raised over the sheet, die, what carries them, and the stop; tools hatched, each its own way."""
    nose = min((up for body in step.bodies if body.name == "punch" for _, up in body.points_mm), default=0.0)
    lift = LIFT_MM + _top(step) * frame.scale - nose * frame.scale
    for body in step.bodies:
        if body.name not in ("punch", "die", "finger"):
            continue
        points = [_scaled(point, frame.scale) for point in body.points_mm]
        if body.name == "punch":
            points = [(across, up + lift) for across, up in points]
        elif body.name == "finger":
            points = [(across + frame.stop_shift[0], up + frame.stop_shift[1]) for across, up in points]
        outline = [frame.spot(point) for point in points]
        shape = draw.cut_to(outline, window)
        if len(shape) > 2 and body.name != "finger":
            yield from draw.hatch(shape, pitch_mm=2.0, angle_deg=45 if body.name == "die" else -45)
        yield from (draw.Line(run, draw.MEDIUM) for run in draw.clipped(outline, window, closed=True))


def _top(step: SheetStep) -> float:
    """The sheet's upper face at the die's centre."""
    ups = draw.crossings_mm(step.before.outline_mm, 0.01, axis=0)
    return max((up for up in ups if up < 60.0), default=2.0)


def _part(step: SheetStep, frame: StripFrame) -> Iterator[draw.Item]:
    """The section as it is, one heavy line as thick as the sheet, and dashed what it becomes."""
    thick_mm = max(_thickness(step) * frame.scale, 0.9)
    if frame.after is not None:
        yield draw.Line(tuple(frame.spot(point) for point in frame.after.spots), draw.DASHED)
    yield draw.Line(tuple(frame.spot(point) for point in frame.before.spots), draw.Pen(thick_mm))
    for (start, end), short in zip(frame.before.flats, frame.before.shortened, strict=True):
        if short:
            yield from _break(frame.spot(start), frame.spot(end), thick_mm)


def _thickness(step: SheetStep) -> float:
    ups = draw.crossings_mm(step.before.outline_mm, 0.01, axis=0)
    return ups[1] - ups[0] if len(ups) > 1 else 1.0


def _break(start: Point, end: Point, thick_mm: float) -> Iterator[draw.Item]:
    """Two slanted strokes across a flat that is drawn too short, white between them."""
    right, down, _ = draw.towards(start, end)
    middle, half = draw.between(start, end), thick_mm / 2 + 1.0
    sides = []
    for off_mm in (-0.7, 0.7):
        foot = draw.moved(middle, (right, down), off_mm)
        slant = (-down + 0.4 * right, right + 0.4 * down)
        sides.append((draw.moved(foot, slant, half), draw.moved(foot, slant, -half)))
    (one, two), (three, four) = sides
    yield draw.Line((one, two, four, three), None, closed=True, fill="white")
    yield from (draw.Line(side, draw.THIN) for side in sides)


def _held(step: SheetStep, frame: StripFrame) -> Iterator[draw.Item]:
    """What holds the part: a gripper where it takes hold, else in front a hand, jaw, magnet, or a support under it."""
    by: str = step.keyed.hold.by if step.keyed.hold is not None else "hand"
    at, (right, up) = _held_at(step, frame.before, frame.scale)
    if step.gripped is not None:
        by = {"edge": "jaw", "face": "cup", "end": "end"}[step.gripped.kind]
    yield from holder_sign(by, frame.spot(at), (right, -up))


def _with_gripper(drawing: draw.Drawing, step: SheetStep, frame: StripFrame, wording: Wording) -> draw.Drawing:
    """The frame with how far the gripper's middle lies from the datum corner, across the flat blank: in one line or
    two, in smaller letters where there is no room."""
    if step.gripped is None:
        return drawing
    at, _ = _held_at(step, frame.before, frame.scale)
    words = wording.word("picture.gripper"), wording.size(step.gripped.from_datum_mm)
    for size_mm in (WORD_MM, SMALL_WORD_MM):
        for lines in ((" ".join(words),), words):
            found, unplaced = draw.place(drawing, [draw.Label(lines, frame.spot(at), size_mm, True, gap_mm=3.0)])
            if not unplaced:
                return found
    return drawing


def _held_at(step: SheetStep, chain: SizeChain, scale: float) -> tuple[Point, Point]:
    """Where it is held, and the way out from there: where the gripper does; else at the edge in front, or on the flat
    before which nothing lies."""
    if step.gripped is not None:
        return _gripped_at(step.gripped, step, chain, scale)
    front = max(across for across, _ in chain.corners)
    for tip, inner in (chain.flats[0], chain.flats[-1][::-1]):
        if tip[0] > front - 2.0:
            right, up, long_mm = draw.towards(inner, tip)
            return draw.moved(tip, (right, up), -min(2.0, long_mm / 3)), (right, up)
    flat = max(chain.flats, key=lambda each: draw.between(*each)[0])
    return draw.between(*flat), (1.0, 0.0)


def _gripped_at(held: Gripped, step: SheetStep, chain: SizeChain, scale: float) -> tuple[Point, Point]:
    """The gripper's place on its flat, from the nearer end where that is drawn shorter; over an edge, at the edge."""
    start, end = chain.flats[held.flat]
    if held.kind == "edge":
        tip, inner = (end, start) if held.over_end else (start, end)
        right, up, long_mm = draw.towards(inner, tip)
        return draw.moved(tip, (right, up), -min(2.0, long_mm / 3)), (right, up)
    real = step.before.flats[held.flat]
    far_mm, (right, up, long_mm) = math.dist(real.start_mm, real.end_mm), draw.towards(start, end)
    from_start = held.at_mm <= far_mm / 2
    off = min((held.at_mm if from_start else far_mm - held.at_mm) * scale, long_mm / 2)
    at = draw.moved(start, (right, up), off) if from_start else draw.moved(end, (right, up), -off)
    if held.kind == "end":
        return at, (right, up)
    onward = 1.0 if (step.start_at == "backgauge") == held.upper else -1.0
    return at, (-up * onward, right * onward)


def holder_sign(by: str, at: Point, way: Point) -> Iterator[draw.Item]:
    """The sign of a holder: points (along the sheet outward, away from it), drawn on both of its sides; a cup's along
    the way off the sheet."""
    hand = (
        *((-1.6, -0.9), (-1.2, -1.9), (2.4, -2.1), (5.6, -1.6), (5.6, 1.8), (2.4, 2.2), (-0.6, 1.6), (-0.8, 0.8)),
        *((1.8, 0.9), (2.2, 0.0), (1.8, -0.8)),
    )
    jaw = ((-1.4, -0.7), (-1.4, -2.0), (5.4, -2.0), (5.4, 2.0), (-1.4, 2.0), (-1.4, 0.7), (2.2, 0.7), (2.2, -0.7))
    magnet = ((-1.2, -0.7), (-1.2, -3.6), (0.2, -3.6), (0.2, -1.8), (1.4, -1.8), (1.4, -3.6), (2.8, -3.6), (2.8, -0.7))
    support = ((-1.0, 0.8), (-3.0, 4.0), (1.0, 4.0))
    cup = ((0.7, -2.2), (0.7, 2.2), (1.8, 1.0), (5.2, 1.0), (5.2, -1.0), (1.8, -1.0))
    end = ((-2.2, -0.7), (-2.2, -2.4), (2.2, -2.4), (2.2, -0.7))
    shapes: dict[str, tuple[tuple[Point, ...], ...]] = {
        "hand": (hand,),
        "jaw": (jaw,),
        "tool": (magnet,),
        "support": (support,),
        "cup": (cup,),
        "end": (end, tuple((along, -off) for along, off in end)),
    }
    for shape in shapes.get(by, ()):
        spots = tuple(
            (at[0] + along * way[0] - off * way[1], at[1] + along * way[1] + off * way[0]) for along, off in shape
        )
        yield draw.Line(spots, draw.THIN, closed=True, fill="black" if by != "hand" else "white")


def _letter(step: SheetStep, frame: StripFrame, window: draw.Box) -> Iterator[draw.Item]:
    """The letter of the bend under the die's opening, on white."""
    letters = " ".join(dict.fromkeys(bend_mark(zone.bend) for zone in step.zones))
    level = min(frame.origin[1] + UNDER_MM - 2.2, window.bottom_mm - 3.0)
    yield from ringed(letters, (frame.origin[0], level), size_mm=3.4)


def _viewpoint(drawing: draw.Drawing, wording: Wording) -> Sequence[draw.Item]:
    level = drawing.height_mm - 0.8
    return (
        draw.Text((0.4, level), "← " + wording.word("backgauge"), WORD_MM, True),
        draw.Text((drawing.width_mm - 0.4, level), wording.word("operator") + " →", WORD_MM, True, "end"),
    )
