"""A part that meets itself while it is folded."""

from __future__ import annotations

import pytest

from flangewise.clearance import Stroke, pieces_meet, wings_meet
from flangewise.geometry import wing_path

from ..geometry.by_hand import sharp_chain

T = 1.5


def wings(lengths, turns, zone, done):
    chain = sharp_chain(lengths, turns, thickness_mm=T)
    angles = [turn if i in done else 0.0 for i, turn in enumerate(turns)]
    paths = [wing_path(chain, zone, toward_end=end, angles_deg=angles, marked_up=True) for end in (True, False)]
    return paths[0], paths[1], Stroke(12.0, 0.0, T, -T / 2, 0.0, abs(turns[zone]) / 2)


def test_a_plain_channel_keeps_clear_of_itself():
    assert wings_meet(*wings([40, 60, 40], [90, 90], 1, {0})) is None


@pytest.mark.parametrize(("gap", "meets"), [(3.0, False), (1.0, True)])
def test_closing_a_square_tube_leaves_a_gap_or_not(gap, meets):
    # four sides of 40 and a last one short by `gap`: its end comes that near the first side
    meeting = wings_meet(*wings([40, 40, 40, 40 - gap], [90, 90, 90], 1, {0, 2}))
    assert (meeting is not None) is meets
    if meeting is not None:
        assert {meeting.front_span, meeting.behind_span} == {6, 0}
        assert meeting.overlap_mm == pytest.approx(T - gap, abs=0.1)


def test_what_meets_only_on_the_way_is_found():
    # turning past a standing flange: closed at 60 degrees, clear before and after
    front, behind, stroke = wings([70, 30, 60, 25], [120, 120, -90], 1, {0})
    assert wings_meet(front, behind, stroke) is not None


def test_the_two_faces_beside_the_bend_do_not_count():
    assert wings_meet(*wings([40, 40], [150], 0, set())) is None


def test_pieces_at_rest():
    front, behind, _ = wings([40, 30, 20, 50], [90, 90, 90], 1, {0, 2})
    apart = behind.placed(rotate_deg=0.0, to_mm=(0.0, 200.0))
    assert pieces_meet(front, apart, thickness_mm=T) is None
    assert pieces_meet(front, behind.placed(rotate_deg=0.0, to_mm=(0.5, 0.0)), thickness_mm=T) is not None
