"""The finished part in isometric view, hidden lines removed, with its size along the bends."""

import math
from collections.abc import Iterator
from itertools import pairwise

from flangewise import drawing as draw
from flangewise.pattern import FlatPattern
from flangewise.records import dataclass, replace
from flangewise.sheet.data import Flat, Point, Profile, SheetData
from flangewise.sheet.loading_view import on_leg, rim_of
from flangewise.sheet.wording import Wording

COSINE, SINE = math.cos(math.radians(30)), math.sin(math.radians(30))
LABEL_MM = 3.9
MARGIN_MM = 8.0
"""Room around the part for its size."""
TURNS_DEG = (0.0, -15.0, 15.0, -25.0, 25.0, -35.0, 35.0)
EDGE_ON = 0.3
"""A leg is seen edge-on where its direction differs by less from the line of sight."""
LONG = 4.0
"""A part longer than so many times its section is broken along its length."""


@dataclass(frozen=True)
class Iso:
    """The isometric projection: across to the right and down, up upward, behind to the right and up, by 30 degrees."""

    scale: float
    origin: Point
    along: draw.Ruler

    def at_depth(self, section: Point, behind_mm: float) -> Point:
        """Paper of a place so far behind the front end as drawn."""
        right, down = seen(section, behind_mm)
        return self.origin[0] + right * self.scale, self.origin[1] + down * self.scale

    def behind_mm(self, along_mm: float) -> float:
        """Depth as drawn of a place along the part: less than the true one beyond a break."""
        return self.along.paper_mm(along_mm) / self.scale

    @property
    def depth_mm(self) -> float:
        """Depth of the far end as drawn."""
        return self.along.length_mm / self.scale


def seen(section: Point, behind_mm: float = 0.0) -> Point:
    """Where a place of the section, so far behind the front end, is seen at full size."""
    across, up = section
    return (across + behind_mm) * COSINE, (across - behind_mm) * SINE - up


@draw.within
def finish_picture(
    kept_mm: float, sheet: SheetData, wording: Wording, *, width_mm: float, height_mm: float
) -> draw.Built:
    """The part as it should come out, small, with its size along the bends: the others stand at its section."""
    pattern, profile = sheet.pattern, never_edge_on(sheet.finished)
    drawing = draw.Drawing(width_mm, height_mm + kept_mm, described=wording.word("alt.finish"))
    iso = _projection(profile, pattern, drawing.frame.grown(-MARGIN_MM - kept_mm / 4))
    thickness_mm = pattern.thickness_mm
    body = [*_ends(profile, iso), *_long_edges(profile, iso, thickness_mm)]
    drawing = drawing.adding([*body, *_holes(profile, pattern, iso, thickness_mm)])
    size = _length_size(profile, pattern, iso, wording)
    return drawing.adding(size.lines), [size.label]


def never_edge_on(profile: Profile) -> Profile:
    """The section turned by the least angle at which no leg lies along the line of sight, not to be seen."""
    for turn_deg in TURNS_DEG:
        turned = _turned(profile, turn_deg)
        slopes = (draw.towards(flat.start_mm, flat.end_mm) for flat in turned.flats)
        if all(abs(right - up) > EDGE_ON or length_mm < 0.1 for right, up, length_mm in slopes):
            return turned
    return profile


def _turned(profile: Profile, turn_deg: float) -> Profile:
    sine, cosine = math.sin(math.radians(turn_deg)), math.cos(math.radians(turn_deg))

    def turn(point: Point) -> Point:
        return point[0] * cosine - point[1] * sine, point[0] * sine + point[1] * cosine

    flats = (Flat(flat.face, turn(flat.start_mm), turn(flat.end_mm)) for flat in profile.flats)
    return Profile(tuple(map(turn, profile.outline_mm)), tuple(flats))


def _projection(profile: Profile, pattern: FlatPattern, room: draw.Box) -> Iso:
    """The largest round scale that fits; a long part broken so that its section stays large."""
    outline, along_mm = profile.outline_mm, pattern.along_bends_mm
    section, front = draw.bounds(outline), draw.bounds(map(seen, outline))
    whole_mm = min(along_mm, LONG * max(section.width_mm, section.height_mm))
    holes = ((hole.centre_mm[0], hole.half_size_mm[0]) for hole in pattern.holes)
    keep = [(at_mm - half_mm, at_mm + half_mm) for at_mm, half_mm in holes]
    for scale in reversed(draw.SCALES):
        along = draw.ruler(along_mm, whole_mm * scale, scale=scale, keep=keep) or draw.unbroken(along_mm, scale)
        deep_mm = along.length_mm / scale
        whole = replace(front, right_mm=front.right_mm + deep_mm * COSINE, top_mm=front.top_mm - deep_mm * SINE)
        box = draw.bounds((x * scale, y * scale) for x, y in whole.corners_mm)
        if box.width_mm <= room.width_mm and box.height_mm <= room.height_mm:
            break
    middle, centre = box.centre_mm, room.centre_mm
    return Iso(scale, (centre[0] - middle[0], centre[1] - middle[1]), along)


def _ends(profile: Profile, iso: Iso) -> Iterator[draw.Line]:
    """The front end, all of it seen, and what shows of the far end."""
    outline = profile.outline_mm
    yield draw.Line(tuple(iso.at_depth(point, 0.0) for point in outline), draw.MEDIUM, closed=True)
    for start, end in draw.seen_runs(outline, (*outline, outline[0]), depth_mm=iso.depth_mm):
        yield draw.Line((iso.at_depth(start, iso.depth_mm), iso.at_depth(end, iso.depth_mm)), draw.MEDIUM)


def _long_edges(profile: Profile, iso: Iso, thickness_mm: float) -> Iterator[draw.Line]:
    """Edges along the part, from the front end back to where something comes before them; thin where bends begin."""
    outline = profile.outline_mm
    edges = [(point, draw.MEDIUM) for point in draw.ridges(outline)]
    edges += [(point, draw.THIN) for point in _tangents(profile, thickness_mm)]
    for point, pen in edges:
        seen_mm = draw.entry_mm(outline, point, within_mm=iso.depth_mm)
        for start, end in _unbroken(iso, seen_mm):
            yield draw.Line((iso.at_depth(point, start), iso.at_depth(point, end)), pen)
            if end < seen_mm - 1e-6:
                x, y = iso.at_depth(point, end)
                yield draw.zigzag((x, y - 1.6), (x, y + 1.6), pen=draw.THIN, tooth_mm=0.8)


def _unbroken(iso: Iso, seen_mm: float) -> Iterator[tuple[float, float]]:
    """Stretches of a long edge, in depth as drawn, the breaks left open."""
    at_mm = 0.0
    for start, end in iso.along.breaks_mm():
        if start / iso.scale < seen_mm:
            yield at_mm, start / iso.scale
            at_mm = end / iso.scale
    if at_mm < seen_mm:
        yield at_mm, seen_mm


def _tangents(profile: Profile, thickness_mm: float) -> Iterator[Point]:
    """The face points, on the side of the eye, where each leg's flat ends in a bend."""
    flats = profile.flats
    for before, behind in pairwise(flats):
        for flat, end in ((before, before.end_mm), (behind, behind.start_mm)):
            if flat.face.to_mm - flat.face.from_mm > 0.1:
                yield _on_face(flat, end, thickness_mm)


def _on_face(flat: Flat, middle: Point, thickness_mm: float) -> Point:
    """From the middle surface to the face that looks to the eye."""
    right, up, _ = draw.towards(flat.start_mm, flat.end_mm)
    sense = 1.0 if right >= up else -1.0
    return draw.moved(middle, (-up, right), sense * thickness_mm / 2)


def _holes(profile: Profile, pattern: FlatPattern, iso: Iso, thickness_mm: float) -> Iterator[draw.Line]:
    """Rims on the face that looks to the eye, as far as nothing stands before them."""
    for hole in pattern.holes:
        flat = next((each for each in profile.flats if each.face.number == hole.face), None)
        if flat is None or flat.face.to_mm - flat.face.from_mm < 0.1:
            continue
        rim = rim_of(hole)
        spots = [(_on_face(flat, on_leg(flat, spot[1]), thickness_mm), iso.behind_mm(spot[0])) for spot in rim]
        for (here, near), (there, far) in pairwise([*spots, spots[0]]):
            depth_mm = (near + far) / 2
            if draw.entry_mm(profile.outline_mm, draw.between(here, there), within_mm=depth_mm) >= depth_mm - 1e-9:
                yield draw.Line((iso.at_depth(here, near), iso.at_depth(there, far)), draw.THIN)


def _length_size(profile: Profile, pattern: FlatPattern, iso: Iso, wording: Wording) -> draw.Dimension:
    """The length, beside the long edge that is nearest to the lower right."""
    corner = max(profile.outline_mm, key=lambda point: point[0] * COSINE * SINE + (point[0] * SINE - point[1]) * COSINE)
    start, end = iso.at_depth(corner, 0.0), iso.at_depth(corner, iso.depth_mm)
    return draw.linear(start, end, off_mm=-6.0, words=wording.size(pattern.along_bends_mm), size_mm=LABEL_MM)
