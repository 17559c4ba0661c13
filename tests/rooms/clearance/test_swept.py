"""One still region for a whole stroke, against the stroke taken moment by moment."""

from __future__ import annotations

import random

import numpy as np
import pytest
import shapely
import shapely.affinity

from flangewise.clearance import BULGE_MM, CONTACT_MM, Body, InEachWay, Region, Stroke, grow_mm, lines_of, swept_region
from flangewise.clearance.region import MOST_KEPT, SAMPLES


def line_at(region: Region, points) -> bool:
    return bool(region.strikes(lines_of(np.array([points], dtype=float)))[0])


def test_tools_are_grown_by_half_the_sheet_less_the_contact_tolerance():
    assert grow_mm(1.5) == pytest.approx(0.75 - CONTACT_MM + BULGE_MM)
    assert grow_mm(0.05) == BULGE_MM


def test_a_straight_wing_is_never_a_false_hit(bodies, square_bend):
    region = swept_region(bodies, square_bend, reach_mm=300)
    assert not line_at(region, [(0, 0), (300, 0)])


@pytest.mark.parametrize("seed", range(6))
def test_region_agrees_with_dense_angles(bodies, seed):
    dice = random.Random(seed)
    stroke = Stroke(12.0, 0.0, 1.5, -0.75, 0.0, dice.choice([15.0, 30.0, 45.0, 48.0]))
    region = swept_region(bodies, stroke, reach_mm=220)
    ends = np.array([[dice.uniform(5, 140), dice.uniform(-80, 120)] for _ in range(300)])
    lines = np.stack([ends, ends + [[dice.uniform(-25, 25), dice.uniform(-25, 25)] for _ in ends]], axis=1)
    tools = [
        shapely.Polygon(stroke.seen_mm(np.array(body.points_mm, float), float(half), with_ram=body.with_ram))
        for body in bodies
        for half in np.linspace(0, stroke.half_turn_deg, 300)
    ]
    gap = shapely.distance(shapely.linestrings(lines), shapely.union_all(tools)) - (0.75 - CONTACT_MM)
    hit = region.strikes(lines_of(lines))
    assert hit[gap < 0].all(), "nothing that meets a tool is missed"
    assert not hit[gap > 3 * BULGE_MM].any(), "and little more than the bound is added"


@pytest.mark.parametrize("most", [40, 200_000])
@pytest.mark.parametrize("few", [0, 100])
def test_with_which_choices_a_line_meets_a_body_is_told_as_each_body_says(bodies, square_bend, most, few, monkeypatch):
    """Choices share bodies; each body asked by itself, with and without slack, in another place of the wing. So many
    corners at once, and with or without circles about lines."""
    monkeypatch.setattr("flangewise.clearance.choices.MOST_CORNERS", most)
    monkeypatch.setattr("flangewise.clearance.choices.FEW_PAIRS", few)
    monkeypatch.setattr("flangewise.clearance.choices.MANY_BODIES", few)
    dice = random.Random(3)
    parts = swept_region(bodies, square_bend, reach_mm=200).parts
    shrunk = [part.shrunk(dice.choice([0.0, 0.4, 3.0]), dice.choice([0.0, -2.0])) for part in parts for _ in range(3)]
    each = [dice.sample(shrunk, 3) for _ in range(20)] + [[]]
    ends = np.array([[dice.uniform(5, 140), dice.uniform(-80, 120)] for _ in range(400)])
    lines = lines_of(np.stack([ends, ends + [[dice.uniform(-9, 9), dice.uniform(-9, 9)] for _ in ends]], axis=1))
    struck = np.unpackbits(InEachWay(each).struck(lines), axis=1)[:, : len(each)].astype(bool)
    alone = [np.any([body.strikes(lines) for body in bodies] or [np.zeros(400, bool)], axis=0) for bodies in each]
    assert struck.any() and not struck.all()
    np.testing.assert_array_equal(struck, np.transpose(alone))


def test_many_lines_and_few_get_the_same_answer(bodies, square_bend):
    dice = random.Random(1)
    ends = np.array([[dice.uniform(5, 140), dice.uniform(-80, 120)] for _ in range(9500)])
    lines = np.stack([ends, ends + 7.0], axis=1)
    many, few = (swept_region(bodies, square_bend, reach_mm=200) for _ in range(2))
    at_once = many.strikes(lines_of(lines))
    piecemeal = np.concatenate([few.strikes(lines_of(lines[:1500])), few.strikes(lines_of(lines[1500:7900]))])
    assert (at_once[:7900] == piecemeal).all()


def test_the_three_steps_answer_as_the_swept_pieces_alone(bodies, square_bend):
    region = swept_region(bodies, square_bend, reach_mm=200)
    dice = random.Random(2)
    ends = np.array([[dice.uniform(5, 140), dice.uniform(-80, 120)] for _ in range(800)])
    lines = np.stack([ends, ends + np.array((3.0, 9.0))], axis=1)
    gaps = np.array([shapely.distance(shapely.LineString(line), region.pieces).min() for line in lines])
    struck = gaps <= region.grow_mm
    assert 100 < struck.sum() < 700
    assert (region.strikes(lines_of(lines)) == struck).all()
    low, high = region.box_mm
    within = (lines.min(axis=1) <= high).all(axis=1) & (lines.max(axis=1) >= low).all(axis=1)
    assert within[struck].all(), "what may follow is shut out only where nothing of it meets"
    bounds = shapely.total_bounds(region.pieces)
    assert (bounds[:2] - low < region.grow_mm + 1.0).all() and (high - bounds[2:] < region.grow_mm + 1.0).all()


def test_body_by_body_forbids_what_all_together_do(bodies, square_bend):
    region = swept_region(bodies, square_bend, reach_mm=200)
    dice = random.Random(5)
    ends = np.array([[dice.uniform(5, 140), dice.uniform(-80, 120)] for _ in range(800)])
    lines = lines_of(np.stack([ends, ends + np.array((3.0, 9.0))], axis=1))
    apart = np.array([part.strikes(lines) for part in region.parts])
    assert len(region.parts) > 2 and 100 < apart.any(axis=0).sum() < 700
    assert (apart.any(axis=0) == region.strikes(lines)).all()
    for part in region.parts:
        low, high = part.box_mm
        bounds = shapely.total_bounds(part.pieces)
        assert (low <= bounds[:2] - part.grow_mm).all() and (high >= bounds[2:] + part.grow_mm).all()
        assert (low > bounds[:2] - part.grow_mm - 1.0).all() and (high < bounds[2:] + part.grow_mm + 1.0).all()


def test_what_goes_with_the_ram_is_seen_alike_over_any_die(bodies):
    """Worked out here: the bend's arc lies about a centre at its radius over the nose, whatever the opening."""
    punch = tuple(body for body in bodies if body.with_ram)
    strokes = [Stroke(opening, shoulder, 1.5, 2.0, 3.3, 44.0) for opening, shoulder in ((8.0, 0.5), (40.0, 4.0))]
    one, other = (swept_region(punch, stroke, reach_mm=1000).sweeps for stroke in strokes)
    assert one and len(one) == len(other)
    for mine, its, body in zip(one, other, punch, strict=True):
        assert mine is its
        for stroke in strokes:
            halves = np.linspace(0.0, 44.0, SAMPLES)
            seen = stroke.seen_mm(np.array(body.points_mm), halves, with_ram=True)
            drawn = np.array([shapely.get_coordinates(each)[:-1] for each in mine.inside()])
            assert drawn == pytest.approx(seen, abs=1e-9)


def test_a_spinning_edge_is_not_swept_as_a_hull(square_bend):
    # an edge turning about its own middle: the hull of two positions would reach tens of mm beside it
    bar = (Body("bar", ((-200.0, 100.0), (200.0, 100.0), (200.0, 101.0), (-200.0, 101.0)), False),)
    swept = shapely.union_all(swept_region(bar, square_bend, reach_mm=400).pieces)
    dense = shapely.union_all(
        [
            shapely.Polygon(square_bend.seen_mm(np.array(bar[0].points_mm), float(half), with_ram=False))
            for half in np.linspace(0, 45, 4000)
        ]
    )
    assert shapely.hausdorff_distance(swept, dense, densify=0.05) < 3 * BULGE_MM


def test_what_is_out_of_reach_is_cut_off_without_changing_the_answer(bodies, square_bend):
    near, far = (swept_region(bodies, square_bend, reach_mm=reach) for reach in (60, 900))
    dice = random.Random(3)
    ends = np.array([[dice.uniform(2, 40), dice.uniform(-40, 40)] for _ in range(400)])
    lines = np.stack([ends, ends * 0.9], axis=1)
    assert (near.strikes(lines_of(lines)) == far.strikes(lines_of(lines))).all()


def test_struck_names_the_body_and_how_deep(bodies, square_bend):
    region = swept_region(bodies, square_bend, reach_mm=150)
    # a leg hanging 0.5 mm inside the grown side of the die block at the start of the stroke
    ((name, depth),) = region.struck(np.array([[0.0, 0.0], [20.2, 0.0], [20.2, -30.0]]))
    assert name == "die" and depth == pytest.approx(0.70 + BULGE_MM - 0.2, abs=0.02)
    assert region.struck(np.array([[0.0, 0.0], [100.0, 0.0]])) == ()


def test_distance_is_to_the_named_bodies(bodies, square_bend):
    region = swept_region(bodies, square_bend, reach_mm=150)
    hanging = np.array([[25.0, -5.0], [25.0, -30.0]])
    assert region.distance_mm(hanging, ["die"]) == pytest.approx(5.0, abs=0.05)
    assert region.distance_mm(hanging, ["ram"]) > 60
    assert region.distance_mm(hanging, ["nothing"]) == float("inf")


def test_no_bodies_forbid_nothing(square_bend):
    region = swept_region((), square_bend, reach_mm=100)
    assert not line_at(region, [(0, 0), (50, 50)]) and region.struck(np.array([[0.0, 0.0], [5.0, 5.0]])) == ()


def test_what_lies_deep_in_a_body_lies_in_it_at_every_moment():
    """A body with an inner corner: nothing of what is said to lie so deep comes nearer to what is outside."""
    corner = ((-20.0, 0.0), (-20.0, 40.0), (20.0, 40.0), (20.0, 20.0), (0.0, 20.0), (0.0, 0.0))
    body, stroke = Body("punch", corner, True), Stroke(12.0, 1.0, 1.5, 2.0, 3.3, 44.0)
    (sweep,) = swept_region((body,), stroke, reach_mm=100.0).sweeps
    whole, deep = sweep.inside(), sweep.inside(3.0, 1.0)
    assert len(whole) == len(deep) == SAMPLES and shapely.area(deep).min() > 100.0
    apart = [shapely.distance(shapely.get_exterior_ring(one), other) for one, other in zip(whole, deep, strict=True)]
    moved = [shapely.affinity.translate(other, xoff=1.0) for other in deep]
    assert (
        max(apart)
        < 3.0
        < min(shapely.distance(shapely.get_exterior_ring(one), other) for one, other in zip(whole, moved, strict=True))
        + 1e-9
    )


def test_parts_of_about_one_size_share_a_region_which_forgets_the_places_it_was_asked_of_first(bodies, square_bend):
    one, other, large = (swept_region(bodies, square_bend, reach_mm=reach) for reach in (201.0, 203.5, 263.5))
    assert one is other and one is not large
    first = one.shrunk(0.1, 0.0)
    assert one.shrunk(0.1, 0.0) is first
    lines = lines_of(np.array([[[20.0, 0.0], [60.0, 0.0]], [[5.0, 0.0], [5.0, 90.0]]]))
    before = first.strikes(lines).tolist()
    for nth in range(MOST_KEPT):
        one.shrunk(0.2 + nth / 100, 0.0)
    again = one.shrunk(0.1, 0.0)
    assert again is not first and again.strikes(lines).tolist() == before
    assert len(one._shrunk) == MOST_KEPT
