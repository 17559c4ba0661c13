"""The planner's word on whether a part can be bent, and for how little, against a judge that tries everything.

The judge shares nothing with the order's search: it folds, strikes, gauges, takes out and adds up by itself.
"""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import pytest

from flangewise.commands.plan import plan_record
from flangewise.jobs import worked_out
from flangewise.part import read_part
from flangewise.shop import Shop, load_shop

from .compare import judged, told
from .parts import drawn, judged_shop, rack

HERE = Path(__file__).parent
APART = ("flangewise.sequence", "flangewise.clearance", "flangewise.replay", "flangewise.geometry")
JUDGING = (
    "fold",
    "rack",
    "strikes",
    "lies",
    "poses",
    "stops",
    "exits",
    "seconds",
    "bench",
    "looks",
    "board",
    "judge",
    "least",
)
SEEDS = (0, 2, 3, 4, 6, 7)


@cache
def shop() -> Shop:
    """The built-in shop."""
    return judged_shop(load_shop())


def imported(module: str) -> set[str]:
    """What a module of the judge imports, by its own words."""
    tree = ast.parse((HERE / f"{module}.py").read_text(encoding="utf-8"))
    found = {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) and not node.level}
    return found | {name.name for node in ast.walk(tree) if isinstance(node, ast.Import) for name in node.names}


@pytest.mark.parametrize("module", JUDGING)
def test_the_judge_shares_nothing_with_the_search(module: str) -> None:
    names = imported(module)
    assert names, "a module that imports nothing at all was not read"
    assert not [name for name in names if name.startswith(APART)]


@pytest.mark.parametrize("seed", SEEDS)
def test_the_planner_tells_what_the_judge_finds(seed: int) -> None:
    part = drawn(seed, shop(), most_bends=2)
    verdict = judged(part.part, part.shop, plan_record(worked_out(part.part, part.shop)))
    assert not verdict.word.startswith("WRONG"), f"{part.text}\n{told(verdict)}"


@pytest.mark.parametrize("seed", [470355, 470449, 470406])
def test_where_the_floor_is_the_plan_s_own_price_it_is_proven(seed: int) -> None:
    """To the last digit, and where another machine has but a plan that breaks a rule of holding."""
    part = drawn(seed, shop())
    assert worked_out(part.part, part.shop).solution.proven_least


@pytest.mark.parametrize(
    ("lie", "word"),
    [
        ({"feasible": False}, "WRONG: refused"),
        ({"cost": 1.0}, "WRONG: price"),
        ({"gauged": "on a face"}, "WRONG: struck"),
        ({}, "agrees"),
    ],
    ids=lambda value: str(value),
)
def test_a_lie_is_found_out(lie: dict[str, object], word: str) -> None:
    tools = rack(shop(), ("vee-12-85",), ("straight-88",))
    text = "part: angle\nmachine: mid-740\nmaterial: DC01\nthickness: 1.5\n"
    part = read_part(f"{text}section: {{length: 200, legs: [70, 90], bends: [90]}}\n", "angle.yaml", tools)
    record = plan_record(worked_out(part, tools)) | {key: value for key, value in lie.items() if key != "gauged"}
    if "gauged" in lie:
        # Nothing is formed yet that the stops could touch.
        record["steps"] = [step | {"gauged_on": {"on": "flange", "bend": 0}} for step in record["steps"]]
    assert judged(part, tools, record).word == word
