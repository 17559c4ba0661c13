"""Hits of panels for the tests of this room: tools of the example shop on its medium press brake."""

from __future__ import annotations

from functools import cache

from flangewise.clearance import Body, ToolStack, outline_of
from flangewise.panel_order import Fingers, PanelShapes, SpaceHit, operations_of
from flangewise.pattern import PanelBlank
from flangewise.sequence import Backgauge, Hit as ToolHit

from ...published.panels import example_shop

FOOT_MM = 30.0


@cache
def stack(punch: str = "straight-88", die: str = "vee-12-85", *, turned: bool = False) -> ToolStack:
    """A punch over a die with ram and bed."""
    shop = example_shop()
    upper, lower, machine = shop.punches[punch], shop.dies[die], shop.machines["mid-740"]
    outlines = {
        "punch": (upper.outline_turned if turned else upper.outline_mm, True),
        "ram": (machine.ram_outline_mm.shifted(0.0, upper.height_mm), True),
        "die": (lower.outline_mm, False),
        "bed": (machine.bed_outline_mm.shifted(0.0, -lower.height_mm), False),
    }
    return ToolStack(
        name="s",
        punch=punch,
        die=die,
        opening_mm=lower.vee.opening_mm,
        shoulder_radius_mm=lower.vee.shoulder_radius_mm,
        bodies=tuple(Body(name, outline_of(outline.drawn_mm(0.01)), ram) for name, (outline, ram) in outlines.items()),
        turned=turned,
        open_limit_mm=machine.daylight_mm - upper.height_mm - lower.height_mm,
    )


@cache
def plates() -> ToolStack:
    """The flat punch and die that close hems."""
    shop = example_shop()
    upper, lower, machine = shop.punches["flattener"], shop.dies["flat-bed"], shop.machines["mid-740"]
    outlines = {
        "punch": (upper.outline_mm, True),
        "ram": (machine.ram_outline_mm.shifted(0.0, upper.height_mm), True),
        "die": (lower.outline_mm, False),
        "bed": (machine.bed_outline_mm.shifted(0.0, -lower.height_mm), False),
    }
    bodies = tuple(Body(name, outline_of(outline.drawn_mm(0.01)), ram) for name, (outline, ram) in outlines.items())
    return ToolStack("flat", "flattener", "flat-bed", 0.0, 0.0, bodies, open_limit_mm=machine.daylight_mm - 218.0)


@cache
def fingers() -> Fingers:
    """The stops of the medium press brake."""
    machine = example_shop().machines["mid-740"]
    gauge = Backgauge(*machine.stop_x_mm, *machine.stop_r_mm, outline_of(machine.finger_outline_mm.drawn_mm()))
    return Fingers(
        gauge,
        machine.fingers,
        machine.finger_width_mm,
        machine.least_finger_spacing_mm,
        formed_wish_s=0.5,
        past_bend_wish_s=1.0,
        one_finger_wish_s=3.0,
    )


def hits(
    blank: PanelBlank,
    tools: ToolStack | None = None,
    *,
    over_deg: float = 1.0,
    foot_mm: float | None = FOOT_MM,
    together: bool = True,
) -> list[SpaceHit]:
    """Every operation of a blank in both poses, over-bent by so much."""
    shapes, found = PanelShapes(blank), []
    for operation in operations_of(blank, together=together):
        zone = operation.zones[0]
        own = ToolHit(tools or stack(), zone.turn_deg + over_deg, zone.inside_radius_mm)
        for parent_behind in (True, False):
            found.append(
                SpaceHit(shapes, operation, parent_behind=parent_behind, tools=own, foot_mm=foot_mm, fingers=fingers())
            )
    return found


def hit_of(found: list[SpaceHit], face: str, *, parent_behind: bool = True) -> SpaceHit:
    """The hit that bends a face, by its name."""
    return next(
        hit
        for hit in found
        if hit.parent_behind == parent_behind and face in [hit.shapes.names[own] for own in hit.operation.faces]
    )


def bends(blank: PanelBlank, *faces: str) -> frozenset[int]:
    """The bends that faces hang on, by their names."""
    names = {face.number: face.name for face in blank.faces}
    return frozenset(zone.bend for zone in blank.zones if names[zone.face_to] in faces)
