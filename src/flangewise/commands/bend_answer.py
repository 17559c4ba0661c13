"""The answer of `bend`: tools chosen, allowance, and every number by the name the contract gives it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from flangewise.bend import Allowance, DrawnSpread, Spread, bend_allowance, measured_allowance, usual_opening_mm
from flangewise.commands.output import finding_records
from flangewise.findings import Finding, caution, note, sorted_findings
from flangewise.punch_die import (
    BendWish,
    PunchDie,
    Stock,
    Tooling,
    at_depth,
    deduction_of,
    depth_of,
    drawn_spread,
    expected_spread,
    learned_offers,
    nothing_offered,
    taught,
    wants_remedy,
    with_remedy,
)
from flangewise.shop import LearnedDeduction, LearnedDepth, Shop
from flangewise.words import Phrase, phrase, say


@dataclass(frozen=True)
class Numbers:
    """What was asked, understood as numbers. `depth_mm` is None unless the depth is given in place of an angle.

    `understood` says how the thickness was read, `certificate` whether values of the material row were replaced,
    `tolerance_mm` the half width in which the sheet's thickness is delivered,
    `rule_asked` whether a rule was named: it then goes before what the shop has measured.
    """

    wish: BendWish
    stock: Stock
    tooling: Tooling
    depth_mm: float | None
    understood: str
    certificate: bool
    shop: Shop
    tolerance_mm: float | None = None
    rule_asked: bool = False

    @property
    def tools_named(self) -> bool:
        """Whether any tool was named or given as an ideal one."""
        wish = self.wish
        given = (wish.punch, wish.die, wish.ideal.nose_radius_mm, wish.ideal.opening_mm)
        return any(tool is not None for tool in given)


@dataclass(frozen=True)
class Alternative:
    """Another die of the shop with its best punch, and why it stands behind the one chosen."""

    made: PunchDie
    reason: Phrase


@dataclass(frozen=True)
class Answer:
    """One bend answered. `made` is None where the shop has no tools for it at all."""

    asked: Numbers
    made: PunchDie | None
    turn_deg: float | None
    inside_radius_mm: float | None
    radius_from: str | None
    allowance: Allowance | None
    alternatives: tuple[Alternative, ...]
    spread: Spread | None
    findings: tuple[Finding, ...]
    drawn: DrawnSpread | None = None

    def with_draws(self, draws: int) -> Answer:
        """The same answer with its scatter drawn so many times too; as it is where nothing scatters."""
        machine = self.asked.tooling.machine
        if self.made is None or machine is None:
            return self
        tolerance_mm, repeat_mm = self.asked.tolerance_mm, machine.depth_repeat_mm
        drawn = drawn_spread(self.made, tolerance_mm=tolerance_mm, depth_repeat_mm=repeat_mm, draws=draws)
        return replace(self, drawn=drawn)

    def record(self) -> dict[str, Any]:
        """The answer as the contract writes it, mm and degrees, with what else is worth keeping at the end."""
        stock, made, taken = self.asked.stock, self.made, self.allowance
        turn_deg = self.turn_deg
        return {
            "material": stock.material.name,
            "thickness_mm": stock.thickness_mm,
            "turn_deg": turn_deg,
            "included_deg": None if turn_deg is None else 180 - turn_deg,
            "inside_radius_mm": self.inside_radius_mm,
            "radius_from": self.radius_from,
            "formed_radius_mm": made.formed_radius_mm if made is not None else None,
            "k_factor": taken.k_factor if taken is not None else None,
            "allowance_from": taken.rule if taken is not None else None,
            "allowance_mm": taken.allowance_mm if taken is not None else None,
            "setback_mm": taken.setback_mm if taken is not None else None,
            "deduction_mm": taken.deduction_mm if taken is not None else None,
            **_tools_record(made),
            **_spread_record(self.spread),
            **_drawn_record(self.drawn),
            "findings": finding_records(self.findings),
            "alternatives": [_alternative_record(each) for each in self.alternatives],
        }


def _tools_record(made: PunchDie | None) -> dict[str, Any]:
    names = {
        "die": "die_name",
        "die_opening_mm": "opening_mm",
        "named_opening_mm": "named_opening_mm",
        "punch": "punch_name",
        "force_kn_per_m": "force_kn_per_m",
        "end_force_kn_per_m": "end_force_kn_per_m",
        "limit_force_kn_per_m": "limit_force_kn_per_m",
        "force_from": "force_from",
        "force_kn": "force_kn",
        "min_leg_mm": "least_leg_mm",
        "loaded_turn_deg": "loaded_turn_deg",
        "springback_deg": "springback_deg",
        "depth_mm": "depth_mm",
        "deg_per_mm": "deg_per_mm",
        "shoulder_radius_mm": "shoulder_radius_mm",
        "nose_radius_mm": "nose_radius_mm",
    }
    return {key: getattr(made, name) if made is not None else None for key, name in names.items()}


def _spread_record(spread: Spread | None) -> dict[str, Any]:
    """Expected 95 % half widths of the finished angle, and which input they mostly come from."""
    if spread is None:
        return dict.fromkeys(("spread_deg", "spread_measured_deg", "spread_corrected_deg", "spread_cause"))
    return {
        "spread_deg": spread.first_piece_deg,
        "spread_measured_deg": spread.thickness_measured_deg,
        "spread_corrected_deg": spread.after_one_deg,
        "spread_cause": spread.dominant,
    }


def _drawn_record(drawn: DrawnSpread | None) -> dict[str, Any]:
    """The half widths by draws, where draws were asked for."""
    if drawn is None:
        return {}
    return {
        "drawn_spread_deg": drawn.first_piece_deg,
        "drawn_spread_measured_deg": drawn.thickness_measured_deg,
        "drawn_spread_corrected_deg": drawn.after_one_deg,
        "drawn_answered": drawn.answered,
    }


def _alternative_record(each: Alternative) -> dict[str, Any]:
    made = each.made
    return {
        "die": made.die_name,
        "punch": made.punch_name,
        "formed_radius_mm": made.formed_radius_mm,
        "limit_force_kn_per_m": made.limit_force_kn_per_m,
        "min_leg_mm": made.least_leg_mm,
        "usable": not made.refused,
        "reason": say(each.reason),
    }


def answer(asked: Numbers) -> Answer:
    """The bend answered: the best usable pair, or the least refused one with its refusals.

    What the shop has measured of these tools and this sheet goes before the model's depth and the rule's allowance.
    """
    stock, shop = asked.stock, asked.shop
    offers = learned_offers(asked.wish, stock, shop, nominal_mm=stock.thickness_mm, tooling=asked.tooling)
    made = _at_its_depth(asked, offers[0]) if offers else None
    turn_deg = made.turn_deg if made is not None and asked.depth_mm is not None else asked.wish.turn_deg
    radius_mm, radius_from = _radius(asked, made)
    taken, measured = _allowance(asked, made, radius_mm, turn_deg)
    findings = made.findings if made is not None else (nothing_offered(asked.wish),)
    notes = (
        *_ideal_findings(asked),
        *_rule_findings(asked, taken, radius_mm, turn_deg),
        *_choice_findings(asked),
        *_measured_findings(asked, made, measured),
    )
    return Answer(
        asked=asked,
        made=made,
        turn_deg=turn_deg,
        inside_radius_mm=radius_mm,
        radius_from="measured" if measured is not None else radius_from,
        allowance=taken,
        alternatives=tuple(_alternatives(asked, offers)),
        spread=_spread(asked, made),
        findings=sorted_findings((*findings, *notes)),
    )


def _at_its_depth(asked: Numbers, made: PunchDie) -> PunchDie:
    """The pair at the depth asked for, with what was learned of it; as it is where an angle was asked for."""
    if asked.depth_mm is None:
        return made
    known = _known_depth(asked, made)
    stock = asked.stock if known is None else taught(asked.stock, known.learned)
    return at_depth(made.pair, asked.depth_mm, asked.wish, stock, tooling=asked.tooling)


def _known_depth(asked: Numbers, made: PunchDie) -> LearnedDepth | None:
    stock, shop = asked.stock, asked.shop
    if not shop.measured.rows:
        return None
    return depth_of(made, stock.material, stock.thickness_mm, shop, tooling=asked.tooling)


def _spread(asked: Numbers, made: PunchDie | None) -> Spread | None:
    machine = asked.tooling.machine
    if made is None or machine is None:
        return None
    return expected_spread(made, tolerance_mm=asked.tolerance_mm, depth_repeat_mm=machine.depth_repeat_mm)


def _radius(asked: Numbers, made: PunchDie | None) -> tuple[float | None, str | None]:
    """What the allowance uses: the radius asked for where no tools are named, else what the pair forms."""
    if asked.wish.radius_mm is not None and not asked.tools_named:
        return asked.wish.radius_mm, "asked"
    if made is None or made.formed_radius_mm is None:
        return None, None
    return made.formed_radius_mm, made.radius_from


def _allowance(
    asked: Numbers, made: PunchDie | None, radius_mm: float | None, turn_deg: float | None
) -> tuple[Allowance | None, LearnedDeduction | None]:
    """What the bend takes: as measured, by the K factor given or by the rule; and what was measured."""
    if radius_mm is None or turn_deg is None:
        return None, None
    stock, wish = asked.stock, asked.wish
    measured = None
    if made is not None and not asked.rule_asked and (wish.radius_mm is None or asked.tools_named):
        at_turn = replace(wish, turn_deg=turn_deg)
        measured = deduction_of(made, at_turn, stock.material, stock.thickness_mm, shop=asked.shop)
    if measured is not None:
        deduction_mm = measured.deduction_mm
        return measured_allowance(radius_mm, stock.thickness_mm, turn_deg=turn_deg, deduction_mm=deduction_mm), measured
    by_rule = bend_allowance(radius_mm, stock.thickness_mm, turn_deg=turn_deg, rule=wish.rule, k_factor=wish.k_factor)
    return by_rule, None


def _measured_findings(asked: Numbers, made: PunchDie | None, deduction: LearnedDeduction | None) -> Iterable[Finding]:
    """What rests on measured bends, and how well it is known."""
    depth = _known_depth(asked, made) if made is not None else None
    if depth is not None:
        offset_mm, percent = depth.learned.depth_offset_mm, 100 * depth.learned.springback_log
        yield note("depth-measured", told=depth.told, offset_mm=offset_mm, springback_percent=percent)
    if deduction is not None:
        yield note("deduction-measured", told=deduction.told, deduction_mm=deduction.deduction_mm)


def _ideal_findings(asked: Numbers) -> Iterable[Finding]:
    ideal = asked.wish.ideal
    if ideal.opening_mm is not None:
        yield note("ideal-opening", opening_mm=ideal.opening_mm, shoulder_mm=ideal.shoulder_radius_mm)
    if ideal.nose_radius_mm is not None:
        yield note("ideal-nose", nose_mm=ideal.nose_radius_mm)


def _rule_findings(
    asked: Numbers, taken: Allowance | None, radius_mm: float | None, turn_deg: float | None
) -> Iterable[Finding]:
    if taken is None or radius_mm is None or turn_deg is None:
        return
    if taken.k_held:
        yield caution("din-k-held", ratio=radius_mm / asked.stock.thickness_mm)
    if taken.beyond_din:
        yield note("din-continuous", included_deg=180 - turn_deg, deduction_mm=taken.deduction_mm)


def _choice_findings(asked: Numbers) -> Iterable[Finding]:
    if asked.depth_mm is not None and None in (asked.wish.punch, asked.wish.die) and asked.tooling.dies:
        yield note("tools-of-a-square-bend")


def _alternatives(asked: Numbers, offers: tuple[PunchDie, ...]) -> Iterable[Alternative]:
    """The best pair with each other die, in the order offered, with what it has against it."""
    if not offers or asked.tools_named or asked.depth_mm is not None:
        return
    chosen, seen = offers[0], {offers[0].die_name}
    for made in offers:
        if made.die_name not in seen:
            seen.add(made.die_name)
            yield Alternative(made, _reason(made, chosen, asked))


def _reason(made: PunchDie, chosen: PunchDie, asked: Numbers) -> Phrase:
    """The gravest thing against it, or else in what it is further off than the one chosen."""
    against = sorted_findings(made.findings)
    if against and against[0].severity != "note":
        gravest = against[0]
        return (with_remedy(gravest, "") if wants_remedy(gravest) else gravest).phrase
    wish, usual_mm = asked.wish, usual_opening_mm(asked.stock.thickness_mm)
    if wish.radius_mm is not None and _off_mm(made, wish) > _off_mm(chosen, wish) + 1e-6:
        return phrase("alternative.radius", radius_mm=made.formed_radius_mm, wanted_mm=wish.radius_mm)
    named_mm, chosen_mm = made.named_opening_mm or 0.0, chosen.named_opening_mm or 0.0
    if abs(named_mm - chosen_mm) > 1e-6:
        return phrase("alternative.opening", opening_mm=named_mm, usual_mm=usual_mm)
    return phrase("alternative.second")


def _off_mm(made: PunchDie, wish: BendWish) -> float:
    return abs((made.formed_radius_mm or 0.0) - (wish.radius_mm or 0.0))
