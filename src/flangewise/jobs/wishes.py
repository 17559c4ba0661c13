"""A part's bends as wishes for tools, and the radii and offers that follow."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from flangewise.part import Part, WantedBend
from flangewise.punch_die import BendWish, PunchDie


def wishes(part: Part, rule: str) -> tuple[BendWish, ...]:
    """What each bend of the part asks of its tools, in order, the legs beside it as outside sizes."""
    legs = part.outside_legs_mm
    return tuple(_wish(part, bend, (legs[i], legs[i + 1]), rule) for i, bend in enumerate(part.section.bends))


def _wish(part: Part, bend: WantedBend, legs_mm: tuple[float, float], rule: str) -> BendWish:
    return BendWish(
        number=bend.number,
        turn_deg=bend.turn_deg,
        kind=bend.kind,
        radius_mm=bend.radius_mm if bend.radius_mm is not None else part.section.radius_mm,
        legs_mm=legs_mm,
        length_mm=part.section.length_mm,
        punch=bend.punch,
        die=bend.die,
        gap_mm=bend.gap_mm or 0.0,
        offset_mm=bend.offset_mm,
        rule=rule,
        k_factor=bend.k_factor,
    )


def radii_mm(part: Part, pairs: Sequence[PunchDie | None]) -> Mapping[int, float]:
    """The inside radius that makes the blank, by bend: what the chosen pair forms.

    Where no pair is to be had it is the radius asked for, or the thickness: the blank of a refused part is still told.
    """
    found = {}
    for bend, pair in zip(part.section.bends, pairs, strict=True):
        formed = pair.formed_radius_mm if pair is not None else None
        if formed is None and bend.kind == "hem":
            formed = (bend.gap_mm or 0.0) / 2
        if formed is None:
            formed = bend.radius_mm if bend.radius_mm is not None else part.section.radius_mm
        found[bend.number] = formed if formed is not None else part.thickness_mm
    return found
