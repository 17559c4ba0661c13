"""What holds for the blank of any section: mirror, reversal, units, area, and the sums of allowances."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings, strategies as st

from flangewise.part import Part, read_part
from flangewise.pattern import FlatPattern
from flangewise.pattern.folded import folded

from .sections import blank, middle_line, parts, shop

RADII = st.floats(0.0, 10.0)
QUICK = settings(max_examples=60, deadline=None)


def mirrored(part: Part) -> Part:
    """Every bend the other way."""
    section = part.section
    return replace(
        part, section=replace(section, bends=tuple(replace(each, away=not each.away) for each in section.bends))
    )


def backward(part: Part) -> Part:
    """The same section read from its other end; an offset read backward goes the other way first."""
    section = part.section
    count = len(section.bends)
    bends = tuple(
        replace(each, number=count + 1 - each.number, away=each.away != (each.kind == "offset"))
        for each in reversed(section.bends)
    )
    return replace(part, section=replace(section, legs_mm=section.legs_mm[::-1], bends=bends))


@QUICK
@given(parts(), RADII)
def test_mirrored_bends_make_the_same_blank(part: Part, radius_mm: float) -> None:
    one, other = blank(part, radius_mm), blank(mirrored(part), radius_mm)
    assert one.developed_mm == other.developed_mm
    assert [zone.line_mm for zone in one.zones] == [zone.line_mm for zone in other.zones]
    assert [zone.toward for zone in one.zones] == [not zone.toward for zone in other.zones]


@QUICK
@given(parts(), RADII)
def test_mirrored_bends_fold_to_the_mirror_image(part: Part, radius_mm: float) -> None:
    one, other = blank(part, radius_mm), blank(mirrored(part), radius_mm)
    looked_at = list(zip(middle_line(one, folded(one)), middle_line(other, folded(other)), strict=True))
    assert looked_at
    for (near, far), (near_other, far_other) in looked_at:
        assert near_other == pytest.approx([near[0], -near[1]], abs=1e-7)
        assert far_other == pytest.approx([far[0], -far[1]], abs=1e-7)


@QUICK
@given(parts(), RADII)
def test_read_from_the_other_end_the_blank_is_as_long(part: Part, radius_mm: float) -> None:
    one, other = blank(part, radius_mm), blank(backward(part), radius_mm)
    assert other.developed_mm == pytest.approx(one.developed_mm, rel=1e-12)
    lines = [one.developed_mm - zone.line_mm[0][1] for zone in reversed(one.zones)]
    assert [zone.line_mm[0][1] for zone in other.zones] == pytest.approx(lines, abs=1e-9)
    assert [zone.toward for zone in other.zones] == [zone.toward for zone in reversed(one.zones)]


@QUICK
@given(parts(kinds=("bend", "hem")), RADII)
def test_the_blank_is_legs_less_deductions(part: Part, radius_mm: float) -> None:
    pattern = blank(part, radius_mm)
    deductions_mm = sum(zone.allowance.deduction_mm for zone in pattern.zones)
    assert pattern.developed_mm == pytest.approx(sum(part.section.legs_mm) - deductions_mm, abs=1e-9)


@QUICK
@given(parts(), RADII)
def test_the_blank_is_flats_and_allowances(part: Part, radius_mm: float) -> None:
    pattern = blank(part, radius_mm)
    assert pattern.developed_mm == pytest.approx(
        sum(pattern.flats_mm) + sum(zone.allowance.allowance_mm for zone in pattern.zones), abs=1e-9
    )
    assert all(zone.allowance.allowance_mm == zone.allowance.allowance_mm for zone in pattern.zones)


@QUICK
@given(parts(holes=True), RADII)
def test_the_area_is_that_of_another_program_s_polygons(part: Part, radius_mm: float) -> None:
    pattern = blank(part, radius_mm)
    area_mm2 = cut_out(pattern).area
    assert pattern.area_mm2 == pytest.approx(area_mm2, rel=1e-6)
    density = shop().materials[part.material].density_kg_per_m3
    assert pattern.mass_kg == pytest.approx(area_mm2 * part.thickness_mm / 1e9 * density, rel=1e-6)


def cut_out(pattern: FlatPattern) -> shapely.Polygon:
    sheet = shapely.Polygon(pattern.outline_mm)
    for hole in pattern.holes:
        x, y = hole.centre_mm
        if hole.diameter_mm is not None:
            sheet = sheet.difference(shapely.Point(x, y).buffer(hole.diameter_mm / 2, quad_segs=256))
        else:
            half_x, half_y = hole.half_size_mm
            sheet = sheet.difference(shapely.box(x - half_x, y - half_y, x + half_x, y + half_y))
    return sheet


@QUICK
@given(parts(), RADII)
def test_faces_and_zones_tile_the_outline(part: Part, radius_mm: float) -> None:
    pattern = blank(part, radius_mm)
    strips = [
        shapely.box(
            0,
            zone.line_mm[0][1] - zone.allowance.allowance_mm / 2,
            pattern.along_bends_mm,
            zone.line_mm[0][1] + zone.allowance.allowance_mm / 2,
        )
        for zone in pattern.zones
    ]
    faces = [shapely.Polygon(face.outline_mm) for face in pattern.faces]
    whole = shapely.union_all([shapely.set_precision(each, 1e-9) for each in (*faces, *strips)])
    assert whole.area == pytest.approx(pattern.developed_mm * pattern.along_bends_mm, rel=1e-9)
    assert sum(each.area for each in (*faces, *strips)) == pytest.approx(whole.area, rel=1e-9)


@QUICK
@given(parts(kinds=("bend",)), st.floats(0.1, 10.0))
def test_allowance_is_in_proportion_to_the_turn(part: Part, radius_mm: float) -> None:
    looked_at = list(zip(blank(part, radius_mm).zones, part.section.bends, strict=True))
    assert looked_at
    for zone, bend in looked_at:
        assert zone.allowance.allowance_mm == pytest.approx(
            math.radians(bend.turn_deg) * (radius_mm + zone.allowance.k_factor * part.thickness_mm), rel=1e-9
        )


SIZES_MM = st.floats(60.0, 400.0).map(lambda size_mm: round(size_mm, 3))


@settings(max_examples=60, deadline=None)
@given(st.lists(SIZES_MM, min_size=2, max_size=5), st.floats(0.5, 5.0), st.floats(0.5, 5.0), st.data())
def test_inch_and_mm_files_make_the_same_blank(
    legs_mm: list[float], thickness_mm: float, radius_mm: float, data: st.DataObject
) -> None:
    turns_deg = [data.draw(st.integers(5, 175)) for _ in legs_mm[1:]]
    one, other = (
        blank(read_part(written(units, legs_mm, thickness_mm, turns_deg), "p.yaml", shop()), radius_mm)
        for units in ("mm", "inch")
    )
    assert other.developed_mm == pytest.approx(one.developed_mm, rel=1e-9)
    assert other.area_mm2 == pytest.approx(one.area_mm2, rel=1e-9)
    assert [zone.line_mm[0][1] for zone in other.zones] == pytest.approx([zone.line_mm[0][1] for zone in one.zones])
    assert [hole.centre_mm for hole in other.holes] == [pytest.approx(hole.centre_mm) for hole in one.holes]


def written(units: str, legs_mm: list[float], thickness_mm: float, turns_deg: list[int]) -> str:
    """The same part file in mm or in inches."""
    scale = 25.4 if units == "inch" else 1.0
    legs = ", ".join(repr(leg_mm / scale) for leg_mm in legs_mm)
    turns = ", ".join(f"{{turn: {turn_deg}}}" for turn_deg in turns_deg)
    return (
        f"part: p\nmaterial: DC01\nthickness: {thickness_mm / scale!r}\nunits: {units}\n"
        f"section:\n  length: {250 / scale!r}\n  legs: [{legs}]\n  bends: [{turns}]\n"
        f"  holes: [{{leg: 1, at: [{100 / scale!r}, {30 / scale!r}], diameter: {8 / scale!r}}}]\n"
    )
