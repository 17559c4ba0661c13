"""The run of a part that is planned: what its table, its packing, its distances and its times are reckoned from."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from flangewise.handling import (
    Attended,
    CellLayout,
    CellPlan,
    Compared,
    Container,
    HeldAt,
    Hold,
    Lift,
    Nest,
    Out,
    PackingAsked,
    Paired,
    Piece,
    RunTime,
    Stack,
    attended,
    compared,
    distances,
    findings_of,
    lift_of,
    lost,
    out_of_jaw_mm,
    pack,
    questions,
    run_hits,
    stack_of,
    stacked,
    stated,
    stood_in_pairs,
)
from flangewise.jobs.finished import finished_profile
from flangewise.jobs.job import Job
from flangewise.jobs.plan_part import blanked_on, planned, workpiece_of
from flangewise.part import Packing
from flangewise.setup import Setup, SetupStep, Work, around_s, stroke_s
from flangewise.shop import Handler, PartsBox, Running
from flangewise.words import Phrase


def cell_plan(job: Job, *, compare: bool = False) -> CellPlan:
    """The run of a job that has a plan; with `compare` also by whoever else could tend the machine, planned anew.

    Raises ValueError for a job without a plan: nothing runs.
    """
    setup, pattern = job.setup, job.pattern
    if setup is None or pattern is None or not job.feasible:
        raise ValueError(f"{job.part.name} has no plan")
    by_robot, cell = job.handler.kind == "robot", job.handler.cell
    time = run_time(job, setup)
    out = _out(job, setup)
    stack = _stack(job, time)
    box_min = None if out.count is None else out.count * time.cycle_s / 60
    both = [each for each in (stack.refill_min, box_min) if each is not None]
    hits = run_hits(setup.steps, *holds_of(setup, job.grips)) if by_robot else ()
    runs = by_robot and len(both) == 2 and all(hit.hold != "by-hand" for hit in hits)
    plan = CellPlan(
        part=job.part.name,
        revision=job.part.revision,
        machine=job.machine.name,
        programs=job.part.programs,
        hits=hits,
        stack=stack,
        out=out,
        layout=_layout(job, setup) if by_robot else None,
        time=time,
        compared=_compared(job, time, a_box=out.count) if compare else None,
        lifts=tuple(_lifts(job, out, time)),
        alone_min=min(both) if runs else None,
        kept=job.handler.gripper.keeps_hold_without if job.handler.gripper is not None else (),
    )
    part = job.part
    soft = part.film != "none" or part.good_face != "none"
    return replace(plan, findings=findings_of(plan, cell, part.packing, soft=soft, good_face=part.good_face))


# Of the time left, what the plan of the other handler may take.
COMPARED_SHARE = 0.5

# What a gripper does while the flange rises, and whether the jaw has let go by then.
HOLDS: dict[str, Hold] = {
    "follow": "follow",
    "float": "follow",
    "release": "let-go",
    "regrip-in-tools": "let-go",
    "by-hand": "by-hand",
}


def holds_of(setup: Setup, grips: Sequence[HeldAt]) -> tuple[list[Hold], list[Phrase | None]]:
    """How each hit of a set-up is held and where; the second hit of a hem is held as the first."""
    by_hit = {each.step: each for each in grips}
    holds: list[Hold] = []
    words: list[Phrase | None] = []
    found = None
    for step in setup.steps:
        found = by_hit.get(step.step, found if step.planned.is_second else None)
        holds.append(lies_by_itself(step) if found is None else HOLDS[found.held.within])
        words.append(None if found is None or found.grip is None else found.words)
    return holds, words


def lies_by_itself(step: SetupStep) -> Hold:
    """Without a gripper that is known the jaw lets go only of what lies by itself on the die."""
    return "let-go" if step.hold is not None and step.hold.moment_nm == 0 else "follow"


def run_time(job: Job, setup: Setup) -> RunTime:
    """What a part's seconds are made of: load, gauging, strokes, moves, unloading and the handler's allowance."""
    return time_of(job.handler, setup, Work(workpiece_of(job), job.centre, setup.stations))


def time_of(handler: Handler, setup: Setup, work: Work) -> RunTime:
    """The same of any set-up: of a section or of a panel."""
    hits_s = sum(step.seconds_s for step in setup.steps)
    ram_s = sum(stroke_s(step.planned, work) for step in setup.steps)
    gauge_s = handler.gauge_s * len(setup.steps)
    load_s = handler.pick_s + handler.square_s + handler.insert_s
    unload_s = around_s(handler) - load_s
    return RunTime(
        handler=handler.name,
        people=handler.people,
        kind=handler.kind,
        load_s=load_s,
        gauge_s=gauge_s,
        ram_s=ram_s,
        moves_s=hits_s - ram_s - gauge_s,
        unload_s=unload_s,
        allowance_s=handler.allowance_share * (load_s + unload_s + hits_s),
        set_up_s=setup.set_up_s,
    )


def _compared(job: Job, time: RunTime, *, a_box: int | None) -> Compared | None:
    """Hand and robot over the batch, each by its own plan; None where the shop has only one of them, or no plan."""
    wanted = "operator" if time.kind == "robot" else "robot"
    other = next((each for each in job.shop.handlers.values() if each.kind == wanted), None)
    if other is None:
        return None
    part = replace(job.part, handler=other.name, machine=job.machine.name, machines=())
    found = planned(blanked_on(part, job.shop, job.machine.name, job.watch.share(COMPARED_SHARE)))
    if found.setup is None or not found.feasible:
        return None
    other_time = run_time(found, found.setup)
    (by_robot, robot_time), hand_time = (
        ((job, time), other_time) if time.kind == "robot" else ((found, other_time), time)
    )
    people = _attended(by_robot, robot_time, a_box=a_box)
    return compared(hand_time, robot_time, job.centre.quantity, people)


def _attended(job: Job, time: RunTime, *, a_box: int | None) -> Attended | tuple[str, ...]:
    """What a robot's run takes of people; what was not entered, and a grip where a step has none, by name."""
    blanks, cell = _stack(job, time).count, job.handler.cell
    people = attended(cell.running if cell is not None else Running.model_construct(), a_stack=blanks, a_box=a_box)
    if any(each.grip is None for each in job.grips):
        return (*(people if isinstance(people, tuple) else ()), "grip")
    return people


def _stack(job: Job, time: RunTime) -> Stack:
    assert job.pattern is not None
    infeed = job.handler.cell.infeed if job.handler.cell is not None else None
    return stack_of(infeed, thickness_mm=job.part.thickness_mm, part_kg=job.pattern.mass_kg, cycle_s=time.cycle_s)


def _out(job: Job, setup: Setup) -> Out:
    assert job.pattern is not None
    part, kg = job.part, job.pattern.mass_kg
    profile = finished_profile(job.pattern)
    flats = [(flat.start_mm, flat.end_mm) for flat in profile.flats]
    nest = stacked(profile.outline_mm, flats, part.thickness_mm)
    radius_mm = max(zone.inside_radius_mm for zone in job.pattern.zones)
    paired = stood_in_pairs(profile.outline_mm, flats, part.thickness_mm, radius_mm=radius_mm)
    box = None if part.packing is None else job.shop.boxes[part.packing.box]
    packed = None
    missing = () if box is not None else ("packing",)
    if box is not None and part.packing is not None:
        way = part.packing.way
        asked = PackingAsked(
            "stacked" if way == "pairs" and paired is None else way,
            part.packing.count,
            part.packing.separator_mm,
            box.more_pitch_mm,
            part.packing.fill_share,
        )
        packed = pack(_piece(nest, paired, job), container_of(box), asked)
    drop_mm = drop_of(job.handler, box, part.packing)
    if box is not None and drop_mm is None:
        missing = ("let_go",)
    face = setup.steps[-1].marked_face
    return Out(nest, paired, box, packed, face, drop_mm, kg, missing)


def _piece(nest: Nest, paired: Paired | None, job: Job) -> Piece:
    assert job.pattern is not None
    return Piece(nest, paired, job.part.section.length_mm, job.pattern.mass_kg)


def container_of(box: PartsBox) -> Container:
    """A box of the shop as parts are packed into it."""
    return Container(*box.inside_mm, box.mass_kg, box.most_gross_kg, walled=box.kind == "box")


def drop_of(handler: Handler, box: PartsBox | None, packing: Packing | None) -> float | None:
    """How far the first part falls: what it is let go over its place; dropped into a box, its depth besides."""
    let_go_mm = None if handler.cell is None else handler.cell.running.let_go_mm
    if let_go_mm is None or box is None or packing is None:
        return None
    return let_go_mm + (box.inside_mm[2] if packing.way == "dropped" else 0.0)


def _layout(job: Job, setup: Setup) -> CellLayout:
    part_mm, arm_mm = _reaches(job, setup)
    return layout_of(job.handler, part_mm, arm_mm)


def layout_of(handler: Handler, part_mm: float, arm_mm: float | None) -> CellLayout:
    """What is reckoned for a layout from the cell's own inputs, with how far part and arm reach."""
    cell = handler.cell
    return CellLayout(
        has_cell=cell is not None,
        distances=distances(cell),
        stated=stated(cell),
        questions=tuple(questions(cell)),
        lost=lost(cell),
        part_reach_mm=part_mm,
        arm_reach_mm=arm_mm,
    )


def _reaches(job: Job, setup: Setup) -> tuple[float, float | None]:
    """How far the part reaches from the jaw, and both from the arm's flange, over all hits that a grip holds; where
    none is known the jaw is anywhere on the part."""

    def anywhere_mm() -> float:
        shapes = [shape for step in setup.steps for shape in _shapes(step)]
        return out_of_jaw_mm(shapes, along_mm=job.part.section.length_mm)

    return reaches_of(job.grips, or_mm=anywhere_mm)


def reaches_of(grips: Sequence[HeldAt], *, or_mm: Callable[[], float]) -> tuple[float, float | None]:
    """The farthest that part, and part and gripper, reach over all hits that a grip holds; `or_mm` where none does."""
    reaches = [reach for each in grips for reach in each.reaches]
    if not reaches:
        return or_mm(), None
    arms = [each.arm_mm for each in reaches if each.arm_mm is not None]
    return max(each.part_mm for each in reaches), max(arms) if len(arms) == len(reaches) else None


def _shapes(step: SetupStep) -> list[tuple[tuple[float, float], ...]]:
    return [step.planned.of_section.before.outline_mm, step.planned.of_section.after.outline_mm]


def _lifts(job: Job, out: Out, time: RunTime) -> list[Lift]:
    """What a person lifts: by hand every part; else the full box, where the shop says that it is lifted so."""
    assert job.pattern is not None
    return lifts_of(job.handler, out, time, longest_mm=max(job.pattern.developed_mm, job.pattern.along_bends_mm))


def lifts_of(handler: Handler, out: Out, time: RunTime, *, longest_mm: float) -> list[Lift]:
    """The same of any part whose longest side is known."""
    lifting = handler.lifting
    if handler.kind == "operator":
        often = 60 / time.cycle_s
        return [lift_of("part", out.part_kg, longest_mm=longest_mm, lifts_per_min=often, lifting=lifting)]
    packed = out.packed
    if out.box is None or packed is None or not packed.count or packed.gross_kg is None or not out.box.by_hand:
        return []
    often = 60 / (time.cycle_s * packed.count)
    longest_mm = max(out.box.inside_mm)
    return [lift_of("box", packed.gross_kg, longest_mm=longest_mm, lifts_per_min=often, lifting=lifting)]
