"""The answer of `bend` as text for the person at the machine."""

from __future__ import annotations

from flangewise.commands.bend_answer import Answer
from flangewise.commands.output import text_pairs, text_table
from flangewise.punch_die import PunchDie
from flangewise.units import trimmed, written
from flangewise.words import say, word

NOTHING = "–"
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


def bend_text(result: Answer, *, units: str) -> str:
    """The whole answer: head, blank, tools, stroke, force, other dies."""
    blocks = (_head(result, units), _blank(result, units), _tools(result, units), _stroke(result, units))
    text = text_pairs([pair for block in blocks for pair in block])
    others = _others(result, units)
    return f"{text}\n\n{others}" if others else text


def _say(name: str, value: float | None, units: str) -> str:
    return NOTHING if value is None else written(name, value, units)


def _head(result: Answer, units: str) -> list[tuple[str, str]]:
    stock = result.asked.stock
    row = "certificate values" if result.asked.certificate else "planning values"
    strength = f"Rp {stock.material.yield_mpa:g}, Rm {stock.material.tensile_mpa:g} N/mm², {row}"
    turn = result.turn_deg
    angle = NOTHING if turn is None else f"turn {trimmed(turn, 2)}° = included {trimmed(180 - turn, 2)}°"
    return [
        ("material", f"{stock.material.name} ({strength})"),
        ("thickness", result.asked.understood),
        ("bend", angle),
    ]


def _blank(result: Answer, units: str) -> list[tuple[str, str]]:
    taken = result.allowance
    radius = _say("radius_mm", result.inside_radius_mm, units)
    said = RADIUS_SAID.get(result.radius_from or "", "")
    if taken is None:
        return [("inside radius", radius)]
    return [
        ("inside radius", f"{radius} ({said})"),
        ("K factor", f"{trimmed(taken.k_factor, 4)} ({taken.rule})"),
        ("allowance", _say("allowance_mm", taken.allowance_mm, units)),
        ("setback", _say("setback_mm", taken.setback_mm, units)),
        ("deduction", _say("deduction_mm", taken.deduction_mm, units)),
    ]


def _tools(result: Answer, units: str) -> list[tuple[str, str]]:
    made = result.made
    if made is None:
        return []
    return [
        ("die", _die_said(made, units)),
        ("punch", f"{made.punch_name or 'ideal'}, nose {_say('nose_mm', made.nose_radius_mm, units)}"),
        ("formed radius", _say("radius_mm", made.formed_radius_mm, units)),
        ("least leg", f"{_say('leg_mm', made.least_leg_mm, units)} outside"),
    ]


def _die_said(made: PunchDie, units: str) -> str:
    opening, shoulder = _say("v_mm", made.opening_mm, units), _say("r_mm", made.shoulder_radius_mm, units)
    named = made.named_opening_mm
    stamped = f" (named {_say('v_mm', named, units)})" if named is not None and named != made.opening_mm else ""
    return f"{made.die_name or 'ideal'}, opening {opening}{stamped}, shoulder {shoulder}"


def _stroke(result: Answer, units: str) -> list[tuple[str, str]]:
    made = result.made
    if made is None:
        return []
    bend_to = None if made.loaded_turn_deg is None else 180 - made.loaded_turn_deg
    said = FORCE_SAID.get(made.force_from or "", made.force_from or "")
    rows = [
        ("depth", f"{_say('depth_mm', made.depth_mm, units)} below the die's top"),
        (
            "bend to",
            f"{_say('x_deg', bend_to, units)} included, springs back {_say('x_deg', made.springback_deg, units)}",
        ),
        ("per mm", _say("x_deg_per_mm", made.deg_per_mm, units)),
        ("expected", _expected(result)),
        *_drawn(result),
        ("peak force", _say("x_kn_per_m", made.force_kn_per_m, units)),
        ("at the end", _say("x_kn_per_m", made.end_force_kn_per_m, units)),
        ("checked with", f"{_say('x_kn_per_m', made.limit_force_kn_per_m, units)} ({said})"),
    ]
    if made.force_kn is not None:
        length = _say("x_mm", result.asked.wish.length_mm, units)
        rows.append(("force", f"{_say('x_kn', made.force_kn, units)} over {length}"))
    return rows


def _expected(result: Answer) -> str:
    spread = result.spread
    if spread is None:
        return NOTHING
    first, measured, after = (
        trimmed(half, 1) for half in (spread.first_piece_deg, spread.thickness_measured_deg, spread.after_one_deg)
    )
    cause = word(f"cause.{spread.cause}")
    helped = f"±{measured}° with the thickness measured, ±{after}° after one correction"
    return f"within ±{first}° (95 %), {helped}; mostly from {cause}"


def _drawn(result: Answer) -> list[tuple[str, str]]:
    """The scatter by draws, where draws were asked for; the model's own error is not drawn."""
    drawn = result.drawn
    if drawn is None:
        return []
    first, measured, after = (
        trimmed(half, 1) for half in (drawn.first_piece_deg, drawn.thickness_measured_deg, drawn.after_one_deg)
    )
    told = f"within ±{first}°, ±{measured}°, ±{after}° in {drawn.answered} of {drawn.draws} draws, model error aside"
    return [("drawn", told)]


def _others(result: Answer, units: str) -> str:
    if not result.alternatives:
        return ""
    rows = [
        [
            each.made.die_name or "",
            each.made.punch_name or "",
            _say("r_mm", each.made.formed_radius_mm, units),
            _say("f_kn_per_m", each.made.limit_force_kn_per_m, units),
            ("" if not each.made.refused else word("severity.refuse") + ": ") + say(each.reason, units=units),
        ]
        for each in result.alternatives
    ]
    return "other dies\n" + text_table(["die", "punch", "radius", "force", "why not first"], rows, right=(2, 3))
