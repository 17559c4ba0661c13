"""A part unfolded and folded again has the drawing's legs and angles, whatever its radii, K factors and sizes.

The folded faces are measured here as an inspector does it, from lines and planes in space: up to 90 degrees of turn
to the point where the two outer (or inner) faces would meet, above it to the plane square to the leg that touches the
outside (or the inside) of the bend. Nothing of the program's own setbacks is used.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from flangewise.geometry import Fold
from flangewise.part import Part
from flangewise.pattern import FlatPattern
from flangewise.pattern.folded import folded

from .sections import blank, direction, middle_line, parts, turned_deg

RADII = st.floats(0.0, 10.0)
QUICK = settings(max_examples=60, deadline=None)


def faces_of_legs(part: Part, pattern: FlatPattern) -> list[int]:
    """Index of each leg's face among all faces, webs of offsets left out."""
    return [index for index, face in enumerate(pattern.faces) if face.number <= len(part.section.legs_mm)]


def leg_reach_mm(pattern: FlatPattern, fold: Fold, index: int, *, zone: int, toward_end: bool, inside: bool) -> float:
    """From the flat's edge at a bend to where the drawing's size ends, measured along the leg."""
    lines = middle_line(pattern, fold)
    turn_deg = pattern.zones[zone].signed_turn_deg
    along = direction(pattern, fold, index) * (1.0 if toward_end else -1.0)
    edge = lines[index][1] if toward_end else lines[index][0]
    other_index = index + 1 if toward_end else index - 1
    other_along = direction(pattern, fold, other_index) * (1.0 if toward_end else -1.0)
    other_edge = lines[other_index][0] if toward_end else lines[other_index][1]
    # The normal to the marked face is a quarter turn to the left of the way from start to end.
    side = math.copysign(1.0, turn_deg) * (1.0 if inside else -1.0) * pattern.thickness_mm / 2
    way = 1.0 if toward_end else -1.0
    face_point = edge + side * way * np.array([-along[1], along[0]])
    other_point = other_edge + side * way * np.array([-other_along[1], other_along[0]])
    if abs(turn_deg) <= 90.0:
        return meeting_mm(face_point, along, other_point, other_along)
    return furthest_mm(fold, zone, edge, along, up_mm=side)


def meeting_mm(point: np.ndarray, along: np.ndarray, other: np.ndarray, other_along: np.ndarray) -> float:
    """How far along the first line it meets the second."""
    matrix = np.column_stack([along, -other_along])
    return float(np.linalg.solve(matrix, other - point)[0])


def furthest_mm(fold: Fold, zone: int, edge: np.ndarray, along: np.ndarray, *, up_mm: float) -> float:
    """How far the bend's surface reaches along the leg, from points on it."""
    arc = fold.arc_mm(zone, 0.0, up_mm=up_mm, chords=720)[:, 1:]
    return float(np.max((arc - edge) @ along))


def measured_legs_mm(part: Part, pattern: FlatPattern, fold: Fold) -> list[float]:
    inside = part.section.sizes == "inside"
    legs = []
    for index in faces_of_legs(part, pattern):
        near, far = middle_line(pattern, fold)[index]
        reach_mm = float(np.linalg.norm(far - near))
        if index > 0:
            reach_mm += leg_reach_mm(pattern, fold, index, zone=index - 1, toward_end=False, inside=inside)
        if index < len(pattern.zones):
            reach_mm += leg_reach_mm(pattern, fold, index, zone=index, toward_end=True, inside=inside)
        legs.append(reach_mm)
    return legs


@QUICK
@given(parts(), RADII)
def test_the_folded_part_has_the_drawing_s_legs(part: Part, radius_mm: float) -> None:
    pattern = blank(part, radius_mm)
    # Within a micrometre and a half: what 720 chords leave of an arc of this size.
    assert measured_legs_mm(part, pattern, folded(pattern)) == pytest.approx(part.section.legs_mm, abs=2e-3)


@QUICK
@given(parts(kinds=("bend",)), RADII)
def test_the_folded_part_has_the_drawing_s_angles(part: Part, radius_mm: float) -> None:
    pattern = blank(part, radius_mm)
    fold = folded(pattern)
    turns_deg = [
        turned_deg(direction(pattern, fold, index), direction(pattern, fold, index + 1))
        for index in range(len(pattern.zones))
    ]
    assert turns_deg == pytest.approx([bend.signed_turn_deg for bend in part.section.bends], abs=1e-9)


@QUICK
@given(parts(kinds=("offset",)), st.floats(0.0, 5.0))
def test_an_offset_keeps_its_legs_level_a_step_apart(part: Part, radius_mm: float) -> None:
    pattern = blank(part, radius_mm)
    fold = folded(pattern)
    legs = faces_of_legs(part, pattern)
    lines = middle_line(pattern, fold)
    assert all(direction(pattern, fold, leg) == pytest.approx([1.0, 0.0], abs=1e-9) for leg in legs)
    steps_mm = [lines[after][0][1] - lines[before][0][1] for before, after in itertools.pairwise(legs)]
    wanted_mm = [(-1 if bend.away else 1) * (bend.offset_mm or 0.0) for bend in part.section.bends]
    assert steps_mm == pytest.approx(wanted_mm, abs=1e-6)


@QUICK
@given(parts(kinds=("hem",)), RADII)
def test_a_hem_folds_back_flat_with_its_gap(part: Part, radius_mm: float) -> None:
    pattern = blank(part, radius_mm)
    fold = folded(pattern)
    lines = middle_line(pattern, fold)
    looked_at = list(enumerate(part.section.bends))
    assert looked_at
    for index, bend in looked_at:
        turned = direction(pattern, fold, index + 1)
        assert turned == pytest.approx(-direction(pattern, fold, index), abs=1e-9)
        apart_mm = float(np.linalg.norm(lines[index + 1][0] - lines[index][1]))
        assert apart_mm == pytest.approx(part.thickness_mm + (bend.gap_mm or 0.0), abs=1e-9)


@QUICK
@given(parts(), RADII)
def test_flat_is_where_the_blank_was(part: Part, radius_mm: float) -> None:
    pattern = blank(part, radius_mm)
    flat = folded(pattern, done=())
    looked_at = pattern.faces
    assert looked_at
    for face in looked_at:
        there = flat.folded_mm(face.number, face.outline_mm)
        assert there[:, :2] == pytest.approx(np.array(face.outline_mm), abs=1e-7)
        assert there[:, 2] == pytest.approx(np.zeros(4), abs=1e-9)


@QUICK
@given(parts(), RADII)
def test_unfolding_the_folded_faces_gives_the_blank(part: Part, radius_mm: float) -> None:
    pattern = blank(part, radius_mm)
    fold = folded(pattern)
    looked_at = pattern.faces
    assert looked_at
    for face in looked_at:
        there = fold.folded_mm(face.number, face.outline_mm)
        assert fold.frames[face.number].inverse().place(there)[:, :2] == pytest.approx(
            np.array(face.outline_mm), abs=1e-6
        )


@QUICK
@given(parts(), RADII, st.data())
def test_bending_in_any_order_ends_in_the_same_part(part: Part, radius_mm: float, data: st.DataObject) -> None:
    """A bend moves what is behind it as one body: the order changes the states between, never the end."""
    pattern = blank(part, radius_mm)
    numbers = data.draw(st.permutations([bend.number for bend in part.section.bends]))
    done: set[int] = set()
    for number in numbers:
        done.add(number)
        state = folded(pattern, done=done)
        assert state.frames.keys() == {face.number for face in pattern.faces}
    whole = folded(pattern)
    last = pattern.faces[-1].number
    assert state.frames[last].origin_mm == pytest.approx(whole.frames[last].origin_mm, abs=1e-9)
