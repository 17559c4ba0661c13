"""The values of a part file, each checked and told in the user's words: lengths, angles, counts, names, texts.

A checker gives the value in mm or degrees or raises a fault of two halves: what is wrong, and what would be right.
"""

import math
import re
import unicodedata
from collections.abc import Callable
from datetime import date
from typing import Any, Literal

from pydantic import ValidationError, ValidationInfo, ValidatorFunctionWrapHandler, WrapValidator

from flangewise.faults import LONGEST_SHOWN, nearest
from flangewise.records import dataclass
from flangewise.shop import unfit
from flangewise.units import Gauge, format_length, read_length, trimmed

# Beyond these no press brake and no sheet goes; what lies outside is a slip of the keyboard.
THINNEST_MM, THICKEST_MM = 0.1, 30.0
SHORTEST_MM, LONGEST_MM = 0.1, 20_000.0
LARGEST_RADIUS_MM = 2_000.0
LEAST_TOLERANCE_MM, LARGEST_TOLERANCE_MM = 0.001, 100.0
# A bound below this is told as "above 0": with the digits that are shown it would read as 0 itself.
NEXT_TO_NOTHING_MM = 0.01
# Less than this no press brake bends, and nothing that is reckoned from a turn is sound: what springs back is more.
LEAST_TURN_DEG = 0.1
# What is left over from 180 less an included angle.
NOTHING_DEG = 1e-9
LARGEST_TURN_DEG = 175.0
LARGEST_OFFSET_TURN_DEG = 90.0
LARGEST_COUNT = 10_000_000
LONGEST_NAME_BYTES = 120
LONGEST_TEXT = 300

_NAME = re.compile(r"[\w.-]+\Z")
_NO_TEXT = {"Cc", "Cs", "Cn"}

Checker = Callable[[Any, ValidationInfo], Any]


def shown(value: Any) -> str:
    """A value as it is quoted in a fault: short, on one line."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, (list, tuple)):
        return "a list"
    if isinstance(value, dict):
        return "a mapping"
    text = repr(value) if isinstance(value, str) else f"{value:.12g}"
    return text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 3] + "..."


def length(what: str, least_mm: float, most_mm: float, *, gauges: bool = False) -> Checker:
    """A length with its bounds, in mm; `what` names it. With `gauges` it may be a gauge number, for a thickness."""

    def check(value: Any, info: ValidationInfo) -> float | Gauge:
        units = _units(info)
        most = format_length(most_mm, units)
        fits = f"{what} is {format_length(least_mm, units)} to {most}"
        if 0 < least_mm < NEXT_TO_NOTHING_MM:
            fits = f"{what} is above 0 and up to {most}"
        length_mm = _length_or_gauge(value, units, fits)
        if isinstance(length_mm, Gauge):
            if gauges:
                return length_mm
            raise unfit(f"{shown(value)} is a gauge and gives a thickness only", fits)
        if not least_mm <= length_mm <= most_mm:
            raise unfit(_out_of_bounds(value, length_mm, least_mm), fits)
        return length_mm

    return check


thickness = length("a thickness", THINNEST_MM, THICKEST_MM, gauges=True)


def of_gauge(value: float | Gauge, info: ValidationInfo) -> float:
    """The thickness that the shop's table gives for a gauge of the material, which is checked before it."""
    if not isinstance(value, Gauge):
        return value
    shop, material = (info.context or {})["shop"], info.data.get("material")
    family = shop.materials[material].family if material in shop.materials else "steel"
    try:
        return float(shop.gauges[family].thickness_mm(value.number))
    except LookupError:
        told = f"there is no gauge {value.number} of {family} sheet"
        raise unfit(told, "write the thickness, such as 1.5mm or 0.06in") from None


def _length_or_gauge(value: Any, units: str, fits: str) -> float | Gauge:
    if not isinstance(value, (int, float, str)):
        raise unfit(f"{shown(value)} is no length", fits)
    try:
        return read_length(value, units)
    except ValueError as error:
        raise unfit(f"{shown(value)} is no length", str(error)) from None


def _units(info: ValidationInfo) -> str:
    return str((info.context or {}).get("units", "mm"))


def _out_of_bounds(value: Any, number: float, least: float) -> str:
    if number < 0:
        return f"{shown(value)} is negative"
    return f"{shown(value)} is too small" if number < least else f"{shown(value)} is absurdly large"


# What is wrong with a value of another kind than a constraint is of.
_NO_SUCH = {
    "float_type": "is no number",
    "finite_number": "is no finite number",
    "int_type": "is no whole number",
    "bool_type": "is neither true nor false",
}


def constrained(fits: str, *, small: str = "is too small", large: str = "is too large") -> WrapValidator:
    """Puts what the constraints of a number or a flag refuse in the user's words; `fits` is what would be right."""

    def check(value: Any, handler: ValidatorFunctionWrapHandler) -> Any:
        try:
            return handler(value)
        except ValidationError as error:
            kind = error.errors(include_url=False)[0]["type"]
        wrong = _NO_SUCH.get(kind) or (large if kind == "less_than_equal" else "is negative" if value < 0 else small)
        raise unfit(f"{shown(value)} {wrong}", fits)

    return WrapValidator(check)


def choice(*known: str) -> Checker:
    """One of a few words."""
    fits = "write " + " or ".join(known)

    def check(value: Any, info: ValidationInfo) -> str:
        if value not in known:
            raise unfit(f"{shown(value)} is not known here", fits)
        return str(value)

    return check


def text(value: Any, info: ValidationInfo) -> str:
    """A text of one line, kept as it was written."""
    return _text(value, lines=False)


def note(value: Any, info: ValidationInfo) -> str:
    """A text that may have several lines."""
    return _text(value, lines=True)


def _text(value: Any, *, lines: bool) -> str:
    if not isinstance(value, str):
        raise unfit(f"{shown(value)} is no text", "write a text, in quotes where it could be taken for something else")
    kept = value.strip()
    if len(kept) > LONGEST_TEXT:
        raise unfit(f"has {len(kept)} characters", f"a text has up to {LONGEST_TEXT}")
    for sign in kept:
        if unicodedata.category(sign) in _NO_TEXT and not (lines and sign == "\n"):
            raise unfit(f"holds a control character ({sign!a})", "write plain text on one line")
    return kept


def day(value: Any, info: ValidationInfo) -> str:
    """A date as text, year first."""
    kept = text(value, info)
    try:
        date.fromisoformat(kept)
    except ValueError:
        raise unfit(f"{shown(kept)} is no date", "write it as 2031-04-30") from None
    return kept


def part_name(value: Any, info: ValidationInfo) -> str:
    """The part's name, which also names its sheet: letters, digits, `.`, `_` and `-`, so never a path."""
    fits = "use letters, digits, . _ - only"
    if not isinstance(value, str):
        raise unfit(f"{shown(value)} is no name", fits)
    if not value:
        raise unfit("is empty", fits)
    if not _NAME.match(value):
        raise unfit(f"{shown(value)} cannot name a sheet", fits)
    if not value.strip("."):
        raise unfit(f"{shown(value)} names a folder, not a part", fits)
    if len(value.encode()) > LONGEST_NAME_BYTES:
        raise unfit(f"{shown(value)} is too long to name a file", f"a name has up to {LONGEST_NAME_BYTES} bytes")
    return value


def angle(value: Any, info: ValidationInfo) -> float:
    """An angle of a bend: a finite number that is not negative; its bounds depend on what the bend is."""
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise unfit(f"{shown(value)} is no angle", "write a number of degrees")
    if value < 0:
        fits = f"the other direction is written {{{info.field_name}: {trimmed(-value, 3)}, away: true}}"
        raise unfit(f"{shown(value)} is negative, and a turn never is", fits)
    return float(value)


@dataclass(frozen=True)
class WantedGauge:
    """What a bend is to be gauged on: the raw start or end edge, or the flange made by bend `bend`."""

    on: Literal["start", "end", "flange"]
    bend: int | None = None


DATUMS = "write start, end or {flange: 2}"


def gauged(value: Any, info: ValidationInfo) -> WantedGauge:
    """What a bend is gauged on: an edge of the section, or the flange of a bend by its number."""
    if value == "start" or value == "end":
        return WantedGauge(value)
    if value == "flange":
        raise unfit("'flange' does not say of which bend", "write it with the bend's number, such as {flange: 2}")
    if isinstance(value, str):
        near = nearest(value[:100], ("start", "end", "flange"))
        fits = {None: DATUMS, "flange": "did you mean {flange: 2}?"}.get(near, f"did you mean {near!r}?")
        raise unfit(f"{shown(value)} is nothing to gauge on", fits)
    if not isinstance(value, dict):
        raise unfit(f"{shown(value)} is nothing to gauge on", DATUMS)
    if other := next((key for key in value if key != "flange"), None):
        raise unfit("is no key of this place", "the only one is `flange`", key=other)
    if "flange" not in value:
        raise unfit("names no flange", DATUMS)
    bend = value["flange"]
    if isinstance(bend, bool) or not isinstance(bend, int) or bend < 1:
        fits = "give the bend that makes the flange; bends are numbered from 1"
        raise unfit(f"{shown(bend)} is no bend's number", fits, key="flange")
    return WantedGauge("flange", bend)


def machines(value: Any, info: ValidationInfo) -> tuple[str, ...]:
    """The names of one machine or of several to choose from."""
    if not isinstance(value, list):
        return (text(value, info),)
    if not value:
        raise unfit("has no entry", "name a machine, several in a list, or write any")
    return tuple(text(each, info) for each in value)
