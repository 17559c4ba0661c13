"""Where the part stands in the machine at each hit: its outline, and each flat by itself, for the pictures."""

import math
from dataclasses import replace

from flangewise.clearance import Outline, outline_of
from flangewise.geometry import Chain, Path, done_angles, section_path
from flangewise.jobs.problem import chain_of
from flangewise.pattern import FlatPattern
from flangewise.sequence import FoldedSection, folded_section
from flangewise.setup import SetupStep
from flangewise.sheet import Flat, Profile

HEM_PRE_BEND_DEG = 150.0
"""What a hem is bent to before it is flattened, for its picture (common practice: 30 degrees included)."""


def finished_profile(pattern: FlatPattern) -> Profile:
    """The finished section, its longest leg level and the rest above it, seen from the left end of the blank.

    The blank lies with its marked face up and its start edge to the operator, so the section runs from right to left.
    """
    chain = chain_of(pattern)
    path = section_path(chain, chain.turns_deg).seen(marked_up=True, start_behind=False)
    base = max(range(chain.bends + 1), key=lambda face: (round(chain.flats_mm[face], 3), -face))
    level = path.levelled(2 * base)
    if sum(level.points_mm[:, 1]) < -1e-6:
        level = level.placed(rotate_deg=180.0, to_mm=(0.0, 0.0))
    return _profile(folded_section(level, chain, start_behind=False), pattern)


def profiles(pattern: FlatPattern, step: SetupStep, formed: frozenset[int]) -> tuple[Profile, Outline]:
    """Before the hit, and the outline after it, with the zones of `formed` bent before.

    Of a hem the order knows flat and folded only. Between its two hits it lies over the die at the end of the first,
    and on the lower plate before the second.
    """
    laid = step.planned.step
    before, after_mm = _profile(laid.before, pattern), laid.after.outline_mm
    if step.hit == "pre-bend":
        turn_deg = min(step.planned.finished_turn_deg, 179.0)
        return before, on_die(pattern, step, formed, turn_deg=turn_deg)
    if step.hit == "flatten":
        return replace(before, outline_mm=on_plate(pattern, step, formed)), after_mm
    return before, after_mm


def on_die(pattern: FlatPattern, step: SetupStep, formed: frozenset[int], *, turn_deg: float) -> Outline:
    """A part-bent section with the bend over the die's centre, its legs rising alike, the nose as deep as it goes."""
    chain, zone = chain_of(pattern), _zone(pattern, step)
    level = _pre_bent(chain, zone, step, formed, turn_deg=turn_deg).levelled(2 * zone + 1)
    bend = level.points_mm[level.spans == 2 * zone + 1]
    nose_mm = float(bend[:, 1].min()) + chain.thickness_mm / 2 + (step.ram.depth_mm or 0.0)
    middle_mm = (bend[0, 0] + bend[-1, 0]) / 2
    return outline_of(level.placed(rotate_deg=0.0, to_mm=(-middle_mm, -nose_mm)).outline_mm(chain.thickness_mm))


def on_plate(pattern: FlatPattern, step: SetupStep, formed: frozenset[int]) -> Outline:
    """A pre-bent section lying with the longer side level on the flattener's lower plate, the bend at the middle."""
    chain, zone = chain_of(pattern), _zone(pattern, step)
    path = _pre_bent(chain, zone, step, formed, turn_deg=HEM_PRE_BEND_DEG)
    body = zone if chain.flats_mm[zone + 1] <= chain.flats_mm[zone] else zone + 1
    is_rear = (body == zone) == (step.planned.step.behind == "start")
    level = path.levelled(2 * body, by_last=is_rear, to_mm=(0.0, chain.thickness_mm / 2))
    return outline_of(level.outline_mm(chain.thickness_mm))


def _pre_bent(chain: Chain, zone: int, step: SetupStep, formed: frozenset[int], *, turn_deg: float) -> Path:
    """The section with a hem's zone part of the way, seen from the left end; not yet placed.

    The turn is a magnitude; the rest of the zone stays flat on both sides of it.
    """
    angles = list(done_angles(chain, formed - {zone}))
    angles[zone] = math.copysign(turn_deg, chain.turns_deg[zone])
    laid = step.planned.step
    return section_path(chain, angles).seen(marked_up=laid.marked_up, start_behind=laid.behind == "start")


def _zone(pattern: FlatPattern, step: SetupStep) -> int:
    return next(index for index, each in enumerate(pattern.zones) if each.bend in step.bends)


def _profile(section: FoldedSection, pattern: FlatPattern) -> Profile:
    flats = zip(pattern.faces, section.flats_mm, strict=True)
    return Profile(section.outline_mm, tuple(Flat(face, *ends) for face, ends in flats))
