"""What each bend of a section takes of the sheet, by number, by rule, or as measured."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from flangewise.bend import HEM_K_FACTOR, Allowance, bend_allowance, leg_setback_mm, measured_allowance, offset_web_mm
from flangewise.part import Part, WantedBend


@dataclass(frozen=True)
class Taken:
    """What one bend of a part takes: its inside radius, the allowance of each of its zones, and an offset's web."""

    bend: WantedBend
    radius_mm: float
    allowance: Allowance
    web_mm: float | None

    @property
    def zones(self) -> tuple[tuple[str, bool], ...]:
        """Label of each bend zone and whether it goes toward the marked face: two opposite ones for an offset."""
        toward = not self.bend.away
        if self.bend.kind == "offset":
            return ((f"{self.bend.number}a", toward), (f"{self.bend.number}b", not toward))
        return ((str(self.bend.number), toward),)


def taken_by_bends(
    part: Part, radii_mm: Mapping[int, float], *, rule: str, deductions_mm: Mapping[int, float]
) -> tuple[Taken, ...]:
    """What each bend takes, in order. `deductions_mm` holds learned deductions by bend, for outside sizes.

    Raises KeyError for a bend without a radius or an unknown rule.
    """
    return tuple(
        _taken(part, bend, radii_mm[bend.number], rule, deductions_mm.get(bend.number)) for bend in part.section.bends
    )


def _taken(part: Part, bend: WantedBend, radius_mm: float, rule: str, learned_mm: float | None) -> Taken:
    web_mm = None
    if bend.offset_mm is not None:
        web_mm = offset_web_mm(radius_mm, part.thickness_mm, step_mm=bend.offset_mm, turn_deg=bend.turn_deg)
    if learned_mm is not None and bend.kind == "bend" and bend.k_factor is None:
        return Taken(bend, radius_mm, _learned(part, bend, radius_mm, learned_mm), web_mm)
    k_factor = HEM_K_FACTOR if bend.kind == "hem" and bend.k_factor is None else bend.k_factor
    allowance = bend_allowance(
        radius_mm,
        part.thickness_mm,
        turn_deg=bend.turn_deg,
        rule=rule,
        k_factor=k_factor,
        sizes=part.section.sizes,
    )
    return Taken(bend, radius_mm, allowance, web_mm)


def _learned(part: Part, bend: WantedBend, radius_mm: float, deduction_mm: float) -> Allowance:
    """The allowance that a deduction learned on outside sizes shows, told for the sizes of this part."""
    outside_mm = leg_setback_mm(radius_mm, part.thickness_mm, turn_deg=bend.turn_deg)
    sized_mm = leg_setback_mm(radius_mm, part.thickness_mm, turn_deg=bend.turn_deg, sizes=part.section.sizes)
    return measured_allowance(
        radius_mm,
        part.thickness_mm,
        turn_deg=bend.turn_deg,
        deduction_mm=deduction_mm - 2 * (outside_mm - sized_mm),
        sizes=part.section.sizes,
    )
