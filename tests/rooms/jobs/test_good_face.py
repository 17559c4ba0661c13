"""The good face is kept off the die where either face could lie there, and the wish has its price."""

from __future__ import annotations

import pytest

from flangewise.jobs import worked_out

from .made import built_in, steel

OFFSET = {"offset": 4, "radius": 1}


@pytest.mark.parametrize(("good", "up"), [("marked", "up"), ("other", "down")])
def test_an_offset_is_made_with_the_good_face_up(good: str, up: str) -> None:
    job = worked_out(steel([45, 45], [OFFSET], 1.5, good_face=good, machine="bench-310"), built_in())
    assert job.setup is not None and job.setup.steps[0].marked_face == up
    assert "marks" not in dict(job.setup.wishes_s)


def test_what_is_asked_otherwise_pays_the_wish() -> None:
    asked = [{**OFFSET, "face": "down"}]
    costs = {}
    for good in ("marked", "none"):
        job = worked_out(steel([45, 45], asked, 1.5, good_face=good, machine="bench-310"), built_in())
        assert job.setup is not None and job.ordered is not None
        costs[good] = job.ordered.solution.cost
        assert dict(job.setup.wishes_s).get("marks", 0.0) == (2.0 if good == "marked" else 0.0)
    assert costs["marked"] == pytest.approx(costs["none"] + 2.0)


def test_a_bend_lies_as_its_direction_wants_whatever_must_not_be_scratched() -> None:
    """The face the bend folds to is up: nothing can be wished for, so nothing is priced."""
    job = worked_out(steel([45, 45], [90], 1.5, good_face="other", machine="bench-310"), built_in())
    assert job.setup is not None and "marks" not in dict(job.setup.wishes_s)
