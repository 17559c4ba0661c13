"""The folded outline against closed forms: areas of flats and ring sectors, places of legs."""

import math

import numpy as np
import pytest
import shapely

from flangewise.replay import SectionNumbers
from flangewise.replay.fold import ZoneBend, rings_of, rings_on_flat, view_of

FLATS = (20.0, 30.0, 40.0)


def section(radius=2.0, thickness=2.0):
    zone = math.pi / 2 * (radius + 0.5 * thickness)
    return SectionNumbers(FLATS, (zone, zone), (90.0, -90.0), (radius, radius), thickness)


def area_of(ring):
    polygon = shapely.Polygon(ring)
    assert polygon.is_valid
    return polygon.area


@pytest.mark.parametrize("start_behind", [True, False])
@pytest.mark.parametrize("marked_up", [True, False])
def test_area_is_flats_and_sectors(start_behind, marked_up):
    at = view_of(section(), (90.0, -90.0), marked_up=marked_up, start_behind=start_behind)
    sector = math.pi / 4 * (4.0**2 - 2.0**2)
    # Arcs drawn with 5 degree chords enclose 0.13 % less than true ones.
    assert area_of(rings_on_flat(at, 1).points_mm[0]) == pytest.approx(2 * sum(FLATS) + 2 * sector, rel=2e-4)


def test_neutral_length_in_the_middle_keeps_the_area_through_the_stroke():
    at = view_of(section(), (0.0, 0.0), marked_up=True, start_behind=True)
    turns = np.linspace(0.0, 90.0, 37)
    rings = rings_of(at, ZoneBend(0, 90.0, 2.0), turns)
    assert np.ptp(shapely.area(shapely.polygons(rings.points_mm))) < 0.05


def test_one_middle_flat_level_and_the_legs_where_they_belong():
    ring = rings_on_flat(view_of(section(), (90.0, -90.0), marked_up=True, start_behind=True), 1)
    low, high = ring.points_mm[0].min(axis=0), ring.points_mm[0].max(axis=0)
    # Rear leg stands up: inside radius 2 and thickness behind the flat's end, its tip 20 above the arc's end.
    assert low[0] == pytest.approx(-4.0)
    assert high[1] == pytest.approx(4.0 + 20.0)
    # Front leg hangs down from the flat's other end.
    assert high[0] == pytest.approx(30.0 + 4.0)
    assert low[1] == pytest.approx(-2.0 - 40.0)


def test_swinging_zone_lies_evenly():
    at = view_of(SectionNumbers((40.0, 40.0), (4.7,), (90.0,), (2.0,), 2.0), (0.0,), marked_up=True, start_behind=True)
    ring = rings_of(at, ZoneBend(0, 92.0, 2.0), np.array([61.0])).points_mm[0]
    mirrored = ring * np.array([-1.0, 1.0])
    assert shapely.Polygon(ring).symmetric_difference(shapely.Polygon(mirrored)).area < 1e-9
    slopes = np.degrees(np.arctan2(*(np.roll(ring, -1, axis=0) - ring).T[::-1]))
    longest = np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1) > 39
    assert sorted(np.round(np.abs(slopes[longest]), 6)) == [30.5, 30.5, 149.5, 149.5]


def test_inset_takes_both_faces_and_leaves_the_middle():
    at = view_of(section(), (90.0, -90.0), marked_up=True, start_behind=True)
    thin = rings_on_flat(at, 1, inset_mm=0.25).points_mm[0]
    assert area_of(thin) == pytest.approx(0.75 * area_of(rings_on_flat(at, 1).points_mm[0]), rel=1e-6)


def test_round_ends_add_a_disc_in_two_halves():
    plain = SectionNumbers((40.0, 40.0), (4.0,), (90.0,), (2.0,), 2.0)
    capped = SectionNumbers((40.0, 40.0), (4.0,), (90.0,), (2.0,), 2.0, round_ends=True)
    areas = [
        area_of(rings_on_flat(view_of(each, (90.0,), marked_up=True, start_behind=True), 0).points_mm[0])
        for each in (plain, capped)
    ]
    assert areas[1] - areas[0] == pytest.approx(math.pi, rel=0.02)


@pytest.mark.parametrize(
    "wrong",
    [
        {"flats_mm": (1.0,)},
        {"turns_deg": (90.0, 90.0)},
        {"radii_mm": ()},
    ],
)
def test_lists_that_do_not_fit_are_refused(wrong):
    fit = {"flats_mm": (1.0, 2.0), "zones_mm": (1.0,), "turns_deg": (90.0,), "radii_mm": (1.0,), "thickness_mm": 1.0}
    with pytest.raises(ValueError, match="flats"):
        SectionNumbers(**{**fit, **wrong})
