"""Closer looks."""

from __future__ import annotations

import pytest

from flangewise.sequence.candidates import Candidate
from flangewise.sequence.moves import START
from flangewise.sequence.plan_check import between_mask, bits, self_meeting

from ..geometry.by_hand import sharp_chain


def test_bits():
    assert bits(0b10110) == (1, 2, 4) and bits(0) == ()


def test_operations_between_two_pieces(toy):
    problem = toy([30, 40, 50, 40, 30], [90] * 4)
    assert between_mask(problem, 0, 8) == 0b1111  # first flat to last flat
    assert between_mask(problem, 2, 6) == 0b0110 and between_mask(problem, 6, 2) == 0b0110
    assert between_mask(problem, 3, 5) == 0b0110  # zones themselves count


def test_a_meeting_is_said_for_the_operations_between_only(bend_all, stack):
    # a closed square and a lip beyond that has nothing to do with it
    problem = bend_all(sharp_chain([40, 40, 40, 40, 30], [90, 90, 90, -90], thickness_mm=1.5), [stack()])
    way = Candidate(1, 0, True, START)
    (exclusion,) = self_meeting(problem, way, 0b0101)
    assert (exclusion.mask, exclusion.value) == (0b0101, 0b0101)
    assert exclusion.blocker.bent == (0, 2) and exclusion.blocker.against == "self"
    assert self_meeting(problem, way, 0b0001) == ()


@pytest.mark.parametrize("over", [0.0, 3.0])
def test_options_that_fold_alike_share_the_verdict(bend_all, stack, over):
    tools = [stack(), stack(punch_half=6.0)]
    problem = bend_all(sharp_chain([40, 40, 40, 40], [90, 90, 90], thickness_mm=1.5), tools, over_deg=over)
    (exclusion,) = self_meeting(problem, Candidate(1, 0, True, START), 0b101)
    assert exclusion.option is None
