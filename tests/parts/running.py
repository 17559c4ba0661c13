"""Part files made, planned and replayed, as a user would: through the command line run in this process."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from flangewise.findings import Finding
from flangewise.jobs import replayed
from flangewise.part import read_part
from flangewise.shop import Shop, load_shop

from ..house.running import run

TOY = Path(__file__).parent.parent / "rooms" / "shop" / "toy_shop"
STRAIGHT, GOOSE = ("straight-84", "block-12"), ("goose-84", "block-12")

Record = dict[str, Any]


@cache
def shop_in(folder: Path | None) -> Shop:
    """The shop of a folder, or the built-in one."""
    return load_shop(folder)


def bend(turn_deg: float, tools: tuple[str, str] | None = None, **more: Any) -> Record:
    """A bend entry: a negative turn goes away from the marked face; punch and die pinned where they are named."""
    entry: Record = {"turn": abs(turn_deg), **more}
    if turn_deg < 0:
        entry["away"] = True
    return entry if tools is None else {**entry, "punch": tools[0], "die": tools[1]}


def part(
    legs_mm: Sequence[float],
    turns_deg: Sequence[float],
    tools: tuple[str, str] | None = STRAIGHT,
    **more: Any,
) -> Record:
    """A part of toy sheet 1.5 thick and 100 long, all its bends with the tools named."""
    section = {"length": 100, "legs": [float(leg) for leg in legs_mm], "bends": [bend(t, tools) for t in turns_deg]}
    return {"part": "toy", "material": "toy", "thickness": 1.5, **more, "section": section}


def plan(wanted: Mapping[str, Any], folder: Path, *options: str, shop: Path | None = TOY) -> tuple[int, Record]:
    """Exit status and record of `plan --format json` for a part written into a folder."""
    status, line = planned_line(wanted, folder, *options, shop=shop)
    return status, json.loads(line)


def planned_line(wanted: Mapping[str, Any], folder: Path, *options: str, shop: Path | None = TOY) -> tuple[int, str]:
    """Exit status and the very line of JSON."""
    file = folder / "part.yaml"
    file.write_text(yaml.safe_dump(dict(wanted), sort_keys=False), encoding="utf-8")
    status, out, err = run(*_shop(shop), "plan", str(file), "--format", "json", *options)
    assert out, err
    return status, out


def _shop(folder: Path | None) -> tuple[str, ...]:
    return () if folder is None else ("--shop", str(folder))


def differences(wanted: Mapping[str, Any], record: Record, *, shop: Path | None = TOY) -> list[Finding]:
    """What the replay finds against a plan: refusals and cautions. A refused part has no steps to go through."""
    if not record["steps"]:
        return []
    stock = shop_in(shop)
    asked = read_part(yaml.safe_dump(dict(wanted)), "part.yaml", stock)
    return [found for found in replayed(asked, stock, record) if found.severity != "note"]


def sound(wanted: Mapping[str, Any], folder: Path, *options: str, shop: Path | None = TOY) -> Record:
    """The record of a part that must have a plan, and whose plan the replay must have nothing against."""
    status, record = plan(wanted, folder, *options, shop=shop)
    assert (status, record["feasible"]) == (0, True), [found["text"] for found in record["findings"]]
    assert differences(wanted, record, shop=shop) == []
    return record


def refused(wanted: Mapping[str, Any], folder: Path, *options: str, shop: Path | None = TOY) -> Record:
    """The record of a part that must be proven impossible, whose reasons name step, bodies and overlap."""
    status, record = plan(wanted, folder, *options, shop=shop)
    assert (status, record["feasible"], record["steps"]) == (1, False, [])
    assert record["cost"] is None and record["proven_least"] is False
    told = [each for each in record["findings"] if each["severity"] == "refuse"]
    assert told
    return record


def reasons(record: Record) -> list[Record]:
    """The refusals about bodies that meet."""
    return [each for each in record["findings"] if each["severity"] == "refuse" and each["bodies"]]


def order(record: Record) -> list[int]:
    """The bends in the order they are made, a hem once."""
    return list(dict.fromkeys(number for step in record["steps"] for number in step["bends"]))
