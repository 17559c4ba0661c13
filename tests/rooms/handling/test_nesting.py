"""Sections in each other, held against polygons slid over each other by a geometry library; sharp corners and round."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from shapely import LineString, Polygon
from shapely.affinity import rotate, translate

from flangewise.handling import least_pitch_mm, nest, nesting_rule_mm, paired, stacked, stood_in_pairs

from ...how_many import one_in

Flats = list[tuple[tuple[float, float], tuple[float, float]]]

SECTIONS = 200
CHANNELS = 40
GRID_MM = 0.05


def _section(
    legs_mm: list[float], turns_deg: list[float], *, round_corners: bool, thickness_mm: float
) -> tuple[Polygon, Flats]:
    """A strip along a chain of legs, and the legs by their ends."""
    points, heading = [(0.0, 0.0)], 0.0
    for leg, turn in zip(legs_mm, [*turns_deg, 0.0], strict=True):
        x, y = points[-1]
        points.append((x + leg * math.cos(heading), y + leg * math.sin(heading)))
        heading += math.radians(turn)
    join = "round" if round_corners else "mitre"
    strip = LineString(points).buffer(thickness_mm / 2, cap_style="flat", join_style=join, mitre_limit=20)
    return Polygon(strip.exterior), list(pairwise(points))


def _random(number: int) -> tuple[Polygon, Flats, float]:
    rng = np.random.default_rng(number)
    count = int(rng.integers(2, 6))
    thickness = float(rng.uniform(0.8, 4.0))
    legs = [float(each) for each in rng.uniform(15 * thickness, 90.0, count)]
    turns = [float(each) for each in rng.uniform(-110.0, 110.0, count - 1)]
    outline, flats = _section(legs, turns, round_corners=bool(number % 2), thickness_mm=thickness)
    return outline, flats, thickness


def _ring(outline: Polygon) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in outline.exterior.coords[:-1]]


def _last_overlap_mm(outline: Polygon, up_to_mm: float, *, near_mm: float) -> float:
    """The greatest height at which a second one, moved straight up, shares room with the first.

    Heights are looked at in steps of the grid from a little over `near_mm` down, above that in steps ten times as wide.
    """
    lifts = [*np.arange(up_to_mm, near_mm + 1.0, -10 * GRID_MM), *np.arange(near_mm + 1.0, 0.0, -GRID_MM)]
    return next(float(lift) for lift in lifts if outline.intersection(translate(outline, 0, lift)).area > 0.02)


@pytest.fixture(scope="module")
def found() -> dict[str, int]:
    """How many of each kind were looked at."""
    counts = {"nest": 0, "as near": 0, "do not": 0}
    for number in range(0, SECTIONS, one_in(4)):
        outline, flats, thickness = _random(number)
        told = nest(_ring(outline), flats, thickness)
        assert stacked(_ring(outline), flats, thickness) == told, number
        lying = rotate(outline, told.turned_deg, origin=(0, 0))
        _, low, _, high = lying.bounds
        assert told.high_mm == pytest.approx(high - low, abs=1e-6), number
        headings = _headings(flats)
        assert told.spread_deg == pytest.approx(max(headings) - min(headings), abs=1e-6), number
        if told.rule_mm is None:
            assert told.spread_deg >= 179.5 and told.pitch_mm == told.high_mm and not told.nests, number
            counts["do not"] += 1
            continue
        # A second one lies clear at the pitch and at all heights above it; and no nearer than a grid below it, where
        # legs are long enough to stand in each other's way as far as the rule says.
        last = _last_overlap_mm(lying, told.high_mm + 1.0, near_mm=told.pitch_mm)
        assert last <= told.pitch_mm + 0.02, number
        if told.rule_mm <= min(math.dist(*leg) for leg in flats):
            assert last >= told.pitch_mm - 2 * GRID_MM - 0.02, number
            counts["as near"] += 1
        counts["nest"] += 1
    return counts


def _headings(flats: Flats) -> list[float]:
    """Where each leg runs, with all turns added up: turns stay under 180, so each is told by its sine and cosine."""
    found = [0.0]
    for (start, end), (again, last) in pairwise(flats):
        one, two = np.subtract(end, start), np.subtract(last, again)
        found.append(found[-1] + math.degrees(math.atan2(one[0] * two[1] - one[1] * two[0], float(one @ two))))
    return found


def test_random_sections_nest_as_far_as_polygons_slide(found: dict[str, int]) -> None:
    assert found["nest"] >= 20 // one_in(4) and found["do not"] >= 20 // one_in(4)
    assert found["as near"] >= 20 // one_in(4)
    assert found["nest"] + found["do not"] == len(range(0, SECTIONS, one_in(4)))


def test_an_angle_nests_at_the_thickness_over_the_sine_of_half_its_angle() -> None:
    outline, flats = _section([40.0, 40.0], [90.0], round_corners=False, thickness_mm=2.0)
    told = stacked(_ring(outline), flats, 2.0)
    assert told.pitch_mm == pytest.approx(2 / math.sin(math.radians(45)))
    assert told.nests


def test_a_square_channel_and_a_hat_do_not_nest() -> None:
    channel, flats = _section([25.0, 60.0, 25.0], [90.0, 90.0], round_corners=False, thickness_mm=2.0)
    told = stacked(_ring(channel), flats, 2.0)
    assert (told.spread_deg, told.rule_mm) == (pytest.approx(180), None)
    hat, legs = _section([20, 25, 60, 25, 20], [-90, 90, 90, -90], round_corners=False, thickness_mm=2.0)
    assert stacked(_ring(hat), legs, 2.0).rule_mm is None


def test_a_channel_opened_by_little_takes_its_height_and_not_more() -> None:
    """By 1 degree the rule would take 57 t, which is more than the flange is high."""
    outline, flats = _section([25.0, 60.0, 25.0], [89.0, 89.0], round_corners=False, thickness_mm=2.0)
    told = nest(_ring(outline), flats, 2.0)
    assert told.rule_mm is not None and told.rule_mm > told.high_mm
    assert told.pitch_mm == told.high_mm and not told.nests


def test_an_offset_between_the_flats_counts_though_no_flat_says_so() -> None:
    """Both flats run level; the slope between them, at 60 degrees, needs t / cos 60."""
    outline, flats = _section([60.0, 40.0, 60.0], [60.0, -60.0], round_corners=False, thickness_mm=2.0)
    told = nest(_ring(outline), [flats[0], flats[2]], 2.0)
    assert told.rule_mm == pytest.approx(2)
    assert told.pitch_mm == pytest.approx(4, abs=0.05)


def test_a_rule_is_none_from_half_a_turn_on() -> None:
    assert nesting_rule_mm(2, spread_deg=180) is None
    assert nesting_rule_mm(2, spread_deg=270) is None


def test_upright_lines_span_what_a_second_one_must_clear() -> None:
    assert least_pitch_mm([(0, 0), (10, 0), (10, 3), (0, 3)]) == pytest.approx(3)
    assert least_pitch_mm([(0, 0), (10, 10), (10, 12), (0, 2)]) == pytest.approx(2)


def test_channels_in_pairs_share_room_with_nobody_and_stand_as_low_as_they_can() -> None:
    looked_at = 0
    for number in range(0, CHANNELS, one_in(4)):
        rng = np.random.default_rng(1000 + number)
        t, flange, web = float(rng.uniform(1, 3)), float(rng.uniform(15, 60)), float(rng.uniform(40, 120))
        outline, flats = _section([flange, web, flange], [90.0, 90.0], round_corners=False, thickness_mm=t)
        turned = rotate(outline, float(rng.uniform(0, 360)), origin=(0, 0)) if number % 3 == 0 else outline
        legs = flats if turned is outline else _turned(flats, outline, turned)
        told = stood_in_pairs(_ring(turned), legs, t, radius_mm=0.0)
        assert told is not None
        assert (told.wide_mm, told.high_mm) == (pytest.approx(web + t), pytest.approx(flange + t / 2 + t)), number
        assert _shared(told.outline_mm, told.wide_mm, told.shift_mm, t) < 0.05, number
        assert _shared(told.outline_mm, told.wide_mm, told.shift_mm, t - 0.2) > 0.5, number
        assert _shared(told.outline_mm, told.wide_mm, told.shift_mm - 0.3, t) > 0.5, number
        looked_at += 1
    assert looked_at == len(range(0, CHANNELS, one_in(4)))


def _turned(flats: Flats, before: Polygon, after: Polygon) -> Flats:
    one, two = np.array(before.exterior.coords), np.array(after.exterior.coords)
    ways = [np.arctan2(*(each[1] - each[0])[::-1]) for each in (one, two)]
    turn = float(ways[1] - ways[0])
    spin = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    return [tuple(tuple(map(float, spin @ np.array(point))) for point in leg) for leg in flats]  # type: ignore[misc]


def _shared(outline: tuple[tuple[float, float], ...], wide: float, shift: float, up: float) -> float:
    """The room that a channel and its neighbours share, two opened up and two turned upside down between them."""
    shape = Polygon(outline)
    left, low, _, _ = shape.bounds
    shape = translate(shape, -left, -low)
    over = rotate(shape, 180, origin="center")
    all_four = [shape, translate(shape, wide, 0), translate(over, shift, up), translate(over, shift + wide, up)]
    return float(sum(a.intersection(b).area for i, a in enumerate(all_four) for b in all_four[i + 1 :]))


def test_pairs_are_for_channels_that_are_wide_enough() -> None:
    angle, flats = _section([40.0, 40.0], [90.0], round_corners=False, thickness_mm=2.0)
    assert paired(_ring(angle), flats, thickness_mm=2.0) is None
    zed, legs = _section([30.0, 40.0, 30.0], [90.0, -90.0], round_corners=False, thickness_mm=2.0)
    assert paired(_ring(zed), legs, thickness_mm=2.0) is None
    narrow, legs = _section([30.0, 6.0, 30.0], [90.0, 90.0], round_corners=False, thickness_mm=2.0)
    assert paired(_ring(narrow), legs, thickness_mm=2.0, radius_mm=2.0) is None


def test_two_rows_hold_what_fits_over_a_length() -> None:
    """floor(X/W) + floor((X - s)/W): 570 over channels of 62, moved by 6."""
    outline, flats = _section([25.0, 60.0, 25.0], [90.0, 90.0], round_corners=False, thickness_mm=2.0)
    told = paired(_ring(outline), flats, thickness_mm=2.0, radius_mm=2.0)
    assert told is not None and told.shift_mm == 6.0
    assert told.in_a_row(570.0) == 9 + 9
    assert told.in_a_row(62.0) == 1
