"""The answer of `bend` as text for the person at the machine: a row a line of it."""

from flangewise.commands.output import sentence, told, told_lines, told_table
from flangewise.punch_die import Answer
from flangewise.words import word


def bend_text(result: Answer, *, understood: str, certificate: bool, units: str) -> str:
    """The whole answer: head, blank, tools, stroke, force, other dies.

    `understood` says how the thickness was read, `certificate` whether values of the material row were replaced.
    """
    made, record, spread = result.made, result.as_json(), result.spread
    named_mm, opening_mm = record["named_opening_mm"], record["die_opening_mm"]
    is_other = named_mm is not None and named_mm != opening_mm
    loaded_deg, force_from = record["loaded_turn_deg"], record["force_from"] or ""
    radius_said = told("bend.radius-from").get(result.radius_from, "")
    expected = (
        None if spread is None else sentence(told("bend.expected"), record, units) + word(f"cause.{spread.cause}")
    )
    values = {
        **record,
        "stock": result.asked.stock,
        "row": "certificate values" if certificate else "planning values",
        "understood": understood,
        "angle": None if result.turn_deg is None else sentence(told("bend.angle"), record, units),
        "radius_said": f" ({radius_said})" if result.allowance is not None else "",
        "made": made,
        "die_said": record["die"] or "ideal",
        "punch_said": record["punch"] or "ideal",
        "stamped": sentence(" (named {named_opening_mm})", record, units) if is_other else "",
        "bend_to_deg": None if loaded_deg is None else 180 - loaded_deg,
        "expected": expected,
        "drawn": result.drawn,
        "force_said": told("bend.force-from").get(force_from, force_from),
        "length_mm": result.asked.wish.length_mm,
    }
    text = told_lines("bend.lines", values, units)
    if not result.alternatives:
        return text
    refused = word("severity.refuse") + ": "
    others = [{"each": each, "refused": refused if each.made.refused else ""} for each in result.alternatives]
    return f"{text}\n\nother dies\n{told_table('bend.others', others, units)}"
