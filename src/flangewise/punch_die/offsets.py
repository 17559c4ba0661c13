"""Tools for an offset: the pair whose step and turn are the ones wanted. Its force is a factor on an air bend's.

No angle is predicted for an offset: the pair gives its own.
"""

from __future__ import annotations

from dataclasses import replace

from flangewise.bend import factored_force_kn_per_m, usual_force_kn_per_m
from flangewise.findings import Finding, refuse
from flangewise.punch_die.judge import is_pinned, named
from flangewise.punch_die.loads import load_findings
from flangewise.punch_die.pair import Pair, PunchDie
from flangewise.punch_die.rank import above_the_best, best_first
from flangewise.punch_die.wish import BendWish, Stock, Tooling
from flangewise.shop import Die, Punch

SAME_STEP_MM = 0.1
"""A step this near the one wanted is that step: ISO 2768-1 m allows 0.1 mm up to 6 mm."""
SAME_TURN_DEG = 0.5


def offset_offers(wish: BendWish, stock: Stock, *, tooling: Tooling) -> tuple[PunchDie, ...]:
    """Every offset pair, the one with the step wanted first, the others refused with their own step."""
    offers = [_judged(punch, die, wish, stock, tooling=tooling) for punch, die in _pairs(tooling)]
    return best_first(above_the_best((made for made in offers if is_pinned(made, wish)), offers))


def _pairs(tooling: Tooling) -> list[tuple[Punch, Die]]:
    punches = [punch for punch in tooling.punches if punch.kind == "offset"]
    dies = [die for die in tooling.dies if die.kind == "offset"]
    return [(punch, die) for punch in punches for die in dies if _step(punch) == _step(die)]


def _step(tool: Punch | Die) -> tuple[float | None, float | None]:
    return tool.offset_mm, tool.offset_turn_deg


def _judged(punch: Punch, die: Die, wish: BendWish, stock: Stock, *, tooling: Tooling) -> PunchDie:
    pair = Pair(punch, die, "offset")
    step_mm = die.offset_mm or 0.0
    made = _formed(pair, step_mm, wish, stock)
    findings = (
        *_other_step(die, wish),
        *_too_thick(die, wish, stock),
        *load_findings(made, wish, tooling=tooling),
        *named(pair),
    )
    return replace(made, findings=findings, cost=abs(step_mm - (wish.offset_mm or 0.0)))


def _formed(pair: Pair, step_mm: float, wish: BendWish, stock: Stock) -> PunchDie:
    t, tensile = stock.thickness_mm, stock.material.tensile_mpa
    force = factored_force_kn_per_m("offset", usual_force_kn_per_m(tensile, t))
    return PunchDie(
        tools=pair,
        kind="offset",
        turn_deg=pair.die.offset_turn_deg if pair.die is not None else None,
        depth_mm=step_mm - t,
        limit_force_kn_per_m=force,
        force_from="offset-factor",
        force_kn=None if wish.length_mm is None else force * wish.length_mm / 1000,
    )


def _other_step(die: Die, wish: BendWish) -> list[Finding]:
    wanted_mm, step_mm = wish.offset_mm or 0.0, die.offset_mm or 0.0
    turn_deg = die.offset_turn_deg or 0.0
    if abs(step_mm - wanted_mm) <= SAME_STEP_MM and abs(turn_deg - wish.turn_deg) <= SAME_TURN_DEG:
        return []
    values = {"wanted_mm": wanted_mm, "step_mm": step_mm, "wanted_deg": wish.turn_deg, "turn_deg": turn_deg}
    return [refuse("offset-of-another-step", wish.where, **values)]


def _too_thick(die: Die, wish: BendWish, stock: Stock) -> list[Finding]:
    most_mm = die.most_thickness_mm or 0.0
    if stock.thickness_mm <= most_mm + 1e-9:
        return []
    return [refuse("offset-too-thick", wish.where, thickness_mm=stock.thickness_mm, most_mm=most_mm)]
