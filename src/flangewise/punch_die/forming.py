"""What pairs make of the sheet, the process model run for a whole list at once, and how far the angle will scatter."""

from collections.abc import Sequence
from dataclasses import replace

from flangewise.bend import (
    NOTHING_LEARNED,
    AirBend,
    BendSetup,
    DrawnSpread,
    Learned,
    NoBend,
    Spread,
    Spreads,
    Swift,
    Target,
    air_bends,
    bend_allowance,
    drawn_spread as spread_by_draws,
    expected_spread as spread_of_bend,
    least_leg_mm,
    limit_force_kn_per_m,
    swift_from_certificate,
)
from flangewise.punch_die.pair import BendWish, Model, Pair, PunchDie, Stock

MODEL = "model"
# What the model is still off where measured bends have corrected it, 1 s.d. (judgement); 0.8 where none have.
LEARNED_MODEL_DEG = 0.3


def form(
    pairs: Sequence[Pair],
    wish: BendWish,
    stock: Stock,
    *,
    target: Target = "finished",
    targets: Sequence[float] | None = None,
) -> tuple[PunchDie | None, ...]:
    """Each pair with what it makes of its own turn or depth, or else of the wish's turn; None where no state is found.

    `targets` are as those of `bend.air_bends`; at a depth the finished turn is what comes out.
    """
    friction = stock.friction if stock.friction is not None else stock.material.friction
    setups = [
        BendSetup(
            stock.thickness_mm,
            pair.opening_mm or 0.0,
            pair.shoulder_radius_mm or 0.0,
            pair.nose_radius_mm or 0.0,
            friction,
        )
        for pair in pairs
    ]
    swift, learned = swift_of(stock), Learned(stock.depth_offset_mm, stock.springback_log)
    wanted = [wish.turn_deg] * len(pairs) if targets is None else targets
    bends = air_bends(setups, swift, wanted, target=target, learned=learned)
    made = zip(pairs, bends, setups, strict=True)
    return tuple(_made(pair, air, Model(setup, swift, learned), wish, stock) for pair, air, setup in made)


def swift_of(stock: Stock) -> Swift:
    """The hardening curve of the material's planning or certificate values."""
    material = stock.material
    return swift_from_certificate(
        material.yield_mpa,
        material.tensile_mpa,
        uniform_elongation=material.uniform_elongation,
        modulus_mpa=material.modulus_mpa,
        poisson=material.poisson,
    )


def _made(pair: Pair, air: AirBend | NoBend, model: Model, wish: BendWish, stock: Stock) -> PunchDie | None:
    if isinstance(air, NoBend):
        return None
    material = stock.material
    # The model's peak, for austenitic stainless not below the rule.
    limit, force_from = limit_force_kn_per_m(
        air.peak_kn_per_m,
        MODEL,
        tensile_mpa=material.tensile_mpa,
        thickness_mm=stock.thickness_mm,
        opening_mm=pair.opening_mm or 0.0,
        austenitic=material.austenitic,
    )
    taken = bend_allowance(
        air.formed_radius_mm, stock.thickness_mm, turn_deg=air.turn_deg, rule=wish.rule, k_factor=wish.k_factor
    )
    return PunchDie(
        tools=pair,
        kind="bend",
        air=air,
        model=model,
        turn_deg=air.turn_deg,
        formed_radius_mm=air.formed_radius_mm,
        loaded_turn_deg=air.loaded_turn_deg,
        depth_mm=air.depth_mm,
        deg_per_mm=air.deg_per_mm,
        limit_force_kn_per_m=limit,
        force_from=force_from,
        least_leg_mm=least_leg_mm(air.contact_length_mm, taken.deduction_mm),
        hard_leg_mm=least_leg_mm(air.contact_length_mm, taken.deduction_mm, margin=1.0),
    )


def expected_spread(made: PunchDie, *, tolerance_mm: float | None, depth_repeat_mm: float) -> Spread | None:
    """The scatter of an air bend's angle; None for hems and offsets.

    `tolerance_mm` is the half width within which the sheet's thickness is delivered, None where no standard's table
    reaches: the scatter then cannot be computed. `depth_repeat_mm` is the machine's own, 1 s.d.
    """
    if made.air is None or made.model is None or tolerance_mm is None:
        return None
    spreads = _spreads(made, tolerance_mm, depth_repeat_mm)
    return spread_of_bend(made.model.setup, made.model.swift, made.air, spreads)


def drawn_spread(
    made: PunchDie, *, tolerance_mm: float | None, depth_repeat_mm: float, draws: int
) -> DrawnSpread | None:
    """The same by Monte Carlo, as a check, less the model's own error; None also where the bend has no answer."""
    if made.air is None or made.model is None or tolerance_mm is None:
        return None
    spreads = _spreads(made, tolerance_mm, depth_repeat_mm)
    model = made.model
    return spread_by_draws(model.setup, model.swift, made.air.turn_deg, spreads=spreads, draws=draws)


def _spreads(made: PunchDie, tolerance_mm: float, depth_repeat_mm: float) -> Spreads:
    spreads = Spreads(thickness_tolerance_mm=tolerance_mm, depth_mm=depth_repeat_mm)
    is_learned = made.model is not None and made.model.learned != NOTHING_LEARNED
    return replace(spreads, model_deg=LEARNED_MODEL_DEG) if is_learned else spreads
