"""A plan edited by hand: printed just so once the replay passes it, and not at all where it does not."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from flangewise.commands.output import json_line
from flangewise.commands.plan import plan_record
from flangewise.faults import Unusable
from flangewise.findings import Finding
from flangewise.jobs import Job, work_out, worked_out
from flangewise.jobs.plan_file import from_plan
from flangewise.jobs.printed import printed
from flangewise.part import Part
from flangewise.shop import Shop

from .made import GOOSE, STRAIGHT, built_in, channel, codes, order, part, steel, toy, zed

Record = dict[str, Any]
Edit = Callable[[list[Record]], Any]


def record_of(job: Job) -> Record:
    found: Record = json.loads(json_line(plan_record(job)))
    return found


@cache
def hat() -> Job:
    """A hat, whose last bends are gauged on flanges made before."""
    return worked_out(part([20, 30, 60, 30, 20], [-90, 90, 90, -90]), toy())


@cache
def hemmed() -> Job:
    return worked_out(steel([12, 150, 25], [{"hem": "closed", "away": True}, -90], thickness=1), built_in())


@cache
def stepped() -> Job:
    return worked_out(steel([30, 60, 40], [{"offset": 4, "radius": 1}, 90], thickness=1.5), built_in())


@cache
def turned() -> Job:
    """A deep channel that only the relieved punch leaves, set one way round for each leg."""
    return worked_out(part([40.75, 31.5, 40.75], [90, 90], GOOSE), toy())


def edited(job: Job, edit: Edit) -> Job:
    record = copy.deepcopy(record_of(job))
    edit(record["steps"])
    return from_plan(job.part, job.shop, record)


def hands(job: Job) -> list[Finding]:
    """The findings about numbers and moves by hand, not the note that it is a plan file's."""
    return [each for each in job.findings if each.code.startswith("by-hand-")]


def untold(record: Record) -> Record:
    """A plan without what is said of its choice: proof, findings, the machines that were not taken."""
    said = ("findings", "proven_least", "lower_bound", "cost", "other_machines")
    return {key: value for key, value in record.items() if key not in said}


@pytest.mark.parametrize("job", [channel, zed, hat, hemmed, stepped, turned])
def test_our_own_plan_comes_out_as_it_went_in(job: Callable[[], Job]) -> None:
    again = from_plan(job().part, job().shop, record_of(job()))
    assert again.feasible is True and hands(again) == []
    assert "by-hand" in codes(again.findings, "note")
    assert untold(record_of(again)) == untold(record_of(job()))


def swapped(steps: list[Record]) -> None:
    """Two bends in the other order, turned over between them as before, and opened wide; stops left open."""
    steps[0], steps[1] = steps[1], steps[0]
    steps[0]["moves"], steps[1]["moves"] = steps[1]["moves"], steps[0]["moves"]
    for step in steps:
        step["open_height_mm"] = 120.0
        step["stops"].update(x_mm=None, r_mm=None)


def test_another_order_is_printed_in_that_order() -> None:
    """Each bend of this foot is gauged on the edge beside it, so either may come first."""
    foot = worked_out(
        steel([30, 60, 30], [{"turn": 90, "gauge": "start"}, {"turn": 90, "away": True, "gauge": "end"}]), built_in()
    )
    assert foot.setup is not None
    first = [step.bends for step in foot.setup.steps]
    job = edited(foot, swapped)
    assert job.feasible is True and job.setup is not None
    assert [step.bends for step in job.setup.steps] == first[::-1]
    assert {each.text().split()[0] for each in hands(job)} == {"open"}
    sheet = printed(job)
    assert [step.labels for step in sheet.steps] == [(str(bend),) for (bend,) in first[::-1]]


def test_a_plan_that_says_too_little_for_the_replay_is_stopped_by_the_planner() -> None:
    """Both bends are gauged on the start edge; made first, the bend beside it hides that edge from the other."""
    tools = {"punch": STRAIGHT[0], "die": STRAIGHT[1], "gauge": "start"}
    own = worked_out(part([30, 40, 30], [{"turn": 90, **tools}, {"turn": 90, "away": True, **tools}]), toy())
    assert order(own) == [2, 1]
    job = edited(own, swapped)
    assert job.feasible is False
    assert codes(job.findings, "refuse") == {"by-hand-no-plan", "blocked-stop"}


def numbers(steps: list[Record]) -> None:
    steps[0]["stops"]["x_mm"] += 0.06
    steps[0]["stops"]["z_mm"][0] += 4
    steps[0]["depth_mm"] += 0.05
    steps[1]["open_height_mm"] += 7
    steps[1]["ram_speed_mm_per_s"] -= 1


def test_numbers_by_hand_are_printed_and_told_beside_the_computed_ones() -> None:
    own = zed().setup
    assert own is not None
    job = edited(zed(), numbers)
    assert job.feasible is True and job.setup is not None
    one, two = job.setup.steps
    assert one.stops.x_mm == pytest.approx((own.steps[0].stops.x_mm or 0) + 0.06)
    assert one.stops.z_mm == pytest.approx((own.steps[0].stops.z_mm[0] + 4, *own.steps[0].stops.z_mm[1:]))
    assert one.ram.depth_mm == pytest.approx((own.steps[0].ram.depth_mm or 0) + 0.05)
    assert two.ram.opening.open_height_mm == own.steps[1].ram.opening.open_height_mm + 7
    assert two.ram.speed.ram_speed_mm_per_s == own.steps[1].ram.speed.ram_speed_mm_per_s - 1
    told = {(each.place(), dict(each.phrase.values)["what"].code.rsplit(".", 1)[-1]) for each in hands(job)}  # type: ignore[union-attr]
    assert told == {
        ("step 1", "x"),
        ("step 1", "z"),
        ("step 1", "depth"),
        ("step 2", "open"),
        ("step 2", "speed"),
    }
    (x,) = [each for each in hands(job) if each.text().startswith("X ")]
    assert x.severity == "note" and x.text().endswith(" computed") and " by hand, " in x.text()
    sheet = printed(job)
    assert (
        sheet.steps[0].keyed.stops.x_mm == one.stops.x_mm
        and sheet.steps[1].keyed.ram.opening.open_height_mm == two.ram.opening.open_height_mm
    )
    assert two.ram.speed.tip_speed_mm_per_s == pytest.approx(
        (own.steps[1].ram.speed.tip_speed_mm_per_s or 0)
        * two.ram.speed.ram_speed_mm_per_s
        / own.steps[1].ram.speed.ram_speed_mm_per_s
    )


def opened(steps: list[Record]) -> None:
    steps[0]["stops"]["x_mm"] = None
    steps[0]["depth_mm"] = None
    del steps[1]["open_height_mm"]


def test_what_the_file_leaves_open_is_computed() -> None:
    job = edited(zed(), opened)
    own = zed().setup
    assert job.feasible is True and hands(job) == [] and job.setup is not None and own is not None
    # What the plan says is asked of the bend, so the records differ by that; what is keyed in does not.
    assert [step.as_json() for step in job.setup.steps] == [step.as_json() for step in own.steps]
    assert job.setup.totals_json() == own.totals_json()


def test_the_part_is_moved_as_the_file_says() -> None:
    """Over about the other axis and then turned in the plane, the part lies as it did."""
    assert zed().setup is not None
    (own,) = zed().setup.steps[1].moves  # type: ignore[union-attr]
    axis = {"the bed": "front to back", "front to back": "the bed"}[own.axis or ""]
    moves = [{"move": "turn-over", "axis": axis}, {"move": "turn-in-plane", "axis": None}]
    job = edited(zed(), lambda steps: steps[1].update(moves=moves))
    assert job.feasible is True and job.setup is not None
    assert [(move.move, move.axis) for move in job.setup.steps[1].moves] == [
        ("turn-over", axis),
        ("turn-in-plane", None),
    ]
    assert (job.setup.count("turn-over"), job.setup.count("turn-in-plane")) == (1, 1)
    assert codes(hands(job)) == {"by-hand-moves"}


def test_a_punch_set_the_other_way_round_stays_so() -> None:
    """A single bend is free either way: whatever the file says of the punch is what is printed."""
    job = worked_out(part([30, 40], [90], GOOSE), toy())
    for way in (True, False):
        again = edited(job, lambda steps, way=way: steps[0].update(punch_turned=way))  # type: ignore[misc]
        assert again.feasible is True and again.setup is not None
        assert again.setup.steps[0].planned.mounting.turned is way


SPOILT: dict[str, tuple[Edit, str]] = {
    "the stop away from the part": (lambda steps: steps[0]["stops"].update(x_mm=80.0), "replay-stop-off"),
    "a bend left out": (lambda steps: steps.pop(), "replay-bend-left-out"),
    "a bend that is not there": (lambda steps: steps[0].update(bends=[7]), "replay-bend-unknown"),
    "the wrong face": (lambda steps: steps[0].update(marked_face="up"), "replay-face"),
    "no turn-over": (lambda steps: steps[1].update(moves=[]), "replay-moves"),
    "a tool the shop lacks": (lambda steps: steps[0].update(punch="nobody-s"), "replay-tool-unknown"),
    "too deep": (lambda steps: steps[0].update(depth_mm=steps[0]["depth_mm"] + 1.5), "replay-depth"),
    "opened too little": (lambda steps: steps[1].update(open_height_mm=2.0), "replay-unload"),
}


@pytest.mark.parametrize(("edit", "code"), SPOILT.values(), ids=SPOILT)
def test_what_the_replay_does_not_pass_is_not_printed(edit: Edit, code: str) -> None:
    assert zed().setup is not None and zed().setup.steps[0].marked_face == "down"  # type: ignore[union-attr]
    job = edited(zed(), edit)
    assert job.feasible is False and code in codes(job.findings, "refuse")
    with pytest.raises(ValueError, match="has no plan"):
        printed(job)


def test_an_order_in_which_the_part_strikes_is_not_printed() -> None:
    """Of three bends one way the long legs come first here, and the last cannot get past the punch."""
    wanted = part([100.75, 81.5, 41.5, 12.75], [90] * 3)
    good = worked_out(wanted, toy())

    def turned_round(steps: list[Record]) -> None:
        steps.reverse()

    job = edited(good, turned_round)
    assert job.feasible is False
    assert any(each.code.startswith("replay-") for each in job.findings if each.severity == "refuse")


@pytest.mark.parametrize(("key", "told"), [("part", "another"), ("machine", "the-neighbours")])
def test_a_plan_of_another_part_or_shop_is_refused(key: str, told: str) -> None:
    job = from_plan(zed().part, toy(), {**record_of(zed()), key: told})
    assert job.feasible is False
    assert codes(job.findings, "refuse") <= {"replay-other-part", "replay-machine-unknown"}


REACH: dict[str, tuple[Edit, str]] = {
    "a finger beside the part": (lambda steps: steps[0]["stops"].update(z_mm=[10.0, 1500.0]), "by-hand-reach"),
    "stops that go back past their travel": (
        lambda steps: steps[0]["stops"].update(retract_mm=1980.0),
        "by-hand-reach",
    ),
    "too many fingers": (lambda steps: steps[0]["stops"].update(z_mm=[1470.0, 1500.0, 1530.0]), "by-hand-fingers"),
    "fingers in each other": (lambda steps: steps[0]["stops"].update(z_mm=[1499.0, 1500.0]), "by-hand-spacing"),
    "a ram that fast": (lambda steps: steps[0].update(ram_speed_mm_per_s=900.0), "by-hand-speed-reach"),
    "more than the daylight": (lambda steps: steps[0].update(open_height_mm=5000.0), "by-hand-reach"),
    "slow from above": (lambda steps: steps[0].update(slow_from_mm=900.0), "by-hand-reach"),
    "other stations": (lambda steps: steps[0]["stations"][0].update(from_mm=100.0), "by-hand-not-taken"),
}


@pytest.mark.parametrize(("edit", "code"), REACH.values(), ids=REACH)
def test_what_the_machine_cannot_be_set_to_is_refused(edit: Edit, code: str) -> None:
    """The toy machine's stops travel from 1 to 2000."""
    job = edited(zed(), edit)
    assert job.feasible is False and code in codes(job.findings, "refuse")


def test_stops_are_held_to_their_travel_to_the_back_and_not_to_that_up() -> None:
    """They go no further up than 400; further behind the die, and set by hand, they are within what they travel."""
    job = worked_out(part([500, 300], [90]), toy())
    assert job.setup is not None and job.machine.stop_r_mm[1] == 400.0
    x_mm = job.setup.steps[0].stops.x_mm
    assert x_mm == pytest.approx(498.5, abs=1.0)
    assert edited(job, lambda steps: steps[0]["stops"].update(x_mm=x_mm - 0.05)).feasible is True


def test_the_set_up_is_shared_over_the_part_s_own_quantity_before_the_shop_s() -> None:
    own = zed()
    assert own.shop.defaults.quantity != 7
    assert replace(own, part=replace(own.part, quantity=7)).centre.quantity == 7
    assert replace(own, part=replace(own.part, quantity=None)).centre.quantity == own.shop.defaults.quantity


@pytest.mark.parametrize("z_mm", ["left", [None], ["a"], [True], {}])
def test_places_of_fingers_that_are_none_are_faults_of_form(z_mm: Any) -> None:
    with pytest.raises(Unusable, match="z_mm"):
        edited(zed(), lambda steps: steps[0]["stops"].update(z_mm=z_mm))


def test_a_faster_ram_than_the_rising_leg_allows_draws_a_caution() -> None:
    """600 of sheet in front at 9 mm/s of ram: slowed by the planner, set back by hand."""
    slowed = worked_out(steel([40, 900], [{"turn": 90, "gauge": "start"}]), built_in())
    assert slowed.setup is not None and "tip-speed" in codes(slowed.findings)
    own = slowed.setup.steps[0].ram.speed.ram_speed_mm_per_s
    job = edited(slowed, lambda steps: steps[0].update(ram_speed_mm_per_s=own + 0.5))
    (told,) = [each for each in job.findings if each.code == "by-hand-tip"]
    assert told.severity == "caution" and job.feasible is True


def test_a_plan_by_hand_is_priced_against_the_least() -> None:
    wanted: Part = part([30, 40, 40, 30], [90, -90, 90])
    shop: Shop = toy()
    dear = worked_out(part([30, 40, 40, 30], [90, -90, 90], order=[1, 2, 3]), shop)
    job = from_plan(wanted, shop, record_of(dear))
    assert job.feasible is True
    (note,) = [each for each in job.findings if each.code.startswith("asked-")]
    (asked,) = [each for each in work_out(dear.part, shop).findings if each.code.startswith("asked-")]
    assert note.code == asked.code == "asked-dearer"
    assert dict(note.phrase.values)["least_s"] == dict(asked.phrase.values)["least_s"]
