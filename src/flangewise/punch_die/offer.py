"""Offers punches and dies for a bend: every pair of the shop judged, best first, the refused ones with their reason.

For a hem an acute pair for the pre-bend and a flat pair that closes it. The pre-bend goes as far as the pair lets it,
30 degrees included at best, 45 at the least (common practice). For an offset the pair whose step and turn are wanted.
The force to flatten is a table's, that of an offset a factor on an air bend's; no angle is predicted for either.
"""

import itertools
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import lru_cache
from typing import Any

from flangewise.bend import (
    FULL_FOLD_DEG,
    HEM_K_FACTOR,
    HEM_THICKNESSES_MM,
    OFFSET_FORCE_FACTOR,
    bend_allowance,
    hem_force_kn_per_m,
    least_leg_mm,
    usual_force_kn_per_m,
)
from flangewise.findings import Finding, caution, refuse
from flangewise.punch_die.forming import form
from flangewise.punch_die.judge import (
    NO_ANSWER_COST,
    above_the_best,
    best_first,
    cost_of,
    formed_alike,
    is_pinned,
    judge,
    judged,
    named,
    no_length_matters,
    vee_pairs,
    with_remedies,
)
from flangewise.punch_die.lengths import length_findings
from flangewise.punch_die.limits import die_room_deg, leg_findings, load_findings, refuse_for_now, width_findings
from flangewise.punch_die.pair import BendWish, Pair, PunchDie, Stock, Tooling
from flangewise.shop import Die, Punch, table_radius_mm
from flangewise.words import Value

BEST_PRE_BEND_DEG = 150.0
LEAST_PRE_BEND_DEG = 135.0
# A closed hem bends about nothing. Metals whose least radius is over a thickness, or 1 mm, are told of (judgement).
HEM_LEAST_MM = 1.0
# Beyond this loaded turn the model finds no state for many sheets; tried where the pair's own room gives none.
SECOND_TRY_DEG = 140.0
SAME_STEP_MM = 0.1  # a step this near the one wanted is that step: ISO 2768-1 m allows 0.1 mm up to 6 mm
SAME_TURN_DEG = 0.5
# So many bends' offers are kept for others that ask for the same: some six parts of a few bends on three machines.
MOST_OFFERED = 48
# The same for no length, which many parts share: some sheets with a few bends on three machines.
MOST_TOLD = 128
# Lengths that are asked for all bends up to them.
LENGTHS_MM = (100.0, 200.0, 400.0, 800.0, 1600.0, 3200.0)
# What is wanted of a bend and asks nothing of its tools.
_OF_NO_TOOL: dict[str, Any] = {
    **dict.fromkeys(("tolerance_deg", "gauge", "marked_up", "punch_turned")),
    "number": 0,
    "away": False,
}


def hem_offers(wish: BendWish, stock: Stock, *, tooling: Tooling) -> tuple[PunchDie, ...]:
    """Acute pairs for the pre-bend, best first, each followed by the flattener; empty without either."""
    flat = flatten_pair(tooling)
    if flat is None:
        return ()
    then = flattened(flat, wish, stock, tooling=tooling)
    pairs = [pair for pair in vee_pairs(tooling, wish, stock) if _room_deg(pair, tooling) >= LEAST_PRE_BEND_DEG]
    rows = zip(pairs, pre_bends(pairs, wish, stock, tooling=tooling), strict=True)
    offers = best_first(replace(_judged(pair, made, wish, stock, tooling=tooling), then=then) for pair, made in rows)
    return with_remedies(above_the_best((made for made in offers if is_pinned(made, wish)), offers), offers)


def flatten_pair(tooling: Tooling) -> Pair | None:
    """The first flat punch on the first flat die; None where the shop lacks one."""
    punch = next((punch for punch in tooling.punches if punch.kind == "flat"), None)
    die = next((die for die in tooling.dies if die.kind == "flat"), None)
    return Pair(punch, die, "flatten") if punch is not None and die is not None else None


def flattened(pair: Pair, wish: BendWish, stock: Stock, *, tooling: Tooling) -> PunchDie:
    """The second hit: force by table, the punch stopping two thicknesses and the gap above the lower plate."""
    t = stock.thickness_mm
    force = hem_force_kn_per_m(t, "open" if wish.gap_mm > 0 else "closed", tensile_mpa=stock.material.tensile_mpa)
    made = PunchDie(
        tools=pair,
        kind="flatten",
        turn_deg=FULL_FOLD_DEG,
        formed_radius_mm=wish.gap_mm / 2,
        depth_mm=-(2 * t + wish.gap_mm),
        limit_force_kn_per_m=force,
        force_from="hem-table",
    )
    most_mm = HEM_THICKNESSES_MM[-1]
    beyond = [refuse("hem-beyond-table", wish.where, thickness_mm=t, most_mm=most_mm)] if force is None else []
    return replace(made, findings=(*beyond, *_set_up(made, wish, tooling), *named(pair)))


def _set_up(made: PunchDie, wish: BendWish, tooling: Tooling) -> tuple[Finding, ...]:
    """Loads and lengths of a hit."""
    return (*load_findings(made, wish, tooling=tooling), *length_findings(made, wish, tooling=tooling))


def pre_bends(pairs: list[Pair], wish: BendWish, stock: Stock, *, tooling: Tooling) -> tuple[PunchDie | None, ...]:
    """The pairs bent as far as each lets it go, or a little less far where the model finds no state there."""
    rooms = [_room_deg(pair, tooling) for pair in pairs]
    first = form(pairs, wish, stock, target="loaded", targets=rooms)
    lost = [index for index, made in enumerate(first) if made is None]
    less_deg = [min(rooms[i], SECOND_TRY_DEG) for i in lost]
    again = form([pairs[i] for i in lost], wish, stock, target="loaded", targets=less_deg)
    second = dict(zip(lost, again, strict=True))
    return tuple(second.get(index, made) for index, made in enumerate(first))


def _room_deg(pair: Pair, tooling: Tooling) -> float:
    """The most loaded turn for a pre-bend in a pair: what die wall and punch flank leave, 150 at most."""
    room = BEST_PRE_BEND_DEG
    if pair.die is not None:
        room = min(room, die_room_deg(pair.die.vee.included_deg, tooling.overbend_margin_deg))
    return min(room, 180 - pair.punch.nose.included_deg) if pair.punch is not None else room


def _judged(pair: Pair, made: PunchDie | None, wish: BendWish, stock: Stock, *, tooling: Tooling) -> PunchDie:
    if made is None:
        none = refuse_for_now("no-solution", wish.where, finished_deg=0.0)
        return PunchDie(pair, "hem", findings=(none,), cost=NO_ANSWER_COST)
    hem = _as_hem(made, wish, stock)
    against = (*_open(hem, wish), *leg_findings(hem, wish), *_hem_radius(wish, stock))
    told = replace(hem, findings=(*against, *_set_up(hem, wish, tooling), *named(pair)))
    return replace(told, cost=cost_of(told, replace(wish, radius_mm=None), stock))


def _as_hem(made: PunchDie, wish: BendWish, stock: Stock) -> PunchDie:
    """The pre-bend as the first hit: the fold makes the blank, the leg reaches the shoulder from the zone's middle."""
    taken = bend_allowance(
        wish.gap_mm / 2, stock.thickness_mm, turn_deg=FULL_FOLD_DEG, k_factor=wish.k_factor or HEM_K_FACTOR
    )
    contact_mm = made.air.contact_length_mm if made.air is not None else 0.0
    return replace(
        made,
        kind="hem",
        formed_radius_mm=wish.gap_mm / 2,
        least_leg_mm=least_leg_mm(contact_mm, taken.deduction_mm),
        hard_leg_mm=least_leg_mm(contact_mm, taken.deduction_mm, margin=1.0),
    )


def _open(made: PunchDie, wish: BendWish) -> Iterator[Finding]:
    turn_deg, least_deg = made.turn_deg or 0.0, LEAST_PRE_BEND_DEG
    if turn_deg < least_deg - 1e-9:
        told = {"included_deg": 180 - turn_deg, "most_deg": 180 - least_deg}
        yield refuse_for_now("pre-bend-too-open", wish.where, **told)


def _hem_radius(wish: BendWish, stock: Stock) -> Iterator[Finding]:
    material, t, radius_mm = stock.material, stock.thickness_mm, wish.gap_mm / 2
    least_mm = table_radius_mm(material.least_radius, t, grain=stock.grain, turn_deg=FULL_FOLD_DEG)
    if least_mm is not None and least_mm > max(radius_mm, t, HEM_LEAST_MM):
        told: dict[str, Value] = {"radius_mm": radius_mm, "least_mm": least_mm, "material": material.name}
        yield caution("hem-under-least", wish.where, **told)


def offset_offers(wish: BendWish, stock: Stock, *, tooling: Tooling) -> tuple[PunchDie, ...]:
    """Every offset pair, the one with the step wanted first, the others refused with their own step."""
    offers = [_judged_offset(punch, die, wish, stock, tooling=tooling) for punch, die in _offset_pairs(tooling)]
    return best_first(above_the_best((made for made in offers if is_pinned(made, wish)), offers))


def _offset_pairs(tooling: Tooling) -> list[tuple[Punch, Die]]:
    tools = itertools.product(tooling.punches, tooling.dies)
    alike = [(punch, die) for punch, die in tools if punch.kind == die.kind == "offset"]
    return [(punch, die) for punch, die in alike if _step(punch) == _step(die)]


def _step(tool: Punch | Die) -> tuple[float | None, float | None]:
    return tool.offset_mm, tool.offset_turn_deg


def _judged_offset(punch: Punch, die: Die, wish: BendWish, stock: Stock, *, tooling: Tooling) -> PunchDie:
    t, step_mm, pair = stock.thickness_mm, die.offset_mm or 0.0, Pair(punch, die, "offset")
    force = OFFSET_FORCE_FACTOR * usual_force_kn_per_m(stock.material.tensile_mpa, t)
    made = PunchDie(
        tools=pair,
        kind="offset",
        turn_deg=die.offset_turn_deg,
        depth_mm=step_mm - t,
        limit_force_kn_per_m=force,
        force_from="offset-factor",
        cost=abs(step_mm - (wish.offset_mm or 0.0)),
    )
    against = (*_other_step(die, wish), *_too_thick(die, wish, stock))
    return replace(made, findings=(*against, *_set_up(made, wish, tooling), *named(pair)))


def _other_step(die: Die, wish: BendWish) -> Iterator[Finding]:
    wanted_mm, step_mm, turn_deg = wish.offset_mm or 0.0, die.offset_mm or 0.0, die.offset_turn_deg or 0.0
    if abs(step_mm - wanted_mm) > SAME_STEP_MM or abs(turn_deg - wish.turn_deg) > SAME_TURN_DEG:
        told = {"wanted_mm": wanted_mm, "step_mm": step_mm, "wanted_deg": wish.turn_deg, "turn_deg": turn_deg}
        yield refuse("offset-of-another-step", wish.where, **told)


def _too_thick(die: Die, wish: BendWish, stock: Stock) -> Iterator[Finding]:
    thickness_mm, most_mm = stock.thickness_mm, die.most_thickness_mm or 0.0
    if thickness_mm > most_mm + 1e-9:
        yield refuse("offset-too-thick", wish.where, thickness_mm=thickness_mm, most_mm=most_mm)


def offer(wish: BendWish, stock: Stock, *, tooling: Tooling) -> tuple[PunchDie, ...]:
    """All pairs for a bend, judged: usable ones first, best first, then the refused ones, each with its refusal.

    A pinned punch or die leaves only the pairs with it. Empty where the shop holds no tool of the kind, or the pinned
    one is of another kind: `nothing_offered` is then the finding.
    """
    plain, shortest_mm = (
        replace(wish, **_OF_NO_TOOL),
        min((leg for leg in wish.legs_mm if leg is not None), default=None),
    )
    if wish.kind == "bend" and shortest_mm is not None:
        alone = replace(plain, legs_mm=(None, None), length_mm=None)
        longest_mm = _longest_least_mm(alone, stock, replace(tooling, machine=None))
        shortest_mm = shortest_mm if shortest_mm < longest_mm else None
    plain = replace(plain, number=wish.number, legs_mm=(shortest_mm, None))
    return _offered_there(plain, stock, tooling)


@lru_cache(maxsize=MOST_OFFERED)
def _offered_there(wish: BendWish, stock: Stock, tooling: Tooling) -> tuple[PunchDie, ...]:
    """The offers for any bend of that number that asks for the same: those for none where its length is no matter."""
    is_free = wish.kind == "bend" and wish.length_mm is not None and wish.legs_mm == (None, None)
    if is_free and _no_such_length_matters(replace(wish, number=0), stock, tooling):
        wish = replace(wish, length_mm=None)
    return _told_there(wish, stock, tooling)


def _no_such_length_matters(wish: BendWish, stock: Stock, tooling: Tooling) -> bool:
    """Whether nothing is said of a bend's length of any pair.

    Asked first of a longer one, alike for many: what is said of force, bed and segments is said of longer bends too.
    """
    if any(width_findings(wish, stock.thickness_mm)):
        return False
    longer = (mm for mm in LENGTHS_MM if mm >= (wish.length_mm or 0.0))
    asked = (*itertools.islice(longer, 1), wish.length_mm)
    return any(_no_length_matters(replace(wish, length_mm=mm), stock, tooling) for mm in asked)


@lru_cache(maxsize=MOST_TOLD)
def _no_length_matters(wish: BendWish, stock: Stock, tooling: Tooling) -> bool:
    every = _judged_alone(replace(wish, length_mm=None), stock, tooling)
    return no_length_matters(every, wish, stock, tooling=tooling)


@lru_cache(maxsize=MOST_TOLD)
def _told_there(wish: BendWish, stock: Stock, tooling: Tooling) -> tuple[PunchDie, ...]:
    """The offers for any bend of that number that asks for the same, each finding told of it."""
    offers = _offered(replace(wish, number=0), stock, tooling)
    where = wish.where
    return offers if where is None else tuple(made.at(where) for made in offers)


@lru_cache(maxsize=MOST_OFFERED)
def _offered(wish: BendWish, stock: Stock, tooling: Tooling) -> tuple[PunchDie, ...]:
    """The offers for any bend that asks for the same: of the legs beside it the shorter is judged, if short for any."""
    if wish.kind == "hem":
        return hem_offers(wish, stock, tooling=tooling)
    if wish.kind == "offset":
        return offset_offers(wish, stock, tooling=tooling)
    judged = _with_legs(_judged_alone(replace(wish, legs_mm=(None, None)), stock, tooling), wish, stock, tooling)
    pinned = above_the_best((made for made in judged if is_pinned(made, wish)), judged)
    return with_remedies(pinned, judged)


@lru_cache(maxsize=MOST_TOLD)
def _judged_alone(wish: BendWish, stock: Stock, tooling: Tooling) -> tuple[PunchDie, ...]:
    """The pairs judged for a bend whose legs are long enough for all of them: the same for many parts."""
    formed = _formed(replace(wish, length_mm=None), stock, replace(tooling, machine=None))
    return judge(formed, wish, stock, tooling=tooling)


@lru_cache(maxsize=MOST_OFFERED)
def _formed(wish: BendWish, stock: Stock, tooling: Tooling) -> tuple[PunchDie, ...]:
    return formed_alike(vee_pairs(tooling, wish, stock), wish, stock, tooling=tooling)


@lru_cache(maxsize=MOST_OFFERED)
def _longest_least_mm(wish: BendWish, stock: Stock, tooling: Tooling) -> float:
    """The leg with which nothing is said of legs with any pair: what `leg_findings` tells is of shorter ones."""
    formed = _formed(wish, stock, tooling)
    return max((least for made in formed for least in (made.least_leg_mm, made.hard_leg_mm) if least), default=0.0)


def _with_legs(alone: tuple[PunchDie, ...], wish: BendWish, stock: Stock, tooling: Tooling) -> tuple[PunchDie, ...]:
    """The same with those judged anew for which a leg is short."""
    if all(leg is None for leg in wish.legs_mm) or not any(any(leg_findings(made, wish)) for made in alone):
        return alone
    return best_first(
        judged(made.tools, made, wish, stock, tooling=tooling) if any(leg_findings(made, wish)) else made
        for made in alone
    )


def usable(offers: Iterable[PunchDie]) -> tuple[PunchDie, ...]:
    """The offers nothing forbids, best first."""
    return tuple(made for made in offers if not made.refused)


def nothing_offered(wish: BendWish) -> Finding:
    """The refusal where the shop holds no tools for the kind of bend at all."""
    return refuse(f"no-tools-for-{wish.kind}", wish.where)


def at_depth(pair: Pair, depth_mm: float, wish: BendWish, stock: Stock, *, tooling: Tooling) -> PunchDie:
    """The pair driven to a depth: the turn is what comes out, and is judged as if it had been wished for."""
    (made,) = form([pair], wish, stock, target="depth", targets=[depth_mm])
    if made is None or made.turn_deg is None:
        return PunchDie(pair, "bend", findings=(refuse("no-solution-at-depth", wish.where, depth_mm=depth_mm),))
    offered = judged(pair, made, replace(wish, turn_deg=made.turn_deg), stock, tooling=tooling)
    return with_remedies([offered], [])[0]
