"""Units at the rim: what a user writes becomes mm and degrees, what is shown is written with its unit.

Inside, every length is mm, every angle degrees, every force kN, every stress N/mm2 (`_mpa`), every mass kg, every time
s, and the name of a value ends in its unit.
"""

import math
import re

from flangewise.records import dataclass

MM_PER_INCH = 25.4
COMMA_LANGUAGES = frozenset({"de", "es"})
GRAVITY_M_PER_S2 = 9.81
KN_PER_TON = 8.896443
"""A US ton of 2000 lbf; the pound-force is 4.448222 N (NIST SP 811, from memory)."""
KN_PER_LBF = KN_PER_TON / 2000
KG_PER_LB = 0.45359237
MPA_PER_KSI = 6.894757
NM_PER_LBF_FT = 1.355818


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
    ("_mpa", 0, " N/mm²"),
    ("_percent", 0, " %"),
    ("_min", 0, " min"),
    ("_n", 0, " N"),
    ("_s", 1, " s"),
)
# The same where lengths are in inch: what one of the inner unit is, digits, unit. Tools and machines are rated in kN
# by their tables, so kN stands beside a force.
_IN_INCH: dict[str, tuple[float, int, str]] = {
    "_kn_per_m": (MM_PER_INCH * 12 / 1000 / KN_PER_TON, 1, " ton/ft"),
    "_mm_per_s": (60 / MM_PER_INCH, 1, " in/min"),
    "_deg_per_mm": (MM_PER_INCH, 0, "°/in"),
    "_mm_per_deg": (1 / MM_PER_INCH, 4, " in/°"),
    "_kg_per_m3": (MM_PER_INCH**3 / KG_PER_LB / 1e9, 3, " lb/in³"),
    "_mm2": (1 / MM_PER_INCH**2, 2, " in²"),
    "_kn": (1 / KN_PER_TON, 2, " ton"),
    "_nm": (1 / NM_PER_LBF_FT, 1, " lbf ft"),
    "_n": (1 / 1000 / KN_PER_LBF, 0, " lbf"),
    "_mpa": (1 / MPA_PER_KSI, 1, " ksi"),
}
_WITH_METRIC = frozenset({"_kn_per_m", "_kn", "_n"})
DEPTH_INCH_DIGITS = 4


def written(name: str, value: float, units: str = "mm") -> str:
    """A value with its unit, the unit taken from the end of its name; a pure number keeps three figures.

    In inch everything follows: ton (US) and lbf with kN beside, lb, ksi, in/min. A speed is rounded down, as it is
    keyed.
    """
    ended = "_" + name
    if ended.endswith("_kg"):
        return mass(value, units)
    if ended.endswith("_tolerance_deg"):
        return degrees_minutes(value)
    for ending, digits, unit in _WRITTEN:
        if ended.endswith(ending):
            metric = trimmed(value, digits) + unit
            return metric if units == "mm" else _in_inch(ending, value, metric)
    if units == "inch" and ended.endswith("_depth_mm"):
        return trimmed(value / MM_PER_INCH, DEPTH_INCH_DIGITS) + " in"
    return format_length(value, units) if ended.endswith("_mm") else trimmed(value, 3)


def _in_inch(ending: str, value: float, metric: str) -> str:
    if ending not in _IN_INCH:
        return metric
    per, digits, unit = _IN_INCH[ending]
    number = value * per
    if ending == "_mm_per_s":
        number = math.floor(number * 10**digits + 1e-6) / 10**digits
    told = trimmed(number, digits) + unit
    if ending == "_kn" and 0 < abs(value) < KN_PER_TON:
        told = trimmed(value / KN_PER_LBF, 0) + " lbf"
    return f"{told} ({metric})" if ending in _WITH_METRIC else told


def mass(mass_kg: float, units: str = "mm") -> str:
    """A mass with its unit, as finely as a shop scale weighs: three places under 1, two under 10, else one.

    >>> mass(16.187), mass(0.3064), mass(16.187, "inch")
    ('16.2 kg', '0.306 kg', '35.7 lb')
    """
    told, unit = (mass_kg / KG_PER_LB, " lb") if units == "inch" else (mass_kg, " kg")
    return trimmed(told, 3 if abs(told) < 1 else 2 if abs(told) < 10 else 1) + unit


def degrees_minutes(angle_deg: float) -> str:
    """An angle in degrees and whole minutes, as general tolerances are tabled; in tenths where minutes do not tell it.

    >>> degrees_minutes(0.5), degrees_minutes(1.0), degrees_minutes(1 / 6), degrees_minutes(0.33)
    ('0°30′', '1°', '0°10′', '0.33°')
    """
    minutes = round(angle_deg * 60)
    if abs(angle_deg * 60 - minutes) > 1e-6:
        return trimmed(angle_deg, 2) + "°"
    return f"{minutes // 60}°" + (f"{minutes % 60:02d}′" if minutes % 60 else "")


def format_length(length_mm: float, units: str = "mm") -> str:
    """A length with its unit: hundredths of a mm, or thousandths of an inch, no trailing zeros."""
    if units == "inch":
        return trimmed(length_mm / MM_PER_INCH, 3) + " in"
    return trimmed(length_mm, 2) + " mm"


def with_comma(text: str, lang: str) -> str:
    """A written number with the decimal sign of the language; thousands are never set apart.

    >>> with_comma("16.2 kg", "de"), with_comma("16.2 kg", "en")
    ('16,2 kg', '16.2 kg')
    """
    return text.replace(".", ",") if lang in COMMA_LANGUAGES else text


def trimmed(number: float, digits: int) -> str:
    """A number with at most `digits` places, trailing zeros off and never `-0`."""
    text = f"{number:.{digits}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def in_units(length_mm: float, units: str) -> float:
    """A length given in mm, as a number in `units`."""
    return length_mm / _mm_per(units)
