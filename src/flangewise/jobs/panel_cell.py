"""The run of a panel that is planned: its table, its packing, distances and times.

Without a gripper that is known the jaw lets go of what lies by itself on the die and follows the rest, and the part
reaches no farther from the jaw than its blank is wide from corner to corner. A finished panel is packed as the box
around it.
"""

import math
from dataclasses import replace

from flangewise.handling import (
    CellPlan,
    Compared,
    Nest,
    Out,
    PackingAsked,
    Piece,
    RunTime,
    attended,
    compared,
    findings_of,
    pack,
    run_hits,
    stack_of,
)
from flangewise.jobs.cell import (
    COMPARED_SHARE,
    container_of,
    drop_of,
    holds_of,
    layout_of,
    lifts_of,
    reaches_of,
    time_of,
)
from flangewise.jobs.panel_plan import PanelPlan, piece_of, planned_panel
from flangewise.jobs.panel_problem import centre_of
from flangewise.pattern import part_facets
from flangewise.sequence import UNLIMITED, Watch
from flangewise.setup import Setup, Work
from flangewise.shop import Running, Shop


def panel_cell_plan(plan: PanelPlan, shop: Shop, watch: Watch = UNLIMITED, *, compare: bool = False) -> CellPlan:
    """The run of a panel that has a plan; with `compare` also by whoever else could tend the machine, planned anew.

    Raises ValueError for a panel without a plan: nothing runs.
    """
    part, blank, setup = plan.part, plan.blank, plan.setup
    if setup is None or blank is None or not plan.feasible:
        raise ValueError(f"{part.name} has no plan")
    handler, by_robot = plan.handler, plan.handler.kind == "robot"
    time = _run_time(plan, setup, shop)
    out = _out(plan, shop)
    infeed = None if handler.cell is None else handler.cell.infeed
    stack = stack_of(infeed, thickness_mm=part.thickness_mm, part_kg=blank.mass_kg, cycle_s=time.cycle_s)
    minutes = [stack.refill_min, None if out.count is None else out.count * time.cycle_s / 60]
    both = [each for each in minutes if each is not None]
    hits = run_hits(setup.steps, *holds_of(setup, plan.grips)) if by_robot else ()
    runs = by_robot and len(both) == 2 and all(hit.hold != "by-hand" for hit in hits)
    found = CellPlan(
        part=part.name,
        revision=part.revision,
        machine=plan.machine.name,
        programs=part.programs,
        hits=hits,
        stack=stack,
        out=out,
        layout=layout_of(handler, *reaches_of(plan.grips, or_mm=lambda: math.hypot(*blank.size_mm)))
        if by_robot
        else None,
        time=time,
        compared=_compared(plan, shop, watch, time, out, stack.count) if compare else None,
        lifts=tuple(lifts_of(handler, out, time, longest_mm=max(blank.size_mm))),
        alone_min=min(both) if runs else None,
        kept=handler.gripper.keeps_hold_without if handler.gripper is not None else (),
    )
    soft = part.film != "none" or part.good_face != "none"
    return replace(found, findings=findings_of(found, handler.cell, part.packing, soft=soft, good_face=part.good_face))


def box_round_mm(plan: PanelPlan) -> tuple[float, float, float]:
    """The box around the finished panel as it lies on its base: the longer side, the shorter, its height."""
    assert plan.blank is not None
    corners = [tuple(map(float, corner)) for facet in part_facets(plan.blank) for corner in facet.corners_mm]
    along, across, high = (max(each) - min(each) for each in zip(*corners, strict=True))
    return max(along, across), min(along, across), high


def _run_time(plan: PanelPlan, setup: Setup, shop: Shop) -> RunTime:
    return time_of(plan.handler, setup, Work(piece_of(plan.job, shop), centre_of(plan.job, shop), setup.stations))


def _out(plan: PanelPlan, shop: Shop) -> Out:
    part, blank, setup = plan.part, plan.blank, plan.setup
    assert blank is not None and setup is not None
    long_mm, wide_mm, high_mm = box_round_mm(plan)
    nest = Nest(0.0, None, high_mm, high_mm, wide_mm, 0.0)
    packing = part.packing
    box = None if packing is None else shop.boxes[packing.box]
    packed = None
    missing = ("packing",) if box is None else ()
    if box is not None and packing is not None:
        way = "stacked" if packing.way == "pairs" else packing.way
        asked = PackingAsked(way, packing.count, packing.separator_mm, box.more_pitch_mm, packing.fill_share)
        packed = pack(Piece(nest, None, long_mm, blank.mass_kg), container_of(box), asked)
    drop_mm = drop_of(plan.handler, box, packing)
    if box is not None and drop_mm is None:
        missing = ("let_go",)
    face = setup.steps[-1].marked_face
    return Out(nest, None, box, packed, face, drop_mm, blank.mass_kg, missing, (long_mm, wide_mm, high_mm))


def _compared(
    plan: PanelPlan, shop: Shop, watch: Watch, time: RunTime, out: Out, blanks: int | None
) -> Compared | None:
    """Hand and robot over the batch, each by its own plan; None where the shop has only one of them, or no plan."""
    wanted = "operator" if time.kind == "robot" else "robot"
    other = next((each for each in shop.handlers.values() if each.kind == wanted), None)
    if other is None:
        return None
    part = replace(plan.part, handler=other.name, machine=plan.machine.name, machines=())
    found = planned_panel(part, shop, watch.share(COMPARED_SHARE))
    if found.setup is None or not found.feasible:
        return None
    other_time = _run_time(found, found.setup, shop)
    by_robot = plan if time.kind == "robot" else found
    robot, hand = (time, other_time) if time.kind == "robot" else (other_time, time)
    cell = by_robot.handler.cell
    running = Running.model_construct() if cell is None else cell.running
    people = attended(running, a_stack=blanks, a_box=out.count)
    if any(each.grip is None for each in by_robot.grips):
        people = (*(people if isinstance(people, tuple) else ()), "grip")
    return compared(hand, robot, centre_of(plan.job, shop).quantity, people)
