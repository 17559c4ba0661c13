"""Whether a pair can be put in as long as its bend, and comes down as deep: what the set-up would refuse afterwards.

Asked of every pair offered, so that an order is looked for with those that can be set up.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import TYPE_CHECKING

from flangewise.findings import Finding, refuse
from flangewise.punch_die.pair import BendWish, PunchDie, Tooling
from flangewise.shop import Die, Punch

if TYPE_CHECKING:
    from flangewise.punch_die.stations import SegmentUse


def length_findings(made: PunchDie, wish: BendWish, *, tooling: Tooling) -> Iterator[Finding]:
    """Refusals of tools whose segments do not reach, whose ears carry too little, or to which the ram does not come.

    Without a machine or a length nothing is judged; a bend longer than the bed is told as that.
    """
    machine, length_mm, tools = tooling.machine, wish.length_mm, made.tools
    if machine is None or length_mm is None or tools.punch is None or tools.die is None:
        return
    if length_mm > machine.bed_length_mm:
        return
    force = made.limit_force_kn_per_m or 0.0
    for body, tool in (("punch", tools.punch), ("die", tools.die)):
        segments = _cover(tool, length_mm, machine.bed_length_mm, tooling.end_short_mm)
        load = tool.ear_load_kn_per_m
        if not segments:
            yield refuse(f"{body}-too-short", wish.where, tool=tool.name, length_mm=length_mm)
        elif any(segment.ear for segment in segments) and load is not None and force > load:
            yield refuse("over-ear-load", wish.where, tool=tool.name, force_kn_per_m=force, load_kn_per_m=load)
    if made.depth_mm is not None and not machine.closes_on(tools.punch.height_mm, tools.die.height_mm, made.depth_mm):
        lacking_mm = machine.daylight_mm - machine.stroke_mm - (tools.shut_height_mm - made.depth_mm)
        sizes = {"stroke_mm": machine.stroke_mm, "lacking_mm": lacking_mm}
        yield refuse("stroke-too-short", wish.where, machine=machine.name, **sizes)


@lru_cache(maxsize=1024)
def _cover(tool: Punch | Die, least_mm: float, most_mm: float, short_mm: float) -> tuple[SegmentUse, ...]:
    # Loaded here: a single bend without a length puts no tools on a bed.
    from flangewise.punch_die.stations import cover

    return cover(tool.segments, least_mm, most_mm=most_mm, short_mm=short_mm)
