"""How a panel is moved between hits: true motions with their angles, the cheapest of those that lead there."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from flangewise.panel_order import Lie, PanelMove, lie_of
from flangewise.panel_order.moves import lies_of, move_prices, moves_to, priced
from flangewise.sequence import Costs

COSTS = Costs(turn_over_bed=3.0, turn_over_front_back=4.0, turn_in_plane=2.0, rehandle=1.5)


def stood(lie: Lie) -> np.ndarray:
    """Bed, operator and up as rows of the blank's along, across, up: from the heading and the face up."""
    a = np.radians(lie.heading_deg)
    operator = np.array([np.cos(a), np.sin(a), 0.0])
    up = np.array([0.0, 0.0, 1.0 if lie.marked_up else -1.0])
    # Right, toward the operator, up: the operator looks at the machine, so right = up x operator turned.
    return np.array([np.cross(up, operator), operator, up])


def motion(move: PanelMove) -> np.ndarray:
    """A move as a rotation in (right, toward the operator, up); counterclockwise from above turns right to the back."""
    if move.move == "turn-over":
        return np.diag([1.0, -1.0, -1.0]) if move.axis == "the bed" else np.diag([-1.0, 1.0, -1.0])
    assert move.angle_deg is not None
    a = np.radians(move.angle_deg)
    return np.array([[np.cos(a), np.sin(a), 0], [-np.sin(a), np.cos(a), 0], [0, 0, 1.0]])


@pytest.mark.parametrize("angle", [0, 37, 90, 180, 270])
@pytest.mark.parametrize("before_up", [True, False])
@pytest.mark.parametrize("after_up", [True, False])
def test_the_moves_bring_the_part_to_where_it_shall_lie(angle: float, before_up: bool, after_up: bool) -> None:
    """Points of the part carried through the moves lie where the class wanted puts them."""
    before, after = Lie(before_up, 20.0), Lie(after_up, (20.0 + angle) % 360)
    moved = stood(before)
    for move in moves_to(COSTS, before, after):
        moved = motion(move) @ moved
    assert np.allclose(moved, stood(after), atol=1e-9)


def test_the_cheapest_motions_are_taken() -> None:
    """Over the bed axis brings the opposite heading: 3; the same heading front to back: 4, which is less than 3 + 2."""
    start = Lie(True, 90.0)
    assert [move.axis for move in moves_to(COSTS, start, Lie(False, 270.0))] == ["the bed"]
    assert [move.axis for move in moves_to(COSTS, start, Lie(False, 90.0))] == ["front to back"]
    dear = Costs(turn_over_bed=3.0, turn_over_front_back=6.0, turn_in_plane=2.0)
    assert [move.move for move in moves_to(dear, start, Lie(False, 90.0))] == ["turn-over", "turn-in-plane"]
    assert priced(moves_to(COSTS, start, Lie(False, 0.0))) == 5.0
    assert moves_to(COSTS, start, start) == ()


def test_a_quarter_turn_is_told_with_its_sense() -> None:
    """The right edge looks to the operator next: it lies at the right now, so the part turns clockwise from above."""
    (turned,) = moves_to(COSTS, Lie(True, 270.0), Lie(True, 0.0))
    assert turned.angle_deg == pytest.approx(-90.0)
    (seen_from_below,) = moves_to(COSTS, Lie(False, 270.0), Lie(False, 0.0))
    assert seen_from_below.angle_deg == pytest.approx(90.0)


def test_a_flange_looks_to_the_operator_where_its_parent_lies_behind() -> None:
    """The line of near runs from right to left: what is bent, at -y of the blank, is to its left."""
    near = ((296.0, 0.0), (4.0, 0.0))
    assert lie_of(near, marked_up=True, parent_behind=True) == Lie(True, pytest.approx(270.0))
    assert lie_of(near, marked_up=True, parent_behind=False) == Lie(True, pytest.approx(90.0))


def test_a_table_of_prices() -> None:
    lies, numbers = lies_of([Lie(True, 0.0), Lie(True, 90.0), Lie(True, 359.99), Lie(False, 90.0)])
    assert (len(lies), numbers) == (3, (0, 1, 0, 2))
    table = move_prices(COSTS, lies)
    assert table.tolist() == [[0.0, 3.5, 6.5], [3.5, 0.0, 5.5], [6.5, 5.5, 0.0]]
    elsewhere = move_prices(COSTS, lies, change_s=1.0)
    assert elsewhere.tolist() == [[2.5, 4.5, 7.5], [4.5, 2.5, 6.5], [7.5, 6.5, 2.5]]
    for one, other in itertools.product(range(3), repeat=2):
        assert table[one, other] == table[other, one]
