"""What the shop has measured, put to use: pairs that bend as they were seen to, deductions as they were measured."""

from collections.abc import Iterator
from dataclasses import replace

from flangewise.bend import Learned, bend_allowance
from flangewise.findings import Finding, note
from flangewise.punch_die.judge import best_first
from flangewise.punch_die.offer import offer
from flangewise.punch_die.pair import BendWish, PunchDie, Stock, Tooling
from flangewise.shop import (
    LearnedDeduction,
    LearnedDepth,
    Material,
    Shop,
    bend_key,
    learned_deduction,
    learned_depth,
    thickness_tolerance_mm,
)
from flangewise.words import Phrase


def learned_offers(
    wish: BendWish, stock: Stock, shop: Shop, *, nominal_mm: float, tooling: Tooling
) -> tuple[PunchDie, ...]:
    """The pairs offered for a bend, each with the depth offset and springback learned for it, best first.

    Learned under the nominal thickness, whatever the piece in hand measures. Hems and offsets are offered as they are.
    """
    plain = offer(wish, stock, tooling=tooling)
    if not shop.measured.rows or wish.kind != "bend":
        return plain
    known = {made.tools.name: depth_of(made, stock.material, nominal_mm, shop, tooling=tooling) for made in plain}
    by_learned = {found.learned for found in known.values() if found is not None}
    told = {learned: _by_name(wish, stock, learned, tooling) for learned in by_learned}
    offers = (
        made if (found := known[made.tools.name]) is None else told[found.learned][made.tools.name] for made in plain
    )
    return best_first(offers)


def _by_name(wish: BendWish, stock: Stock, learned: Learned, tooling: Tooling) -> dict[str, PunchDie]:
    return {made.tools.name: made for made in offer(wish, taught(stock, learned), tooling=tooling)}


def taught(stock: Stock, learned: Learned) -> Stock:
    """The sheet with what was learned of its springback and of the machine's depth."""
    return replace(stock, springback_log=learned.springback_log, depth_offset_mm=learned.depth_offset_mm)


def depth_of(
    made: PunchDie, material: Material, nominal_mm: float, shop: Shop, *, tooling: Tooling
) -> LearnedDepth | None:
    """What was measured of depth and springback for a pair, or of its material; None where nothing was."""
    die, nose_mm, machine = made.tools.die_name, made.tools.nose_radius_mm, tooling.machine
    if made.kind != "bend" or die is None or nose_mm is None or machine is None or not shop.measured.rows:
        return None
    key = bend_key(material.name, nominal_mm, die, nose_mm, machine=machine.name)
    tolerance_mm = thickness_tolerance_mm(shop.tolerances, material.product, nominal_mm)
    return learned_depth(shop.measured, key, tolerance_mm=tolerance_mm)


def deduction_of(
    made: PunchDie, wish: BendWish, material: Material, thickness_mm: float, *, shop: Shop
) -> LearnedDeduction | None:
    """The deduction measured for a pair at its turn; None where the rule or a K factor stands."""
    die, nose_mm, turn_deg = made.tools.die_name, made.tools.nose_radius_mm, wish.turn_deg
    if made.kind != "bend" or wish.k_factor is not None or not shop.measured.rows:
        return None
    if die is None or nose_mm is None or made.formed_radius_mm is None:
        return None
    by_rule = bend_allowance(made.formed_radius_mm, thickness_mm, turn_deg=turn_deg, rule=wish.rule)
    key = bend_key(material.name, thickness_mm, die, nose_mm, turn_deg=turn_deg)
    return learned_deduction(shop.measured, key, rule_mm=by_rule.deduction_mm)


def learned_notes(
    where: Phrase | None, depth: LearnedDepth | None, deduction: LearnedDeduction | None
) -> Iterator[Finding]:
    """What of a bend rests on measured ones, and how well it is known."""
    if depth is not None:
        offset_mm, springback = depth.learned.depth_offset_mm, depth.learned.springback_log
        yield note("depth-measured", where, told=depth.told, offset_mm=offset_mm, springback_percent=100 * springback)
    if deduction is not None:
        yield note("deduction-measured", where, told=deduction.told, deduction_mm=deduction.deduction_mm)
