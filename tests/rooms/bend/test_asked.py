"""Questions kept: none is asked twice while its answer is held, and no more are held than were allowed."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from flangewise.bend import NOTHING_LEARNED, BendSetup, Learned, air_bend as model, air_bends, bend_to_turn, strokes
from flangewise.bend.asked import AskedOnce

from .metals import SOFT

SETUPS = [BendSetup(2.0, opening, 2.0, nose, 0.1) for opening in (12.0, 16.0) for nose in (1.0, 2.0)]


def test_what_was_asked_is_not_asked_again_and_answers_stand_in_the_order_of_their_questions() -> None:
    asked: list[int] = []

    def squares(questions: Sequence[int]) -> list[int]:
        asked.extend(questions)
        return [each * each for each in questions]

    once = AskedOnce(squares, most=3)
    assert once([2, 1, 2]) == (4, 1, 4)
    assert once([3, 2]) == (9, 4)
    assert asked == [2, 1, 3]
    assert once([]) == ()
    # 2 is the oldest of four, and makes room.
    assert once([4, 1]) == (16, 1)
    assert once([3, 2]) == (9, 4)
    assert asked == [2, 1, 3, 4, 2]


def test_more_questions_at_once_than_are_kept_are_all_answered() -> None:
    once = AskedOnce(lambda questions: [-each for each in questions], most=2)
    assert once(range(5)) == (0, -1, -2, -3, -4)


def test_a_bend_alone_and_among_others_is_the_same_and_asked_of_the_solver_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """To the last bit: what a part is told does not depend on the parts before it."""
    solved: list[int] = []
    with_peaks = model._with_peaks
    monkeypatch.setattr(model, "_with_peaks", lambda *a, **k: solved.append(a[2].size) or with_peaks(*a, **k))
    learned = Learned(0.0123, 0.0)  # asked of by no other test
    alone = [air_bends([setup], SOFT, [91.5], learned=learned)[0] for setup in SETUPS]
    assert solved == [1] * len(SETUPS)
    assert list(air_bends([*SETUPS, SETUPS[0]], SOFT, [91.5] * 5, learned=learned)) == [*alone, alone[0]]
    assert solved == [1] * len(SETUPS)
    assert alone[1] == bend_to_turn(SETUPS[1], SOFT, 91.5, learned=learned)
    assert air_bends(SETUPS[:1], SOFT, [91.5], learned=NOTHING_LEARNED)[0] != alone[0]


def test_strokes_in_one_call_are_those_of_each_by_itself() -> None:
    together = strokes([(setup, SOFT, 93.0) for setup in SETUPS], points=9)
    assert len(set(together)) == len(SETUPS)
    worked = model._strokes
    assert list(together) == [worked([(setup, SOFT, 93.0, NOTHING_LEARNED, 9)])[0] for setup in SETUPS]
    assert [len(each.turn_deg) for each in together] == [9] * len(SETUPS)
