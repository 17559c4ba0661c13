"""A part's bends as wishes for tools, the radii that follow from the tools taken, and what was measured of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from flangewise.bend import NOTHING_LEARNED
from flangewise.findings import Finding, place
from flangewise.part import Part, WantedBend
from flangewise.punch_die import BendWish, PunchDie, Tooling, deduction_of, depth_of, learned_notes
from flangewise.shop import LearnedDeduction, LearnedDepth, Shop


def wishes(part: Part, shop: Shop, *, every_die: bool = False) -> tuple[BendWish, ...]:
    """What each bend of the part asks of its tools, in order, the legs beside it as outside sizes."""
    legs, rule = part.outside_legs_mm, shop.defaults.rule
    return tuple(
        _wish(part, bend, (legs[i], legs[i + 1]), rule, every_die=every_die)
        for i, bend in enumerate(part.section.bends)
    )


def _wish(part: Part, bend: WantedBend, legs_mm: tuple[float, float], rule: str, *, every_die: bool) -> BendWish:
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
        every_die=every_die,
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


def deductions_mm(part: Part, shop: Shop, pairs: Mapping[int, PunchDie | None]) -> dict[int, float]:
    """The deductions measured for the pairs in use, by bend."""
    if not shop.measured.rows:
        return {}
    found, material = {}, shop.materials[part.material]
    for wish, made in _in_use(part, shop, pairs):
        learned = deduction_of(made, wish, material, part.thickness_mm, shop=shop)
        if learned is not None:
            found[wish.number or 0] = learned.deduction_mm
    return found


def learned_findings(
    part: Part, shop: Shop, pairs: Mapping[int, PunchDie | None], *, tooling: Tooling
) -> tuple[Finding, ...]:
    """What of the pairs in use rests on measured bends, and how well it is known."""
    if not shop.measured.rows:
        return ()
    material = shop.materials[part.material]
    return tuple(
        finding
        for wish, made in _in_use(part, shop, pairs)
        for finding in _told(
            wish,
            depth_of(made, material, part.thickness_mm, shop, tooling=tooling),
            deduction_of(made, wish, material, part.thickness_mm, shop=shop),
        )
    )


def _in_use(part: Part, shop: Shop, pairs: Mapping[int, PunchDie | None]) -> Iterator[tuple[BendWish, PunchDie]]:
    for wish in wishes(part, shop):
        made = pairs.get(wish.number or 0)
        if made is not None:
            yield wish, made


def _told(wish: BendWish, depth: LearnedDepth | None, deduction: LearnedDeduction | None) -> Iterator[Finding]:
    taught = depth if depth is not None and depth.learned != NOTHING_LEARNED else None
    return learned_notes(place("bend", wish.number or 0), taught, deduction)
