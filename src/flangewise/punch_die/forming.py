"""What a pair makes of the sheet: the process model run for a whole list of pairs at once."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from flangewise.bend import bend_allowance, hand_bend, least_leg_mm
from flangewise.punch_die.pair import Pair, PunchDie
from flangewise.punch_die.wish import BendWish, Stock


@dataclass(frozen=True)
class Formed:
    air: None
    loaded_turn_deg: float
    springback_deg: float
    depth_mm: float
    deg_per_mm: float
    radius_mm: float
    contact_mm: float
    force: float
    end: float
    limit: float
    source: str
    turn_deg: float


def form(pairs: Sequence[Pair], wish: BendWish, stock: Stock) -> tuple[PunchDie | None, ...]:
    """Each pair with what it makes of the wish; None where the model finds no state."""
    return tuple(_made(pair, _hand(pair, wish, stock), wish, stock) for pair in pairs)


def form_loaded(
    pairs: Sequence[Pair], loaded_deg: Sequence[float], wish: BendWish, stock: Stock
) -> tuple[PunchDie | None, ...]:
    return tuple(
        form([pair], replace(wish, turn_deg=deg - 3), stock)[0] for pair, deg in zip(pairs, loaded_deg, strict=True)
    )


def form_at_depth(pair: Pair, depth_mm: float, wish: BendWish, stock: Stock) -> PunchDie | None:
    return form([pair], wish, stock)[0]


def _hand(pair: Pair, wish: BendWish, stock: Stock) -> Formed | None:
    m = stock.material
    n = math.log(1 + m.uniform_elongation)
    try:
        h = hand_bend(
            wish.turn_deg,
            thickness_mm=stock.thickness_mm,
            opening_mm=pair.opening_mm or 0,
            shoulder_radius_mm=pair.shoulder_radius_mm or 0,
            nose_radius_mm=pair.nose_radius_mm or 0,
            tensile_mpa=m.tensile_mpa,
            modulus_mpa=m.modulus_mpa,
            poisson=m.poisson,
            exponent=n,
            austenitic=m.austenitic,
        )
    except ValueError:
        return None
    return Formed(
        None,
        h.loaded_turn_deg,
        h.springback_deg,
        h.depth_mm,
        h.deg_per_mm,
        h.inside_radius_mm,
        h.contact_length_mm,
        h.force_kn_per_m,
        h.force_kn_per_m,
        h.force_kn_per_m,
        h.force_from,
        wish.turn_deg,
    )


def _made(pair: Pair, formed: Formed | None, wish: BendWish, stock: Stock) -> PunchDie | None:
    if formed is None:
        return None
    taken = bend_allowance(
        formed.radius_mm, stock.thickness_mm, turn_deg=formed.turn_deg, rule=wish.rule, k_factor=wish.k_factor
    )
    length_mm = wish.length_mm
    return PunchDie(
        pair=pair,
        kind="bend",
        air=formed.air,
        turn_deg=formed.turn_deg,
        formed_radius_mm=formed.radius_mm,
        loaded_turn_deg=formed.loaded_turn_deg,
        springback_deg=formed.springback_deg,
        depth_mm=formed.depth_mm,
        deg_per_mm=formed.deg_per_mm,
        contact_mm=formed.contact_mm,
        wrapped=formed.radius_mm <= (pair.nose_radius_mm or 0.0),
        force_kn_per_m=formed.force,
        end_force_kn_per_m=formed.end,
        limit_force_kn_per_m=formed.limit,
        force_from=formed.source,
        force_kn=None if length_mm is None else formed.limit * length_mm / 1000,
        least_leg_mm=least_leg_mm(formed.contact_mm, taken.deduction_mm),
        hard_leg_mm=least_leg_mm(formed.contact_mm, taken.deduction_mm, margin=1.0),
    )
