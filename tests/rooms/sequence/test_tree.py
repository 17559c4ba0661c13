"""Wings by the bends between, against wings drawn one at a time."""

from __future__ import annotations

import itertools
import math
import random

import numpy as np
import pytest
import shapely

from flangewise.clearance import lines_of, swept_region
from flangewise.geometry import Chain, done_angles, wing_path
from flangewise.sequence import Operation
from flangewise.sequence.arrays import Floats, Ints
from flangewise.sequence.levels import levels_outward
from flangewise.sequence.regions import stroke_of
from flangewise.sequence.tree import NO_LEVEL, WingTree

from ..geometry.by_hand import from_the_end


@pytest.fixture(scope="module")
def problem(bend_all, stack):
    dice = random.Random(4)
    turns = (90.0, -90.0, 45.0, 90.0, -60.0)
    zones = tuple(2.6 * math.radians(abs(turn)) for turn in turns)
    return bend_all(Chain(tuple(dice.uniform(15, 40) for _ in range(6)), zones, turns, (2.0,) * 5, 1.5), [stack()])


def ends_of(tree: WingTree, sets: Ints) -> Floats:
    """Rows of a tree's ends for each set, once it has grown as far."""
    leaves = tree.leaves(sets)
    return tree.ends[leaves]


def tree_of(problem, active: int, *, toward_end: bool, rise: float = 45.0) -> WingTree:
    levels = levels_outward(problem.chain, problem.operations, active, toward_end=toward_end, marked_up=True)
    return WingTree(levels, problem.chain.flats_mm[active + 1 if toward_end else active], rise_deg=rise)


def drawn(problem, active: int, done: int, *, toward_end: bool):
    angles = done_angles(problem.chain, {zone for zone in range(5) if done >> zone & 1})
    return wing_path(problem.chain, active, toward_end=toward_end, angles_deg=angles, marked_up=True)


@pytest.mark.parametrize(("active", "toward_end"), [(0, True), (2, True), (2, False), (4, False)])
def test_ends_and_extremes_of_every_pattern(problem, active, toward_end):
    tree = tree_of(problem, active, toward_end=toward_end)
    sets = np.array([done for done in range(32) if not done >> active & 1])
    ends = ends_of(tree, sets)
    looked_at = list(zip(sets, ends, strict=True))
    assert looked_at
    for done, end in looked_at:
        points = drawn(problem, active, int(done), toward_end=toward_end).points_mm
        assert end[[tree.X, tree.Y]] == pytest.approx(points[-1])
        assert end[tree.FAR] == pytest.approx(points[:, 0].max()) and end[tree.TOP] == pytest.approx(points[:, 1].max())
        assert end[tree.LOW] == pytest.approx(points[:, 1].min())
        risen = (points[:, 0] + points[:, 1]).max() / math.sqrt(2)
        assert end[tree.TOP_RISEN] == pytest.approx(risen)


def test_meetings_agree_with_wings_drawn_whole(problem):
    region = swept_region(problem.operations[0].options[0].hits[0].stack.bodies,
                          stroke_of(problem.chain, problem.operations[0], problem.operations[0].options[0].hits[0]),
                          reach_mm=problem.chain.developed_mm)  # fmt: skip
    tree = tree_of(problem, 0, toward_end=True)
    sets = np.arange(0, 32, 2)
    met = tree.meets(sets, region)
    for done, hit in zip(sets, met, strict=True):
        points = drawn(problem, 0, int(done), toward_end=True).points_mm
        assert bool(region.strikes(lines_of(points[None]))[0]) is bool(hit)
    assert met.any() and not met.all()


class Beyond:
    """All that lies further out than that; `box_mm` may say that it lies elsewhere."""

    looks_beside_bend = True

    def __init__(self, beyond_mm: float, *, from_mm: float = -1e9) -> None:
        self.beyond_mm, self.box_mm, self.tested = beyond_mm, (np.full(2, from_mm), np.full(2, 1e9)), 0

    def strikes(self, lines):
        self.tested += len(lines)
        return shapely.bounds(lines)[:, 2] > self.beyond_mm


def test_first_meeting_counts_levels_and_asks_of_each_piece_once(problem):
    tree = tree_of(problem, 0, toward_end=True)
    nothing, all_of_it = Beyond(1e9), Beyond(-1.0)
    assert [tree.first_meeting(done, nothing) for done in range(0, 32, 2)] == [None] * 16
    assert nothing.tested == 1 + 2 + 4 + 8 + 16
    assert [tree.first_meeting(done, all_of_it) for done in range(0, 32, 2)] == [0] * 16 and all_of_it.tested == 31
    some = Beyond(problem.chain.flats_mm[1] + 1.0)
    assert tree.first_meeting(0, some) == 1 and some.tested < 8


def test_what_nothing_can_follow_to_is_not_drawn(problem):
    """Where what is shut begins, in both directions, decides how much is asked."""
    length_mm = problem.chain.developed_mm
    for from_mm, most in ((length_mm + 1.0, 0), (length_mm / 2, 8)):
        far = Beyond(1e9, from_mm=from_mm)
        assert not tree_of(problem, 0, toward_end=True).meets(np.arange(0, 32, 2), far).any()
        assert far.tested <= most


def test_a_wing_that_reaches_what_is_shut_is_asked(problem):
    tree = tree_of(problem, 0, toward_end=True)
    every = np.arange(0, 32, 2)
    edge_mm = float(ends_of(tree, every)[:, 0].max()) - 1.0
    whole, boxed = Beyond(edge_mm), Beyond(edge_mm)
    boxed.box_mm = (np.array([edge_mm, -1e9]), np.full(2, 1e9))
    met = tree_of(problem, 0, toward_end=True).meets(every, whole)
    assert met.any() and not met.all()
    assert (tree.meets(every, boxed) == met).all() and boxed.tested < whole.tested


def test_regions_asked_together_are_met_where_each_is(problem):
    """With what is shut beginning anywhere along the part; what is known of some of them is not asked again."""
    every, length_mm = np.arange(0, 32, 2), problem.chain.developed_mm
    many = [Beyond(float(at), from_mm=float(at) / 2) for at in np.linspace(5.0, length_mm, 23)]
    tree, told = tree_of(problem, 0, toward_end=True), set()
    met = tree.meets(every, *many[20:], many[9])
    assert (met == np.any([tree_of(problem, 0, toward_end=True).meets(every, each) for each in many[9:]], axis=0)).all()
    for each in many:
        own = tree_of(problem, 0, toward_end=True)
        levels = [own.first_meeting(int(done), each) for done in every]
        assert tree.meets(every, each).tolist() == [level is not None for level in levels]
        first = [own.first_meeting(int(done), each, Beyond(1e9)) for done in every]
        assert first == levels
        told |= set(levels)
    assert len(told) > 3


def test_first_bent_level_is_kept(problem):
    tree = tree_of(problem, 0, toward_end=True)
    leaves = tree.leaves(np.array([0, 0b00010, 0b01100, 0b10000]))
    firsts = tree.firsts[leaves]
    assert firsts.tolist() == [NO_LEVEL, 0, 1, 3]


def test_growing_in_any_order_gives_the_same(problem):
    sets = [int(done) for done in range(0, 32, 2)]
    one, other = (tree_of(problem, 0, toward_end=True) for _ in range(2))
    whole = ends_of(one, np.array(sets))
    for done in reversed(sets):
        other.leaves(np.array([done]))
    assert ends_of(other, np.array(sets)) == pytest.approx(whole)


def test_an_offset_is_one_level_with_both_zones(problem, stack):
    option = problem.operations[0].options
    operations = (Operation("1", (0,), option), Operation("2", (1, 2), option), *problem.operations[3:])
    levels = levels_outward(problem.chain, operations, 0, toward_end=True, marked_up=True)
    assert [level.operation for level in levels] == [1, 2, 3]
    assert levels[0].turn_rad == pytest.approx(math.radians(-45.0))
    path = drawn(problem, 0, 0b00110, toward_end=True)
    end = path.points_mm[path.spans == 6][-1]
    tree = WingTree(levels[:1], problem.chain.flats_mm[1], rise_deg=45.0)
    assert ends_of(tree, np.array([0b10]))[0][:2] == pytest.approx(end)


def test_both_sides_of_a_reversed_section(problem):
    chain = from_the_end(problem.chain)
    for pattern in itertools.product((0, 1), repeat=2):
        done = pattern[0] * 1 + pattern[1] * 2
        mirrored = pattern[0] * 16 + pattern[1] * 8
        one, other = tree_of(problem, 2, toward_end=False), None
        levels = levels_outward(chain, problem.operations, 2, toward_end=True, marked_up=True)
        other = WingTree(levels, chain.flats_mm[3], rise_deg=45.0)
        first = ends_of(one, np.array([done]))
        assert first == pytest.approx(ends_of(other, np.array([mirrored])))
