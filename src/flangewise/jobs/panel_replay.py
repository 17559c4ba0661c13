"""A panel's plan checked by the replay: the blank of the plan's own tools, folded and stepped through in space."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from flangewise.findings import Finding, caution
from flangewise.jobs.panel import panel_worked_out
from flangewise.part import Drawn, Panel, PanelPart, WantedFlange
from flangewise.pattern import PanelBlank
from flangewise.replay import (
    Ears,
    FaceNumbers,
    PanelMachine,
    PanelNumbers,
    PanelPlanStep,
    SidePlate,
    ZoneNumbers,
    bodies_of,
    read_panel_steps,
    replay_panel,
)
from flangewise.shop import Machine, Shop

Pinned = Mapping[int, tuple[str, str]]
_NONE: Mapping[int, bool] = MappingProxyType({})


def panel_replayed(part: PanelPart, shop: Shop, plan: Mapping[str, Any], *, file: str = "plan") -> tuple[Finding, ...]:
    """What stepping through a panel's plan shows that the plan does not say; empty where they agree.

    Raises Unusable where the plan cannot be read.
    """
    machine = plan.get("machine")
    job = panel_worked_out(as_tooled(part, shop, plan, read_panel_steps(plan, file)), shop)
    if job.blank is None:
        return job.findings
    told = []
    if isinstance(plan.get("part"), str) and plan["part"] != part.name:
        told.append(caution("replay-other-part", told=plan["part"], part=part.name))
    if isinstance(machine, str) and machine not in shop.machines:
        told.append(caution("replay-machine-unknown", told=machine, machine=job.machine.name))
    return (*told, *replay_panel(panel_numbers(job.blank), plan, _machine(shop, job.machine), file=file))


def as_tooled(part: PanelPart, shop: Shop, plan: Mapping[str, Any], steps: Sequence[PanelPlanStep]) -> PanelPart:
    """The panel with the plan's own machine and tools: they decide its radii. What the shop has not is passed over."""
    pinned = {
        bend: (step.punch, step.die)
        for step in steps
        if step.punch in shop.punches and step.die in shop.dies
        if not step.is_pressed
        for bend in step.bends
    }
    machine = plan.get("machine")
    known = machine if isinstance(machine, str) and machine in shop.machines else part.machine
    # Of an offset either face may be up: the plan's.
    steps_up = {bend: step.marked_up for step in steps for bend in step.bends}
    return replace(part, machine=known, panel=with_tools(part.panel, pinned, steps_up))


def panel_numbers(blank: PanelBlank) -> PanelNumbers:
    """A panel's blank as the plain numbers that the replay folds by itself."""
    faces = tuple(
        FaceNumbers(
            face.number,
            face.name,
            face.outline_mm,
            tuple(hole.corners_mm for hole in blank.holes if hole.face == face.number and hole.diameter_mm is None),
        )
        for face in blank.faces
    )
    zones = tuple(
        ZoneNumbers(
            zone.bend,
            zone.face_from,
            zone.face_to,
            zone.line_mm,
            zone.allowance.allowance_mm,
            zone.signed_turn_deg,
            zone.inside_radius_mm,
        )
        for zone in blank.zones
    )
    return PanelNumbers(blank.thickness_mm, faces, zones)


def _machine(shop: Shop, machine: Machine) -> PanelMachine:
    ears = {}
    for name, punch in shop.punches.items():
        if punch.ear_reach_mm is not None and punch.ear_foot_mm is not None:
            ears[name] = Ears(punch.ear_reach_mm, punch.ear_foot_mm)
    own = machine.side_stop
    side = None if own is None else SidePlate(own.front_mm, own.up_mm, own.wide_mm, own.least_mm)
    return PanelMachine(bodies_of(shop, machine), machine.finger_width_mm, ears, side)


def with_tools(panel: Panel | Drawn, pinned: Pinned, lying: Mapping[int, bool] = _NONE) -> Panel | Drawn:
    """The panel with tools named for its bends, and for its offsets whether the marked face is to be up."""
    if isinstance(panel, Drawn):
        bends = [
            replace(bend, punch=pinned[bend.number][0], die=pinned[bend.number][1]) if bend.number in pinned else bend
            for bend in panel.bends
        ]
        return replace(panel, bends=tuple(bends))
    return replace(panel, flanges=tuple(_tooled(flange, pinned, lying) for flange in panel.flanges))


def _tooled(flange: WantedFlange, pinned: Pinned, lying: Mapping[int, bool]) -> WantedFlange:
    hung = tuple(_tooled(each, pinned, lying) for each in flange.flanges)
    tools = pinned.get(flange.bend.number)
    bend = flange.bend if tools is None else replace(flange.bend, punch=tools[0], die=tools[1])
    if bend.kind == "offset":
        bend = replace(bend, marked_up=lying.get(bend.number, bend.marked_up))
    return replace(flange, bend=bend, flanges=hung)
