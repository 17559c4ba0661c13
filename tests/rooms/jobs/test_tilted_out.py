"""A part that comes off its punch only tilted: planned, priced, told, replayed, judged; and where it is not known."""

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
from flangewise.jobs import Job, replayed, worked_out
from flangewise.part import Part, read_part
from flangewise.shop import Shop, load_shop
from flangewise.words import LANGUAGES, say

from ...brute.compare import judged, priced
from ...how_many import WHOLE

Record = dict[str, Any]
# The last bend hooks the short leg into the neck of its punch, with a long leg back over it behind.
TEXT = """
part: hooked
material: DC01
thickness: 1.5
machine: mid-740
order: [3, 1, 4, 2]
section:
  length: 200
  legs: [51.1, 27.6, 90.1, 84.1, 76.1]
  bends: [{turn: 60}, {turn: 90}, {turn: 80}, {turn: 80, away: true}]
"""


@cache
def few() -> Shop:
    """Two punches over one die."""
    shop = load_shop()
    return replace(
        shop,
        dies={"vee-12-85": shop.dies["vee-12-85"]},
        punches={name: shop.punches[name] for name in ("straight-88", "neck-deep")},
    )


def hooked(text: str = TEXT) -> Part:
    return read_part(text, "hooked.yaml", few())


@cache
def job() -> Job:
    return worked_out(hooked(), few())


@cache
def record() -> Record:
    found: Record = json.loads(json_line(plan_record(job())))
    return found


def tilted(found: Record) -> Record:
    """The one move that is tilted, in the last step."""
    (move,) = [move for move in found["steps"][-1]["moves"] if move["move"].startswith("tilt")]
    return move


def test_it_is_planned_and_the_way_is_told_last() -> None:
    steps, move = record()["steps"], tilted(record())
    assert record()["feasible"] is True and move == steps[-1]["moves"][-1] and move["move"] == "tilt-out"
    open_mm, most = steps[-1]["open_height_mm"], max(abs(tilt) for _, _, tilt in move["way"])
    assert f"with the punch to {open_mm:g} mm, tilt it front up {most:g}°" in move["words"]
    assert "for the tilted way in or out" in steps[-1]["open_height_reason"]
    assert not any(each["move"].startswith("tilt") for step in steps[:-1] for each in step["moves"])


def test_nothing_is_called_least_that_rests_on_one_tilted_way_of_many() -> None:
    assert record()["proven_least"] is False and record()["lower_bound"] < record()["cost"]


def test_its_seconds_are_the_handlers() -> None:
    shop, found = few(), record()["steps"][-1]
    slower = {name: each.model_copy(update={"tilt_out_s": 16.0}) for name, each in shop.handlers.items()}
    others = {**slower, "robot": shop.handlers["robot"]}
    dearer = plan_record(worked_out(hooked(), replace(shop, handlers=others)))
    assert shop.handlers["operator"].tilt_out_s == 6
    assert dearer["steps"][-1]["seconds"] - found["seconds"] == pytest.approx(10, abs=1e-6)
    assert dearer["cost"] - record()["cost"] == pytest.approx(10 * 1.12, abs=1e-6)


def test_the_opening_the_way_is_free_with_is_the_one_keyed_in() -> None:
    assert job().ordered is not None
    step = job().ordered.solution.steps[-1]
    assert step.tilted is not None and step.tilted.open_height_mm == record()["steps"][-1]["open_height_mm"]
    assert step.tilted.way_in is None and step.tilted.count == 1


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_way_out_is_said_in_fifteen_words(language: str) -> None:
    assert job().setup is not None
    words = job().setup.steps[-1].moves[-1].words
    assert 8 <= len(say(words, language).split()) <= 15


def test_the_replay_walks_the_way() -> None:
    assert replayed(hooked(), few(), record()) == ()


def raised(way: list[list[float]]) -> None:
    for place in way[4:]:
        place[1] += 6


def over(way: list[list[float]]) -> None:
    for place in way:
        place[2] = -place[2]


def cut(way: list[list[float]]) -> None:
    del way[-3:]


def lying(way: list[list[float]]) -> None:
    way[1][1] = 0.0


@pytest.mark.parametrize("spoil", [raised, over, cut, lying])
def test_a_way_that_strikes_or_ends_among_the_tools_is_found_out(spoil: Callable[[list[list[float]]], None]) -> None:
    plan = copy.deepcopy(record())
    spoil(tilted(plan)["way"])
    assert [each.code for each in replayed(hooked(), few(), plan)] == ["replay-unload"]
    if WHOLE or spoil is over:
        walked = priced(hooked(), few(), plan)
        assert walked is not None and walked.struck


def test_the_judge_walks_the_way_and_comes_to_the_same_price() -> None:
    assert judged(hooked(), few(), record()).word == "tilted"
    walked = priced(hooked(), few(), record())
    assert walked is not None and not walked.struck
    assert walked.cost_s == pytest.approx(record()["cost"], abs=0.15)


def test_without_a_price_for_tilting_it_is_not_known() -> None:
    handlers = {name: each.model_copy(update={"tilt_out_s": None}) for name, each in few().handlers.items()}
    found = plan_record(worked_out(hooked(), replace(few(), handlers=handlers)))
    assert found["feasible"] is None and "order-not-known" in [each["code"] for each in found["findings"]]


def test_how_a_gripper_would_move_with_it_is_not_known() -> None:
    found = plan_record(worked_out(hooked(TEXT.replace("machine:", "handler: robot\nmachine:")), few()))
    assert found["feasible"] is None and "order-not-known" in [each["code"] for each in found["findings"]]
