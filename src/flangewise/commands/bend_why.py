"""Each number of a bend with its formula, what went into it, and who says so, as the rooms declare them."""

from collections.abc import Iterator, Mapping
from typing import Any

from flangewise import bend
from flangewise.commands.columns import folded
from flangewise.commands.output import sentence
from flangewise.punch_die import Answer
from flangewise.units import trimmed
from flangewise.words import look_up

_INCLUDED = bend.Formula("included_deg", "180 - turn", "turn {turn_deg}", "definition")
_MODEL_FORCE = ("highest force over the stroke", bend.MODEL_SOURCE)


def why_text(result: Answer, *, units: str) -> str:
    """All entries as text, four lines each."""
    lines = [
        "\n".join(
            folded(each[told], before=before)
            for told, before in (
                ("value", f"{each['key']} = "),
                ("formula", "  = "),
                ("inputs", "  from "),
                ("source", "  after "),
            )
        )
        for each in whys(result, units=units)
    ]
    return "\n".join(["", *lines])


def whys(result: Answer, *, units: str = "mm") -> tuple[dict[str, str], ...]:
    """The entries of an answer; what could not be computed, or lacks an input, has none."""
    hand = _by_hand(result)
    values = _values(result, hand, units)
    return tuple(
        {
            "key": told.key,
            "value": sentence(told.value or f"{{{told.key}}}", values, units),
            "formula": told.formula,
            "inputs": sentence(told.inputs, values, units),
            "source": sentence(told.source, values, units),
        }
        for told in _formulas(result, hand)
        if told.value or look_up(values, told.key) is not None
    )


def _formulas(result: Answer, hand: bend.HandBend | None) -> Iterator[bend.Formula]:
    """What is told, in the order of the answer."""
    made, taken = result.made, result.allowance
    yield _INCLUDED
    yield from bend.allowance_formulas(taken.rule) if taken is not None else ()
    if made is not None and made.tools.die is not None and made.tools.opening_mm is not None:
        yield from bend.OPENING_FORMULAS
    if made is not None and made.air is not None and made.model is not None:
        yield from bend.MODEL_FORMULAS
        yield from bend.force_formulas(made.force_from, _MODEL_FORCE) if made.force_from is not None else ()
        yield bend.LEAST_LEG_FORMULA
    yield from (bend.SPREAD_FORMULA,) if result.spread is not None else ()
    yield from hand.formulas if hand is not None else ()


def _values(result: Answer, hand: bend.HandBend | None, units: str) -> Mapping[str, Any]:
    """The numbers of the answer by their keys, and what else goes into one."""
    made, stock, wish, taken = result.made, result.asked.stock, result.asked.wish, result.allowance
    contact_mm, hard_mm = look_up(made, "air.contact_length_mm"), look_up(made, "hard_leg_mm")
    causes = result.spread.by_cause_deg if result.spread is not None else ()
    moved = ", moved by the radius wanted, {radius_mm}" if wish.radius_mm is not None else ""
    return {
        **result.as_json(),
        "material": stock.material,
        "leg_setback_mm": look_up(taken, "leg_setback_mm"),
        "opening_factor": bend.opening_factor(stock.thickness_mm),
        "usual_opening_mm": bend.usual_opening_mm(stock.thickness_mm),
        "moved": sentence(moved, {"radius_mm": wish.radius_mm}, units),
        "die_source": look_up(made, "tools.die.source"),
        "swift": look_up(made, "model.swift"),
        "friction": look_up(made, "model.setup.friction"),
        "length_mm": wish.length_mm,
        "contact_mm": contact_mm,
        "half_deduction_mm": (hard_mm or 0.0) - (contact_mm or 0.0),
        "causes": ", ".join(f"{cause} {trimmed(sd, 2)}°" for cause, sd in causes),
        "hand": hand,
    }


def _by_hand(result: Answer) -> bend.HandBend | None:
    """The same bend by the formulas of books, as a check on the model."""
    made, material, turn = result.made, result.asked.stock.material, result.turn_deg
    if made is None or made.model is None or turn is None or made.tools.opening_mm is None:
        return None
    try:
        model, strength_mpa = made.model, material.tensile_mpa
        return bend.hand_bend(turn, model.setup, model.swift, tensile_mpa=strength_mpa, austenitic=material.austenitic)
    except ValueError:
        return None
