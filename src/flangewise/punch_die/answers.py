"""One bend answered: the tools chosen, the allowance, the scatter, and every number by its key."""

from collections.abc import Iterable, Iterator
from typing import Any

from flangewise.bend import Allowance, DrawnSpread, Spread, bend_allowance, measured_allowance, usual_opening_mm
from flangewise.findings import Finding, caution, note, sorted_findings
from flangewise.punch_die.forming import drawn_spread, expected_spread
from flangewise.punch_die.learned import deduction_of, depth_of, learned_notes, learned_offers, taught
from flangewise.punch_die.limits import wants_remedy, with_remedy
from flangewise.punch_die.offer import at_depth, nothing_offered
from flangewise.punch_die.pair import BendWish, PunchDie, Stock, Tooling
from flangewise.records import dataclass, replace
from flangewise.shop import LearnedDeduction, LearnedDepth, Shop
from flangewise.words import Phrase, look_up, phrase, say

# The figures of an answer by their keys, and where each stands in it. What a step is None of is None.
FIGURES = {
    "material": "asked.stock.material.name",
    "thickness_mm": "asked.stock.thickness_mm",
    "turn_deg": "turn_deg",
    "included_deg": "included_deg",
    "inside_radius_mm": "inside_radius_mm",
    "radius_from": "radius_from",
    "formed_radius_mm": "made.formed_radius_mm",
    "k_factor": "allowance.k_factor",
    "allowance_from": "allowance.rule",
    "allowance_mm": "allowance.allowance_mm",
    "setback_mm": "allowance.setback_mm",
    "deduction_mm": "allowance.deduction_mm",
    "die": "made.tools.die_name",
    "die_opening_mm": "made.tools.opening_mm",
    "named_opening_mm": "made.tools.named_opening_mm",
    "punch": "made.tools.punch_name",
    "force_kn_per_m": "made.air.peak_kn_per_m",
    "end_force_kn_per_m": "made.air.force_kn_per_m",
    "limit_force_kn_per_m": "made.limit_force_kn_per_m",
    "force_from": "made.force_from",
    "force_kn": "force_kn",
    "min_leg_mm": "made.least_leg_mm",
    "loaded_turn_deg": "made.loaded_turn_deg",
    "springback_deg": "made.air.springback_deg",
    "depth_mm": "made.depth_mm",
    "deg_per_mm": "made.deg_per_mm",
    "shoulder_radius_mm": "made.tools.shoulder_radius_mm",
    "nose_radius_mm": "made.tools.nose_radius_mm",
    "spread_deg": "spread.first_piece_deg",
    "spread_measured_deg": "spread.thickness_measured_deg",
    "spread_corrected_deg": "spread.after_one_deg",
    "spread_cause": "spread.dominant",
}
# Those there are only where draws were asked for.
DRAWN_FIGURES = {
    "drawn_spread_deg": "drawn.first_piece_deg",
    "drawn_spread_measured_deg": "drawn.thickness_measured_deg",
    "drawn_spread_corrected_deg": "drawn.after_one_deg",
    "drawn_answered": "drawn.answered",
}


@dataclass(frozen=True)
class Question:
    """One bend asked about. `depth_mm` is None unless the depth is given in place of an angle.

    `tolerance_mm` is the half width of the sheet's delivered thickness. `rule_asked`: a rule named goes before what the
    shop has measured. `draws` is how often the scatter is drawn as a check.
    """

    wish: BendWish
    stock: Stock
    tooling: Tooling
    depth_mm: float | None
    shop: Shop
    tolerance_mm: float | None = None
    rule_asked: bool = False
    draws: int | None = None

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

    def as_json(self) -> dict[str, Any]:
        """The die by the keys of an answer, in short."""
        keys = ("die", "punch", "formed_radius_mm", "limit_force_kn_per_m", "min_leg_mm")
        short = {key: look_up(self, FIGURES[key]) for key in keys}
        return {**short, "usable": not self.made.refused, "reason": say(self.reason)}


@dataclass(frozen=True)
class Answer:
    """One bend answered. `made` is None where the shop has no tools for it at all."""

    asked: Question
    made: PunchDie | None
    turn_deg: float | None
    inside_radius_mm: float | None
    radius_from: str | None
    allowance: Allowance | None
    alternatives: tuple[Alternative, ...]
    spread: Spread | None
    findings: tuple[Finding, ...]
    drawn: DrawnSpread | None = None

    @property
    def force_kn(self) -> float | None:
        """The limit force over the bend's length; None where none is asked about."""
        return None if self.made is None else self.made.force_kn(self.asked.wish.length_mm)

    @property
    def included_deg(self) -> float | None:
        """The turn as a protractor reads it."""
        return None if self.turn_deg is None else 180 - self.turn_deg

    def as_json(self) -> dict[str, Any]:
        """The figures by their keys, mm and degrees; without findings and other dies."""
        keys = FIGURES if self.drawn is None else FIGURES | DRAWN_FIGURES
        return {key: look_up(self, path) for key, path in keys.items()}


def answer(asked: Question) -> Answer:
    """The bend answered: the best usable pair, or the least refused; what was measured goes before model and rule."""
    stock, shop = asked.stock, asked.shop
    offers = learned_offers(asked.wish, stock, shop, nominal_mm=stock.thickness_mm, tooling=asked.tooling)
    made = _at_its_depth(asked, offers[0]) if offers else None
    turn_deg = made.turn_deg if made is not None and asked.depth_mm is not None else asked.wish.turn_deg
    radius_mm, radius_from = _radius(asked, made)
    taken, measured = _allowance(asked, made, radius_mm, turn_deg)
    findings = made.findings if made is not None else (nothing_offered(asked.wish),)
    notes = (
        *_notes(asked, taken, radius_mm, turn_deg),
        *learned_notes(None, _known_depth(asked, made) if made is not None else None, measured),
    )
    spread, drawn = _scatter(asked, made)
    return Answer(
        asked=asked,
        made=made,
        turn_deg=turn_deg,
        inside_radius_mm=radius_mm,
        radius_from="measured" if measured is not None else radius_from,
        allowance=taken,
        alternatives=tuple(_alternatives(asked, offers)),
        spread=spread,
        findings=sorted_findings((*findings, *notes)),
        drawn=drawn,
    )


def _at_its_depth(asked: Question, made: PunchDie) -> PunchDie:
    """The pair at the depth asked for, with what was learned of it; as it is where an angle was asked for."""
    if asked.depth_mm is None:
        return made
    known = _known_depth(asked, made)
    stock = asked.stock if known is None else taught(asked.stock, known.learned)
    return at_depth(made.tools, asked.depth_mm, asked.wish, stock, tooling=asked.tooling)


def _known_depth(asked: Question, made: PunchDie) -> LearnedDepth | None:
    stock, shop = asked.stock, asked.shop
    return depth_of(made, stock.material, stock.thickness_mm, shop, tooling=asked.tooling)


def _scatter(asked: Question, made: PunchDie | None) -> tuple[Spread | None, DrawnSpread | None]:
    machine, tolerance_mm, draws = asked.tooling.machine, asked.tolerance_mm, asked.draws
    if made is None or machine is None:
        return None, None
    repeat_mm, drawn = machine.depth_repeat_mm, None
    if draws is not None:
        drawn = drawn_spread(made, tolerance_mm=tolerance_mm, depth_repeat_mm=repeat_mm, draws=draws)
    return expected_spread(made, tolerance_mm=tolerance_mm, depth_repeat_mm=repeat_mm), drawn


def _radius(asked: Question, made: PunchDie | None) -> tuple[float | None, str | None]:
    """What the allowance uses: the radius asked for where no tools are named, else what the pair forms."""
    if asked.wish.radius_mm is not None and not asked.tools_named:
        return asked.wish.radius_mm, "asked"
    if made is None or made.formed_radius_mm is None:
        return None, None
    return made.formed_radius_mm, made.radius_from


def _allowance(
    asked: Question, made: PunchDie | None, radius_mm: float | None, turn_deg: float | None
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


def _notes(
    asked: Question, taken: Allowance | None, radius_mm: float | None, turn_deg: float | None
) -> Iterator[Finding]:
    wish, ideal = asked.wish, asked.wish.ideal
    if ideal.opening_mm is not None:
        yield note("ideal-opening", opening_mm=ideal.opening_mm, shoulder_mm=ideal.shoulder_radius_mm)
    if ideal.nose_radius_mm is not None:
        yield note("ideal-nose", nose_mm=ideal.nose_radius_mm)
    if taken is not None and radius_mm is not None and turn_deg is not None:
        if taken.k_held:
            yield caution("din-k-held", ratio=radius_mm / asked.stock.thickness_mm)
        if taken.beyond_din:
            yield note("din-continuous", included_deg=180 - turn_deg, deduction_mm=taken.deduction_mm)
    if asked.depth_mm is not None and None in (wish.punch, wish.die) and asked.tooling.dies:
        yield note("tools-of-a-square-bend")


def _alternatives(asked: Question, offers: tuple[PunchDie, ...]) -> Iterable[Alternative]:
    if not offers or asked.tools_named or asked.depth_mm is not None:
        return
    chosen, seen = offers[0], {offers[0].tools.die_name}
    for made in offers:
        if made.tools.die_name not in seen:
            seen.add(made.tools.die_name)
            yield Alternative(made, _reason(made, chosen, asked))


def _reason(made: PunchDie, chosen: PunchDie, asked: Question) -> Phrase:
    """The gravest thing against it, or else in what it is further off than the one chosen."""
    against = sorted_findings(made.findings)
    if against and against[0].severity != "note":
        gravest = against[0]
        return (with_remedy(gravest, "") if wants_remedy(gravest) else gravest).phrase
    wish, usual_mm = asked.wish, usual_opening_mm(asked.stock.thickness_mm)
    if wish.radius_mm is not None and _off_mm(made, wish) > _off_mm(chosen, wish) + 1e-6:
        return phrase("alternative.radius", radius_mm=made.formed_radius_mm, wanted_mm=wish.radius_mm)
    named_mm, chosen_mm = made.tools.named_opening_mm or 0.0, chosen.tools.named_opening_mm or 0.0
    if abs(named_mm - chosen_mm) > 1e-6:
        return phrase("alternative.opening", opening_mm=named_mm, usual_mm=usual_mm)
    return phrase("alternative.second")


def _off_mm(made: PunchDie, wish: BendWish) -> float:
    return abs((made.formed_radius_mm or 0.0) - (wish.radius_mm or 0.0))
