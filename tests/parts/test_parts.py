"""Whole jobs: a folder with `part.yaml` and, from reasoning, `expected.yaml`. To add a test, add a folder.

`expected.yaml` says why (`because`), which shop (`toy` or `example`), whether it is feasible, and of what follows from
the reason whatever does: `hits`, `orders` (any of them), `before` (pairs of bends), `faces`, `finished_deg`, `cost`,
`cost_at_least`, `turn_overs`, `turns`, `tool_changes`, `pairs` (bends hit twice in a row); of a refused part
`refusals` (any of these codes), `bodies`, `offers` (codes of what would free it) with `offer_text`.

Of every job more is asked than its author wrote: the replay finds nothing, a second run gives the same bytes, the part
mirrored, the part read from its other end, and the part in inches.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from flangewise.commands.output import json_line
from flangewise.commands.plan import plan_record
from flangewise.findings import exit_status
from flangewise.jobs import worked_out
from flangewise.part import read_part
from flangewise.units import MM_PER_INCH

from .running import TOY, Record, differences, order, plan, planned_line, shop_in

FOLDERS = sorted(file.parent for file in Path(__file__).parent.glob("*/expected.yaml"))
SHOPS = {"toy": TOY, "example": None}
KEYS = {
    "because", "shop", "feasible", "hits", "orders", "before", "faces", "finished_deg", "cost", "cost_at_least",
    "turn_overs", "turns", "tool_changes", "pairs", "refusals", "bodies", "offers", "offer_text",
}  # fmt: skip

each_job = pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
RUN: dict[Path, tuple[int, str]] = {}


def wanted(folder: Path) -> Record:
    found: Record = yaml.safe_load((folder / "part.yaml").read_text(encoding="utf-8"))
    return found


def expected(folder: Path) -> Record:
    found: Record = yaml.safe_load((folder / "expected.yaml").read_text(encoding="utf-8"))
    return found


def shop_of(folder: Path) -> Path | None:
    return SHOPS[expected(folder)["shop"]]


@pytest.fixture
def planned(folder: Path, tmp_path: Path) -> tuple[int, Record]:
    """Status and record of the folder's part; planned once."""
    status, line = first_run(folder, tmp_path)
    return status, json.loads(line)


def first_run(folder: Path, tmp_path: Path) -> tuple[int, str]:
    if folder not in RUN:
        RUN[folder] = planned_line(wanted(folder), tmp_path, shop=shop_of(folder))
    return RUN[folder]


# --- what the author of a folder wrote


@each_job
def test_the_folder_says_nothing_the_runner_does_not_know(folder: Path) -> None:
    said = expected(folder)
    assert set(said) <= KEYS and len(said["because"]) > 20
    assert ("refusals" in said) is (said["feasible"] is False)


@each_job
def test_the_answer_is_the_one_reasoned(folder: Path, planned: tuple[int, Record]) -> None:
    said, (status, record) = expected(folder), planned
    assert record["feasible"] is said["feasible"]
    assert status == (0 if said["feasible"] else 1)
    for key, check in CHECKS.items():
        if key in said:
            check(record, said[key])
    for key in ("turn_overs", "turns", "tool_changes"):
        if key in said:
            assert record["totals"][key] == said[key], key


def _hits(record: Record, hits: int) -> None:
    assert [step["step"] for step in record["steps"]] == list(range(1, hits + 1))


def _orders(record: Record, orders: list[list[int]]) -> None:
    assert order(record) in orders


def _before(record: Record, pairs: list[list[int]]) -> None:
    made = order(record)
    assert all(made.index(first) < made.index(second) for first, second in pairs)


def _faces(record: Record, faces: list[str]) -> None:
    assert [step["marked_face"] for step in record["steps"]] == faces


def _finished(record: Record, finished_deg: list[float]) -> None:
    assert [step["finished_deg"] for step in record["steps"]] == finished_deg


def _cost(record: Record, cost: float) -> None:
    assert record["cost"] == record["lower_bound"] == pytest.approx(cost, abs=0.01) and record["proven_least"]


def _cost_at_least(record: Record, cost: float) -> None:
    assert record["cost"] >= cost


def _pairs(record: Record, bends: list[int]) -> None:
    for bend in bends:
        steps = [step["step"] for step in record["steps"] if step["bends"] == [bend]]
        assert len(steps) == 2 and steps[1] == steps[0] + 1


def _refusals(record: Record, codes: list[str]) -> None:
    told = {found["code"] for found in record["findings"] if found["severity"] == "refuse"}
    assert told and told <= set(codes)


def _bodies(record: Record, bodies: list[str]) -> None:
    reasons = [found for found in record["findings"] if found["severity"] == "refuse"]
    met = {body for reason in reasons for body in reason["bodies"]}
    assert set(bodies) <= met
    assert all(reason["step"] and len(reason["bodies"]) == 2 and reason["overlap_mm"] > 0 for reason in reasons)


def _offers(record: Record, codes: list[str]) -> None:
    assert set(codes) <= {found["code"] for found in record["findings"] if found["severity"] == "note"}


def _offer_text(record: Record, text: str) -> None:
    assert any(text in found["text"] for found in record["findings"] if found["code"].startswith("would-do"))


CHECKS: dict[str, Callable[[Record, Any], None]] = {
    "hits": _hits,
    "orders": _orders,
    "before": _before,
    "faces": _faces,
    "finished_deg": _finished,
    "cost": _cost,
    "cost_at_least": _cost_at_least,
    "pairs": _pairs,
    "refusals": _refusals,
    "bodies": _bodies,
    "offers": _offers,
    "offer_text": _offer_text,
}


# --- what is asked of every job


@each_job
def test_the_replay_finds_nothing(folder: Path, planned: tuple[int, Record]) -> None:
    assert differences(wanted(folder), planned[1], shop=shop_of(folder)) == []


@each_job
def test_the_marked_face_agrees_with_the_way_of_the_bend(folder: Path, planned: tuple[int, Record]) -> None:
    """The sheet folds up round the punch, so the face a bend goes toward lies up; of an offset either one may."""
    away = {number: is_away(entry) for number, entry in enumerate(wanted(folder)["section"]["bends"], start=1)}
    assert bool(planned[1]["steps"]) is bool(planned[1]["feasible"])
    for step in planned[1]["steps"]:
        if step["hit"] != "offset":
            assert step["marked_face"] == ("down" if away[step["bends"][0]] else "up")


@each_job
def test_no_cost_is_below_its_bound(folder: Path, planned: tuple[int, Record]) -> None:
    record = planned[1]
    if record["feasible"]:
        assert record["lower_bound"] <= record["cost"] + 1e-9
        assert record["proven_least"] is (record["lower_bound"] >= record["cost"] - 1e-9)
    else:
        assert record["cost"] is None and not record["proven_least"] and set(record["totals"].values()) == {None}


def again(part: Record, folder: Path, tmp_path: Path) -> tuple[int, Record]:
    """The part planned; a refused one without looking for what would free it, which is most of its time."""
    if expected(folder)["feasible"]:
        return plan(part, tmp_path, shop=shop_of(folder))
    shop = shop_in(shop_of(folder))
    job = worked_out(read_part(yaml.safe_dump(part), "part.yaml", shop), shop)
    return exit_status(job.findings), json.loads(json_line(plan_record(job)))


def without_offers(record: Record) -> Record:
    told = [found for found in record["findings"] if not found["code"].startswith("would-do")]
    return {**record, "findings": told}


FEASIBLE = [folder for folder in FOLDERS if expected(folder)["feasible"]]


@pytest.mark.anew
@pytest.mark.parametrize("folder", FEASIBLE, ids=lambda folder: folder.name)
def test_a_second_run_gives_the_same_bytes(folder: Path, tmp_path: Path) -> None:
    assert planned_line(wanted(folder), tmp_path, shop=shop_of(folder)) == first_run(folder, tmp_path)


@each_job
def test_the_part_in_inches_is_the_same_part(folder: Path, planned: tuple[int, Record], tmp_path: Path) -> None:
    """Every number of the record, to a millionth: 25.4 has no exact inverse."""
    status, record = again(in_inches(wanted(folder)), folder, tmp_path)
    assert same((status, record), (planned[0], without_offers(planned[1])))


@each_job
def test_the_mirrored_part_is_bent_the_same_with_the_other_face_up(
    folder: Path, planned: tuple[int, Record], tmp_path: Path
) -> None:
    status, record = again(mirrored(wanted(folder)), folder, tmp_path)
    assert (status, alike(record)) == (planned[0], alike(planned[1]))
    if folder.name != "offset-step":
        faces = [{"up": "down", "down": "up"}[step["marked_face"]] for step in planned[1]["steps"]]
        assert [step["marked_face"] for step in record["steps"]] == faces
        assert without_face(record) == without_face(planned[1])


@each_job
def test_the_part_read_from_its_other_end_costs_the_same(
    folder: Path, planned: tuple[int, Record], tmp_path: Path
) -> None:
    backward = reversed_legs(wanted(folder))
    status, record = again(backward, folder, tmp_path)
    assert (status, alike(record)) == (planned[0], alike(planned[1]))
    assert refusals(record) == refusals(planned[1])


def test_a_part_that_is_its_own_reverse_gives_the_same_bytes(tmp_path: Path) -> None:
    part = wanted(Path(__file__).parent / "channel")
    assert planned_line(reversed_legs(part), tmp_path) == planned_line(part, tmp_path)


# --- the same part in other words


def is_away(entry: Any) -> bool:
    return entry < 0 if isinstance(entry, (int, float)) else bool(entry.get("away"))


def flipped(entry: Any) -> Any:
    if isinstance(entry, (int, float)):
        return -entry
    return {**{key: value for key, value in entry.items() if key != "away"}, "away": not is_away(entry)}


def mirrored(part: Record) -> Record:
    """Every bend the other way."""
    section = part["section"]
    return {**part, "section": {**section, "bends": [flipped(entry) for entry in section["bends"]]}}


def reversed_legs(part: Record) -> Record:
    """The section from its end to its start, seen from the same face: an offset then steps the other way."""
    section = part["section"]
    bends = [flipped(entry) if is_offset(entry) else entry for entry in reversed(section["bends"])]
    turned = {**part, "section": {**section, "legs": section["legs"][::-1], "bends": bends}}
    if "order" in part:
        turned["order"] = [len(bends) + 1 - number for number in part["order"]]
    return turned


def refusals(record: Record) -> set[str]:
    """Codes of the refusals, whichever end of the section lies behind."""
    told = {found["code"] for found in record["findings"] if found["severity"] == "refuse"}
    return {code.replace("-behind", "-front") for code in told}


def is_offset(entry: Any) -> bool:
    return isinstance(entry, dict) and "offset" in entry


LENGTHS = {"thickness", "length", "legs", "radius", "offset", "gap"}


def in_inches(value: Any, key: str = "") -> Any:
    """The part with its lengths in inches."""
    if isinstance(value, dict):
        told = {name: in_inches(each, name) for name, each in value.items()}
        return {**told, "units": "inch"} if "part" in value else told
    if isinstance(value, list):
        return [in_inches(each, key) for each in value]
    return value / MM_PER_INCH if key in LENGTHS else value


def alike(record: Record) -> Record:
    """What a part and its other wording have in common."""
    keys = ("blank", "feasible", "proven_least", "cost", "lower_bound")
    counted = {key: record["totals"][key] for key in ("turn_overs", "turns", "regrips", "tool_changes")}
    return {**{key: record[key] for key in keys}, **counted, "hits": len(record["steps"])}


def without_face(record: Record) -> list[Record]:
    return [{key: value for key, value in step.items() if key != "marked_face"} for step in record["steps"]]


def leaves(value: Any) -> Iterator[Any]:
    if isinstance(value, dict):
        value = [part for pair in sorted(value.items()) for part in pair]
    if isinstance(value, (list, tuple)):
        for each in value:
            yield from leaves(each)
    else:
        yield value


def same(one: Any, other: Any) -> bool:
    """Equal in structure and texts, in numbers to a millionth."""
    pairs = list(zip(leaves(one), leaves(other), strict=True))
    return all(
        a == pytest.approx(b, rel=1e-6, abs=2e-6) if isinstance(b, float) and not isinstance(a, bool) else a == b
        for a, b in pairs
    )
