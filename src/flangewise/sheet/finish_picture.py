"""The finished part in isometric view, hidden lines removed, its legs and angles written on."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise

from flangewise.drawing import (
    MEDIUM,
    THIN,
    Box,
    Dimension,
    Drawing,
    Ink,
    Label,
    Line,
    Ruler,
    bounds,
    clean,
    entry_mm,
    lettered,
    linear,
    ridges,
    ruler,
    seen_runs,
    zigzag,
)
from flangewise.drawing import SCALES as ROUND_SCALES
from flangewise.sheet.data import Blank, Finish, FlatPose, Hole, Point
from flangewise.sheet.lay import rim_of
from flangewise.sheet.settle import settled
from flangewise.sheet.top_view import on_leg
from flangewise.sheet.voice import Voice

COSINE, SINE = math.cos(math.radians(30)), math.sin(math.radians(30))
LABEL_MM = 3.2
MARGIN_MM = 17.0
"""Room around the part for its dimensions."""
LONG = 4.0
"""A part longer than so many times its section is broken along its length."""


@dataclass(frozen=True)
class Iso:
    """The isometric projection: across to the right and down, up upward, behind to the right and up, by 30 degrees."""

    scale: float
    origin: Point
    along: Ruler

    def spot(self, section: Point, along_mm: float) -> Point:
        """Paper of a place (across, up) of the section, so far along the part from its front end."""
        return self.at_depth(section, self.behind_mm(along_mm))

    def at_depth(self, section: Point, behind_mm: float) -> Point:
        """Paper of a place so far behind the front end as drawn."""
        across, up = section
        right, down = (across + behind_mm) * COSINE, (across - behind_mm) * SINE - up
        return self.origin[0] + right * self.scale, self.origin[1] + down * self.scale

    def behind_mm(self, along_mm: float) -> float:
        """Depth as drawn of a place along the part: less than the true one beyond a break."""
        return self.along.paper_mm(along_mm) / self.scale

    @property
    def depth_mm(self) -> float:
        """Depth of the far end as drawn."""
        return self.along.length_mm / self.scale


def finish_picture(
    finish: Finish, blank: Blank, voice: Voice, *, thickness_mm: float, width_mm: float = 84.0, height_mm: float = 62.0
) -> Drawing:
    """The part as it should come out, small, for the side of the first-piece record."""
    return settled(partial(_build, finish, blank, voice, thickness_mm, Box(0.0, 0.0, width_mm, height_mm)))


def _build(
    finish: Finish, blank: Blank, voice: Voice, thickness_mm: float, frame: Box, growth_mm: float
) -> tuple[Drawing, list[Label]]:
    drawing = Drawing(frame.width_mm, frame.height_mm + growth_mm, described=voice.word("alt.finish"))
    iso = _projection(finish, blank, drawing.frame.grown(-MARGIN_MM))
    body = [*_ends(finish, iso), *_long_edges(finish, iso, thickness_mm), *_holes(finish, blank, iso, thickness_mm)]
    drawing = drawing.adding(body)
    sizes = [*_leg_sizes(finish, iso, drawing, voice), _length_size(finish, blank, iso, voice)]
    drawing = drawing.adding(line for size in sizes for line in size.lines)
    return drawing, [*(size.label for size in sizes), *_angles(finish, iso, voice)]


def _projection(finish: Finish, blank: Blank, room: Box) -> Iso:
    """The largest round scale that fits; a long part broken so that its section stays large."""
    outline = finish.pose.outline_mm
    section = bounds(outline)
    whole_mm = min(blank.along_mm, LONG * max(section.width_mm, section.height_mm))
    for scale in reversed(ROUND_SCALES):
        keep = [_kept(hole) for hole in blank.holes]
        along = ruler(blank.along_mm, whole_mm * scale, scale=scale, keep=keep)
        along = along or ruler(blank.along_mm, blank.along_mm * scale, scale=scale)
        assert along is not None
        iso = Iso(scale, (0.0, 0.0), along)
        spots = [iso.at_depth(point, depth) for point in outline for depth in (0.0, iso.depth_mm)]
        box = bounds(spots)
        if (box.width_mm <= room.width_mm and box.height_mm <= room.height_mm) or scale == ROUND_SCALES[0]:
            middle, centre = box.centre_mm, room.centre_mm
            return replace(iso, origin=(centre[0] - middle[0], centre[1] - middle[1]))
    raise AssertionError("the smallest scale always returns")


def _kept(hole: Hole) -> tuple[float, float]:
    half_mm = (hole.diameter_mm or (hole.size_mm or (0.0, 0.0))[0]) / 2
    return hole.centre_mm[0] - half_mm, hole.centre_mm[0] + half_mm


def _ends(finish: Finish, iso: Iso) -> Iterator[Line]:
    """The front end, all of it seen, and what shows of the far end."""
    outline = finish.pose.outline_mm
    yield Line(tuple(iso.at_depth(point, 0.0) for point in outline), MEDIUM, closed=True)
    for start, end in seen_runs(outline, (*outline, outline[0]), depth_mm=iso.depth_mm):
        yield Line((iso.at_depth(start, iso.depth_mm), iso.at_depth(end, iso.depth_mm)), MEDIUM)


def _long_edges(finish: Finish, iso: Iso, thickness_mm: float) -> Iterator[Line]:
    """Edges along the part, from the front end back to where something comes before them; thin where bends begin."""
    outline = finish.pose.outline_mm
    edges = [(point, MEDIUM) for point in ridges(outline)]
    edges += [(point, THIN) for point in _tangents(finish, thickness_mm)]
    for point, pen in edges:
        seen_mm = entry_mm(outline, point, within_mm=iso.depth_mm)
        for start, end in _unbroken(iso, seen_mm):
            yield Line((iso.at_depth(point, start), iso.at_depth(point, end)), pen)
            if end < seen_mm - 1e-6:
                yield zigzag(*_tooth(iso, point, end), pen=THIN, tooth_mm=0.8)


def _unbroken(iso: Iso, seen_mm: float) -> Iterator[tuple[float, float]]:
    """Stretches of a long edge, in depth as drawn, the breaks left open."""
    at_mm = 0.0
    for start, end in iso.along.breaks_mm():
        if start / iso.scale < seen_mm:
            yield at_mm, start / iso.scale
            at_mm = end / iso.scale
    if at_mm < seen_mm:
        yield at_mm, seen_mm


def _tooth(iso: Iso, point: Point, depth_mm: float) -> tuple[Point, Point]:
    x, y = iso.at_depth(point, depth_mm)
    return (x, y - 1.6), (x, y + 1.6)


def _tangents(finish: Finish, thickness_mm: float) -> Iterator[Point]:
    """The face points, on the side of the eye, where each leg's flat ends in a bend."""
    flats = finish.pose.flats
    for before, behind in pairwise(flats):
        for flat, end in ((before, before.end_mm), (behind, behind.start_mm)):
            if flat.to_mm - flat.from_mm > 0.1:
                yield _on_face(flat, end, thickness_mm)


def _on_face(flat: FlatPose, middle: Point, thickness_mm: float) -> Point:
    """From the middle surface to the face that looks to the eye."""
    right, up = flat.end_mm[0] - flat.start_mm[0], flat.end_mm[1] - flat.start_mm[1]
    length_mm = math.hypot(right, up) or 1.0
    normal = (-up / length_mm, right / length_mm)
    sense = 1.0 if normal[0] + normal[1] >= 0 else -1.0
    return (middle[0] + sense * normal[0] * thickness_mm / 2, middle[1] + sense * normal[1] * thickness_mm / 2)


def _holes(finish: Finish, blank: Blank, iso: Iso, thickness_mm: float) -> Iterator[Line]:
    """Rims on the face that looks to the eye, as far as nothing stands before them."""
    for hole in blank.holes:
        flat = next((each for each in finish.pose.flats if each.leg == hole.leg), None)
        if flat is None or flat.to_mm - flat.from_mm < 0.1:
            continue
        rim = rim_of(hole)
        spots = [(_on_face(flat, on_leg(flat, spot[1]), thickness_mm), iso.behind_mm(spot[0])) for spot in rim]
        for (here, near), (there, far) in pairwise([*spots, spots[0]]):
            middle = ((here[0] + there[0]) / 2, (here[1] + there[1]) / 2)
            if entry_mm(finish.pose.outline_mm, middle, within_mm=(near + far) / 2) >= (near + far) / 2 - 1e-9:
                yield Line((iso.at_depth(here, near), iso.at_depth(there, far)), THIN)


def _leg_sizes(finish: Finish, iso: Iso, drawing: Drawing, voice: Voice) -> Iterator[Dimension]:
    """A dimension beside each leg, on the side where less is drawn already."""
    ink = clean(drawing.frame).with_lines(drawing.lines())
    flats = finish.pose.flats
    for place, (flat, size_mm) in enumerate(zip(flats, finish.sizes_mm, strict=True)):
        if size_mm is None:
            continue
        ends = _mould_ends(flat, size_mm, first=place == 0, last=place == len(flats) - 1)
        start, end = (iso.at_depth(point, 0.0) for point in ends)
        words = voice.size(size_mm)
        sides = [linear(start, end, off_mm=off_mm, words=words) for off_mm in (7.0, -7.0)]
        yield lettered(min(sides, key=lambda side: _crossed(side, ink)), size_mm=LABEL_MM)


def _mould_ends(flat: FlatPose, size_mm: float, *, first: bool, last: bool) -> tuple[Point, Point]:
    """The leg's ends as the drawing sizes it: what the flat lacks to the size is added at its bend ends alike."""
    right, up = flat.end_mm[0] - flat.start_mm[0], flat.end_mm[1] - flat.start_mm[1]
    length_mm = math.hypot(right, up)
    if length_mm < 1e-9:
        return flat.start_mm, flat.end_mm
    over_mm = (size_mm - length_mm) / ((not first) + (not last) or 1)
    back, on = (0.0 if first else over_mm), (0.0 if last else over_mm)
    along = (right / length_mm, up / length_mm)
    start = (flat.start_mm[0] - along[0] * back, flat.start_mm[1] - along[1] * back)
    return start, (flat.end_mm[0] + along[0] * on, flat.end_mm[1] + along[1] * on)


def _crossed(size: Dimension, ink: Ink) -> int:
    """How much of a dimension's strokes runs over what is drawn."""
    hits = 0
    for line in size.lines:
        for here, there in pairwise(line.points_mm):
            for step in range(21):
                x = here[0] + (there[0] - here[0]) * step / 20
                y = here[1] + (there[1] - here[1]) * step / 20
                hits += not ink.free(Box(x, y, x, y))
    return hits


def _length_size(finish: Finish, blank: Blank, iso: Iso, voice: Voice) -> Dimension:
    """The length, beside the long edge that is nearest to the lower right."""
    corner = max(
        finish.pose.outline_mm, key=lambda point: point[0] * COSINE * SINE + (point[0] * SINE - point[1]) * COSINE
    )
    start, end = iso.at_depth(corner, 0.0), iso.at_depth(corner, iso.depth_mm)
    return lettered(linear(start, end, off_mm=-6.0, words=voice.size(blank.along_mm)), size_mm=LABEL_MM)


def _angles(finish: Finish, iso: Iso, voice: Voice) -> Iterator[Label]:
    """The included angle of each bend, led to its corner."""
    flats = finish.pose.flats
    for (before, behind), (name, angle_deg) in zip(pairwise(flats), finish.angles_deg, strict=True):
        corner = ((before.end_mm[0] + behind.start_mm[0]) / 2, (before.end_mm[1] + behind.start_mm[1]) / 2)
        yield Label((f"{name}: {voice.angle(angle_deg)}",), iso.at_depth(corner, 0.0), LABEL_MM, True)
