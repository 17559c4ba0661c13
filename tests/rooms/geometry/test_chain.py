"""Sections as chains, against circles and rotations done by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, strategies as st

from flangewise.geometry import Chain, done_angles, section_path, wing_path, zone_points

from .by_hand import from_the_end, sharp_chain

K = 0.42


def real(turns=(90.0, -60.0), flats=(20.0, 30.0, 25.0), radius=2.0, t=1.5) -> Chain:
    zones = tuple((radius + K * t) * math.radians(abs(turn)) for turn in turns)
    return Chain(tuple(flats), zones, tuple(turns), (radius,) * len(turns), t)


def test_developed_length_and_bend_lines():
    chain = real()
    first, second = chain.zones_mm
    assert chain.developed_mm == pytest.approx(75 + first + second)
    assert chain.line_mm(1) == pytest.approx(20 + first + 30 + second / 2)


@pytest.mark.parametrize(
    "bad",
    [
        ((20.0, 30.0), (1.0,), (90.0, 90.0), (1.0, 1.0), 1.0),
        ((20.0, -30.0), (1.0,), (90.0,), (1.0,), 1.0),
        ((20.0, 30.0), (1.0,), (90.0,), (-0.6,), 1.0),
        ((20.0, 30.0), (1.0,), (90.0,), (1.0,), 0.0),
    ],
)
def test_what_is_no_section_is_refused(bad):
    with pytest.raises(ValueError, match=r"."):
        Chain(*bad)


def test_flat_section_is_a_straight_line_of_the_developed_length():
    chain = real()
    path = section_path(chain, (0.0, 0.0))
    assert path.points_mm[-1] == pytest.approx([chain.developed_mm, 0.0])
    assert np.allclose(path.normals, [0.0, 1.0])


def test_bent_corner_is_an_arc_of_its_middle_radius():
    chain = real(turns=(90.0,), flats=(20.0, 25.0))
    path = section_path(chain, (90.0,))
    middle = 2.0 + 0.75
    assert path.points_mm[-1] == pytest.approx([20 + middle, middle + 25])
    zone = path.points_mm[path.spans == 1]
    assert np.hypot(zone[:, 0] - 20, zone[:, 1] - middle) == pytest.approx(middle)


def test_outside_size_of_a_square_corner():
    # flat + radius + thickness to the outer face: 20 + 2 + 1.5
    outline = section_path(real(turns=(90.0,), flats=(20.0, 25.0)), (90.0,)).outline_mm(1.5)
    assert outline[:, 0].max() == pytest.approx(23.5) and outline[:, 1].min() == pytest.approx(-0.75)


@given(
    st.lists(st.floats(10, 60), min_size=3, max_size=5),
    st.lists(st.sampled_from([90.0, -90.0, 45.0, -120.0]), min_size=4, max_size=4),
    st.floats(0.0, 1.0),
)
def test_halfway_the_strip_and_the_arc_add_up(flats, turns, share):
    chain = real(tuple(turns[: len(flats) - 1]), tuple(flats))
    path = section_path(chain, [share * turn for turn in chain.turns_deg])
    heading = math.degrees(math.atan2(*(path.points_mm[-1] - path.points_mm[-2])[::-1]))
    wanted = share * sum(chain.turns_deg)
    assert (heading - wanted + 180) % 360 - 180 == pytest.approx(0.0, abs=1e-6)
    flat_parts = [path.points_mm[path.spans == 2 * face] for face in range(len(flats))]
    assert [np.linalg.norm(p[-1] - p[0]) for p in flat_parts] == pytest.approx(flats)
    for zone, width in enumerate(chain.zones_mm):
        points = path.points_mm[path.spans == 2 * zone + 1]
        strips = [points[1] - points[0]] if len(points) == 2 else [points[1] - points[0], points[-1] - points[-2]]
        rest = sum(np.linalg.norm(strip) for strip in strips)
        assert rest == pytest.approx(width * (1 - share), abs=1e-9)


def test_chords_stay_close_to_the_arc():
    points = zone_points(Chain((1.0, 1.0), (10.0,), (90.0,), (29.0,), 2.0), 0, angle_deg=90.0)
    middles = (points[1:-2] + points[2:-1]) / 2
    assert (30 - np.hypot(middles[:, 0], middles[:, 1] - 30)).max() <= 0.0201


def test_both_wings_of_a_reversed_section_swap():
    chain = real(turns=(90.0, -60.0, 45.0), flats=(20.0, 30.0, 25.0, 15.0))
    angles = done_angles(chain, {0, 2})
    start = wing_path(chain, 1, toward_end=False, angles_deg=angles, marked_up=True)
    end = wing_path(from_the_end(chain), 1, toward_end=True, angles_deg=angles[::-1], marked_up=True)
    assert start.points_mm == pytest.approx(end.points_mm)


def test_marked_face_down_bends_the_other_way():
    chain = real()
    up, down = (
        wing_path(chain, 0, toward_end=True, angles_deg=chain.turns_deg, marked_up=side) for side in (True, False)
    )
    assert up.points_mm * [1, -1] == pytest.approx(down.points_mm)
    assert np.allclose(down.normals[0], [0, 1]), "the normal is that of the upper face"


def test_wings_begin_flat_at_the_bend():
    wing = wing_path(real(), 1, toward_end=False, angles_deg=(90.0, 0.0), marked_up=True)
    assert wing.points_mm[0] == pytest.approx([0, 0]) and wing.points_mm[1] == pytest.approx([30, 0])
    assert wing.points_mm[-1][1] == pytest.approx(20 + 2.75)


def test_sharp_chain_turns_on_the_spot():
    chain = sharp_chain([30, 40], [90], thickness_mm=1.5)
    path = section_path(chain, (90.0,))
    assert path.points_mm[-1] == pytest.approx([30, 40]) and chain.middle_radius_mm(0) == 0.0
    assert chain.developed_mm == 70


def test_mirrored_section_bends_the_other_way():
    assert real().mirrored().turns_deg == (-90.0, 60.0)
    assert real().mirrored().mirrored() == real()


def test_outline_area_is_length_times_thickness():
    chain = real()
    area = shapely.Polygon(section_path(chain, (0.0, 0.0)).outline_mm(1.5)).area
    assert area == pytest.approx(chain.developed_mm * 1.5)


def test_placing_keeps_shape_and_mirror_flips_it():
    path = section_path(real(), (90.0, -60.0))
    moved = path.placed(rotate_deg=30, to_mm=(5, -2))
    gaps = np.linalg.norm(np.diff(path.points_mm, axis=0), axis=1)
    assert np.linalg.norm(np.diff(moved.points_mm, axis=0), axis=1) == pytest.approx(gaps)
    mirrored = path.placed(rotate_deg=0, to_mm=(0, 0), mirror=True)
    assert mirrored.points_mm == pytest.approx(path.points_mm * [-1, 1])
    assert path.backward().points_mm[0] == pytest.approx(path.points_mm[-1])
