"""The answer of `tryout` as text: a line a bend, a line a leg, the blank."""

from typing import Any

from flangewise.commands.output import NOTHING, sentence, told_table

_SETTINGS = (
    ("bend", "{bend}"),
    ("wanted", "{wanted_included_deg:2°}"),
    ("measured", "{measured_included_deg:2°}"),
    ("depth, {units}", "{depth_mm:2/4}"),
    ("change", "{depth_correction_mm:+2/4}"),
    ("set", "{new_depth_mm:2/4}"),
    ("leg", "{leg}"),
    ("stop X, {units}", "{stop_mm:2/4}"),
    ("change", "{stop_correction_mm:+2/4}"),
    ("set", "{new_stop_mm:2/4}"),
)
_EVIDENCE = (
    ("bend", "{bend}"),
    ("deduction planned, {units}", "{planned_deduction_mm:2/4}"),
    ("shown (95 %)", "{shown_deduction}"),
    ("K shown (95 %)", "{shown_k}"),
)
_SHOWN = {
    "shown_deduction": ("deduction_mm", "{deduction_mm:2/4} ± {deduction_plus_minus_mm:2/4}"),
    "shown_k": ("k_factor", "{k_factor:3} ± {k_factor_plus_minus:3}"),
}
_LEGS = (
    ("leg", "{leg}"),
    ("wanted, {units}", "{wanted_mm:2/4}"),
    ("measured", "{measured_mm:2/4}"),
    ("at wanted angles", "{at_wanted_angle_mm:2/4}"),
    ("off", "{error_mm:+2/4}"),
)


def tryout_text(record: dict[str, Any], units: str) -> str:
    """The whole answer as text, lengths in `units`."""
    blank, bends = record["blank"], record["bends"]
    shown = [{**bend, **{key: _shown(bend, *told, units) for key, told in _SHOWN.items()}} for bend in bends]
    change = "change {correction_mm:+2/4}, cut {new_developed_mm}"
    if blank["correction_mm"] is None:
        change = "no correction, not all legs were measured"
    blocks = [
        f"{record['part']}: piece {record['piece']} of lot {record['lot'] or 'unnamed'}",
        _table(_SETTINGS, bends, units),
        _table(_EVIDENCE, shown, units),
        _table(_LEGS, record["legs"], units),
        sentence("blank {developed_mm}: " + change, blank, units),
    ]
    return "\n\n".join(blocks)


def _table(columns: tuple[tuple[str, str], ...], records: list[dict[str, Any]], units: str) -> str:
    named = [(heading.format(units=units), template) for heading, template in columns]
    return told_table(named, records, units, right=range(len(columns)))


def _shown(bend: dict[str, Any], needed: str, template: str, units: str) -> str:
    return NOTHING if bend[needed] is None else sentence(template, bend, units)
