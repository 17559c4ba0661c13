"""How a panel is moved between hits: true motions with their angles, the cheapest of those that lead there."""

from __future__ import annotations

import numpy as np
import pytest

from flangewise.panel_order import Lie, PanelMove, PanelProblem, PanelWay, RowRules, lie_of, operations_of
from flangewise.panel_order.attitudes import Attitudes
from flangewise.panel_order.layers import Layers
from flangewise.panel_order.moves import moves_for, priced, stood as stands
from flangewise.pattern import PanelBlank
from flangewise.sequence import Costs

from ...published.panels import blank_of, panel_of

COSTS = Costs(turn_over_bed=3.0, turn_over_front_back=4.0, turn_in_plane=2.0, tilt_onto_face=2.5, rehandle=1.5)


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
    if move.move == "tilt":
        # In (right, toward the operator, up): what lies to the right of the axis rises.
        b = np.radians(move.axis_deg)
        along, side = np.array([np.cos(b), -np.sin(b), 0]), np.array([np.sin(b), np.cos(b), 0])
        up = np.array([0, 0, 1.0])
        came = (along, np.cos(a) * side + np.sin(a) * up, np.cos(a) * up - np.sin(a) * side)
        return sum(np.outer(to, each) for each, to in zip((along, side, up), came, strict=True))
    return np.array([[np.cos(a), np.sin(a), 0], [-np.sin(a), np.cos(a), 0], [0, 0, 1.0]])


def moves_to(costs: Costs, before: Lie, after: Lie) -> tuple[PanelMove, ...]:
    """The moves of a flat part."""
    return moves_for(costs, stands(after) @ stands(before).T)


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


MACHINE = np.diag([1.0, -1.0, 1.0])


def tilted(turned: np.ndarray) -> tuple[PanelMove, ...]:
    """The moves for a rotation in (right, toward the operator, up)."""
    return moves_for(COSTS, MACHINE @ turned @ MACHINE)


@pytest.mark.parametrize("axis_deg", [-60.0, 0.0, 35.0, 90.0])
@pytest.mark.parametrize("angle_deg", [-90.0, -60.0, 20.0, 89.0])
@pytest.mark.parametrize("heading_deg", [0.0, 90.0, 200.0])
@pytest.mark.parametrize("over", [False, True])
def test_a_part_is_tilted_to_where_it_shall_lie(
    axis_deg: float, angle_deg: float, heading_deg: float, over: bool
) -> None:
    """Turned over, turned and tilted about any level axis: the moves found make the same of it, with one tilt."""
    wanted = motion(PanelMove("tilt", None, angle_deg, 0.0, axis_deg)) @ motion(
        PanelMove("turn-in-plane", None, heading_deg, 0.0)
    )
    wanted = wanted @ motion(PanelMove("turn-over", "the bed", None, 0.0)) if over else wanted
    moves, made = tilted(wanted), np.eye(3)
    for move in moves:
        made = motion(move) @ made
    assert np.allclose(made, wanted, atol=1e-3)
    (tilt,) = [move for move in moves if move.move == "tilt"]
    assert abs(tilt.angle_deg or 0.0) == pytest.approx(abs(angle_deg))
    # A right angle needs no turning over: it is tilted the other way.
    assert sum(move.move == "turn-over" for move in moves) == (over and abs(angle_deg) < 90.0)


def test_a_tilt_goes_about_the_bed_or_front_to_back_where_it_can() -> None:
    """Turned by 90 first a tilt about the one axis is one about the other."""
    quarter = motion(PanelMove("turn-in-plane", None, 90.0, 0.0))
    for axis_deg, named in ((0.0, "the bed"), (90.0, "front to back")):
        tilt = PanelMove("tilt", None, 30.0, 0.0, axis_deg)
        assert [(move.move, move.axis) for move in tilted(motion(tilt))] == [("tilt", named)]
        assert [(move.move, move.axis) for move in tilted(motion(tilt) @ quarter)][1] == ("tilt", named)
    (askew,) = tilted(motion(PanelMove("tilt", None, -30.0, 0.0, 40.0)))
    assert (askew.axis, askew.angle_deg, askew.axis_deg) == (None, pytest.approx(-30.0), pytest.approx(40.0))
    assert askew.cost == COSTS.tilt_onto_face


def asked(blank: PanelBlank) -> PanelProblem:
    """Each bend of a blank as an operation, to be made with its parent behind."""
    operations = operations_of(blank)
    ways = tuple(
        PanelWay(
            at,
            0,
            True,
            lie_of(each.zones[0].line_mm, marked_up=each.marked_up, parent_behind=True),
            None,
            None,
            None,
            frozenset(),
        )
        for at, each in enumerate(operations)
    )
    rules = RowRules(0.5, 1.0, 1.0, 1.0, 0.0, 0.0, 0.0, 0.0, 1.0)
    return PanelProblem(blank, operations, ways, (), rules, COSTS)


def test_a_table_of_prices() -> None:
    """Near with a tip, and right: on the flat a tip lies like its flange; bent, near is tilted down."""
    sides = "near: {height: 40, bend: {turn: 60}, tip: {height: 12, bend: {turn: 45}}}, right: {height: 30, bend: 90}"
    attitudes = Attitudes(asked(blank_of(panel_of(f"{{base: [300, 200], flanges: {{{sides}}}}}"))))
    assert attitudes.classes == (0, 1, 2)
    every = np.array([[done >> bend & 1 == 0 for done in range(8)] for bend in range(3)])
    moved = attitudes.between(Layers(3), every, change_s=1.0)
    flat, bent = (moved.between_s(0, 1, done, changed=False) for done in (0b000, 0b001))
    assert (flat, bent) == (0.0, COSTS.tilt_onto_face + COSTS.rehandle)
    assert moved.between_s(0, 2, 0b001, changed=False) == COSTS.turn_in_plane + COSTS.rehandle
    assert moved.between_s(0, 1, 0b000, changed=True) == COSTS.rehandle + 1.0
    both = COSTS.tilt_onto_face + COSTS.turn_in_plane + COSTS.rehandle
    for one, other in ((1, 2), (2, 1)):
        assert moved.between_s(one, other, 0b101, changed=False) == both
        assert moved.between_s(one, other, 0b101, changed=True) == both + 1.0
    (turn, tilt) = attitudes.moves(2, 1, 0b101)
    assert (turn.angle_deg, tilt.axis, tilt.angle_deg) == (pytest.approx(90.0), "the bed", pytest.approx(-60.0))
    least = attitudes.at_least(Layers(3), change_s=1.0)
    assert least.between_s(0, 1, 0b001, changed=False) == 0.0
