"""A drawn blank laid out: the outline stays, and each bend takes its zone from the faces beside its line.

Whatever radius forms, a zone as wide as the allowance stands about its line; the finished sizes follow.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import shapely

from flangewise.bend import linear_tolerance_mm
from flangewise.drawn import DrawnFace, DrawnLine
from flangewise.findings import Finding, place, refuse
from flangewise.geometry import Point
from flangewise.part import Drawn, PanelPart
from flangewise.pattern.drawn_checks import drawn_findings, parted_at_corners
from flangewise.pattern.flat_pattern import (
    BendZone,
    DrawnPanelBlank,
    FinishedSize,
    FlatFace,
    FlatHole,
    NoBlank,
)
from flangewise.pattern.panel_checks import GRID_MM, finished_findings
from flangewise.pattern.taken import FormedBend, allowance_findings, taken_by
from flangewise.shop import Shop

MM3_PER_M3 = 1e9
# What is left of a face beside its bends counts as sheet from this on.
LEAST_MM2 = 1e-4
# A cut-out all of whose points lie so near to one circle is round: curves are read in chords no further off.
ROUND_MM, LEAST_POINTS = 0.02, 12
# Where the edges of the sheet at the end of a line slant more than this off square, the zone ends at the narrowest.
SLANT_MM = 0.01


def lay_out_drawn(
    part: PanelPart,
    shop: Shop,
    *,
    radii_mm: Mapping[int, float],
    rule: str | None = None,
    deductions_mm: Mapping[int, float] | None = None,
) -> DrawnPanelBlank:
    """A drawn blank with the inside radius each bend gets; the rest as `lay_out_panel` has it.

    Raises NoBlank, with a `refuse` finding each, where bends leave nothing of a face or part it in two.
    """
    drawn, t, learned = part.panel, part.thickness_mm, deductions_mm or {}
    assert isinstance(drawn, Drawn)

    def taken(radii: Mapping[int, float], measured: Mapping[int, float]) -> dict[int, FormedBend]:
        return {
            bend.number: taken_by(
                bend,
                radii[bend.number],
                thickness_mm=t,
                sizes=drawn.sizes,
                rule=rule or shop.defaults.rule,
                learned_mm=measured.get(bend.number),
            )
            for bend in drawn.bends
        }

    formed = taken(radii_mm, learned)
    asked = taken({bend.number: _asked_mm(drawn, bend.number, radii_mm) for bend in drawn.bends}, {})
    sheet = shapely.Polygon(drawn.blank.outline_mm, drawn.blank.cutouts_mm)
    whole = tuple(_zone(line, formed[line.number], sheet) for line in drawn.blank.lines)
    zones, shared = parted_at_corners(whole)
    faces, gone = _faces(drawn, zones, sheet)
    if gone:
        raise NoBlank(gone)
    blank = drawn.blank
    finished = _finished(drawn, formed, asked)
    laid = DrawnPanelBlank(
        part=part.name,
        thickness_mm=t,
        faces=faces,
        zones=zones,
        outline_mm=blank.outline_mm,
        holes=tuple(_hole(number, ring, blank.faces) for number, ring in enumerate(blank.cutouts_mm, start=1)),
        area_mm2=blank.area_mm2,
        mass_kg=blank.area_mm2 * t * shop.materials[part.material].density_kg_per_m3 / MM3_PER_M3,
        findings=(
            *blank.findings,
            *shared,
            *allowance_findings(t, tuple(formed.values())),
            *_sizes_off(finished, part),
        ),
        bulges=(0.0,) * len(blank.outline_mm),
        finished=finished,
        lines_mm=tuple((line.start_mm, line.end_mm) for line in blank.lines),
    )
    told = (*laid.findings, *drawn_findings(laid), *finished_findings(laid))
    return DrawnPanelBlank(**{**vars(laid), "findings": told})


def _asked_mm(drawn: Drawn, bend: int, radii_mm: Mapping[int, float]) -> float:
    """The radius asked for, else the one that forms."""
    asked_mm = drawn.asked_radius_mm(drawn.bends[bend - 1])
    return radii_mm[bend] if asked_mm is None else asked_mm


def _zone(line: DrawnLine, taken: FormedBend, sheet: Any) -> BendZone:
    """The zone about a line, its ends where the sheet is as wide over the whole zone."""
    start_mm, end_mm = line.start_mm, line.end_mm
    length_mm, half_mm = math.dist(start_mm, end_mm), taken.allowance.allowance_mm / 2
    dx, dy = (end_mm[0] - start_mm[0]) / length_mm, (end_mm[1] - start_mm[1]) / length_mm
    left_mm = _short_mm(sheet, start_mm, (dx, dy), half_mm, length_mm)
    right_mm = _short_mm(sheet, end_mm, (-dx, -dy), half_mm, length_mm)

    def at(along_mm: float) -> Point:
        return start_mm[0] + along_mm * dx, start_mm[1] + along_mm * dy

    runs = [tuple(math.dist(start_mm, end) for end in run) for run in line.runs_mm]
    gaps = [(one[1] - left_mm, other[0] - left_mm) for one, other in pairwise(runs)]
    return BendZone(
        bend=line.number,
        label=str(line.number),
        face_from=line.face_from,
        face_to=line.face_to,
        line_mm=(at(left_mm), at(length_mm - right_mm)),
        turn_deg=line.bend.turn_deg,
        toward=line.toward,
        inside_radius_mm=taken.radius_mm,
        allowance=taken.allowance,
        gaps_mm=tuple(gaps),
    )


def _short_mm(sheet: Any, end_mm: Point, inward: Point, half_mm: float, length_mm: float) -> float:
    """How much shorter than its line a zone is at an end where the edge of the sheet does not stand square to it."""
    reach_mm = min(half_mm, length_mm / 4)
    box = shapely.Polygon(_box(end_mm, inward, half_mm, reach_mm))
    missing = shapely.difference(box, sheet, grid_size=GRID_MM)
    depths = [
        max((x - end_mm[0]) * inward[0] + (y - end_mm[1]) * inward[1] for x, y in piece.exterior.coords)
        for piece in shapely.get_parts(missing)
        if piece.geom_type == "Polygon" and piece.area > LEAST_MM2
    ]
    found_mm = max(depths, default=0.0)
    return found_mm if SLANT_MM < found_mm < reach_mm - SLANT_MM else 0.0


def _box(end_mm: Point, way: Point, half_mm: float, deep_mm: float) -> list[Point]:
    """The corners of a rectangle as wide as a zone, from the end of its line on in a direction."""
    (x, y), (dx, dy) = end_mm, way
    return [
        (x + along * dx - across * dy, y + along * dy + across * dx)
        for along, across in ((0.0, -half_mm), (deep_mm, -half_mm), (deep_mm, half_mm), (0.0, half_mm))
    ]


def _faces(drawn: Drawn, zones: Sequence[BendZone], sheet: Any) -> tuple[tuple[FlatFace, ...], tuple[Finding, ...]]:
    """Each face without what its bends take, and what is wrong with those of which nothing or two pieces are left."""
    faces, gone = [], []
    bands = {zone.bend: _band(drawn.line(zone.bend), zone, sheet) for zone in zones}
    for face in drawn.blank.faces:
        name = drawn.faces[face.number - 1]
        own = [zone for zone in zones if face.number in (zone.face_from, zone.face_to)]
        whole = shapely.Polygon(face.outline_mm)
        left = whole
        if own:
            taken = shapely.union_all([bands[zone.bend] for zone in own], grid_size=GRID_MM)
            left = shapely.difference(whole, taken, grid_size=GRID_MM)
        pieces = sorted(
            (each for each in shapely.get_parts(left) if each.geom_type == "Polygon" and each.area > LEAST_MM2),
            key=lambda each: -each.area,
        )
        if not pieces:
            wide_mm = sum(zone.allowance.allowance_mm / 2 for zone in own)
            gone.append(refuse("face-inside-bends", place("face", name), least_mm=wide_mm))
            continue
        # A crumb beside the end of a bend is no second face.
        if len(pieces) > 1 and pieces[1].area > max(zone.allowance.allowance_mm for zone in own) ** 2:
            x_mm, y_mm = pieces[1].representative_point().coords[0]
            gone.append(refuse("reliefs-meet", place("face", name), x_mm=x_mm, y_mm=y_mm))
            continue
        ring = shapely.orient_polygons(pieces[0]).exterior.coords[:-1]
        faces.append(FlatFace(face.number, tuple((float(x), float(y)) for x, y in ring), name))
    return tuple(faces), tuple(gone)


def _band(line: DrawnLine, zone: BendZone, sheet: Any) -> Any:
    """What a bend takes of the faces: its strip, and beside an end where the sheet runs out slanting that bit too."""
    start_mm, end_mm = line.start_mm, line.end_mm
    length_mm, half_mm = math.dist(start_mm, end_mm), zone.allowance.allowance_mm / 2
    dx, dy = (end_mm[0] - start_mm[0]) / length_mm, (end_mm[1] - start_mm[1]) / length_mm
    pieces = [shapely.Polygon(_box(start_mm, (dx, dy), half_mm, length_mm))]
    for at, way in ((start_mm, (-dx, -dy)), (end_mm, (dx, dy))):
        beyond = shapely.intersection(shapely.Polygon(_box(at, way, half_mm, half_mm)), sheet, grid_size=GRID_MM)
        for piece in shapely.get_parts(beyond):
            if piece.geom_type != "Polygon" or piece.area <= LEAST_MM2:
                continue
            out_mm = [(x - at[0]) * way[0] + (y - at[1]) * way[1] for x, y in piece.exterior.coords]
            if min(out_mm) < SLANT_MM and max(out_mm) < half_mm - SLANT_MM:
                pieces.append(piece)
    return shapely.union_all(pieces, grid_size=GRID_MM)


def _hole(number: int, ring_mm: Sequence[Point], faces: Sequence[DrawnFace]) -> FlatHole:
    """A cut-out with the face it lies in; across a bend line it is told with the first face beside it."""
    middle = shapely.Polygon(ring_mm)
    own = [face.number for face in faces if any(set(each) == set(ring_mm) for each in face.cutouts_mm)]
    beside = [face.number for face in faces if shapely.Polygon(face.outline_mm).distance(middle) < GRID_MM]
    face = (own or beside or [1])[0]
    points = np.array(ring_mm)
    low, high = points.min(axis=0), points.max(axis=0)
    centre = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
    at = (float(centre[0]), float(centre[1]))
    off_mm = np.hypot(points[:, 0] - at[0], points[:, 1] - at[1])
    if len(ring_mm) >= LEAST_POINTS and float(off_mm.max() - off_mm.min()) < ROUND_MM:
        return FlatHole(number, face, at, 2 * float(off_mm.max()), None)
    return FlatHole(number, face, at, None, None, ring_mm=tuple(ring_mm))


def _finished(
    drawn: Drawn, formed: Mapping[int, FormedBend], asked: Mapping[int, FormedBend]
) -> tuple[FinishedSize, ...]:
    wanted = dict(drawn.wanted_mm)
    with_these, with_those = (
        drawn.sizes_mm({bend: each.allowance.deduction_mm for bend, each in taken.items()}) for taken in (formed, asked)
    )
    return tuple(
        FinishedSize(name, size_mm, asked_mm, wanted.get(name, ()))
        for name, size_mm, asked_mm in zip(drawn.faces, with_these, with_those, strict=True)
    )


def _sizes_off(finished: Sequence[FinishedSize], part: PanelPart) -> Iterator[Finding]:
    """Faces that come to another size than the drawing wants, by more than it or ISO 2768-1 m allows."""
    allowed, every = part.tolerances.faces_mm, part.tolerances.legs_mm
    for each in finished:
        for size_mm, wanted_mm in zip(each.size_mm, each.wanted_mm, strict=False):
            given_mm = allowed.get(each.face, every[0] if every else None)
            tolerance_mm = linear_tolerance_mm(wanted_mm) if given_mm is None else given_mm
            if tolerance_mm is not None and abs(size_mm - wanted_mm) > tolerance_mm:
                values = {"size_mm": size_mm, "wanted_mm": wanted_mm, "allowed_mm": tolerance_mm}
                yield refuse("drawn-size-off", place("face", each.face), **values)
