"""How each hit of a panel's set-up is held, with figures: the record of `told`, of grips in space."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from flangewise.handling.follow import PathPoint
from flangewise.handling.gripper import GripperShape
from flangewise.handling.panel_held import PanelGripPlanner
from flangewise.handling.reach import Reach
from flangewise.handling.seating import Seating, seating
from flangewise.handling.strength import Strength
from flangewise.handling.told import HeldAt
from flangewise.handling.way import HeldStep
from flangewise.handling.would_do import Help, altered, blocked_by
from flangewise.setup import SetupStep
from flangewise.shop import Machine, Material


def panel_held_at(
    planner: PanelGripPlanner, hits: Sequence[SetupStep], material: Material, machine: Machine
) -> tuple[HeldAt, ...]:
    """How each first hit of the operations of a plan is held."""
    firsts = [hit for hit in hits if not hit.planned.is_second]
    each = enumerate(zip(firsts, planner.way.steps, strict=True))
    return tuple(_held_at(planner, number, hit, held, material, machine) for number, (hit, held) in each)


def _held_at(
    planner: PanelGripPlanner, number: int, hit: SetupStep, held: HeldStep, material: Material, machine: Machine
) -> HeldAt:
    share = planner.handler.allowance_share
    if held.grip is None or held.grip_out is None:
        blocked = blocked_by(planner.grips_at[number].against, "not-come-to" if number else "not-picked")
        helps, nearest = tuple(_would_do(planner, number)), _least_too_weak(planner, number)
        return HeldAt(hit.step, held, None, None, (), None, (), False, None, None, blocked, helps, nearest, (), share)
    before, after = planner.steps[number].done, planner.steps[number].done_after
    ends = ((held.grip, before), (held.grip_out, after))
    strengths = tuple(planner.strengths(done)[place] for place, done in ends)
    point, path, by_model = planner.point(number, held.grip), tuple[PathPoint, ...](), False
    if point.ram_mm_per_s > 0:
        rise = planner.rise(number)
        path, by_model = rise.path(point.point_mm), rise.by_model
    grip = planner.grips[held.grip]
    return HeldAt(
        step=hit.step,
        held=held,
        grip=grip,
        grip_out=planner.grips[held.grip_out],
        strengths=strengths,
        point=point,
        path=path,
        path_by_model=by_model,
        seated=_seated(planner, number, hit, held.grip, material, machine),
        on_blank_mm=grip.on_blank_mm,
        blocked=(),
        helps=(),
        nearest=None,
        reaches=tuple(Reach(*planner.reach_mm(place, done)) for place, done in ends),
        allowance_share=share,
        lies=planner.lies(number, held.grip),
    )


def _would_do(planner: PanelGripPlanner, number: int) -> Iterator[Help]:
    """What would do at a step that no grip holds, tried with the gripper altered; by hand always."""
    row = planner.shape.row
    if number and not row.regrip_station and planner.grips_at[number].through.any():
        # Held it could be, only not come to with what is in hand before.
        yield "put-down"
    for name, other in altered(row):
        if planner.held_anew(number, GripperShape(other)):
            yield name
    yield "by-hand"


def _least_too_weak(planner: PanelGripPlanner, number: int) -> Strength | None:
    """Of the grips that fail for force or payload alone, what is asked of the one that fails by least."""
    against = planner.grips_at[number].against
    both = [planner.strengths(done) for done in (planner.steps[number].done, planner.steps[number].done_after)]
    found = [
        max(pair, key=lambda each: each.excess)
        for why, *pair in zip(against, *both, strict=True)
        if why in ("force", "payload")
    ]
    return min(found, key=lambda each: each.excess, default=None)


def _seated(
    planner: PanelGripPlanner, number: int, hit: SetupStep, place: int, material: Material, machine: Machine
) -> Seating | None:
    """How the part is pushed on the stops: the strip over the bend line, from the stops to the pads.

    None where there are no stops or the gripper holds it behind.
    """
    _, back_mm, _ = planner.lies(number, place)[0]
    row, places, step = planner.shape.row, hit.stops.z_mm, planner.steps[number].step
    if hit.stops.x_mm is None or back_mm > 0:
        return None
    return seating(
        modulus_mpa=material.modulus_mpa,
        poisson=material.poisson,
        along_mm=step.operation.length_mm,
        thickness_mm=planner.part.shapes.blank.thickness_mm,
        free_mm=hit.stops.x_mm + max(-back_mm - row.pad_across_mm / 2, 0.0),
        push_n=row.seat_push_n,
        found_by=row.seat_found_by,
        retries=row.seat_retries,
        stop_repeat_mm=machine.stop_repeat_mm,
        fingers_apart_mm=max(places) - min(places) if len(places) > 1 else None,
    )
