"""A part's bends as wishes for tools, the radii that follow from the tools taken, and what was measured of them."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from flangewise.bend import NOTHING_LEARNED
from flangewise.findings import Finding
from flangewise.part import Part, WantedBend
from flangewise.punch_die import (
    BendWish,
    PunchDie,
    Stock,
    Tooling,
    deduction_of,
    depth_of,
    learned_notes,
    learned_offers,
)
from flangewise.shop import Machine, Shop


def wishes(part: Part, shop: Shop, *, every_die: bool = False) -> tuple[BendWish, ...]:
    """What each bend of the part asks of its tools, in order, the legs beside it as outside sizes."""
    legs, rule = part.outside_legs_mm, shop.defaults.rule
    section, found = part.section, []
    for bend, legs_mm in zip(section.bends, pairwise(legs), strict=True):
        given: dict[str, Any] = vars(bend) | {"gap_mm": bend.gap_mm or 0.0}
        given["radius_mm"] = bend.radius_mm if bend.radius_mm is not None else section.radius_mm
        found.append(BendWish(**given, legs_mm=legs_mm, length_mm=section.length_mm, rule=rule, every_die=every_die))
    return tuple(found)


def offers_of(
    part: Part, shop: Shop, machine: Machine, *, every_die: bool = False, bends: Collection[int] | None = None
) -> dict[int, tuple[PunchDie, ...]]:
    """The tools offered on a machine for each bend of a part, or for some, for the sheet as it is bent.

    With the thickness measured of the piece in hand, where it was. `every_die`: those as well that are not worth a try
    as long as others do.
    """
    measured, tooling = part.measured_thickness_mm, Tooling.of(shop, machine)
    thickness_mm = part.thickness_mm if measured is None else measured
    stock = Stock(shop.materials[part.material], thickness_mm, grain=part.grain)
    return {
        wish.number or 0: learned_offers(wish, stock, shop, nominal_mm=part.thickness_mm, tooling=tooling)
        for wish in wishes(part, shop, every_die=every_die)
        if bends is None or wish.number in bends
    }


def radii_mm(part: Part, pairs: Sequence[PunchDie | None]) -> Mapping[int, float]:
    """The inside radius that makes the blank, by bend: what the chosen pair forms.

    Where no pair is to be had it is the radius asked for, or the thickness: the blank of a refused part is still told.
    """
    return {bend.number: radius_mm(part, bend, pair) for bend, pair in zip(part.section.bends, pairs, strict=True)}


def radius_mm(part: Part, bend: WantedBend, pair: PunchDie | None) -> float:
    """The same of one bend."""
    formed = pair.formed_radius_mm if pair is not None else None
    if formed is None and bend.kind == "hem":
        formed = (bend.gap_mm or 0.0) / 2
    if formed is None:
        formed = bend.radius_mm if bend.radius_mm is not None else part.section.radius_mm
    return formed if formed is not None else part.thickness_mm


def deductions_mm(part: Part, shop: Shop, pairs: Mapping[int, PunchDie | None]) -> dict[int, float]:
    """The deductions measured for the pairs in use, by bend."""
    if not shop.measured.rows:
        return {}
    found, material = {}, shop.materials[part.material]
    for wish, made in _in_use(part, shop, pairs):
        learned = deduction_of(made, wish, material, part.thickness_mm, shop=shop)
        if learned is not None:
            found[wish.number] = learned.deduction_mm
    return found


def learned_findings(
    part: Part, shop: Shop, pairs: Mapping[int, PunchDie | None], *, tooling: Tooling
) -> tuple[Finding, ...]:
    """What of the pairs in use rests on measured bends, and how well it is known."""
    if not shop.measured.rows:
        return ()
    material = shop.materials[part.material]
    found: list[Finding] = []
    for wish, made in _in_use(part, shop, pairs):
        depth = depth_of(made, material, part.thickness_mm, shop, tooling=tooling)
        taught = depth if depth is not None and depth.learned != NOTHING_LEARNED else None
        deduction = deduction_of(made, wish, material, part.thickness_mm, shop=shop)
        found += learned_notes(wish.where, taught, deduction)
    return tuple(found)


def _in_use(part: Part, shop: Shop, pairs: Mapping[int, PunchDie | None]) -> Iterator[tuple[BendWish, PunchDie]]:
    for wish in wishes(part, shop):
        made = pairs.get(wish.number)
        if made is not None:
            yield wish, made
