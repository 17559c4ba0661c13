"""The straight-flange formula against the plane geometry it comes from."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
import shapely

from flangewise.clearance import Body, Stroke, through_stroke_mm


def test_first_touch_is_one_thickness_above_the_die():
    assert Stroke(16.0, 1.6, 2.0, 2.5, 5.0, 46.0).depth_mm(0.0) == pytest.approx(-2.0)


def test_sharp_bend_depth_and_apex():
    # tip below the die top: (V/2) tan - t / cos = 6 - 2.1213; the middle corner 1.0607 below the tip
    stroke = Stroke(12.0, 0.0, 1.5, -0.75, 0.0, 45.0)
    assert stroke.depth_mm(45.0) == pytest.approx(3.8787, abs=1e-4)
    assert stroke.edge_mm(45.0) == pytest.approx((0.0, -3.8787 - 1.0607), abs=1e-4)


@pytest.mark.parametrize("seed", range(30))
def test_wing_touches_its_shoulder_and_the_nose_at_every_moment(seed):
    dice = random.Random(seed)
    t = dice.uniform(0.5, 6)
    stroke = Stroke(
        dice.uniform(7, 14) * t, dice.uniform(0.05, 0.12) * 8 * t, t, dice.uniform(0.4, 1.5) * t, 3 * t, 46.0
    )
    half = dice.uniform(2, 46)
    a, edge = math.radians(half), np.array(stroke.edge_mm(half))
    along = np.array([math.cos(a), math.sin(a)])
    middle = shapely.LineString([edge - 40 * t * along, edge + 40 * t * along])
    shoulder = shapely.Point(stroke.opening_mm / 2, -stroke.shoulder_radius_mm)
    assert shapely.distance(middle, shoulder) == pytest.approx(t / 2 + stroke.shoulder_radius_mm, abs=1e-9)
    centre = shapely.Point(0.0, stroke.centre_mm(half))
    assert shapely.distance(middle, centre) == pytest.approx(stroke.radius_mm + t / 2, abs=1e-9)
    assert stroke.centre_mm(half) - stroke.radius_mm == pytest.approx(-stroke.depth_mm(half), abs=1e-9)


def test_zone_is_used_up_at_the_bottom():
    stroke = Stroke(12.0, 1.0, 1.5, 2.0, 4.0, 45.0)
    assert stroke.edge_mm(45.0)[0] == pytest.approx(2.75 * math.sin(math.radians(45)))
    assert stroke.edge_mm(0.0) == pytest.approx((2.0, 0.75))


def test_the_wing_sees_a_point_of_its_own_standing_still():
    stroke = Stroke(16.0, 1.6, 2.0, 2.5, 5.0, 46.0)
    for half in (0.0, 13.0, 46.0):
        a, edge = math.radians(half), np.array(stroke.edge_mm(half))
        point = edge + 30 * np.array([math.cos(a), math.sin(a)]) + 4 * np.array([-math.sin(a), math.cos(a)])
        assert stroke.seen_mm(point[None], half, with_ram=False)[0] == pytest.approx([30.0, 4.0])


@pytest.mark.parametrize("with_ram", [True, False])
def test_poles_bound_how_paths_curve(with_ram):
    stroke = Stroke(16.0, 1.6, 2.0, 2.5, 5.0, 46.0)
    poles, spread = stroke.poles_mm(with_ram=with_ram)
    points = np.array([[30.0, 10.0], [-20.0, -60.0], [5.0, 120.0]])
    halves = np.linspace(0, 46, 2001)
    paths = stroke.seen_mm(points, halves, with_ram=with_ram)
    curve = np.linalg.norm(np.diff(paths, 2, axis=0), axis=2).max(axis=0) / math.radians(halves[1]) ** 2
    bound = np.linalg.norm(points[:, None] - poles[None], axis=2).max(axis=1) + spread
    assert (curve <= bound * (1 + 1e-6)).all() and (curve >= 0.8 * bound).all()


@pytest.mark.parametrize("half", [0.0, 90.0, -5.0])
def test_strokes_outside_the_formula_are_refused(half):
    with pytest.raises(ValueError, match="between 0 and 90"):
        Stroke(12.0, 0.0, 1.5, 1.0, 2.0, half)


def test_no_body_is_passed_over_that_comes_nearer_than_what_is_known():
    """Bodies about the way of a wing, asked with more and with less known than they are away."""
    dice, stroke, told = random.Random(5), Stroke(16.0, 1.6, 2.0, 2.5, 5.0, 46.0), []
    outline_mm = np.array([[30.0, -1.0], [80.0, -1.0], [80.0, 25.0], [78.0, 25.0], [78.0, 1.0], [30.0, 1.0]])
    for _ in range(60):
        x, y = dice.uniform(-150, 150), dice.uniform(-150, 150)
        body = Body("ram", ((x, y), (x + 40, y), (x + 40, y + 30), (x, y + 30)), dice.random() < 0.5)
        away_mm = through_stroke_mm(outline_mm, stroke, body)
        for known_mm in (away_mm + 0.5, away_mm - 0.5, 10.0, 60.0):
            assert through_stroke_mm(outline_mm, stroke, body, below_mm=known_mm) == pytest.approx(
                min(away_mm, known_mm), abs=0.02
            )
        told.append(away_mm)
    assert min(told) < 5 and max(told) > 80
