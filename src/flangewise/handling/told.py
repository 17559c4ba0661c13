"""How each hit of a set-up is held, with figures; and the set-up with what holding takes: moves, seconds, regrips."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Literal

from flangewise.findings import Finding, caution, note
from flangewise.geometry import Vector
from flangewise.handling.follow import PathPoint
from flangewise.handling.gripper import Grip, on_blank_mm
from flangewise.handling.held import GripPlanner, PointHeld, dones_of
from flangewise.handling.reach import Reach, reach_of
from flangewise.handling.seating import Seating, seating
from flangewise.handling.step_grips import Against
from flangewise.handling.strength import Strength
from flangewise.handling.way import HeldStep, HeldWay
from flangewise.handling.would_do import Help, blocked_by, would_do
from flangewise.records import dataclass, replace
from flangewise.sequence import PricedStep
from flangewise.setup import WAYS, Instruction, Setup, SetupStep
from flangewise.shop import Handler, Machine, Material
from flangewise.words import Phrase, Value, phrase, say

if TYPE_CHECKING:
    from flangewise.handling.panel_grip import PanelGrip

# What a hand is asked for, that a gripper does: to hold what lies so, and to go with what rises.
HELD_FOR = ("hold-little-in-front", "hold-little-and-behind", "hold-behind")
FOLLOWED_FOR = ("support-in-front", "rising-leg")


@dataclass(frozen=True)
class HeldAt:
    """One hit as it is held. `strengths`: what the grip is asked before the hit, and the one it leaves with after it.

    `on_blank_mm`: where the pads' middle lies on the flat blank before the hit, along the bends and across them from
    the datum corner. `point` and `path`: where the held point goes (None, empty: nothing swings, or nothing holds).
    `blocked`: how many grips fail for what, the nearest to one that holds first, `helps` what would do, and `nearest`
    what is asked of the grip that is least too weak: of a hit that no grip holds. `reaches`: how far the part reaches
    from the grip that it comes with, and after the hit from the one it leaves with. `lies`: of a panel, where the grip
    is before the hit and the way to the arm, as a hit has it: right along the bed, back, up.
    """

    step: int
    held: HeldStep
    grip: Grip | PanelGrip | None
    grip_out: Grip | PanelGrip | None
    strengths: tuple[Strength, ...]
    point: PointHeld | None
    path: tuple[PathPoint, ...]
    path_by_model: bool
    seated: Seating | None
    on_blank_mm: tuple[float, float] | None
    blocked: tuple[tuple[Against, int], ...]
    helps: tuple[Help, ...]
    nearest: Strength | None
    reaches: tuple[Reach, ...]
    allowance_share: float
    lies: tuple[Vector, Vector] | None = None

    @property
    def more_s(self) -> float:
        """Seconds of a part beyond the order's own, without the allowance; 0 of a hit by hand."""
        return 0.0 if self.grip is None else self.held.more_s

    @property
    def words(self) -> Phrase:
        """Where it is held, in words."""
        return phrase("grip.by-hand") if self.grip is None else self.grip.words

    @property
    def doing(self) -> Phrase:
        """What the gripper does while the flange rises."""
        return phrase(f"grip.{self.held.within}")

    @property
    def why_so(self) -> Phrase | None:
        """Why it does that: the speed of the held point against the arm's, how far it is carried, what is met."""
        point = self.point
        if point is None or not self.path:
            return None
        speed = {"point_mm_per_s": point.factor * point.ram_mm_per_s, "ram_mm_per_s": point.follow_ram_mm_per_s}
        if self.held.within == "float":
            return phrase("grip.why-float", travels_mm=point.travels_mm)
        if self.held.within == "release":
            slower = point.follow_ram_mm_per_s < point.ram_mm_per_s
            return phrase(f"grip.why-release{'-slower' if slower else ''}", **speed)
        if self.held.within == "follow":
            return phrase("grip.why-follow", **speed)
        return phrase("grip.why-regrip", **speed)

    def as_json(self) -> dict[str, Any]:
        """As a script reads it: lengths in mm, forces in N, seconds."""
        return {
            "grip": None if self.grip is None else self.grip.as_json(),
            "on_blank_mm": None if self.on_blank_mm is None else list(self.on_blank_mm),
            "grip_out": None if self.grip_out is None else self.grip_out.as_json(),
            "between": self.held.between,
            "turns": [vars(turn) for turn in self.held.turns],
            "within": self.held.within,
            "within_why": None if self.why_so is None else say(self.why_so),
            "more_s": self.more_s,
            "holding": [_strength_json(each) for each in self.strengths],
            "ram_mm_per_s": None if self.point is None else self.point.ram_mm_per_s,
            "follow_ram_mm_per_s": None if self.point is None else self.point.follow_ram_mm_per_s,
            "held_point_speed_factor": None if self.point is None else self.point.factor,
            "path_by_model": self.path_by_model,
            "path": [vars(each) for each in self.path],
            "seating": None if self.seated is None else {**vars(self.seated), "keeps": self.seated.keeps},
            "blocked": [{"against": against, "grips": count} for against, count in self.blocked],
            "would_do": list(self.helps),
        }


def _strength_json(strength: Strength) -> dict[str, Any]:
    return {
        "centre_along_mm": strength.held.along_mm,
        "centre_beside_mm": strength.held.beside_mm,
        "centre_off_mm": strength.held.off_mm,
        "needs_n": None if strength.needs is None else strength.needs.as_json(),
        "holding_n": strength.holding_n,
        "holds": strength.holds,
        "arm": None if strength.arm is None else {**vars(strength.arm), "is_carried": strength.arm.is_carried},
    }


def held_at(
    planner: GripPlanner, plan: Sequence[PricedStep], hits: Sequence[SetupStep], material: Material, machine: Machine
) -> tuple[HeldAt, ...]:
    """How each first hit of the operations of a plan is held."""
    way = planner.way(plan)
    firsts = [hit for hit in hits if not hit.planned.is_second]
    each = zip(firsts, plan, dones_of(plan), way.steps, strict=True)
    return tuple(_held_at(planner, hit, step, done, held, material, machine) for hit, step, done, held in each)


def _held_at(
    planner: GripPlanner,
    hit: SetupStep,
    step: PricedStep,
    done: int,
    held: HeldStep,
    material: Material,
    machine: Machine,
) -> HeldAt:
    grips, after = planner.grips, done | 1 << step.operation
    grip = None if held.grip is None else grips[held.grip]
    grip_out = None if held.grip_out is None else grips[held.grip_out]
    strengths: tuple[Strength, ...] = ()
    point, seated = None, None
    path: tuple[PathPoint, ...] = ()
    by_model = False
    if held.grip is not None and held.grip_out is not None and grip is not None:
        strengths = planner.table.strengths(done)[held.grip], planner.table.strengths(after)[held.grip_out]
        point = planner.point(step, done, held.grip)
        seated = _seated(planner, hit, step, done, held.grip, material, machine)
        if point is not None and point.ram_mm_per_s > 0:
            rise = planner.rise(step.operation, step.option)
            path, by_model = rise.path(point.point_mm), rise.by_model
    blocked: tuple[tuple[Against, int], ...] = ()
    helps: tuple[Help, ...] = ()
    nearest: Strength | None = None
    if grip is None:
        blocked = blocked_by(planner.grips_at(step, done).against, "not-come-to" if done else "not-picked")
        helps, nearest = would_do(planner, step, done), _least_too_weak(planner, step, done)
    share = planner.handler.allowance_share
    at_mm = None if grip is None else on_blank_mm(planner.part, grip)
    own = (hit.step, held, grip, grip_out, strengths, point, path, by_model, seated, at_mm, blocked, helps, nearest)
    reaches = tuple(
        reach_of(planner.part, planner.shape, each, planner.path(made))
        for each, made in ((grip, done), (grip_out, after))
        if each is not None
    )
    return HeldAt(*own, reaches, share)


def _least_too_weak(planner: GripPlanner, step: PricedStep, done: int) -> Strength | None:
    """Of the grips that fail at a step for force or payload alone, what is asked of the one that fails by least."""
    against, after = planner.grips_at(step, done).against, done | 1 << step.operation
    found = [
        max(pair, key=lambda each: each.excess)
        for why, *pair in zip(against, planner.table.strengths(done), planner.table.strengths(after), strict=True)
        if why in ("force", "payload")
    ]
    return min(found, key=lambda each: each.excess, default=None)


def _seated(
    planner: GripPlanner,
    hit: SetupStep,
    step: PricedStep,
    done: int,
    number: int,
    material: Material,
    machine: Machine,
) -> Seating | None:
    """How the part is pushed on the stops, None where there are none or the gripper holds it behind."""
    frame, row, part = planner.grips_at(step, done).frames[number], planner.shape.row, planner.part
    if hit.stops.x_mm is None or frame is None or frame.at_mm[0] < 0:
        return None
    places = hit.stops.z_mm
    return seating(
        modulus_mpa=material.modulus_mpa,
        poisson=material.poisson,
        along_mm=part.length_mm,
        thickness_mm=part.chain.thickness_mm,
        free_mm=hit.stops.x_mm + max(float(frame.at_mm[0]) - row.pad_across_mm / 2, 0.0),
        push_n=row.seat_push_n,
        found_by=row.seat_found_by,
        retries=row.seat_retries,
        stop_repeat_mm=machine.stop_repeat_mm,
        fingers_apart_mm=max(places) - min(places) if len(places) > 1 else None,
    )


def with_holding(setup: Setup, held: Sequence[HeldAt], way: HeldWay, handler: Handler) -> Setup:
    """The set-up with what its grips take: the moves told, the seconds of each hit and of the part, the regrips."""
    by_hit = {each.step: each for each in held}
    steps = tuple(_with_holding(step, by_hit.get(step.step)) for step in setup.steps)
    more_s = sum(each.more_s for each in held) * (1 + handler.allowance_share)
    return replace(setup, steps=steps, cycle_s=setup.cycle_s + more_s, regrips=way.regrips)


def _with_holding(step: SetupStep, held: HeldAt | None) -> SetupStep:
    if held is None:
        return step
    if held.grip is None or held.grip_out is None or held.on_blank_mm is None:
        # What holds it besides, a support or a tool, stays.
        return _held_by(step, "hand") if step.hold is not None and step.hold.by == "jaw" else step
    along_mm, across_mm = held.on_blank_mm
    said = f"grip.on-{held.grip.blank_said}"
    where = phrase(said, grip=held.words, along_mm=along_mm, across_mm=across_mm)
    own: list[Instruction] = []
    if held.held.between == "station":
        own.append(Instruction("regrip", None, phrase("move.regrip-station", grip=held.grip.words)))
    if held.held.within == "regrip-in-tools":
        own.append(Instruction("regrip-in-tools", None, phrase("move.regrip-in-tools", grip=held.grip_out.words)))
    before = [move for move in step.moves if move.move not in WAYS]
    ways = [move for move in step.moves if move.move in WAYS]
    moved = replace(step, moves=(*before, *own, *ways), seconds_s=step.seconds_s + held.more_s, gripped=where)
    return _held_by(moved, "jaw")


def _held_by(step: SetupStep, by: Literal["jaw", "hand"]) -> SetupStep:
    """The hit as it is held by jaw or hand."""
    planned, hold = step.planned, step.hold
    if hold is None or hold.by == by:
        return step
    return replace(step, planned=replace(planned, step=replace(planned.step, hold=replace(hold, by=by))))


def holding_findings(held: Sequence[HeldAt], hits: Sequence[SetupStep], handler: Handler) -> tuple[Finding, ...]:
    """What is to be known of grips: a step that none holds, a force that cannot be computed, a push that buckles."""
    places = {hit.step: hit.planned.place for hit in hits}
    found: list[Finding] = []
    for each in held:
        if each.grip is None:
            why = _why_not(each)
            help_words = phrase(f"grip.would-do.{each.helps[0]}") if each.helps else phrase("grip.would-do.by-hand")
            found.append(caution("no-grip", places[each.step], why=why, would_do=help_words))
        elif each.seated is not None and each.seated.keeps is False:
            found.append(
                caution("push-buckles", places[each.step], push_n=each.seated.push_n, most_n=each.seated.most_n)
            )
    missing = missing_inputs(handler)
    if missing and held:
        found.append(caution("holding-not-computed", None, missing=", ".join(missing)))
    gripper = handler.gripper
    if gripper is not None and gripper.seat_found_by is None and held:
        found.append(note("seating-not-known"))
    return tuple(found)


def _why_not(held: HeldAt) -> Phrase:
    """What stops the grip that comes nearest to holding; with figures where it is too weak."""
    code = held.blocked[0][0] if held.blocked else "no-place"
    strength = held.nearest
    if code == "payload" and strength is not None and strength.arm is not None and strength.arm.most_nm is not None:
        arm = strength.arm
        loads: dict[str, Value] = {"mass_kg": arm.mass_kg, "most_kg": arm.most_kg}
        return phrase("grip.against.payload", **loads, moment_nm=arm.moment_nm, most_nm=arm.most_nm)
    if code == "force" and strength is not None and strength.needs is not None and strength.holding_n is not None:
        return phrase("grip.against.force", needs_n=strength.needs.worst_n, holding_n=strength.holding_n)
    return phrase(f"grip.against.{code}")


def without_hands(
    findings: Sequence[Finding], held: Sequence[HeldAt], hits: Sequence[SetupStep]
) -> tuple[Finding, ...]:
    """Findings of a set-up without those that ask a hand to hold, support or follow what a gripper does."""
    places = {hit.step: hit.planned.place for hit in hits}
    gripped = [places[each.step] for each in held if each.grip is not None]
    followed = [places[each.step] for each in held if each.held.within in ("follow", "float")]
    return tuple(
        each
        for each in findings
        if not (each.code in HELD_FOR and each.where in gripped)
        and not (each.code in FOLLOWED_FOR and each.where in followed)
    )


def missing_inputs(handler: Handler) -> tuple[str, ...]:
    """Keys of the gripper without which no holding force or arm load is computed."""
    wanted = ("friction", "holding_n", "acceleration_m_per_s2", "payload_kg", "payload_moment_nm", "flange_mm")
    gripper = handler.gripper
    return () if gripper is None else tuple(key for key in wanted if getattr(gripper, key) is None)
