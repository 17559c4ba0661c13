"""Steps of a job: which leg a stop sets, where a new way of laying begins."""

import itertools
from dataclasses import replace

import pytest

from flangewise.jobs.printed import printed
from flangewise.jobs.tried import tried_piece
from flangewise.sheet import SheetStep
from flangewise.tryout import Readings

from .worked import ANGLE, CHANNEL, HEM, ZED, job


def steps(text: str) -> tuple[SheetStep, ...]:
    return printed(job(text)).steps


def test_the_first_step_is_laid_anew_and_others_where_face_or_edge_change() -> None:
    for text in (CHANNEL, ZED, HEM):
        made = steps(text)
        assert made[0].new_load
        for before, after in itertools.pairwise(made):
            turned = (before.keyed.marked_face, before.start_at) != (after.keyed.marked_face, after.start_at)
            assert after.new_load is turned


def test_a_step_says_the_leg_that_comes_out_with_its_stop() -> None:
    # On the edge beside the bend the stop sets that leg; by ISO 2768-1 m 25 is held to 0.2, 40 to 0.3.
    for text in (ANGLE, CHANNEL, ZED):
        looked_at = list(steps(text))
        assert looked_at
        for step in looked_at:
            found = step.keyed.correction
            assert found is not None
            if step.keyed.gauged_on == "start" and step.labels == ("1",):
                size = (40.0, 0.3) if text is ANGLE else (25.0, 0.2)
                assert (found.leg, found.nominal_mm, found.plus_minus_mm, found.x_per_mm) == (1, *size, -1.0)
            if step.keyed.gauged_on == "end" and step.labels == ("2",):
                assert (found.leg, found.nominal_mm, found.x_per_mm) == (3, 25.0, -1.0)
            assert found.read_after == step.keyed.step


def test_a_hem_is_corrected_at_its_first_hit_and_read_after_its_second() -> None:
    first, second = (step for step in steps(HEM) if step.labels == ("1",))
    assert first.keyed.correction is not None and second.keyed.correction is None
    assert first.keyed.correction.leg in (1, 2)
    assert first.keyed.correction.read_after >= second.keyed.step


def test_done_are_the_bends_of_earlier_steps() -> None:
    first, second = steps(CHANNEL)
    assert first.done == ()
    assert second.done == first.labels


def test_a_hem_has_two_hits_of_one_bend_and_neither_counts_as_done() -> None:
    hits = [step for step in steps(HEM) if step.labels == ("1",)]
    assert [step.keyed.hit for step in hits] == ["pre-bend", "flatten"]
    assert all("1" not in step.done for step in hits)


def test_tools_stand_at_the_bottom_of_the_stroke_and_the_finger_at_its_stop() -> None:
    step = steps(ANGLE)[0]
    bodies = {body.name: body.points_mm for body in step.bodies}
    assert min(up for _, up in bodies["punch"]) == pytest.approx(-step.keyed.ram.depth_mm, abs=0.02)  # type: ignore[operator]
    assert max(up for _, up in bodies["die"]) == pytest.approx(0.0)
    assert max(across for across, _ in bodies["finger"]) == pytest.approx(-step.keyed.stops.x_mm)  # type: ignore[operator]


def test_a_thickness_that_was_read_is_what_the_angle_of_the_piece_is_corrected_with() -> None:
    tried = job(ANGLE)
    assert tried.pattern is not None
    read = Readings({1: 88.0}, {}, {}, {}, None, None, "", 1)
    for thickness_mm in (None, tried.part.thickness_mm + 0.07):
        (bend,) = tried_piece(tried, tried.pattern, replace(read, thickness_mm=thickness_mm)).bends
        assert bend.model is not None
        assert bend.model.setup.thickness_mm == (thickness_mm or tried.part.thickness_mm)
