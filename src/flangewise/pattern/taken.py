"""What one bend takes of a part: its inside radius, its allowance, the web of an offset."""

from collections.abc import Iterator, Sequence

from flangewise.bend import (
    HEM_K_FACTOR,
    Allowance,
    Sizes,
    bend_allowance,
    measured_allowance,
    offset_web_mm,
    outside_more_mm,
)
from flangewise.findings import Finding, caution, note, place
from flangewise.part import WantedBend
from flangewise.records import dataclass


@dataclass(frozen=True)
class FormedBend:
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


def taken_by(
    bend: WantedBend, radius_mm: float, *, thickness_mm: float, sizes: Sizes, rule: str, learned_mm: float | None
) -> FormedBend:
    """What a bend takes at an inside radius.

    A deduction is learned on outside sizes, and told for the sizes of the part. KeyError for an unknown rule.
    """
    t, turn_deg = thickness_mm, bend.turn_deg
    web_mm = None
    if bend.offset_mm is not None:
        web_mm = offset_web_mm(radius_mm, t, step_mm=bend.offset_mm, turn_deg=turn_deg)
    if learned_mm is not None and bend.kind == "bend" and bend.k_factor is None:
        shown_mm = learned_mm - outside_more_mm(t, turn_deg=turn_deg, sizes=sizes)
        allowance = measured_allowance(radius_mm, t, turn_deg=turn_deg, deduction_mm=shown_mm, sizes=sizes)
    else:
        k_factor = HEM_K_FACTOR if bend.kind == "hem" and bend.k_factor is None else bend.k_factor
        allowance = bend_allowance(radius_mm, t, turn_deg=turn_deg, rule=rule, k_factor=k_factor, sizes=sizes)
    return FormedBend(bend, radius_mm, allowance, web_mm)


def allowance_findings(thickness_mm: float, taken: Sequence[FormedBend]) -> Iterator[Finding]:
    """Where the allowance rule was used outside its table, in the order of the bends."""
    for each in taken:
        where, allowance = place("bend", each.bend.number), each.allowance
        if allowance.k_held:
            yield caution("din-k-held", where, ratio=each.radius_mm / thickness_mm)
        if allowance.beyond_din:
            told = {"included_deg": 180.0 - each.bend.turn_deg, "deduction_mm": allowance.deduction_mm}
            yield note("din-continuous", where, **told)
