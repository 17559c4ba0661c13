"""What gauging makes of the sizes: every leg's error in a plan, and the gauging that holds what the part allows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from flangewise.findings import Finding, caution, note, place
from flangewise.jobs.order import Ordered
from flangewise.part import Part
from flangewise.pattern import FlatPattern
from flangewise.sequence import SizeError, Tolerances, errors_of, solve_within
from flangewise.setup import leg_tolerances_mm
from flangewise.shop import Machine

# Limits, taken as twice the standard deviation where a table gives one; the cut and the deduction are judgements.
LIMIT_SDS = 2.0
CUT_MM = 0.1
HALF_DEDUCTION_MM = 0.05
ANGLE_DEG = 0.5


@dataclass(frozen=True)
class LegError:
    """What one leg may be off by through gauging: worst case, statistically, and what is allowed."""

    leg: int
    worst_mm: float
    statistical_mm: float
    allowed_mm: float | None


def held_order(
    ordered: Ordered,
    part: Part,
    pattern: FlatPattern,
    machine: Machine,
    *,
    cut_mm: float = CUT_MM,
    loose_leg_s: float | None = None,
) -> Ordered:
    """The order with each leg priced that its gauging is not likely to hold within what the part states.

    A part that states none is not made dearer for the sake of ISO 2768-1: its errors are told.
    """
    if part.tolerances.legs_mm is None:
        return ordered
    allowed = [math.inf if limit is None else limit for limit in _by_face(pattern, part.tolerances.legs_mm)]
    held = solve_within(
        ordered.problem,
        tolerances_of(machine, cut_mm),
        allowed_mm=allowed,
        loose_leg_s=loose_leg_s,
        plain=ordered.solution,
    )
    return replace(ordered, solution=held.solution) if held.solution.feasible else ordered


def tolerances_of(machine: Machine, cut_mm: float = CUT_MM) -> Tolerances:
    """What stops, cut, deduction and angle may be off by, as limits; `cut_mm` is the shop's own."""
    return Tolerances(LIMIT_SDS * machine.stop_repeat_mm, cut_mm, HALF_DEDUCTION_MM, ANGLE_DEG)


def leg_errors_of(
    ordered: Ordered, part: Part, pattern: FlatPattern, machine: Machine, *, cut_mm: float = CUT_MM
) -> tuple[LegError, ...]:
    """The error of every leg under the gauging of an order; the webs of offsets are no legs."""
    errors = errors_of(ordered.problem, ordered.solution, tolerances_of(machine, cut_mm))
    legs = [i for i, face in enumerate(pattern.faces) if face.number <= len(part.section.legs_mm)]
    allowed = leg_tolerances_mm(part)
    return tuple(
        _leg_error(pattern.faces[i].number, errors[i], allowed[pattern.faces[i].number - 1])
        for i in legs
        if i < len(errors)
    )


def _leg_error(leg: int, error: SizeError, allowed_mm: float | None) -> LegError:
    return LegError(leg, error.worst_mm, error.statistical_mm, allowed_mm)


def _by_face(pattern: FlatPattern, by_leg: Sequence[float | None]) -> list[float | None]:
    """What is said of legs, in the order of the blank's faces; nothing of the webs of offsets."""
    return [by_leg[face.number - 1] if face.number <= len(by_leg) else None for face in pattern.faces]


def size_findings(errors: Sequence[LegError]) -> tuple[Finding, ...]:
    """A caution for a leg that the gauging is not likely to hold, a note where only the worst case exceeds."""
    found = []
    for each in errors:
        if each.allowed_mm is not None and each.worst_mm > each.allowed_mm + 1e-9:
            where = place("leg", each.leg)
            values = {"worst_mm": each.worst_mm, "likely_mm": each.statistical_mm, "allowed_mm": each.allowed_mm}
            likely = each.statistical_mm <= each.allowed_mm + 1e-9
            told = note("leg-worst-case", where, **values) if likely else caution("leg-not-held", where, **values)
            found.append(told)
    return tuple(found)
