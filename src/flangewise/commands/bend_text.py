"""The answer of `bend` as text for the person at the machine: a row a line of it."""

from flangewise.commands.output import sentence, text_pairs, told_pairs, told_table
from flangewise.punch_die import Answer
from flangewise.words import word

RADIUS_SAID = {
    "asked": "as asked",
    "die": "the opening decides",
    "punch": "the punch nose decides",
    "measured": "measured",
}
FORCE_SAID = {
    "model": "by the bend model",
    "1.43-austenitic": "1.43 Rm t²/V, floor for austenitic stainless",
    "1+4t/V": "(1 + 4t/V) Rm t²/V",
}
# Label, what is said, and the number without which the line is left out.
_LINES = (
    (
        "material",
        "{stock.material.name} (Rp {stock.material.yield_mpa:g}, Rm {stock.material.tensile_mpa:g} N/mm², {row})",
        "",
    ),
    ("thickness", "{understood}", ""),
    ("bend", "{angle}", ""),
    ("inside radius", "{inside_radius_mm}{radius_said}", ""),
    ("K factor", "{k_factor:4} ({allowance_from})", "k_factor"),
    ("allowance", "{allowance_mm}", "k_factor"),
    ("setback", "{setback_mm}", "k_factor"),
    ("deduction", "{deduction_mm}", "k_factor"),
    ("die", "{die_said}, opening {die_opening_mm}{stamped}, shoulder {shoulder_radius_mm}", "made"),
    ("punch", "{punch_said}, nose {nose_radius_mm}", "made"),
    ("formed radius", "{formed_radius_mm}", "made"),
    ("least leg", "{min_leg_mm} outside", "made"),
    ("depth", "{depth_mm} below the die's top", "made"),
    ("bend to", "{bend_to_deg} included, springs back {springback_deg}", "made"),
    ("per mm", "{deg_per_mm}", "made"),
    ("expected", "{expected}", "made"),
    (
        "drawn",
        "within ±{drawn.first_piece_deg:1}°, ±{drawn.thickness_measured_deg:1}°, ±{drawn.after_one_deg:1}° in "
        "{drawn.answered} of {drawn.draws} draws, model error aside",
        "drawn",
    ),
    ("peak force", "{force_kn_per_m}", "made"),
    ("at the end", "{end_force_kn_per_m}", "made"),
    ("checked with", "{limit_force_kn_per_m} ({force_said})", "made"),
    ("force", "{force_kn} over {length_mm}", "force_kn"),
)
_ANGLE = "turn {turn_deg:2}° = included {included_deg:2}°"
_EXPECTED = (
    "within ±{spread_deg:1}° (95 %), ±{spread_measured_deg:1}° with the thickness measured, "
    "±{spread_corrected_deg:1}° after one correction; mostly from "
)
_OTHERS = (
    ("die", "{each.made.tools.die_name}"),
    ("punch", "{each.made.tools.punch_name}"),
    ("radius", "{each.made.formed_radius_mm}"),
    ("force", "{each.made.limit_force_kn_per_m}"),
    ("why not first", "{refused}{each.reason}"),
)


def bend_text(result: Answer, *, understood: str, certificate: bool, units: str) -> str:
    """The whole answer: head, blank, tools, stroke, force, other dies.

    `understood` says how the thickness was read, `certificate` whether values of the material row were replaced.
    """
    made, record, spread = result.made, result.as_json(), result.spread
    named_mm, opening_mm = record["named_opening_mm"], record["die_opening_mm"]
    is_other = named_mm is not None and named_mm != opening_mm
    loaded_deg, force_from = record["loaded_turn_deg"], record["force_from"] or ""
    values = {
        **record,
        "stock": result.asked.stock,
        "row": "certificate values" if certificate else "planning values",
        "understood": understood,
        "angle": None if result.turn_deg is None else sentence(_ANGLE, record, units),
        "radius_said": f" ({RADIUS_SAID.get(result.radius_from or '', '')})" if result.allowance is not None else "",
        "made": made,
        "die_said": record["die"] or "ideal",
        "punch_said": record["punch"] or "ideal",
        "stamped": sentence(" (named {named_opening_mm})", record, units) if is_other else "",
        "bend_to_deg": None if loaded_deg is None else 180 - loaded_deg,
        "expected": None if spread is None else sentence(_EXPECTED, record, units) + word(f"cause.{spread.cause}"),
        "drawn": result.drawn,
        "force_said": FORCE_SAID.get(force_from, force_from),
        "length_mm": result.asked.wish.length_mm,
    }
    text = text_pairs(told_pairs(_LINES, values, units))
    if not result.alternatives:
        return text
    refused = word("severity.refuse") + ": "
    others = [{"each": each, "refused": refused if each.made.refused else ""} for each in result.alternatives]
    return f"{text}\n\nother dies\n{told_table(_OTHERS, others, units, right=(2, 3))}"
