"""Offers punches and dies for a bend: every pair of the shop judged, best first, the refused ones with their reason."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from flangewise.findings import Finding, refuse
from flangewise.punch_die.forming import form_at_depth
from flangewise.punch_die.judge import above_the_best, is_pinned, judge, judged, vee_pairs, with_remedies
from flangewise.punch_die.pair import BendWish, Pair, PunchDie, Stock, Tooling
from flangewise.punch_die.special import hem_offers, offset_offers


def offer(wish: BendWish, stock: Stock, *, tooling: Tooling) -> tuple[PunchDie, ...]:
    """All pairs for a bend, judged: usable ones first, best first, then the refused ones, each with its refusal.

    A pinned punch or die leaves only the pairs with it. Empty where the shop holds no tool of the kind, or the pinned
    one is of another kind: `nothing_offered` is then the finding.
    """
    if wish.kind == "hem":
        return hem_offers(wish, stock, tooling=tooling)
    if wish.kind == "offset":
        return offset_offers(wish, stock, tooling=tooling)
    pairs = vee_pairs(tooling, wish, stock)
    judged = judge(pairs, wish, stock, tooling=tooling)
    pinned = above_the_best((made for made in judged if is_pinned(made, wish)), judged)
    return with_remedies(pinned, judged)


def usable(offers: Iterable[PunchDie]) -> tuple[PunchDie, ...]:
    """The offers nothing forbids, best first."""
    return tuple(made for made in offers if not made.refused)


def nothing_offered(wish: BendWish) -> Finding:
    """The refusal where the shop holds no tools for the kind of bend at all."""
    return refuse(f"no-tools-for-{wish.kind}", wish.where)


def at_depth(pair: Pair, depth_mm: float, wish: BendWish, stock: Stock, *, tooling: Tooling) -> PunchDie:
    """The pair driven to a depth: the turn is what comes out, and is judged as if it had been wished for."""
    made = form_at_depth(pair, depth_mm, wish, stock)
    if made is None or made.turn_deg is None:
        return PunchDie(pair, "bend", findings=(refuse("no-solution-at-depth", wish.where, depth_mm=depth_mm),))
    offered = judged(pair, made, replace(wish, turn_deg=made.turn_deg), stock, tooling=tooling)
    return with_remedies([offered], [])[0]
