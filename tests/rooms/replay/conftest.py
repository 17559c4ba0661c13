"""The toy tools of the tests: plain blocks whose limits can be worked out by hand, invented for this purpose.

Die: V 12 at the sharp corners, 84 degrees, block 40 wide and 60 high, bed 120 wide below it. Punch: 84 degree tip, 20
wide, 100 high; clamp 60 wide from 100 to 140, ram 120 wide above. Sheet 1.5 thick, sharp middle-surface corners.
"""

from __future__ import annotations

import itertools
import math
import sys
from dataclasses import dataclass

import pytest

from flangewise.geometry import Outline
from flangewise.replay import Bodies, SectionNumbers

from .judge import Judge, JudgedHit


@pytest.fixture
def toy():
    """This module: the tools and the ways to ask."""
    return sys.modules[__name__]


@dataclass(frozen=True)
class ToolShape:
    """What the replay asks of a punch or a die: outline, height and kind."""

    outline_mm: Outline
    height_mm: float
    kind: str = "vee"


THICKNESS_MM = 1.5
LEAN = math.tan(math.radians(42))


def outline(*points: tuple[float, float]) -> Outline:
    """A closed outline without arcs."""
    return Outline(points, (0.0,) * len(points))


STRAIGHT = outline((0, 0), (10, 10 / LEAN), (10, 100), (-10, 100), (-10, 10 / LEAN))
GOOSENECK = outline(
    (0, 0), (4, 4.44), (-6, 22), (-12, 34), (-12, 60), (12, 84), (12, 100), (-30, 100), (-30, 34), (-8, 8.9)
)
RAM = outline((30, 0), (30, 40), (60, 40), (60, 540), (-60, 540), (-60, 40), (-30, 40), (-30, 0))
FINGER = outline((0, 0), (0, 20), (-40, 20), (-40, 0))


def die(half_width_mm: float = 20.0, height_mm: float = 60.0) -> ToolShape:
    """The toy die, or one narrower and taller."""
    top = ((half_width_mm, 0), (6, 0), (0, -6 / LEAN), (-6, 0), (-half_width_mm, 0))
    return ToolShape(outline(*top, (-half_width_mm, -height_mm), (half_width_mm, -height_mm)), height_mm)


def bodies(punch: Outline = STRAIGHT, below: ToolShape | None = None, ram: Outline = RAM) -> Bodies:
    """The toy machine with one punch and one die."""
    below = below if below is not None else die()
    bed = outline((-60, -740), (60, -740), (60, 0), (-60, 0))
    return Bodies({"straight": ToolShape(punch, 100)}, {"v12": below}, ram, bed, FINGER)


def sharp(lengths_mm: tuple[float, ...], turns_deg: tuple[float, ...]) -> SectionNumbers:
    """A section of sharp middle-surface corners, its edges rounded as by the disc that thickens it."""
    count = len(turns_deg)
    radii = (-THICKNESS_MM / 2,) * count
    return SectionNumbers(lengths_mm, (0.0,) * count, turns_deg, radii, THICKNESS_MM, round_ends=True)


def judge(section: SectionNumbers, tools: Bodies, *, step_deg: float = 1.0) -> Judge:
    """A judge of the section with the toy pair for every bend, no over-bend."""
    stack = tools.stack("straight", "v12")
    hits = {
        bend.number: (JudgedHit(stack, abs(section.turns_deg[bend.zones[0]]), -THICKNESS_MM / 2),)
        for bend in section.bends
    }
    return Judge(section, hits, check_self=False, step_deg=step_deg)


def feasible_orders(section: SectionNumbers, tools: Bodies | None = None) -> list[tuple[int, ...]]:
    """Every order in which some pose is free at each bend, tried one by one."""
    asked = judge(section, tools if tools is not None else bodies())
    numbers = [bend.number for bend in section.bends]
    return [order for order in itertools.permutations(numbers) if _is_free(asked, order)]


def _is_free(asked: Judge, order: tuple[int, ...]) -> bool:
    done: set[int] = set()
    for bend in order:
        if not any(asked.can_hit(done, bend, start_behind=behind) for behind in (True, False)):
            return False
        done.add(bend)
    return True


def plan(*steps: dict[str, object]) -> dict[str, object]:
    """A plan in its JSON shape: each step given by what differs from a plain 90 degree bend, start edge gauged."""
    usual: dict[str, object] = {
        "marked_face": "up",
        "gauged_on": {"on": "start", "bend": None},
        "moves": [],
        "punch": "straight",
        "punch_turned": False,
        "die": "v12",
        "stops": {"x_mm": None, "r_mm": 0.0, "z_mm": [], "retract_mm": 0.0},
        "depth_mm": None,
        "bend_to_deg": 90.0,
        "finished_deg": 90.0,
        "open_height_mm": None,
    }
    return {"steps": [{"step": index + 1, **usual, **step} for index, step in enumerate(steps)]}


COUNTED: dict[str, int] = {}


@pytest.fixture
def brute_force_count():
    """Counts the sections that were compared; told at the end of the run."""

    def count(**what: bool) -> None:
        for name in ("sections", *(name for name, holds in what.items() if holds)):
            COUNTED[name] = COUNTED.get(name, 0) + 1

    return count


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """How many random sections brute force and search agreed on."""
    if COUNTED:
        told = ", ".join(f"{name} {count}" for name, count in COUNTED.items())
        terminalreporter.write_line(f"brute force against the search: {told}")
