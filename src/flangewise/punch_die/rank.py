"""Which pair stands first: few refusals, then a cost, then names, so that the same shop always offers the same."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from flangewise.bend import usual_opening_mm
from flangewise.findings import Finding
from flangewise.punch_die.limits import radius_off_share, wants_remedy, with_remedy
from flangewise.punch_die.pair import PunchDie
from flangewise.punch_die.wish import BendWish, Stock
from flangewise.words import Phrase, phrase

# What a caution or a note weighs beside the opening's distance from the rule, which is 0.29 for the next die of the
# usual steps (a ratio of 4 to 3).
CAUTION_COST = 0.5
NOTE_COST = 0.1
# A radius wanted moves the choice further than the rule: 20 % off weighs as much as two steps of opening.
RADIUS_COST = 3.0
# An acute tool carries less and is kept for what needs it: 60 degrees sharper than needed weighs like one caution.
ACUTE_COST_PER_DEG = 1 / 120
# Of tools that both carry the force the stronger is taken: all of a rating weighs like one step of opening.
LOAD_COST = 0.3
# A nose of some 0.8 t neither creases nor wraps; one half or twice as large weighs a hundredth of that.
NOSE_SHARE, NOSE_FIT_COST = 0.8, 0.05
# A punch with a neck is kept for the parts that need it.
NECK_COST = 0.1
# The order of the shop's tables settles the rest.
ROW_COST = 0.0001


def cost_of(made: PunchDie, wish: BendWish, stock: Stock, *, row: int) -> float:
    """What speaks against a pair that is not refused, as one number; only differences count."""
    wanted_mm = usual_opening_mm(stock.thickness_mm)
    named_mm = made.tools.named_opening_mm or wanted_mm
    cost = abs(math.log(named_mm / wanted_mm)) + row * ROW_COST
    if wish.radius_mm is not None and made.formed_radius_mm is not None:
        cost += RADIUS_COST * min(1.0, radius_off_share(made.formed_radius_mm, wish.radius_mm))
    told = [finding for finding in made.findings if finding.code != "radius-off"]
    cost += CAUTION_COST * sum(finding.severity == "caution" for finding in told)
    cost += NOTE_COST * sum(finding.severity == "note" for finding in told)
    cost += NOSE_FIT_COST * _nose_misfit(made, stock) + LOAD_COST * _load_share(made)
    cost += NECK_COST if made.is_set_back else 0.0
    return cost + ACUTE_COST_PER_DEG * _sharper_than_needed_deg(made)


def _nose_misfit(made: PunchDie, stock: Stock) -> float:
    if not made.tools.nose_radius_mm:
        return 0.0
    return abs(math.log(made.tools.nose_radius_mm / (NOSE_SHARE * stock.thickness_mm)))


def _load_share(made: PunchDie) -> float:
    ratings = [tool.load_kn_per_m for tool in (made.tools.punch, made.tools.die) if tool is not None]
    return (made.limit_force_kn_per_m or 0.0) / min(ratings) if ratings else 0.0


def _sharper_than_needed_deg(made: PunchDie) -> float:
    """How much sharper than the bend needs the sharper tool of the pair is."""
    needed_deg = min(180 - (made.loaded_turn_deg or 0.0), 90.0)
    punch, die = made.tools.punch, made.tools.die
    angles = [punch.nose.included_deg] if punch is not None and punch.kind == "vee" else []
    angles += [die.vee.included_deg] if die is not None and die.kind == "vee" else []
    return max(0.0, needed_deg - min(angles, default=needed_deg))


def above_the_best(offers: Iterable[PunchDie], among: Iterable[PunchDie]) -> tuple[PunchDie, ...]:
    """The offers, each with its cost over that of the best pair of the shop, whether that is offered or not.

    So a pair that is asked for by name costs what it would cost among all.
    """
    least = min((made.cost for made in among if not made.refused), default=0.0)
    return tuple(made if made.refused else replace(made, cost=made.cost - least) for made in offers)


def best_first(offers: Iterable[PunchDie]) -> tuple[PunchDie, ...]:
    """Unrefused pairs by cost, then the refused ones with the fewest refusals first."""
    return tuple(sorted(offers, key=_key))


def _key(made: PunchDie) -> tuple[int, float, str]:
    refusals = sum(finding.severity == "refuse" for finding in made.all_findings)
    return refusals, round(made.cost, 9), made.tools.name


def with_remedies(offers: Sequence[PunchDie], among: Sequence[PunchDie]) -> tuple[PunchDie, ...]:
    """The offers, each finding told with the best pair of the shop that it does not apply to, where there is one.

    `among` are all pairs judged, best first; where nothing else was judged that is said instead.
    """
    usable = [made for made in among if not made.refused]
    unknown = phrase("remedy.unknown") if len(among) < 2 else None
    codes = {finding.code for made in offers for finding in made.findings if wants_remedy(finding)}
    remedies = {code: unknown or _remedy(code, usable) for code in codes}
    return tuple(
        replace(made, findings=tuple(_told(finding, remedies) for finding in made.findings)) for made in offers
    )


def _remedy(code: str, usable: Sequence[PunchDie]) -> Phrase:
    for made in usable:
        punch, die = made.tools.punch_name, made.tools.die_name
        if all(finding.code != code for finding in made.findings) and punch is not None and die is not None:
            return phrase("remedy.pair", punch=punch, die=die)
    return phrase("remedy.none")


def _told(finding: Finding, remedies: dict[str, Phrase]) -> Finding:
    return with_remedy(finding, remedies[finding.code]) if wants_remedy(finding) else finding
