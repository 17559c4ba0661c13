"""How the ram goes: how far it opens, where it slows down, how fast it bends, how far it bows.

Open height needed = what a straight pull to the front must pass under + margin; where the machine opens less than that,
it opens all it can, and what the way out needs at least decides. The margin is the handler's for loading or for taking
out, whichever is larger, with room for tilt; and for a robot's gripper body where that goes in under the punch: a
gripper holds the part in front, and stays there unless too little is in front for it. Bed and ram bow apart under the
load of a hit; the crowning is to take that out. Common practice.
"""

import math

from flangewise.bend import BeamPlate, BedLoad, bed_deflection, ram_speed_for_tip_mm_per_s, stroke, tip_speed_factor
from flangewise.findings import Finding, caution, note, refuse
from flangewise.punch_die import PunchDie
from flangewise.records import dataclass
from flangewise.sequence import MadeStep
from flangewise.setup.work import PlannedHit, Work
from flangewise.shop import Beam, Handler, Machine
from flangewise.words import Phrase, Value, phrase

# The traditional reduced speed near people and robots, from memory; a planning default where the handler has no own.
TIP_SPEED_MM_PER_S = 250.0
# A leg in front that is longer comes up past the face and hands of who tends the machine; common practice.
LONG_LEG_MM = 500.0
# Differences smaller than this are of the arithmetic: exactly at the limit is within it.
NOISE_SHARE = 1e-6
# Enough points to meet the fastest place of the stroke within a few hundredths.
STROKE_POINTS = 16
# An angle difference between middle and ends smaller than this is lost in what a protractor reads.
TOLD_FROM_DEG = 0.3
# Less standing behind the punch than this over the sheet is the flat sheet itself.
FLAT_MM = 0.5


@dataclass(frozen=True)
class OpenHeight:
    """The opening to key in, why it is that, and what is wrong with it."""

    open_height_mm: float
    reason: Phrase
    findings: tuple[Finding, ...] = ()


def open_height(hit: PlannedHit, work: Work, *, piece: Phrase | None = None) -> OpenHeight:
    """The open height of one hit in the machine's steps; refused where the part does not pass, cautioned if just."""
    machine, step = work.machine, hit.step
    pulled_mm = max(step.least_opening_mm, work.piece.thickness_mm)
    gripper_mm = gripper_under_mm(step, work.handler)
    margins_mm = margin_mm(work.handler) + gripper_mm
    most_mm = most_opening_mm(hit.pair, machine)
    opened_mm = min(up_to_step_mm(pulled_mm + margins_mm, machine.opening_step_mm), most_mm)
    if opened_mm > step.most_opening_mm:
        # What is kept in hand may not lift the tools into the part.
        opened_mm = max(-up_to_step_mm(-step.most_opening_mm, machine.opening_step_mm), pulled_mm)
        held = caution("opening-held-down", hit.place, most_mm=opened_mm)
        values = {"height_mm": pulled_mm, "margin_mm": opened_mm - pulled_mm}
        return OpenHeight(
            opened_mm, phrase("reason.open-bend", hand=phrase("reason.in-hand", **values), **values), (held,)
        )
    kind = _kind(step, pulled_mm, work.piece.thickness_mm)
    reason = _reason(kind, pulled_mm, work.handler, gripper_mm=gripper_mm, piece=piece)
    least_mm = least_opening_mm(step, thickness_mm=work.piece.thickness_mm)
    wanted_mm = up_to_step_mm(least_mm + margins_mm, machine.opening_step_mm)
    if wanted_mm <= most_mm:
        return OpenHeight(opened_mm, reason)
    make, code = (caution, "opening-margin-short")
    if least_mm > most_mm:
        make, code = (refuse, "opening-over-daylight")
    told = make(code, hit.place, least_mm=least_mm, wanted_mm=wanted_mm, most_mm=most_mm, machine=machine.name)
    return OpenHeight(most_mm, reason, (told,))


def margin_mm(handler: Handler) -> float:
    """What is kept in hand: the larger of loading and taking out, and tilt."""
    return max(handler.load_margin_mm, handler.unload_margin_mm) + handler.tilt_margin_mm


def gripper_under_mm(step: MadeStep, handler: Handler) -> float:
    """Height of a gripper's body where it reaches further than lies in front, so comes under the nose; else 0."""
    if step.hold is None or step.hold.front_mm >= handler.gripper_reach_mm:
        return 0.0
    return handler.gripper_height_mm or 0.0


def most_opening_mm(pair: PunchDie, machine: Machine) -> float:
    """The most the machine opens over a pair of tools."""
    heights = [tool.height_mm if tool is not None else 0.0 for tool in (pair.tools.punch, pair.tools.die)]
    return machine.most_opening_mm(*heights)


def least_opening_mm(step: MadeStep, *, thickness_mm: float) -> float:
    """What must pass between nose and die top: the way out as measured, else the pull; sideways only the sheet."""
    if step.side_exit:
        return thickness_mm
    if step.open_height_mm is not None:
        return max(step.open_height_mm, thickness_mm)
    return max(step.least_opening_mm, thickness_mm)


def _kind(step: MadeStep, least_mm: float, thickness_mm: float) -> str:
    """What decides the opening: the way out along the bed, a piece behind or below, the bend itself, or the sheet."""
    if step.side_exit or step.tilted is not None:
        return "side" if step.side_exit else "tilted"
    if least_mm <= thickness_mm + FLAT_MM:
        return "sheet"
    named = {"stands-behind": "behind", "hangs-below": "below"}
    return named.get(step.opening_reason or "", "bend")


def _reason(kind: str, least_mm: float, handler: Handler, *, gripper_mm: float, piece: Phrase | None) -> Phrase:
    values: dict[str, Value] = {"height_mm": least_mm, "margin_mm": margin_mm(handler) + gripper_mm}
    if kind in ("behind", "below"):
        values["piece"] = piece if piece is not None else phrase("place.part")
    hand = phrase("reason.in-hand", **values)
    if gripper_mm:
        hand = phrase("reason.in-hand-gripper", gripper_mm=gripper_mm, **values)
    return phrase(f"reason.open-{kind}", hand=hand, **values)


def up_to_step_mm(length_mm: float, step_mm: float) -> float:
    """A length rounded up to whole steps; rounding noise does not cost a step."""
    return math.ceil(length_mm / step_mm - 1e-6) * step_mm


@dataclass(frozen=True)
class RamSpeed:
    """Ram speed while bending, the speed of the leg's tip at it, and what is to be told."""

    ram_speed_mm_per_s: float
    tip_speed_mm_per_s: float | None
    findings: tuple[Finding, ...] = ()


def ram_speed(hit: PlannedHit, work: Work) -> RamSpeed:
    """The machine's bending speed, or less where the tip of the part would come up faster than the limit.

    Less is whole steps of the machine, rounded down to keep the limit: a note says why, a caution that even one step is
    too fast. Only an air bend swings the part; other hits have no tip speed.
    """
    own, pair, swing_mm = work.machine.bend_mm_per_s, hit.pair, hit.step.reach_mm
    if pair.air is None or pair.model is None:
        return RamSpeed(own, None)
    along = stroke(
        pair.model.setup, pair.model.swift, to_loaded_turn_deg=pair.air.loaded_turn_deg, points=STROKE_POINTS
    )
    factor = tip_speed_factor(along, swing_mm)
    limit = work.handler.tip_speed_mm_per_s or TIP_SPEED_MM_PER_S
    most = ram_speed_for_tip_mm_per_s(limit, along, reach_mm=swing_mm) or own
    if own <= most * (1 + NOISE_SHARE):
        return RamSpeed(own, own * factor)
    slow = min(own, down_to_step(most, work.machine.speed_step_mm_per_s))
    kept = slow <= most * (1 + NOISE_SHARE)
    told = (note if kept else caution)(
        "tip-speed" if kept else "tip-speed-over",
        hit.place,
        tip_mm_per_s=math.ceil(own * factor - NOISE_SHARE),
        ram_mm_per_s=own,
        slow_mm_per_s=slow,
        slow_tip_mm_per_s=math.ceil(slow * factor - NOISE_SHARE),
        limit_mm_per_s=limit,
        reach_mm=swing_mm,
    )
    return RamSpeed(slow, slow * factor, (told,))


def rising_findings(hit: PlannedHit) -> tuple[Finding, ...]:
    """The caution for a leg in front that comes up past the face of who stands there, whatever its speed."""
    reach_mm = max(across for across, _ in hit.of_section.before.outline_mm)
    if hit.is_second or reach_mm <= LONG_LEG_MM:
        return ()
    return (caution("rising-leg", hit.place, over_mm=LONG_LEG_MM),)


def down_to_step(speed_mm_per_s: float, step_mm_per_s: float) -> float:
    """A speed rounded down to whole steps, one at least, and to the figures of a step: 43 steps of 0.1 are 4.3."""
    steps = max(1, math.floor(speed_mm_per_s / step_mm_per_s + NOISE_SHARE))
    return round(steps * step_mm_per_s, 9)


def slow_from_mm(hit: PlannedHit, work: Work, *, open_height_mm: float) -> float:
    """Height of the nose from where the ram goes slow: just over the sheet, or at once where a hem stands up."""
    if hit.kind == "flatten":
        return open_height_mm
    return min(work.piece.thickness_mm + work.machine.change_over_mm, open_height_mm)


def stroke_findings(hit: PlannedHit, work: Work) -> tuple[Finding, ...]:
    """Whether the ram comes down far enough with these tools."""
    machine, pair = work.machine, hit.pair
    if pair.tools.punch is None or pair.tools.die is None or pair.depth_mm is None:
        return ()
    if machine.closes_on(pair.tools.punch.height_mm, pair.tools.die.height_mm, pair.depth_mm):
        return ()
    lacking_mm = machine.daylight_mm - machine.stroke_mm - (pair.tools.shut_height_mm - pair.depth_mm)
    sizes = {"stroke_mm": machine.stroke_mm, "lacking_mm": lacking_mm}
    return (refuse("stroke-too-short", hit.place, machine=machine.name, **sizes),)


@dataclass(frozen=True)
class Crowned:
    """Bow, the crowning to set against it, and by how much less the middle then turns than the ends (None: unknown)."""

    bow_mm: float | None
    crowning_mm: float | None
    mean_opening_mm: float | None
    left_deg: float | None

    def told(self, hit: PlannedHit) -> tuple[Finding, ...]:
        """A note where the middle stays open by more than can be read."""
        if self.left_deg is None or self.left_deg < TOLD_FROM_DEG:
            return ()
        values = {"bow_mm": self.bow_mm, "crowning_mm": self.crowning_mm, "left_deg": self.left_deg}
        told = caution if self.left_deg >= 2 * TOLD_FROM_DEG else note
        return (told("middle-opens", hit.place, **values),)


NOT_BOWED = Crowned(None, None, None, None)


def crowned(pair: PunchDie, *, machine: Machine, from_mm: float, length_mm: float) -> Crowned:
    """Bow at the end of a hit from `from_mm` on, by the force then or a table's; crowned as far as the machine can."""
    force = pair.air.force_kn_per_m if pair.air is not None else pair.limit_force_kn_per_m
    if force is None:
        return NOT_BOWED
    start_mm = from_mm - machine.bed_length_mm / 2
    load = BedLoad(start_mm, start_mm + length_mm, force)
    given = bed_deflection(_plate(machine.ram_beam), _plate(machine.bed_beam), load)
    crowning_mm = min(max(given.bow_mm, 0.0), machine.crowning_most_mm)
    left_deg = None if pair.deg_per_mm is None else (given.bow_mm - crowning_mm) * pair.deg_per_mm
    return Crowned(given.bow_mm, crowning_mm, given.mean_mm, left_deg)


def _plate(row: Beam) -> BeamPlate:
    return BeamPlate(row.span_mm, row.thickness_mm, row.height_mm, row.modulus_mpa, row.poisson)
