"""The answer of `tryout` as text: a line a bend, a line a leg, the blank."""

from __future__ import annotations

from typing import Any

from flangewise.commands.output import text_table
from flangewise.units import format_length, in_units, trimmed

# What cannot be said.
NOTHING = "–"


def tryout_text(record: dict[str, Any], units: str) -> str:
    """The whole answer as text, lengths in `units`."""
    head = f"{record['part']}: piece {record['piece']} of lot {record['lot'] or 'unnamed'}"
    blank = record["blank"]
    lines = [
        head,
        "",
        _bends(record["bends"], units),
        "",
        _evidence(record["bends"], units),
        "",
        _legs(record["legs"], units),
        "",
        f"blank {format_length(blank['developed_mm'], units)}: {_changed(blank, 'correction_mm', units)}",
    ]
    return "\n".join(lines)


def _bends(bends: list[dict[str, Any]], units: str) -> str:
    head = ["bend", "wanted", "measured", f"depth, {units}", "change", "set"]
    head += ["leg", f"stop X, {units}", "change", "set"]
    rows = [
        [
            str(bend["bend"]),
            _angle(bend["wanted_included_deg"]),
            _angle(bend["measured_included_deg"]),
            _length(bend["depth_mm"], units),
            _signed(bend["depth_correction_mm"], units),
            _length(bend["new_depth_mm"], units),
            NOTHING if bend["leg"] is None else str(bend["leg"]),
            _length(bend["stop_mm"], units),
            _signed(bend["stop_correction_mm"], units),
            _length(bend["new_stop_mm"], units),
        ]
        for bend in bends
    ]
    return text_table(head, rows, right=range(len(head)))


def _evidence(bends: list[dict[str, Any]], units: str) -> str:
    head = ["bend", f"deduction planned, {units}", "shown (95 %)", "K shown (95 %)"]
    rows = [
        [
            str(bend["bend"]),
            _length(bend["planned_deduction_mm"], units),
            _with(_length(bend["deduction_mm"], units), _length(bend["deduction_plus_minus_mm"], units)),
            _with(_plain(bend["k_factor"]), _plain(bend["k_factor_plus_minus"])),
        ]
        for bend in bends
    ]
    return text_table(head, rows, right=range(len(head)))


def _legs(legs: list[dict[str, Any]], units: str) -> str:
    head = ["leg", f"wanted, {units}", "measured", "at wanted angles", "off"]
    rows = [
        [
            str(leg["leg"]),
            _length(leg["wanted_mm"], units),
            _length(leg["measured_mm"], units),
            _length(leg["at_wanted_angle_mm"], units),
            _signed(leg["error_mm"], units),
        ]
        for leg in legs
    ]
    return text_table(head, rows, right=range(len(head)))


def _changed(blank: dict[str, Any], key: str, units: str) -> str:
    if blank[key] is None:
        return "no correction, not all legs were measured"
    return f"change {_signed(blank[key], units)}, cut {format_length(blank['new_developed_mm'], units)}"


def _angle(angle_deg: float | None) -> str:
    return NOTHING if angle_deg is None else f"{trimmed(angle_deg, 2)}°"


def _length(length_mm: float | None, units: str) -> str:
    return NOTHING if length_mm is None else trimmed(in_units(length_mm, units), 2 if units == "mm" else 4)


def _signed(length_mm: float | None, units: str) -> str:
    text = _length(length_mm, units)
    return text if length_mm is None or text == "0" or length_mm < 0 else f"+{text}"


def _plain(value: float | None) -> str:
    return NOTHING if value is None else trimmed(value, 3)


def _with(value: str, half: str) -> str:
    return value if value == NOTHING else f"{value} ± {half}"
