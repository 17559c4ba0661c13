"""Parts of many bends that are refused, seen a second time: bends in a row that the judge's own fold finds shut."""

from __future__ import annotations

import pytest
from tests.how_many import WHOLE, one_in

from flangewise.commands.plan import plan_record
from flangewise.jobs import worked_out
from flangewise.jobs.plan_part import blanked_on
from flangewise.part import Part, machines_wanted, read_part

from .bench import Bench
from .judge import Judge
from .parts import drawn
from .shut import Row
from .strikes import FREE
from .test_brute import imported, shop

EIGHT = ([96, 86, 73, 40, 43, 36, 48, 105, 44], [-60, -90, 45, 30, 60, 90, 90, -30])
TWENTY = (
    [44, 33, 89, 81, 104, 52, 67, 52, 106, 64, 76, 83, 96, 97, 65, 69, 82, 36, 87, 46, 35],
    [-60, -90, 60, 90, -30, 60, 30, -30, 90, 45, 90, 45, -45, -90, 90, 45, -60, 90, -90, 30],
)


def steel(legs: list[float], turns: list[float]) -> Part:
    bends = [f"{{turn: {abs(turn)}, away: {'true' if turn < 0 else 'false'}}}" for turn in turns]
    sizes, hits = ", ".join(map(str, legs)), ", ".join(bends)
    text = f"part: p\nmaterial: DC01\nthickness: 1.5\nsection:\n  length: 300\n  legs: [{sizes}]\n  bends: [{hits}]\n"
    return read_part(text, "p.yaml", shop())


def test_the_second_look_shares_nothing_with_the_search() -> None:
    """Nor with what the search's jobs know of what is shut."""
    names = imported("shut")
    assert names and not [name for name in names if name.startswith(("flangewise.sequence", "flangewise.clearance"))]
    assert "flangewise.jobs.shut" not in names and "flangewise.geometry" not in names


@pytest.mark.parametrize(("legs", "turns", "run"), [(*EIGHT, (4, 6)), (*TWENTY, (7, 10))], ids=["eight", "twenty"])
def test_bends_in_a_row_shut_the_part_on_every_machine(
    legs: list[float], turns: list[float], run: tuple[int, int]
) -> None:
    """With every die: what the planner refuses the part for is so by another fold, other bodies, another bound."""
    part = steel(legs, turns)
    machines = machines_wanted(part, shop())[:: one_in(3)]
    assert machines
    for name in machines:
        job = blanked_on(part, shop(), name, every_die=True)
        assert Row(job, *run).is_shut(), name


FIVE = """part: p
material: "1.4301"
thickness: 2
machine: bench-310
section:
  length: 610
  legs: [80.2, 48, 69.18, 30.39, 41.33, 59.5]
  bends: [90, -90, -90, -90, {turn: 60}]
"""


def test_five_bends_are_refused_where_their_blanks_are_shut_half_by_half() -> None:
    """No blank of the rack leaves an order, and no single bound shuts all of them: once neither bent nor refused."""
    part = read_part(FIVE, "p.yaml", shop())
    assert worked_out(part, shop()).feasible is False
    if WHOLE:
        for every_die in (False, True):
            row = Row(blanked_on(part, shop(), "bench-310", every_die=every_die), 0, 4)
            assert row.is_shut() and row.boxes > 1


def test_bends_that_can_be_made_are_not_shut() -> None:
    part = steel(*EIGHT)
    assert not Row(blanked_on(part, shop(), "long-1450"), 0, 2).is_shut()


def test_a_row_is_shut_only_where_the_judge_finds_no_order() -> None:
    """Small racks, all bends of parts near their limits: what is shut here neither judge nor planner bends."""
    told = []
    for seed in range(0, 60, one_in(3)):
        part = drawn(seed, shop(), most_bends=3)
        bends, machines = part.part.section.bends, machines_wanted(part.part, part.shop)
        jobs = [blanked_on(part.part, part.shop, name) for name in machines]
        if any(bend.kind != "bend" for bend in bends) or any(job.pattern is None for job in jobs):
            continue
        if not all(all(Bench(job).choices) for job in jobs):
            continue
        shut = [Row(job, 0, len(bends) - 1).is_shut() for job in jobs]
        possible = [Judge(Bench(job)).can_be_bent(FREE) for job in jobs]
        assert not any(one and other for one, other in zip(shut, possible, strict=True)), part.text
        if all(shut):
            assert plan_record(worked_out(part.part, part.shop))["feasible"] is False, part.text
        told += shut
    assert True in told and False in told
