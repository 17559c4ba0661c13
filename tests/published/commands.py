"""From a printed quantity to the command line that answers it, where an option reaches it.

The command is run in this process through the entry point that the installed command uses; a few rows are run again as
a whole process by the test.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from .source import Row

# Any metal will do where a rule is given: the radius and the rule make the allowance.
ANY_MATERIAL = "DC01"
MATERIAL_OF_FAMILY = {"steel": "DC01", "galvanized": "DX51D", "stainless": "304", "nonferrous": "5052-H32"}


@dataclass(frozen=True)
class Asked:
    """A command line, and the key of its JSON that answers the row."""

    arguments: tuple[str, ...]
    key: str


def read_answer(asked: Asked, output: str) -> float:
    """The number that a printed JSON line holds under the key."""
    record: dict[str, Any] = json.loads(output)
    value = record[asked.key]
    assert isinstance(value, (int, float)), f"{asked.key} is {value!r}"
    return float(value)


def _length(row: Row, name: str) -> str:
    unit = "in" if f"{name}_in" in row else "mm"
    return row.text(f"{name}_{unit}") + unit


def _turn(row: Row) -> tuple[str, str]:
    return ("--turn", row.text("turn_deg")) if "turn_deg" in row else ("--included", row.text("included_deg"))


def _bend(row: Row, key: str, *more: str, material: str = ANY_MATERIAL) -> Asked:
    start = ("bend", "--material", material, "--thickness", _length(row, "thickness"), *_turn(row))
    return Asked((*start, *more, "--format", "json"), key)


def _rule(row: Row) -> tuple[str, ...]:
    if row.k_factor is not None:
        return ("--k-factor", f"{row.k_factor:g}")
    return ("--rule", row.text("rule"))


def _with_radius(key: str) -> Callable[[Row], Asked]:
    return lambda row: _bend(row, key, "--radius", _length(row, "inside_radius"), *_rule(row))


def _tools(row: Row) -> tuple[str, ...]:
    given = ("--die-opening", _length(row, "opening"))
    if "shoulder_radius_mm" in row:
        given += ("--shoulder-radius", _length(row, "shoulder_radius"), "--nose-radius", _length(row, "nose_radius"))
    return given


def _metal(row: Row) -> tuple[str, ...]:
    given = ("--tensile", row.text("tensile_mpa"))
    if "yield_mpa" in row:
        given += ("--yield", row.text("yield_mpa"), "--uniform-elongation", row.text("uniform_elongation"))
    return given


def _formed(key: str) -> Callable[[Row], Asked]:
    return lambda row: _bend(row, key, *_tools(row), *_metal(row), "--friction", row.text("friction"))


def _limit_force(row: Row) -> Asked:
    return _bend(row, "limit_force_kn_per_m", *_tools(row), *_metal(row), material=row.text("material"))


def _gauge(row: Row) -> Asked:
    material = MATERIAL_OF_FAMILY[row.text("family")]
    gauge = row.text("gauge") + "ga"
    given = ("bend", "--material", material, "--thickness", gauge, "--turn", "90", "--format", "json")
    return Asked(given, "thickness_mm")


# A bend that a setter could ask for; beyond it the command refuses to answer, and says so.
MOST_TURN_DEG = 175.0

COMMANDS: Mapping[str, Callable[[Row], Asked]] = {
    "allowance": _with_radius("allowance_mm"),
    "deduction": _with_radius("deduction_mm"),
    "setback": _with_radius("setback_mm"),
    "k_factor": _with_radius("k_factor"),
    "turn": _with_radius("turn_deg"),
    "peak_force": _formed("force_kn_per_m"),
    "springback": _formed("springback_deg"),
    "limit_force": _limit_force,
    "gauge": _gauge,
}


def reached_by_option(row: Row, word: str) -> bool:
    """Whether the command line has an option for everything the row gives."""
    if word not in COMMANDS:
        return False
    if word == "gauge":
        return row.quantity == "gauge_in"
    return not ("turn_deg" in row or "included_deg" in row) or row.turn_deg <= MOST_TURN_DEG
