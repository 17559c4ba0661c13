"""Parts and shops for the tests of this room: the toy shop of plain blocks, and the built-in one."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from flangewise.commands.output import json_line
from flangewise.commands.plan import plan_record
from flangewise.findings import Finding
from flangewise.jobs import Job, replayed, worked_out
from flangewise.part import Part, read_part
from flangewise.punch_die import PunchDie
from flangewise.shop import Shop, load_shop

TOY = Path(__file__).parent.parent / "shop" / "toy_shop"
STRAIGHT, GOOSE, TOWER = ("straight-84", "block-12"), ("goose-84", "block-12"), ("straight-84", "tower-12")


@cache
def toy() -> Shop:
    """The toy shop, read as a user's folder is."""
    return load_shop(TOY)


@cache
def built_in() -> Shop:
    """The example shop."""
    return load_shop()


def with_machine(shop: Shop, name: str = "toy", **changes: Any) -> Shop:
    """The shop with one machine changed."""
    return replace(shop, machines={**shop.machines, name: shop.machines[name].model_copy(update=changes)})


def with_handler(shop: Shop, name: str = "toy", **changes: Any) -> Shop:
    """The shop with one handler's prices changed."""
    return replace(shop, handlers={**shop.handlers, name: shop.handlers[name].model_copy(update=changes)})


def entry(turn: Any, tools: tuple[str, str] | None) -> Any:
    """A bend entry from a signed turn, or the entry as it stands."""
    if not isinstance(turn, (int, float)):
        return turn
    told: dict[str, Any] = {"turn": abs(turn), "away": turn < 0}
    return told if tools is None else {**told, "punch": tools[0], "die": tools[1]}


def part(
    legs: Sequence[float],
    bends: Sequence[Any],
    tools: tuple[str, str] | None = STRAIGHT,
    *,
    shop: Shop | None = None,
    section: dict[str, Any] | None = None,
    **more: Any,
) -> Part:
    """A part of toy sheet 1.5 thick and 100 long, all bends given as turns with the tools named."""
    inside = {"length": 100, "legs": list(legs), "bends": [entry(turn, tools) for turn in bends], **(section or {})}
    told = {"part": "p", "material": "toy", "thickness": 1.5, **more, "section": inside}
    return read_part(json.dumps(told), "p.yaml", shop or toy())  # JSON is YAML


def steel(legs: Sequence[float], bends: Sequence[Any], thickness: float = 2, **more: Any) -> Part:
    """The same of DC01 in the example shop, tools free."""
    return part(legs, bends, None, shop=built_in(), material="DC01", thickness=thickness, **more)


# The toy handler's seconds around a part: fetched 1, put in 1, taken out 1, looked at 1, put down 1; and a part's share
# of putting punch and die in, 500 s each over 50 parts. Each hit: drawn to its stop 0.5, the first one not, gauged 1.
AROUND_S, HIT_S, NEXT_STOP_S = 5 + 2 * 500 / 50, 1.0, 0.5


def toy_stroke_s(needs_mm: float, travel_mm: float) -> float:
    """The toy machine's stroke by hand, for what a part needs over the die: 3 in hand, keyed in to a mm.

    Fast 100 mm/s down to 6 over the sheet of 1.5, slow 10 mm/s, bending 10 mm/s, 0.2 s of dwell, back 100 mm/s, all
    speeds reached with 1000 mm/s2 where there is room.
    """

    def run_s(way_mm: float) -> float:
        return way_mm / 100 + 0.1 if way_mm >= 10 else 2 * math.sqrt(way_mm / 1000)

    gap = math.ceil(needs_mm + 3) - 1.5
    slow = min(gap, 6.0)
    return run_s(gap - slow) + slow / 10 + travel_mm / 10 + 0.2 + run_s(gap + travel_mm)


def slips_mm(edge_mm: float, radius_mm: float, pair: PunchDie) -> float:
    """What a plain wing needs to slip out over a block's front edge, under load at the half turn a: by then it has
    risen edge x tan a, and the bend's outside, of radius r + t, goes over the edge by its own share; and the sheet."""
    half = math.radians((pair.loaded_turn_deg or 0.0) / 2)
    return edge_mm * math.tan(half) + (radius_mm + 1.5) * (1 / math.cos(half) - 1) + 1.5


def risen_mm(way_mm: float, radius_mm: float, pair: PunchDie) -> float:
    """What a wing at 45 degrees needs that ends so far along and up from its bend's zone, which stands on its own
    middle arc of r + t/2 at the half turn under load; and the sheet."""
    half = math.radians((pair.loaded_turn_deg or 0.0) / 2)
    return way_mm / math.sqrt(2) + (radius_mm + 0.75) * (1 - math.cos(half)) + 1.5


CHANNEL = (20.0, 60.0, 20.0)
BOX = (30.75, 41.5, 61.5, 41.5, 30.75)


@cache
def channel() -> Job:
    """The channel 20 | 60 | 20, both bends one way."""
    return worked_out(part(CHANNEL, [90, 90]), toy())


@cache
def zed() -> Job:
    """A Z 30 | 40 | 30."""
    return worked_out(part([30, 40, 30], [90, -90]), toy())


@cache
def box() -> Job:
    """A section closed on all sides, which no punch leaves."""
    return worked_out(part(BOX, [90] * 4), toy())


@cache
def deep_channel() -> Job:
    """A channel with legs 10 longer than its web lets pass a block of 10 to each side."""
    return worked_out(part([52, 60, 52], [90, 90]), toy())


def order(job: Job) -> list[int]:
    """The bends as they are made."""
    assert job.ordered is not None
    return [int(step.label) for step in job.ordered.solution.steps]


def codes(findings: Sequence[Finding], severity: str = "") -> set[str]:
    """Codes of the findings, of one severity where one is named."""
    return {each.code for each in findings if severity in ("", each.severity)}


def differences(job: Job) -> list[Finding]:
    """What the replay has against the plan of a job: refusals and cautions."""
    record = json.loads(json_line(plan_record(job)))
    return [found for found in replayed(job.part, job.shop, record) if found.severity != "note"]


def vee(opening_mm: float, half_width_mm: float, height_mm: float) -> dict[str, Any]:
    """A row for a die of 84 degrees with shoulders of 0.5 mm in a plain block."""
    corner = opening_mm / 2 - 0.5 * math.tan(math.radians(24))
    bottom = -corner / math.tan(math.radians(42))
    edge = [[-half_width_mm, 0], [-half_width_mm, -height_mm], [half_width_mm, -height_mm], [half_width_mm, 0]]
    return {
        "title": "Vee in a block",
        "source": "invented for tests",
        "kind": "vee",
        "height_mm": height_mm,
        "named_opening_mm": opening_mm,
        "opening_measured": "tangent",
        "named_shoulder_radius_mm": 0.5,
        "named_included_deg": 84,
        "load_kn_per_m": 2000,
        "outline_mm": [[corner, 0, 0.5], [0, bottom], [-corner, 0, 0.5], *edge],
        "segments": {1000: 3, 100: 5, 10: 9},
    }


def shop_with_dies(folder: Path, dies: dict[str, dict[str, Any]]) -> Shop:
    """The toy shop with these dies in place of its own, and only its plain punch, read from a folder."""
    for file in TOY.iterdir():
        (folder / file.name).write_text(file.read_text(encoding="utf-8"), encoding="utf-8")
    (folder / "dies.yaml").write_text(yaml.safe_dump(dies), encoding="utf-8")
    punches = yaml.safe_load((TOY / "punches.yaml").read_text(encoding="utf-8"))
    (folder / "punches.yaml").write_text(yaml.safe_dump({"straight-84": punches["straight-84"]}), encoding="utf-8")
    return load_shop(folder)
