"""How far the ram opens for a hit: what must pass between punch and die, and what is kept in hand.

needed = what a straight pull to the front must pass under + margin; where the machine opens less than that, it opens
all it can, and what the way out needs at least decides. The margin is the handler's for loading or for taking out,
whichever is larger, with room for tilt; and for a robot's gripper body where that goes in under the punch: a gripper
holds the part in front, and stays there unless too little is in front for it. Common practice.
"""

import math
from dataclasses import dataclass

from flangewise.findings import Finding, caution, refuse
from flangewise.punch_die import PunchDie
from flangewise.sequence import Step
from flangewise.setup.hit import PlannedHit
from flangewise.setup.work import Work
from flangewise.shop import Handler, Machine
from flangewise.words import Phrase, Value, phrase

# Less standing behind the punch than this over the sheet is the flat sheet itself.
FLAT_MM = 0.5


@dataclass(frozen=True)
class OpenHeight:
    """The opening to key in, why it is that, and what is wrong with it."""

    open_height_mm: float
    reason: Phrase
    findings: tuple[Finding, ...] = ()


def open_height(hit: PlannedHit, work: Work, *, piece: Phrase | None = None) -> OpenHeight:
    """The open height of one hit, rounded up to what the machine can be set to; `piece` names what decides it.

    Refused where the part does not come through the most the daylight leaves; cautioned where it does, but with less
    in hand than the handler wants: the machine then opens all it can.
    """
    machine, step = work.machine, hit.step
    pulled_mm = max(step.least_opening_mm, work.piece.thickness_mm)
    gripper_mm = gripper_under_mm(step, work.handler)
    margins_mm = margin_mm(work.handler) + gripper_mm
    most_mm = most_opening_mm(hit.pair, machine)
    opened_mm = min(up_to_step_mm(pulled_mm + margins_mm, machine.opening_step_mm), most_mm)
    kind = _kind(step, pulled_mm, work.piece.thickness_mm)
    reason = _reason(kind, pulled_mm, work.handler, gripper_mm=gripper_mm, piece=piece)
    least_mm = least_opening_mm(step, thickness_mm=work.piece.thickness_mm)
    wanted_mm = up_to_step_mm(least_mm + margins_mm, machine.opening_step_mm)
    if wanted_mm <= most_mm:
        return OpenHeight(opened_mm, reason)
    values: dict[str, Value] = {
        "least_mm": least_mm,
        "wanted_mm": wanted_mm,
        "most_mm": most_mm,
        "machine": machine.name,
    }
    told = refuse if least_mm > most_mm else caution
    code = "opening-over-daylight" if least_mm > most_mm else "opening-margin-short"
    return OpenHeight(most_mm, reason, (told(code, hit.place, **values),))


def margin_mm(handler: Handler) -> float:
    """What is kept in hand: the larger of loading and taking out, and tilt."""
    return max(handler.load_margin_mm, handler.unload_margin_mm) + handler.tilt_margin_mm


def gripper_under_mm(step: Step, handler: Handler) -> float:
    """Height of a gripper's body where it goes in under the punch, else 0.

    It holds the part by its front edge and reaches `gripper_reach_mm` over it: with less than that in front of the
    bend as the part is laid on, it comes under the nose.
    """
    if step.hold is None or step.hold.front_mm >= handler.gripper_reach_mm:
        return 0.0
    return handler.gripper_height_mm or 0.0


def most_opening_mm(pair: PunchDie, machine: Machine) -> float:
    """The most the machine opens over a pair of tools."""
    heights = [tool.height_mm if tool is not None else 0.0 for tool in (pair.tools.punch, pair.tools.die)]
    return machine.most_opening_mm(*heights)


def least_opening_mm(step: Step, *, thickness_mm: float) -> float:
    """What must pass between nose and die top, bare: as the way out was measured, else the straight pull.

    A part that leaves sideways only needs its sheet's thickness.
    """
    if step.side_exit:
        return thickness_mm
    if step.open_height_mm is not None:
        return max(step.open_height_mm, thickness_mm)
    return max(step.least_opening_mm, thickness_mm)


def _kind(step: Step, least_mm: float, thickness_mm: float) -> str:
    """What decides the opening: the way out along the bed, a piece behind or below, the bend itself, or the sheet."""
    if step.side_exit:
        return "side"
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
