"""Judging pairs: what the model says of each, what speaks against it, and its rank: by refusals, cost and name."""

import math
from collections.abc import Iterable, Sequence

from flangewise.bend import hand_springback_deg, plane_strain_modulus_mpa, usual_opening_mm
from flangewise.findings import Finding
from flangewise.punch_die.forming import form
from flangewise.punch_die.lengths import length_findings
from flangewise.punch_die.limits import (
    angle_findings,
    carried_kn_per_m,
    die_room_deg,
    limit_findings,
    load_findings,
    machine_findings,
    radius_off_share,
    refuse_for_now,
    wants_remedy,
    width_findings,
    with_remedy,
)
from flangewise.punch_die.pair import BendWish, Ideal, Pair, PunchDie, Stock, Tooling
from flangewise.records import altered
from flangewise.shop import Die, Punch, named_findings
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
# Dies outside these multiples of the thickness are not even tried unless pinned: the model has nothing to say there.
LEAST_TRIED_SHARE = 4.0
MOST_TRIED_SHARE = 16.0
# A thickness given in inches is off by no more than this share.
ROUNDING = 1e-9
# A nose wider than this share of the opening finds no room between sheet and shoulders.
MOST_TRIED_NOSE_SHARE = 0.35
# Pairs without an answer stand behind all those with one.
NO_ANSWER_COST = 1000.0


def cost_of(made: PunchDie, wish: BendWish, stock: Stock) -> float:
    """What speaks against a pair that is not refused, as one number; only differences count."""
    wanted_mm = usual_opening_mm(stock.thickness_mm)
    named_mm = made.tools.named_opening_mm or wanted_mm
    cost = abs(math.log(named_mm / wanted_mm))
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
    """The offers costed over the best pair of the shop: one asked for by name costs what it would cost among all."""
    least = min((made.cost for made in among if not made.refused), default=0.0)
    if not least:
        return tuple(offers)
    return tuple(made if made.refused else altered(made, cost=made.cost - least) for made in offers)


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
        altered(made, findings=tuple(_told(finding, remedies) for finding in made.findings)) if made.findings else made
        for made in offers
    )


def _remedy(code: str, usable: Sequence[PunchDie]) -> Phrase:
    for made in usable:
        punch, die = made.tools.punch_name, made.tools.die_name
        if all(finding.code != code for finding in made.findings) and punch is not None and die is not None:
            return phrase("remedy.pair", punch=punch, die=die)
    return phrase("remedy.none")


def _told(finding: Finding, remedies: dict[str, Phrase]) -> Finding:
    return with_remedy(finding, remedies[finding.code]) if wants_remedy(finding) else finding


def judge(known: Iterable[PunchDie], wish: BendWish, stock: Stock, *, tooling: Tooling) -> tuple[PunchDie, ...]:
    """What `formed_alike` gives, judged and ranked for a bend of a length on a machine, best first."""
    return best_first(
        made if made.cost == NO_ANSWER_COST else _on_machine(made, wish, stock, tooling=tooling) for made in known
    )


def formed_alike(pairs: Sequence[Pair], wish: BendWish, stock: Stock, *, tooling: Tooling) -> tuple[PunchDie, ...]:
    """The pairs formed, with what of the sheet speaks against each: alike at any length, on any machine.

    What cannot be at a glance is not asked of the model.
    """
    barred = [hopeless(pair, wish, tooling=tooling) for pair in pairs]
    hopeful = [index for index, finding in enumerate(barred) if finding is None]
    formed = dict(zip(hopeful, form([pairs[index] for index in hopeful], wish, stock), strict=True))
    return tuple(
        _barred(pair, finding) if finding is not None else _limited(pair, formed[index], wish, stock, tooling=tooling)
        for index, (pair, finding) in enumerate(zip(pairs, barred, strict=True))
    )


def _limited(pair: Pair, made: PunchDie | None, wish: BendWish, stock: Stock, *, tooling: Tooling) -> PunchDie:
    if made is None:
        return _without_state(pair, wish)
    return altered(made, findings=limit_findings(made, wish, stock, tooling=tooling))


def _on_machine(made: PunchDie, wish: BendWish, stock: Stock, *, tooling: Tooling) -> PunchDie:
    """A pair judged for the sheet alone, with what speaks against it on a machine, at a length."""
    against = (*width_findings(wish, stock.thickness_mm), *_loads(made, wish, tooling=tooling))
    told = altered(made, findings=(*made.findings, *against)) if against else made
    return altered(told, cost=cost_of(told, wish, stock))


def no_length_matters(among: Iterable[PunchDie], wish: BendWish, stock: Stock, *, tooling: Tooling) -> bool:
    """Whether nothing is said of a bend's length of any pair: then the offers at it are those for no length.

    `among` are all pairs formed: where it is said of any, costs and remedies of the others change as well.
    """
    if any(width_findings(wish, stock.thickness_mm)):
        return False
    machine = tooling.machine
    return not any(
        (machine is not None and any(machine_findings(each, wish, machine)))
        or any(length_findings(each, wish, tooling=tooling))
        for each in among
        if each.cost != NO_ANSWER_COST
    )


def no_machine_matters(among: Iterable[PunchDie], tooling: Tooling) -> bool:
    """Whether nothing is said of the machine of any pair, for no length: then the offers are those without one."""
    formed = (each for each in among if each.cost != NO_ANSWER_COST)
    most = carried_kn_per_m(tooling)
    return all(each.limit_force_kn_per_m is None or each.limit_force_kn_per_m <= most for each in formed)


def _loads(made: PunchDie, wish: BendWish, *, tooling: Tooling) -> tuple[Finding, ...]:
    loads, lengths = (find(made, wish, tooling=tooling) for find in (load_findings, length_findings))
    return (*loads, *lengths, *named(made.tools))


def hopeless(pair: Pair, wish: BendWish, *, tooling: Tooling) -> Finding | None:
    """Why a pair cannot make the turn whatever the sheet, judged at the finished turn: springback only adds to it."""
    nose_mm, opening_mm = pair.nose_radius_mm or 0.0, pair.opening_mm or 0.0
    if nose_mm > MOST_TRIED_NOSE_SHARE * opening_mm:
        most_mm = MOST_TRIED_NOSE_SHARE * opening_mm
        return refuse_for_now("nose-too-wide", wish.where, nose_mm=nose_mm, opening_mm=opening_mm, most_mm=most_mm)
    return next(angle_findings(pair, wish, loaded_deg=wish.turn_deg, tooling=tooling), None)


def _barred(pair: Pair, finding: Finding) -> PunchDie:
    return PunchDie(pair, "bend", findings=(finding,), cost=NO_ANSWER_COST)


def _without_state(pair: Pair, wish: BendWish) -> PunchDie:
    return _barred(pair, refuse_for_now("no-solution", wish.where, finished_deg=180 - wish.turn_deg))


def judged(pair: Pair, made: PunchDie | None, wish: BendWish, stock: Stock, *, tooling: Tooling) -> PunchDie:
    """One formed pair with its findings and cost; a pair the model has no state for is refused for that."""
    if made is None:
        return _without_state(pair, wish)
    limits, loads = limit_findings(made, wish, stock, tooling=tooling), _loads(made, wish, tooling=tooling)
    told = altered(made, findings=(*limits, *width_findings(wish, stock.thickness_mm), *loads))
    return altered(told, cost=cost_of(told, wish, stock))


def named(pair: Pair) -> tuple[Finding, ...]:
    """Named sizes of the pair's tools that their outlines do not have."""
    return tuple(finding for tool in (pair.punch, pair.die) if tool is not None for finding in named_findings(tool))


def vee_pairs(tooling: Tooling, wish: BendWish, stock: Stock) -> tuple[Pair, ...]:
    """Every vee punch on every vee die worth a try, and on the die pinned; ideal tools instead where given."""
    ideal = wish.ideal
    punches: list[Punch | None] = [punch for punch in tooling.punches if punch.kind == "vee"]
    dies: list[Die | None] = [*worth_a_try(tooling.dies, wish, stock, margin_deg=tooling.overbend_margin_deg)]
    punches = punches if ideal.nose_radius_mm is None else [None]
    dies = dies if ideal.opening_mm is None else [None]
    return tuple(vee_pair(punch, die, ideal) for die in dies for punch in punches)


def worth_a_try(dies: Iterable[Die], wish: BendWish, stock: Stock, *, margin_deg: float) -> tuple[Die, ...]:
    """The vee dies to judge: 4 to 16 t or the nearest, none sharper than turn and springback need, and the pinned.

    All of them where every die is asked for.
    """
    vees = [die for die in dies if die.kind == "vee"]
    if wish.every_die:
        return tuple(vees)
    least, most = LEAST_TRIED_SHARE * (1 - ROUNDING), MOST_TRIED_SHARE * (1 + ROUNDING)
    near = [die for die in vees if least <= die.vee.opening_mm / stock.thickness_mm <= most]
    usual_mm = usual_opening_mm(stock.thickness_mm)
    near = near or sorted(vees, key=lambda die: abs(math.log(die.vee.opening_mm / usual_mm)))[:2]
    enough: dict[float | None, float] = {}
    for die in near:
        if die_room_deg(die.vee.included_deg, margin_deg) >= wish.turn_deg + _most_springback_deg(die, wish, stock):
            enough[die.named_opening_mm] = max(enough.get(die.named_opening_mm, 0.0), die.vee.included_deg)
    tried = [die for die in near if die.vee.included_deg >= enough.get(die.named_opening_mm, 0.0)]
    return tuple(die for die in vees if die.name == wish.die or die in tried)


def _most_springback_deg(die: Die, wish: BendWish, stock: Stock) -> float:
    """A third more than the hand formula says, and a degree: no air bend near 90 degrees springs back further."""
    material = stock.material
    by_hand = hand_springback_deg(
        material.tensile_mpa,
        plane_strain_modulus_mpa(material.modulus_mpa, material.poisson),
        opening_mm=die.vee.opening_mm,
        thickness_mm=stock.thickness_mm,
        turn_deg=wish.turn_deg,
        austenitic=material.austenitic,
    )
    return by_hand * 4 / 3 + 1


def vee_pair(punch: Punch | None, die: Die | None, ideal: Ideal) -> Pair:
    """A vee punch on a vee die with the sizes their outlines have, or those of the ideal tool in the place of one."""
    return Pair(
        punch=punch,
        die=die,
        kind="bend",
        nose_radius_mm=punch.nose.nose_radius_mm if punch is not None else ideal.nose_radius_mm,
        opening_mm=die.vee.opening_mm if die is not None else ideal.opening_mm,
        shoulder_radius_mm=die.vee.shoulder_radius_mm if die is not None else ideal.shoulder_radius_mm,
    )


def is_pinned(made: PunchDie, wish: BendWish) -> bool:
    """Whether the pair is of the tools pinned; any pair is where nothing is pinned."""
    return wish.punch in (None, made.tools.punch_name) and wish.die in (None, made.tools.die_name)
