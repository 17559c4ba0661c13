"""What the setter asks, priced against the part planned free, and named where it cannot be."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from flangewise.findings import Finding
from flangewise.jobs import Job, work_out, worked_out
from flangewise.jobs.order import find_order
from flangewise.jobs.will import asks, compared, freed
from flangewise.part import Part

from .made import GOOSE, STRAIGHT, built_in, order, part, steel, toy

ZED = (30.0, 40.0, 30.0)


def bend(turn: float = 90, tools: tuple[str, str] | None = STRAIGHT, **more: Any) -> dict[str, Any]:
    told = {"turn": abs(turn), "away": turn < 0, **more}
    return told if tools is None else {**told, "punch": tools[0], "die": tools[1]}


def told(job: Job, code: str = "asked-") -> list[Finding]:
    return [each for each in job.findings if each.code.startswith(code)]


def values(finding: Finding) -> dict[str, Any]:
    return dict(finding.phrase.values)


def cost(wanted: Part) -> float:
    job = worked_out(wanted, toy())
    assert job.ordered is not None and job.ordered.solution.cost is not None
    return job.ordered.solution.cost


@pytest.mark.parametrize(
    "wanted",
    [
        part(ZED, [90, -90], None, order=[2, 1]),
        part(ZED, [bend(tools=None, gauge="end"), bend(-90, None)], None),
        part(ZED, [bend(tools=None, face="up"), bend(-90, None)], None),
        part(ZED, [{"turn": 90, "punch": STRAIGHT[0]}, bend(-90, None)], None),
        part(ZED, [{"turn": 90, "die": STRAIGHT[1]}, bend(-90, None)], None),
    ],
)
def test_each_thing_asked_counts_and_is_let_go(wanted: Part) -> None:
    free = part(ZED, [90, -90], None)
    assert asks(wanted) and not asks(free)
    assert freed(wanted) == free


def test_a_part_that_asks_nothing_is_not_compared() -> None:
    assert not told(work_out(part(ZED, [90, -90], None), toy()))


def test_an_order_that_turns_the_part_over_more_often_is_priced_against_the_least() -> None:
    """From face to face twice; begun in the middle the part is turned over once."""
    wanted = part([30, 40, 40, 30], [90, -90, 90], order=[1, 2, 3])
    (note,) = told(work_out(wanted, toy()))
    assert (note.severity, note.code) == ("note", "asked-dearer")
    assert values(note)["own_s"] == pytest.approx(cost(wanted))
    assert values(note)["least_s"] == pytest.approx(cost(freed(wanted)))
    assert values(note)["own_s"] > values(note)["least_s"]
    best = "-".join(map(str, order(worked_out(freed(wanted), toy()))))
    assert f": order {best}" in note.text() and best != "1-2-3"


def test_what_is_asked_may_be_the_least_already() -> None:
    free = part([30, 40, 40, 30], [90, -90, 90], None)
    own = replace(free, order=tuple(order(worked_out(free, toy()))))
    (note,) = told(work_out(own, toy()))
    assert note.code == "asked-least" and values(note)["own_s"] == pytest.approx(cost(free))


def test_asked_tools_are_priced_as_they_are_among_all_tools() -> None:
    """A plan's tools are priced above the best offered; alone in the offer, asked tools would cost nothing."""
    wanted = part([30, 40], [bend(tools=GOOSE)], None)
    best = worked_out(freed(wanted), toy())
    assert best.ordered is not None and best.pattern is not None
    asked = [pair for pair in best.offers[1] if (pair.tools.punch_name, pair.tools.die_name) == GOOSE]
    among = find_order(replace(best, offers={1: tuple(asked)})).ordered
    assert among is not None
    (note,) = told(work_out(wanted, toy()))
    assert note.code == "asked-dearer" and "bend 1 with straight-84 on tower-12" in note.text()
    assert values(note)["own_s"] == pytest.approx(among.solution.cost)
    assert values(note)["least_s"] == pytest.approx(best.ordered.solution.cost)


def test_gauging_that_turns_the_part_is_priced_and_the_better_one_named() -> None:
    """Each bend on the edge beside it: turned in the plane between them, where the start edge can serve both."""
    wanted = part([30, 100, 30], [bend(gauge="start"), bend(gauge="end")], None)
    job = work_out(wanted, toy())
    assert job.setup is not None
    assert {step.bends: step.gauged_on for step in job.setup.steps} == {(1,): "start", (2,): "end"}
    (note,) = told(job)
    assert note.code == "asked-dearer" and "bend 2 gauged on the start edge" in note.text()
    assert values(note)["own_s"] == pytest.approx(cost(wanted))


def test_either_wish_is_named_where_letting_one_go_would_do() -> None:
    """A bend gauged past the other needs the raw edge there, which the other's flange then hides."""
    wanted = part([30, 60, 30], [bend(gauge="end"), bend(gauge="start")], None)
    assert [(each.code, each.place()) for each in told(work_out(wanted, toy()))] == [
        ("asked-gauge", "bend 1"),
        ("asked-gauge", "bend 2"),
    ]
    for one in ("end", None), (None, "start"):
        entries = [bend(**({"gauge": datum} if datum else {})) for datum in one]
        assert worked_out(part([30, 60, 30], entries, None), toy()).feasible is True


def test_a_flange_that_is_never_there_refuses_and_is_named() -> None:
    """A corner of 45 degrees leans away from the stop: its flange cannot be gauged on, so nothing can be made so."""
    wanted = part([30, 60, 30], [bend(45), bend(90, gauge={"flange": 1})], None)
    job = work_out(wanted, toy())
    assert job.feasible is False
    (refusal,) = told(job)
    assert (refusal.severity, refusal.code, refusal.place()) == ("refuse", "asked-gauge", "bend 2")
    assert "the flange of bend 1" in refusal.text()
    free = part([30, 60, 30], [bend(45), bend(90)], None)
    assert worked_out(free, toy()).feasible is True


def test_only_the_bend_whose_gauging_cannot_be_is_named() -> None:
    wanted = part([30, 60, 30], [bend(45, gauge="start"), bend(90, gauge={"flange": 1})], None)
    assert [each.place() for each in told(work_out(wanted, toy()))] == ["bend 2"]


def test_an_order_or_tools_alone_in_the_way_are_told_with_what_would_do() -> None:
    ordered = work_out(part([100.75, 81.5, 41.5, 12.75], [90] * 3, order=[1, 2, 3]), toy())
    (note,) = told(ordered, "would-do-order")
    assert not told(ordered) and note.text() == "not in the order asked. In the order 3, 2, 1 it can be bent"
    tooled = work_out(part([40.75, 31.5, 40.75], [90, 90], STRAIGHT), toy())
    assert not told(tooled) and told(tooled, "would-do-unpinned")


def test_wishes_that_hinder_each_other_are_named_together() -> None:
    """A leg of 30 folded first hides the edge for both bends beyond it, and a flange of 45 degrees is none to gauge on.

    Each wish is wrong by itself, so letting a single one go does not help; the tools are not to blame.
    """
    bends = [bend(gauge={"flange": 2}), bend(gauge={"flange": 3}), bend(45)]
    wanted = part([30, 60, 60, 30], bends, None, order=[3, 2, 1])
    (refusal,) = told(work_out(wanted, toy()))
    assert (refusal.severity, refusal.code) == ("refuse", "asked-together")
    for asked in ("order 3-2-1", "bend 1 gauged on the flange of bend 2", "bend 2 gauged on the flange of bend 3"):
        assert asked in refusal.text()
    assert STRAIGHT[0] not in refusal.text()
    assert worked_out(replace(freed(wanted), order=None), toy()).feasible is True


def test_a_part_that_cannot_be_bent_at_all_is_not_blamed_on_what_is_asked() -> None:
    wanted = part([52, 60, 52], [bend(gauge="start"), bend(gauge="end")], None)
    assert worked_out(freed(wanted), toy()).feasible is False
    assert not told(work_out(wanted, toy()))


@pytest.mark.parametrize("face", ["up", "down"])
def test_of_an_offset_the_face_is_compared(face: str) -> None:
    """Nothing else of a single offset between like legs is open: either face takes as long."""
    offset = {"offset": 4, "radius": 1, "face": face}
    (note,) = told(work_out(steel([45, 45], [offset], thickness=1.5), built_in()))
    assert note.code == "asked-least"


def test_the_comparison_is_not_made_where_there_is_no_plan() -> None:
    wanted = part([30, 60, 30], [bend(45), bend(90, gauge={"flange": 1})], None)
    assert list(compared(worked_out(wanted, toy()))) == []
