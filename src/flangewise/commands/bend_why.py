"""Each number of a bend with its formula, what went into it, and who says so."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from flangewise.bend import (
    RULES,
    HandBend,
    Swift,
    hand_bend,
    opening_factor,
    usual_opening_mm,
)
from flangewise.commands.bend_answer import Answer
from flangewise.punch_die import PunchDie
from flangewise.units import trimmed, written

MODEL = (
    "process model: elastica with the sheet's own moment curve and complementary energy; derivation in flangewise.bend"
)
GEOMETRY = "straight flanges on an arc; geometry"
# What is told of an allowance that comes from no rule.
NO_RULE = {
    "k-factor": ("pi/180 turn (r + K t)", "the K factor given"),
    "measured": ("2 leg setbacks - measured deduction", "the shop's measured bends"),
}
FORCES = {
    "model": ("highest force over the stroke", MODEL),
    "1.43-austenitic": (
        "1.43 Rm t²/V",
        "a tool maker's metric force chart for austenitic stainless, which stands above the model",
    ),
}


HAND_FORCES = {"1+4t/V": "(1 + 4t/V) Rm t²/V", "1.43-austenitic": "1.43 Rm t²/V, above (1 + 4t/V) Rm t²/V here"}


@dataclass(frozen=True)
class Why:
    """One number: its key, its value with unit, the formula, the inputs as text, and the source."""

    key: str
    value: str
    formula: str
    inputs: str
    source: str

    def record(self) -> dict[str, str]:
        """The entry for a script."""
        return {
            "key": self.key,
            "value": self.value,
            "formula": self.formula,
            "inputs": self.inputs,
            "source": self.source,
        }


def why_text(result: Answer, *, units: str) -> str:
    """All entries as text, four lines each."""
    blocks = []
    for entry in whys(result, units=units):
        blocks.append(
            f"{entry.key} = {entry.value}\n  = {entry.formula}\n  from {entry.inputs}\n  after {entry.source}"
        )
    return "\n".join(["", *blocks])


def whys(result: Answer, *, units: str = "mm") -> tuple[Why, ...]:
    """The entries of an answer, in the order of its keys; what could not be computed has none."""
    return (
        *_angles(result),
        *_blank(result, units),
        *_tools(result, units),
        *_scatter(result),
        *_by_hand(result, units),
    )


def _angles(result: Answer) -> Iterator[Why]:
    turn = result.turn_deg
    if turn is not None:
        value, inputs = written("x_deg", 180 - turn), f"turn {written('x_deg', turn)}"
        yield Why("included_deg", value, "180 - turn", inputs, "definition")


def _blank(result: Answer, units: str) -> Iterator[Why]:
    taken, radius_mm, turn = result.allowance, result.inside_radius_mm, result.turn_deg
    if taken is None or radius_mm is None or turn is None:
        return
    thickness_mm = result.asked.stock.thickness_mm
    inputs = f"r {_length(radius_mm, units)}, t {_length(thickness_mm, units)}, turn {written('x_deg', turn)}"
    rule = RULES.get(taken.rule)
    formula, source = NO_RULE[taken.rule] if rule is None else (rule.formula, rule.source)
    yield Why("allowance_mm", _length(taken.allowance_mm, units), formula, inputs, source)
    k_inputs = f"allowance {_length(taken.allowance_mm, units)}, {inputs}"
    yield Why("k_factor", trimmed(taken.k_factor, 4), "(allowance/turn in radians - r)/t", k_inputs, source)
    if taken.setback_mm is not None:
        setback = _length(taken.setback_mm, units)
        yield Why("setback_mm", setback, "(r + t) tan(turn/2)", inputs, "FAA-H-8083-31, chapter 4; geometry")
    leg = "(r + t) tan(turn/2) up to 90 degrees, r + t above"
    deducted = (
        f"setback of a leg {_length(taken.leg_setback_mm, units)}, allowance {_length(taken.allowance_mm, units)}"
    )
    yield Why(
        "deduction_mm",
        _length(taken.deduction_mm, units),
        f"2 x setback of a leg - allowance; setback of a leg {leg}",
        deducted,
        "DIN 6935 (legs to the outer tangents below 90 included)",
    )


def _tools(result: Answer, units: str) -> Iterator[Why]:
    made = result.made
    if made is None:
        return
    yield from _choice(result, made, units)
    if made.air is None or made.model is None:
        return
    inputs = _model_inputs(made, made.model.swift, units)
    for key, value, formula in _model_rows(made, units):
        yield Why(key, value, formula, inputs, MODEL)
    yield from _forces(result, made, units)
    if made.least_leg_mm is not None and made.contact_mm is not None:
        half_mm = (made.hard_leg_mm or 0.0) - made.contact_mm
        leg_inputs = f"contact length {_length(made.contact_mm, units)}, half the deduction {_length(half_mm, units)}"
        formula = "1.1 x (sheet from the bend's middle to the shoulder + half the deduction)"
        source = "contact length by the process model, the tenth in hand is common practice"
        yield Why("min_leg_mm", _length(made.least_leg_mm, units), formula, leg_inputs, source)


def _choice(result: Answer, made: PunchDie, units: str) -> Iterator[Why]:
    if made.die is None or made.opening_mm is None:
        return
    thickness_mm = result.asked.stock.thickness_mm
    usual = f"{trimmed(opening_factor(thickness_mm), 0)} t = {_length(usual_opening_mm(thickness_mm), units)}"
    wanted_mm = result.asked.wish.radius_mm
    moved = "" if wanted_mm is None else f", moved by the radius wanted, {_length(wanted_mm, units)}"
    yield Why(
        "die",
        made.die.name,
        "the usual opening 6/8/10/12 t, moved by radius, angle, legs and loads",
        f"t {_length(thickness_mm, units)}, usual {usual}{moved}",
        "common practice",
    )
    shape = f"outline of {made.die.name}, shoulder {_length(made.shoulder_radius_mm or 0.0, units)}"
    formula = "distance of the points where the shoulder arcs meet the flat top"
    yield Why("die_opening_mm", _length(made.opening_mm, units), formula, shape, made.die.source)


def _model_inputs(made: PunchDie, swift: Swift, units: str) -> str:
    sizes = (
        f"V {_length(made.opening_mm or 0.0, units)}, shoulder {_length(made.shoulder_radius_mm or 0.0, units)}, "
        f"nose {_length(made.nose_radius_mm or 0.0, units)}"
    )
    metal = f"Swift K {swift.strength_mpa:.1f} N/mm², e0 {swift.prestrain:.5f}, n {swift.exponent:.4f}"
    friction = f", friction {made.model.setup.friction:g}" if made.model is not None else ""
    return f"{sizes}, {metal}, E {swift.modulus_mpa:g} N/mm²{friction}"


def _model_rows(made: PunchDie, units: str) -> Iterator[tuple[str, str, str]]:
    formed = "radius after release of the arc that, with straight flanges, puts the flange where it lies"
    yield "formed_radius_mm", _length(made.formed_radius_mm or 0.0, units), formed
    yield "loaded_turn_deg", written("x_deg", made.loaded_turn_deg or 0.0), "finished turn + springback"
    released = "elastic unbending of the moment along the sheet, M/(E'I) integrated"
    yield "springback_deg", written("x_deg", made.springback_deg or 0.0), released
    yield "depth_mm", _length(made.depth_mm or 0.0, units), "nose below the die's top where that turn is reached"
    rate = "change of the finished turn for a change of depth"
    yield "deg_per_mm", written("x_deg_per_mm", made.deg_per_mm or 0.0), rate
    yield "force_kn_per_m", written("x_kn_per_m", made.force_kn_per_m or 0.0), "highest force over the stroke"
    yield (
        "end_force_kn_per_m",
        written("x_kn_per_m", made.end_force_kn_per_m or 0.0),
        "2 R cos(half turn - friction angle)",
    )


def _forces(result: Answer, made: PunchDie, units: str) -> Iterator[Why]:
    stock, limit = result.asked.stock, made.limit_force_kn_per_m
    if limit is None or made.force_from is None:
        return
    formula, source = FORCES.get(made.force_from, (made.force_from, made.force_from))
    inputs = (
        f"Rm {stock.material.tensile_mpa:g} N/mm², t {_length(stock.thickness_mm, units)}, "
        f"V {_length(made.opening_mm or 0.0, units)}; {stock.material.source}"
    )
    yield Why("limit_force_kn_per_m", written("x_kn_per_m", limit), formula, inputs, source)
    length_mm = result.asked.wish.length_mm
    if made.force_kn is not None and length_mm is not None:
        product = f"{written('x_kn_per_m', limit)}, {_length(length_mm, units)}"
        yield Why("force_kn", written("x_kn", made.force_kn), "limit force x length", product, "definition")


def _scatter(result: Answer) -> Iterator[Why]:
    spread = result.spread
    if spread is None:
        return
    causes = ", ".join(f"{cause} {trimmed(sd, 2)}°" for cause, sd in spread.by_cause_deg)
    formula = "1.96 x root of the sum of (sensitivity x spread)² at a fixed depth"
    source = (
        "first order; the spreads are judgement (thickness tolerance/3, strength 5 %), to be replaced by a shop's own"
    )
    yield Why(
        "spread_deg", f"± {written('x_deg', spread.first_piece_deg)}", formula, f"s.d. by cause: {causes}", source
    )


def _by_hand(result: Answer, units: str) -> Iterator[Why]:
    """The same bend by the formulas of books, as a check on the model."""
    hand = _hand(result)
    if hand is None:
        return
    inputs = "the same sheet and tools; good near 90 degrees, up to 3 degrees of turn off elsewhere"
    source = "hand formulas, a check and nothing more"
    force = written("x_kn_per_m", hand.force_kn_per_m)
    yield Why("by hand: force", force, HAND_FORCES[hand.force_from], inputs, source)
    springback = written("x_deg", hand.springback_deg)
    yield Why(
        "by hand: springback", springback, "146 Rm/E' V/t (133 austenitic) x (0.65 + 0.35 turn/90)", inputs, source
    )
    depth = _length(hand.depth_mm, units)
    yield Why("by hand: depth", depth, "V/2 tan a - (r + rd)(sec a - 1) - t sec a", inputs, GEOMETRY)


def _hand(result: Answer) -> HandBend | None:
    made, stock, turn = result.made, result.asked.stock, result.turn_deg
    if made is None or made.model is None or turn is None or made.opening_mm is None:
        return None
    material = stock.material
    try:
        return hand_bend(
            turn,
            thickness_mm=stock.thickness_mm,
            opening_mm=made.opening_mm,
            shoulder_radius_mm=made.shoulder_radius_mm or 0.0,
            nose_radius_mm=made.nose_radius_mm or 0.0,
            tensile_mpa=material.tensile_mpa,
            modulus_mpa=material.modulus_mpa,
            poisson=material.poisson,
            exponent=made.model.swift.exponent,
            austenitic=material.austenitic,
        )
    except ValueError:
        return None


def _length(length_mm: float, units: str) -> str:
    return written("x_mm", length_mm, units)
