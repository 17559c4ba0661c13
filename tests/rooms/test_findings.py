"""Findings: how grave, where, what; and the exit status they make."""

from __future__ import annotations

import pytest

from flangewise.findings import (
    Finding,
    caution,
    exit_status,
    note,
    place,
    refuse,
    refused,
    sorted_findings,
)
from flangewise.words import phrase

NEAR = {"bend": "1", "distance_mm": 3.0, "least_mm": 4.0}


def test_a_finding_says_its_sentence_in_units_asked_for() -> None:
    finding = caution("hole-near-bend", place("hole", 2), **NEAR)
    assert (finding.severity, finding.code, finding.place()) == ("caution", "hole-near-bend", "hole 2")
    assert finding.text().startswith("is 3 mm from the zone of bend 1")
    assert finding.text(units="inch").startswith("is 0.118 in from the zone of bend 1")


def test_a_finding_of_the_whole_part_has_no_place() -> None:
    assert note("din-continuous", included_deg=170.0, deduction_mm=0.1).place() == ""


@pytest.mark.parametrize(("make", "severity"), [(refuse, "refuse"), (caution, "caution"), (note, "note")])
def test_the_three_kinds(make: object, severity: str) -> None:
    assert make("hole-near-bend", None, **NEAR).severity == severity  # type: ignore[operator]


def test_a_finding_can_be_told_of_a_step() -> None:
    plain = refuse("hole-near-bend", None, **NEAR)
    told = plain.at_step(3, bodies=("punch", "leg 1"), overlap_mm=1.5)
    assert (told.step, told.bodies, told.overlap_mm) == (3, ("punch", "leg 1"), 1.5)
    assert (plain.step, plain.bodies, plain.overlap_mm) == (None, (), None)
    assert told.phrase == plain.phrase


def test_the_values_of_a_finding_are_kept() -> None:
    assert dict(caution("hole-near-bend", None, **NEAR).phrase.values) == NEAR


def test_the_gravest_first_otherwise_as_they_came_none_twice() -> None:
    first, second = (note("hole-near-bend", place("hole", n), **NEAR) for n in (1, 2))
    grave = refuse("hole-near-bend", None, **NEAR)
    middle = caution("hole-near-bend", None, **NEAR)
    assert sorted_findings([first, middle, second, grave, first]) == (grave, middle, first, second)
    assert sorted_findings([]) == ()


@pytest.mark.parametrize(
    ("severities", "status"), [((), 0), (("note",), 0), (("caution", "note"), 0), (("note", "refuse"), 1)]
)
def test_only_a_refusal_makes_a_status(severities: tuple[str, ...], status: int) -> None:
    findings = [Finding(severity, "x", None, phrase("finding.x")) for severity in severities]  # type: ignore[arg-type]
    assert exit_status(findings) == status
    assert refused(findings) is bool(status)


def test_findings_are_values() -> None:
    assert caution("x", place("bend", 1), a_mm=1.0) == caution("x", place("bend", 1), a_mm=1.0)
    assert len({caution("x", place("bend", 1)), caution("x", place("bend", 1)), caution("x", place("bend", 2))}) == 2
