"""What the shop has measured, put to use: pairs that bend as they were seen to, blanks with deductions seen."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from flangewise.bend import NOTHING_LEARNED, Learned, bend_allowance
from flangewise.findings import Finding, note, place
from flangewise.part import Part
from flangewise.punch_die import BendWish, PunchDie, Stock, Tooling, offer
from flangewise.shop import (
    LearnedDeduction,
    LearnedDepth,
    Material,
    Shop,
    deduction_key,
    depth_key,
    learned_deduction,
    learned_depth,
    thickness_tolerance_mm,
)


def learned_offers(
    wish: BendWish, stock: Stock, shop: Shop, *, nominal_mm: float, tooling: Tooling
) -> tuple[PunchDie, ...]:
    """The pairs offered for a bend, each with the depth offset and springback learned for it, best first.

    What was learned is kept under the nominal thickness, `nominal_mm`, whatever the piece in hand measures.
    """
    plain = offer(wish, stock, tooling=tooling)
    if not shop.measured.rows:
        return plain
    known = {made.name: depth_of(made, stock.material, nominal_mm, shop, tooling=tooling) for made in plain}
    by_learned = {found.learned for found in known.values() if found is not None}
    if wish.kind != "bend" or not by_learned:
        return plain
    told = {learned: _by_name(wish, stock, learned, tooling) for learned in by_learned}
    return _ranked(made if (found := known[made.name]) is None else told[found.learned][made.name] for made in plain)


def _by_name(wish: BendWish, stock: Stock, learned: Learned, tooling: Tooling) -> dict[str, PunchDie]:
    taught = replace(stock, springback_log=learned.springback_log, depth_offset_mm=learned.depth_offset_mm)
    return {made.name: made for made in offer(wish, taught, tooling=tooling)}


def _ranked(offers: Iterator[PunchDie]) -> tuple[PunchDie, ...]:
    return tuple(sorted(offers, key=lambda made: (made.refused, made.cost)))


def depth_of(
    made: PunchDie, material: Material, nominal_mm: float, shop: Shop, *, tooling: Tooling
) -> LearnedDepth | None:
    """What was measured of depth and springback for a pair, or of its material; None where nothing was."""
    if made.kind != "bend" or made.die_name is None or made.nose_radius_mm is None or tooling.machine is None:
        return None
    key = depth_key(
        tooling.machine.name,
        material.name,
        thickness_mm=nominal_mm,
        die=made.die_name,
        nose_radius_mm=made.nose_radius_mm,
    )
    tolerance = thickness_tolerance_mm(shop.tolerances, material.product, nominal_mm)
    return learned_depth(shop.measured, key, tolerance_mm=tolerance)


def deduction_of(made: PunchDie, wish: BendWish, part: Part, shop: Shop) -> LearnedDeduction | None:
    """The deduction measured for a pair at its turn; None where the rule or a K factor of the part stands."""
    if made.kind != "bend" or wish.k_factor is not None or made.die_name is None or not shop.measured.rows:
        return None
    if made.nose_radius_mm is None or made.formed_radius_mm is None:
        return None
    by_rule = bend_allowance(made.formed_radius_mm, part.thickness_mm, turn_deg=wish.turn_deg, rule=wish.rule)
    key = deduction_key(
        part.material,
        thickness_mm=part.thickness_mm,
        die=made.die_name,
        nose_radius_mm=made.nose_radius_mm,
        turn_deg=wish.turn_deg,
    )
    return learned_deduction(shop.measured, key, rule_mm=by_rule.deduction_mm)


def deductions_mm(
    wishes: Sequence[BendWish], pairs: Mapping[int, PunchDie | None], part: Part, shop: Shop
) -> dict[int, float]:
    """The deductions measured for the pairs in use, by bend."""
    found = {}
    for wish, made in _in_use(wishes, pairs):
        learned = deduction_of(made, wish, part, shop)
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
            deduction_of(made, wish, part, shop),
        )
    )


def _in_use(wishes: Sequence[BendWish], pairs: Mapping[int, PunchDie | None]) -> Iterator[tuple[BendWish, PunchDie]]:
    for wish in wishes:
        made = pairs.get(wish.number or 0)
        if made is not None:
            yield wish, made


def _told(wish: BendWish, depth: LearnedDepth | None, deduction: LearnedDeduction | None) -> Iterator[Finding]:
    where = place("bend", wish.number or 0)
    if depth is not None and depth.learned != NOTHING_LEARNED:
        offset, springback = depth.learned.depth_offset_mm, depth.learned.springback_log
        yield note("depth-measured", where, told=depth.told, offset_mm=offset, springback_percent=100 * springback)
    if deduction is not None:
        yield note("deduction-measured", where, told=deduction.told, deduction_mm=deduction.deduction_mm)
