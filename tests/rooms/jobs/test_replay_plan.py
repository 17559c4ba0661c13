"""Plans stepped through again: ours without a finding, ours spoiled with one, what is no plan refused in words."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from functools import cache
from typing import Any

import pytest

from flangewise.commands.output import json_line
from flangewise.commands.plan import plan_record
from flangewise.faults import Unusable
from flangewise.jobs import Job, replayed, section_numbers, worked_out

from .made import built_in, channel, codes, part, steel, toy, zed

Record = dict[str, Any]


def record_of(job: Job) -> Record:
    found: Record = json.loads(json_line(plan_record(job)))
    return found


@cache
def hemmed() -> Job:
    return worked_out(steel([12, 150, 25], [{"hem": "closed", "away": True}, -90], thickness=1), built_in())


@cache
def stepped() -> Job:
    return worked_out(steel([30, 60], [{"offset": 4, "radius": 1}], thickness=1.5), built_in())


def grave(job: Job, record: Record) -> set[str]:
    return {found.code for found in replayed(job.part, job.shop, record) if found.severity != "note"}


@pytest.mark.parametrize("job", [channel, zed, hemmed, stepped])
def test_our_own_plans_hold(job: Callable[[], Job]) -> None:
    assert grave(job(), record_of(job())) == set()


def test_a_plan_of_another_part_or_machine_is_told() -> None:
    record = record_of(channel())
    assert {"part", "machine"} <= record.keys()
    assert grave(channel(), {**record, "part": "another"}) == {"replay-other-part"}
    assert grave(channel(), {**record, "machine": "the-neighbours"}) == {"replay-machine-unknown"}


def spoiled(job: Job, change: Callable[[list[Record]], Any]) -> Record:
    record = copy.deepcopy(record_of(job))
    change(record["steps"])
    return record


@pytest.mark.parametrize(
    ("change", "code"),
    [
        (lambda steps: steps[0]["stops"].update(x_mm=steps[0]["stops"]["x_mm"] + 1), "replay-stop-off"),
        (lambda steps: steps[0].update(marked_face="down"), "replay-face"),
        (lambda steps: steps[0].update(depth_mm=steps[0]["depth_mm"] + 1), "replay-depth"),
        (lambda steps: steps[0].update(finished_deg=80), "replay-angle"),
        (lambda steps: steps[0].update(bend_to_deg=95), "replay-springback"),
        (lambda steps: steps[0].update(bends=[7]), "replay-bend-unknown"),
        (lambda steps: steps.pop(), "replay-bend-left-out"),
        (lambda steps: steps.append(steps[0]), "replay-bend-again"),
        (lambda steps: steps[0].update(punch="no-such-punch"), "replay-tool-unknown"),
        (lambda steps: steps[1].update(open_height_mm=0.5), "replay-unload"),
    ],
)
def test_what_is_changed_by_hand_is_found(change: Callable[[list[Record]], Any], code: str) -> None:
    assert code in grave(channel(), spoiled(channel(), change))


def test_a_move_left_out_is_found() -> None:
    assert "replay-moves" in grave(zed(), spoiled(zed(), lambda steps: steps[1].update(moves=[])))


def test_hits_of_a_hem_parted_are_found() -> None:
    def part_them(steps: list[Record]) -> None:
        steps.insert(1, steps.pop())

    assert "replay-hem-parted" in grave(hemmed(), spoiled(hemmed(), part_them))


def test_an_order_that_collides_is_found() -> None:
    """A channel whose legs are 10 too long, its plan taken from the shorter one: the first leg stands in the punch."""
    record = record_of(channel())
    longer = worked_out(part([52, 60, 52], [90, 90]), toy())
    assert "replay-meets" in {found.code for found in replayed(longer.part, toy(), record)}


def test_the_plan_s_own_tools_make_the_blank() -> None:
    """The tools of a plan decide the radius, so the same part planned with a wider die is judged on that blank."""
    wanted = steel([40, 60], [90])
    pinned = worked_out(steel([40, 60], [{"turn": 90, "die": "vee-25-80"}]), built_in())
    plain = worked_out(wanted, built_in())
    assert pinned.pattern is not None and plain.pattern is not None
    assert pinned.pattern.developed_mm != pytest.approx(plain.pattern.developed_mm, abs=0.3)
    assert replayed(wanted, built_in(), record_of(pinned)) == ()


def test_the_machine_of_the_plan_stands_where_the_part_names_none() -> None:
    job = worked_out(steel([40, 60], [90], machine="bench-310"), built_in())
    record = record_of(job)
    assert record["machine"] == "bench-310"
    assert replayed(steel([40, 60], [90]), built_in(), record) == ()


def test_section_numbers_are_the_blank_s() -> None:
    job = stepped()
    assert job.pattern is not None
    numbers = section_numbers(job.part, job.pattern)
    assert sum(numbers.flats_mm) + sum(numbers.zones_mm) == pytest.approx(job.pattern.developed_mm)
    assert numbers.turns_deg[0] == -numbers.turns_deg[1] and abs(numbers.turns_deg[0]) == 90
    assert [(bend.number, bend.kind, bend.zones) for bend in numbers.bends] == [(1, "offset", (0, 1))]


def test_a_plan_of_a_part_without_a_blank_tells_why() -> None:
    used_up = part([40, 5, 40], [90, 90])
    assert "leg-inside-bends" in codes(replayed(used_up, toy(), record_of(channel())), "refuse")


@pytest.mark.parametrize(
    "plan",
    [
        {},
        {"steps": []},
        {"steps": 3},
        {"steps": [5]},
        {"steps": [{"bends": 1}]},
        {"steps": [{"bends": [[1]], "punch": "straight-84", "die": "block-12"}]},
        {"steps": [{"bends": 1, "punch": "straight-84", "die": "block-12"}]},
        {"steps": [{"punch": ["a"], "die": {}}]},
        {"machine": ["toy"], "steps": [{}]},
    ],
)
def test_what_is_no_plan_is_told_in_words(plan: Record) -> None:
    with pytest.raises(Unusable) as unusable:
        replayed(channel().part, toy(), plan, file="edited.json")
    assert all(fault.text.startswith("edited.json: ") for fault in unusable.value.faults)
