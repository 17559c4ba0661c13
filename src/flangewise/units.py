"""Units at the rim: what a user writes becomes mm and degrees, what is shown is written with its unit.

Inside, every length is mm, every angle degrees, every force kN, every stress N/mm2 (`_mpa`), every mass kg, every time
s, and the name of a value ends in its unit.
"""

import math
import re
from dataclasses import dataclass

MM_PER_INCH = 25.4
GRAVITY_M_PER_S2 = 9.81


_LENGTH = re.compile(r"^\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(mm|in|inch|\")?\s*$")
_GAUGE = re.compile(r"^\s*(\d{1,2})\s*(?:ga|gauge|gage)\s*$", re.IGNORECASE)


@dataclass(frozen=True)
class Gauge:
    """A sheet gauge number: a thickness only once the family of the material is known."""

    number: int


def read_length(text: str | float, units: str) -> float | Gauge:
    """A length as written in mm: `2` (in `units`), `2mm`, `0.125in`; `16ga` as a Gauge. ValueError says what fits."""
    if isinstance(text, (int, float)) and not isinstance(text, bool):
        return _finite(float(text)) * _mm_per(units)
    told = "" if isinstance(text, bool) else text
    if gauge := _GAUGE.match(told):
        return Gauge(int(gauge.group(1)))
    length = _LENGTH.match(told)
    if not length:
        raise ValueError("a length is a number, or like 2mm, 0.125in or 16ga")
    unit = {"mm": "mm", "in": "inch", "inch": "inch", '"': "inch", None: units}[length.group(2)]
    return _finite(float(length.group(1))) * _mm_per(unit)


def _mm_per(units: str) -> float:
    return MM_PER_INCH if units == "inch" else 1.0


def _finite(number: float) -> float:
    if not math.isfinite(number):
        raise ValueError("a finite number is wanted")
    return number


# How a value is written, by the ending of its name: digits after the point, and the unit said after it.
_WRITTEN: tuple[tuple[str, int, str], ...] = (
    ("_kn_per_m", 0, " kN/m"),
    ("_mm_per_s", 2, " mm/s"),
    ("_deg_per_mm", 1, "°/mm"),
    ("_mm_per_deg", 3, " mm/°"),
    ("_kg_per_m3", 0, " kg/m³"),
    ("_mm2", 0, " mm²"),
    ("_kn", 1, " kN"),
    ("_nm", 1, " N m"),
    ("_deg", 1, "°"),
    ("_kg", 3, " kg"),
    ("_mpa", 0, " N/mm²"),
    ("_percent", 0, " %"),
    ("_min", 0, " min"),
    ("_s", 1, " s"),
)


def written(name: str, value: float, units: str = "mm") -> str:
    """A value with its unit, the unit taken from the end of its name; a pure number keeps three figures."""
    ended = "_" + name
    for ending, digits, unit in _WRITTEN:
        if ended.endswith(ending):
            return trimmed(value, digits) + unit
    return format_length(value, units) if ended.endswith("_mm") else trimmed(value, 3)


def format_length(length_mm: float, units: str = "mm") -> str:
    """A length with its unit: hundredths of a mm, or thousandths of an inch, no trailing zeros."""
    if units == "inch":
        return trimmed(length_mm / MM_PER_INCH, 3) + " in"
    return trimmed(length_mm, 2) + " mm"


def trimmed(number: float, digits: int) -> str:
    """A number with at most `digits` places, trailing zeros off and never `-0`."""
    text = f"{number:.{digits}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def in_units(length_mm: float, units: str) -> float:
    """A length given in mm, as a number in `units`."""
    return length_mm / _mm_per(units)
