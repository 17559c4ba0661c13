"""Equal questions are asked once: of alike bends, on all machines, and of the parts after it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from importlib import import_module
from typing import Any

import pytest

from flangewise.jobs import worked_out
from flangewise.part import Part

from .made import built_in, steel


def anywhere(*legs: float, thickness: float) -> Part:
    """A part with right angles, to be made on any machine; of a thickness that no other test asks about."""
    turns = [90, -90, 90][: len(legs) - 1]
    return replace(steel(legs, turns, thickness), machine=None, machines=("any",))


def counted(monkeypatch: pytest.MonkeyPatch, home: str, name: str) -> list[tuple[Any, ...]]:
    """What a function of a module is given from here on, call by call."""
    module, calls = import_module(f"flangewise.{home}"), []
    true = getattr(module, name)

    def counting(*given: Any, **named: Any) -> Any:
        calls.append(given)
        return true(*given, **named)

    monkeypatch.setattr(module, name, counting)
    return calls


def rows(calls: list[tuple[Any, ...]]) -> Iterator[tuple[float, ...]]:
    """The bends that the solver was given: set-up and target of each."""
    for batch, _, values in calls:
        columns = (batch.opening_mm, batch.shoulder_radius_mm, batch.nose_radius_mm, values)
        yield from zip(*(column.tolist() for column in columns), strict=True)


@pytest.mark.anew
def test_alike_bends_are_judged_once_a_machine_and_the_model_is_asked_once_for_all(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    machines = built_in().machines
    assert len(machines) > 1
    judged = counted(monkeypatch, "punch_die.offer", "judge")
    solved = counted(monkeypatch, "bend.air_bend", "_with_peaks")
    job = worked_out(anywhere(40, 60, 70, 40, thickness=1.37), built_in())
    assert job.feasible and len(job.others) == len(machines) - 1
    # Beside bends 1 and 3 the shorter leg is 40, beside bend 2 it is 60: long enough for all pairs or judged by itself.
    assert len(judged) == len(machines)
    assert len(solved) == 1
    asked = list(rows(solved))
    assert len(set(asked)) == len(asked) > 1
    # Another part of that sheet is judged with what is known of its pairs, and so is what the metal does.
    worked_out(anywhere(45, 60, 45, thickness=1.37), built_in())
    assert (len(judged), len(solved)) == (len(machines), 1)


@pytest.mark.anew
def test_no_stroke_is_worked_out_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    """Legs so long that the tip comes up too fast on every machine."""
    solved = counted(monkeypatch, "bend.air_bend", "bends_of")
    assert worked_out(anywhere(150, 160, 170, thickness=1.38), built_in()).feasible
    asked = list(rows(solved))
    assert len(set(asked)) == len(asked) > 16


@pytest.mark.anew
def test_a_pair_is_one_stack_for_every_bend_and_one_offer_but_for_the_place_of_its_findings() -> None:
    job = worked_out(anywhere(40, 60, 70, 40, thickness=1.37), built_in())
    assert job.ordered is not None
    hits = [hit for each in job.ordered.problem.operations for option in each.options for hit in option.hits]
    assert len({id(hit.stack) for hit in hits}) == len({hit.stack.name for hit in hits}) < len(hits)
    first, third = job.offers[1], job.offers[3]
    assert [replace(each, findings=()) for each in first] == [replace(each, findings=()) for each in third]
    told = [finding for each in first for finding in each.findings]
    again = [finding for each in third for finding in each.findings]
    places = [(one.place(), other.place()) for one, other in zip(told, again, strict=True) if one != other]
    assert set(places) == {("bend 1", "bend 3")}
    assert [each.phrase for each in told] == [each.phrase for each in again]


def test_a_hem_is_told_in_its_place_too() -> None:
    """Both hits of it: a sheet that the table of forces does not reach, on two edges."""
    hems = steel([12, 80, 12], [{"hem": "closed"}, {"hem": "closed"}], 4.5)
    job = worked_out(hems, built_in())
    for bend, offers in job.offers.items():
        places = {finding.place() for each in offers for finding in each.all_findings}
        assert f"bend {bend}" in places and f"bend {3 - bend}" not in places
    assert len(job.offers) == 2
