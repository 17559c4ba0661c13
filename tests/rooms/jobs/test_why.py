"""Reasons as findings: what meets what, while what is bent, how grave."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flangewise.findings import Finding
from flangewise.jobs.order import Ordered
from flangewise.jobs.why import MOST_REASONS, order_findings
from flangewise.sequence import Blocker

from .made import box, deep_channel

PLAIN = Blocker(
    operation=0,
    bent=(1,),
    flat=(),
    against="behind",
    bodies=("part", "punch"),
    overlap_mm=1.5,
    piece=0,
    stack="straight-84 on block-12",
    marked_up=True,
    behind="start",
    step=2,
)


def ordered(*blockers: Blocker, feasible: bool | None = False) -> Ordered:
    """The search's answer for a box, with other reasons."""
    found = box().ordered
    assert found is not None
    return replace(found, solution=replace(found.solution, feasible=feasible, blockers=blockers))


def only(*blockers: Blocker, feasible: bool | None = False) -> Finding:
    (finding,) = order_findings(ordered(*blockers, feasible=feasible))
    return finding


def test_a_reason_names_step_bodies_and_overlap() -> None:
    finding = only(PLAIN)
    assert (finding.severity, finding.code) == ("refuse", "blocked-behind")
    assert (finding.step, finding.bodies, finding.overlap_mm) == (2, ("leg 1", "punch"), 1.5)
    assert finding.place() == "bend 1"
    assert finding.text() == "cannot be bent while bend 2 is made: leg 1 meets the punch behind, by 1.5 mm"


@pytest.mark.parametrize(
    ("bent", "flat", "said"),
    [
        ((1, 2), (), "while bend 2, 3 is made"),
        ((1,), (2, 3), "while bend 2 is made and bend 3, 4 is not"),
        ((), (1,), "while bend 2 is not made"),
        ((), (), "whatever is bent before"),
    ],
)
def test_the_state_in_words(bent: tuple[int, ...], flat: tuple[int, ...], said: str) -> None:
    assert f"cannot be bent {said}:" in only(replace(PLAIN, bent=bent, flat=flat)).text()


def test_the_step_is_one_after_what_must_be_made_before() -> None:
    assert only(replace(PLAIN, bent=(1, 2, 3))).step == 4
    assert only(replace(PLAIN, bent=())).step == 1


@pytest.mark.parametrize(("piece", "named"), [(0, "leg 1"), (1, "bend 1"), (4, "leg 3"), (7, "bend 4"), (None, "part")])
def test_the_piece_of_the_part(piece: int | None, named: str) -> None:
    finding = only(replace(PLAIN, piece=piece))
    assert finding.bodies == (named, "punch")


def test_the_part_against_itself_and_the_stops() -> None:
    itself = only(replace(PLAIN, against="self", bodies=("part", "part")))
    assert (itself.code, itself.bodies) == ("blocked-self", ("leg 1", "part"))
    stop = only(replace(PLAIN, against="stop", bodies=(), overlap_mm=None))
    assert (stop.code, stop.bodies) == ("blocked-stop", ("leg 1", "stop"))
    caught = only(replace(PLAIN, against="exit", bodies=("part", "punch")))
    assert caught.code == "blocked-exit" and "is caught by the punch" in caught.text()


def test_one_reason_a_bend_and_body_and_no_more_than_are_read() -> None:
    deeper = replace(PLAIN, overlap_mm=9.0)
    assert only(PLAIN, deeper).overlap_mm == 1.5
    many = [replace(PLAIN, operation=bend, bodies=("part", body)) for bend in range(4) for body in ("punch", "die")]
    assert len(order_findings(ordered(*many))) == MOST_REASONS


def test_what_is_not_known_is_a_caution_and_its_reasons_notes() -> None:
    findings = order_findings(ordered(PLAIN, feasible=None))
    assert [(each.severity, each.code) for each in findings] == [
        ("caution", "order-not-known"),
        ("note", "blocked-behind"),
    ]
    assert findings[1].bodies == ("leg 1", "punch") and findings[1].overlap_mm == 1.5


def test_without_a_reason_it_is_still_refused() -> None:
    finding = only()
    assert (finding.severity, finding.code) == ("refuse", "no-order")


def test_real_reasons_are_the_smallest_sets_of_bends() -> None:
    """Each bend of a box blocks its neighbour when made: none can be the later one."""
    found = box().ordered
    assert found is not None
    for finding in order_findings(found):
        assert finding.step == 2 and finding.bodies[1] == "punch" and (finding.overlap_mm or 0) > 0


def test_reasons_on_both_sides_are_alike_for_a_part_that_is_its_own_mirror_image() -> None:
    found = deep_channel().ordered
    assert found is not None
    overlaps = [finding.overlap_mm for finding in order_findings(found)]
    assert len(overlaps) == 2 and overlaps[0] == pytest.approx(overlaps[1])
