"""Random panels of a few bends with the tools of the example shop: the search's question with real geometry."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

from flangewise.jobs.panel import panel_worked_out
from flangewise.jobs.panel_problem import centre_of, panel_problem, tool_sets
from flangewise.jobs.panel_rows import with_rows
from flangewise.panel_order import PanelProblem, PanelRows
from flangewise.pattern import NoBlank
from flangewise.sequence import UNLIMITED

from ...laws.panels import panel
from ...laws.sections import shop

MOST_BENDS, ROWS = 6, 5


def written(seed: int) -> dict[str, Any]:
    """A panel of two to six bends: sides with returns, tabs, hems; bent both ways; corners open, or lapped."""
    draw = random.Random(f"real {seed}")
    thickness = draw.choice((1.0, 1.5, 2.0))
    wide, deep = draw.randrange(120, 320, 10), draw.randrange(90, 220, 10)
    sides = draw.sample(("near", "right", "far", "left"), draw.randint(2, 4))
    flanges: dict[str, Any] = {}
    left = MOST_BENDS
    for at, side in enumerate(sides):
        spare = left - (len(sides) - at)
        flange = _flange(draw, thickness, spare)
        left -= 1 + ("tip" in flange) if isinstance(flange, dict) else len(flange)
        flanges[side] = flange
    return {
        "part": f"real-{seed}",
        "material": "DC01",
        "thickness": thickness,
        "machine": draw.choice(("bench-310", "mid-740")),
        "panel": {"base": [wide, deep], "flanges": flanges},
    }


def _flange(draw: random.Random, thickness: float, spare: int) -> Any:
    away = draw.random() < 0.25
    bend = {"turn": draw.choice((90, 90, 90, 60, 110)), "away": away}
    height = draw.randrange(18, 45)
    kind = draw.random()
    if kind < 0.12 and thickness <= 1.5:
        return {"height": 8 * thickness + 2, "bend": {"hem": "closed", "away": away}, "inset": 3 * thickness}
    if kind < 0.3 and spare > 0:
        return [
            {"height": height, "bend": bend, "from": 12, "to": 40},
            {"height": height, "bend": bend, "from": 50, "to": 80},
        ]
    flange: dict[str, Any] = {"height": height, "bend": bend}
    if kind < 0.5:
        flange["inset"] = draw.choice((0, 8, 15))
    if spare > 0 and draw.random() < 0.35:
        tip = {"turn": draw.choice((90, 90, 45)), "away": draw.random() < 0.3}
        flange["tip"] = {"height": draw.randrange(12, 24), "bend": tip, "mitre": draw.choice((0, 45))}
    return flange


def stepped(seed: int) -> dict[str, Any]:
    """A panel of thin sheet of which one flange or tip is an offset, bent either way, with what hangs on it."""
    draw = random.Random(f"stepped {seed}")
    made = written(seed)
    made |= {"part": f"stepped-{seed}", "thickness": draw.choice((0.8, 1.0, 1.5)), "machine": "bench-310"}
    flanges = [each for each in made["panel"]["flanges"].values() if isinstance(each, dict) and "turn" in each["bend"]]
    flanges += [each["tip"] for each in flanges if "tip" in each]
    for flange in flanges[:1] if draw.random() < 0.6 else flanges[-1:]:
        step = {"offset": draw.choice((2, 4)), "away": draw.random() < 0.5, "radius": 0.4}
        flange |= {"bend": step, "height": max(flange["height"], 20)}
    return made


def narrow(seed: int) -> dict[str, Any]:
    """A panel of tabs too narrow for two fingers, on a machine with a side stop; one is a side flange."""
    draw = random.Random(f"narrow {seed}")
    wide, deep = draw.randrange(90, 240, 10), draw.randrange(90, 240, 10)
    flanges: dict[str, Any] = {}
    for side in draw.sample(("near", "right", "far", "left"), draw.randint(1, 3)):
        long = wide if side in ("near", "far") else deep
        tab = draw.randrange(24, 66)
        begin = draw.randrange(8, long - tab - 8)
        bend = {"turn": draw.choice((90, 90, 60)), "away": draw.random() < 0.3}
        flanges[side] = {"height": draw.randrange(18, 60), "bend": bend, "from": begin, "to": begin + tab}
    whole = [side for side in ("near", "right", "far", "left") if side not in flanges]
    if draw.random() < 0.6:
        flanges[whole[0]] = {"height": draw.randrange(15, 40), "bend": {"turn": 90, "away": draw.random() < 0.3}}
    return {
        "part": f"narrow-{seed}",
        "material": "DC01",
        "thickness": draw.choice((1.0, 1.5, 2.0)),
        "machine": "mid-740",
        "panel": {"base": [wide, deep], "flanges": flanges},
    }


def problem(seed: int, made: Callable[[int], dict[str, Any]] = written) -> PanelProblem | None:
    """The question for a panel, of each set of tools a few rows that chance picks; None where there is no blank."""
    try:
        job = panel_worked_out(panel(made(seed)), shop())
        if job.blank is None or not all(job.offers.values()):
            return None
        tools = tool_sets(job, shop())[0]
    except NoBlank:
        return None
    whole = with_rows(panel_problem(job, tools, shop(), UNLIMITED), centre_of(job, shop()))
    draw = random.Random(f"rows {seed}")
    return replace(whole, rows=tuple(_some(draw, whole, number) for number in range(len(whole.rows))))


def _some(draw: random.Random, whole: PanelProblem, mounting: int) -> PanelRows:
    """A few pairs of rows, most of them about as long as a line, so that all sets of stations can be tried."""
    rows = whole.rows[mounting]
    own = {way.operation for way in whole.ways if way.mounting == mounting}
    chosen: dict[Any, None] = {}
    for length_mm in (whole.operations[at].length_mm for at in sorted(own)):
        fits = [pair for pair in rows.pairs if -4.5 <= pair[0].length_mm - length_mm <= 4.0]
        chosen |= dict.fromkeys(draw.sample(fits, min(2, len(fits))))
    chosen |= dict.fromkeys(draw.sample(rows.pairs, min(2, len(rows.pairs))))
    # Of rows with gaps, where there are any, two over a die as long as they are: such a search finds of use.
    apart = [pair for pair in rows.pairs if pair[0].gaps_mm and pair[1].length_mm == pair[0].length_mm]
    if apart:
        return replace(rows, pairs=(*draw.sample(list(chosen), min(ROWS - 2, len(chosen))), *draw.sample(apart, 2)))
    every = list(chosen)
    return replace(rows, pairs=tuple(draw.sample(every, min(ROWS, len(every)))))


def problems(seeds: range) -> Iterator[tuple[int, PanelProblem]]:
    """Those that have a blank and tools."""
    for seed in seeds:
        found = problem(seed)
        if found is not None:
            yield seed, found
