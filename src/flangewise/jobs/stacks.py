"""Punch, die and machine rows as the bodies a part can strike."""

from __future__ import annotations

from flangewise.clearance import Body, ToolStack
from flangewise.geometry import Outline
from flangewise.punch_die import PunchDie
from flangewise.shop import Machine

# Arcs of tools are drawn out this finely: a fifth of the tolerance for contact.
ARC_ERROR_MM = 0.01


def tool_stack(pair: PunchDie, machine: Machine, *, turned: bool = False) -> ToolStack:
    """The bodies of a pair set up in a machine, as the sheet meets them.

    The ram carries the punch by its top, the bed carries the die by its bottom. An offset pair is turned as a pair.
    Raises ValueError for an ideal pair, which has no bodies.
    """
    punch, die = pair.tools.punch, pair.tools.die
    if punch is None or die is None:
        raise ValueError(f"{pair.tools.name} has no bodies")
    is_offset = pair.kind == "offset"
    bodies = (
        _body("punch", punch.outline_turned if turned else punch.outline_mm, with_ram=True),
        _body("ram", machine.ram_outline_mm.shifted(0.0, punch.height_mm), with_ram=True),
        _body("die", die.outline_turned if turned and is_offset else die.outline_mm),
        _body("bed", machine.bed_outline_mm.shifted(0.0, -die.height_mm)),
    )
    step_mm = die.offset_mm or 0.0
    return ToolStack(
        name=f"{pair.tools.name}{' turned' if turned else ''}",
        punch=punch.name,
        die=die.name,
        opening_mm=pair.tools.opening_mm or 0.0,
        shoulder_radius_mm=pair.tools.shoulder_radius_mm or 0.0,
        bodies=bodies,
        turned=turned,
        open_limit_mm=machine.daylight_mm - punch.height_mm - die.height_mm,
        levels_mm=((-step_mm, 0.0) if turned else (0.0, -step_mm)) if is_offset else (0.0, 0.0),
    )


def _body(name: str, outline: Outline, *, with_ram: bool = False) -> Body:
    points = outline.drawn_mm(ARC_ERROR_MM)
    return Body(name, tuple((float(across), float(up)) for across, up in points), with_ram)
