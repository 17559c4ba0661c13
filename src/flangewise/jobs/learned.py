"""What the shop has measured, put to use in a part: blanks with deductions seen, and how well all of it is known."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from flangewise.bend import NOTHING_LEARNED
from flangewise.findings import Finding, place
from flangewise.part import Part
from flangewise.punch_die import BendWish, PunchDie, Tooling, deduction_of, depth_of, learned_notes
from flangewise.shop import LearnedDeduction, LearnedDepth, Shop


def deductions_mm(
    wishes: Sequence[BendWish], pairs: Mapping[int, PunchDie | None], part: Part, shop: Shop
) -> dict[int, float]:
    """The deductions measured for the pairs in use, by bend."""
    found, material = {}, shop.materials[part.material]
    for wish, made in _in_use(wishes, pairs):
        learned = deduction_of(made, wish, material, part.thickness_mm, shop=shop)
        if learned is not None:
            found[wish.number or 0] = learned.deduction_mm
    return found


def learned_findings(
    wishes: Sequence[BendWish],
    pairs: Mapping[int, PunchDie | None],
    part: Part,
    shop: Shop,
    *,
    tooling: Tooling,
) -> tuple[Finding, ...]:
    """What of the pairs in use rests on measured bends, and how well it is known."""
    if not shop.measured.rows:
        return ()
    material = shop.materials[part.material]
    return tuple(
        finding
        for wish, made in _in_use(wishes, pairs)
        for finding in _told(
            wish,
            depth_of(made, material, part.thickness_mm, shop, tooling=tooling),
            deduction_of(made, wish, material, part.thickness_mm, shop=shop),
        )
    )


def _in_use(wishes: Sequence[BendWish], pairs: Mapping[int, PunchDie | None]) -> Iterator[tuple[BendWish, PunchDie]]:
    for wish in wishes:
        made = pairs.get(wish.number or 0)
        if made is not None:
            yield wish, made


def _told(wish: BendWish, depth: LearnedDepth | None, deduction: LearnedDeduction | None) -> Iterator[Finding]:
    taught = depth if depth is not None and depth.learned != NOTHING_LEARNED else None
    return learned_notes(place("bend", wish.number or 0), taught, deduction)
