"""What was measured, as the options of `tryout` say it: every fault at once, each in one line."""

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from flangewise.commands.options import OptionReader, Span
from flangewise.commands.thickness import MEASURED
from flangewise.part import Part
from flangewise.tryout import Readings

LEG = Span(0.0, 10_000.0, "a length above 0, up to 10 m, is wanted", open_below=True)
DEPTH = Span(-50.0, 500.0, "a depth from -50 to 500 mm is wanted")
STOP = Span(-1000.0, 10_000.0, "a stop position up to 10 m is wanted")
TURN = Span(0.0, 180.0, "a turn above 0 and up to 180 degrees is wanted", open_below=True)
INCLUDED = Span(0.0, 179.999, "an included angle from 0 to under 180 degrees is wanted")
MOST_PIECE = 9999


_Reading = Callable[[str], float | None]


def readings(given: Mapping[str, Any], part: Part) -> Readings:
    """The options understood: bare lengths in the part file's units. Raises Unusable with every fault of them."""
    asked = _Pairs(OptionReader(part.units), part)
    included = asked.angles("--included", given["included"], INCLUDED)
    turns = asked.angles("--turn", given["turn"], TURN)
    for bend in sorted(included.keys() & turns.keys()):
        asked.plain.fault(f"bend {bend}", "has both --included and --turn", "give one of them")
    found = Readings(
        turns_deg=turns | {bend: 180.0 - angle for bend, angle in included.items()},
        legs_mm=asked.lengths("--leg", given["leg"], LEG, of="leg"),
        depths_mm=asked.lengths("--depth", given["depth"], DEPTH, of="bend"),
        stops_mm=asked.lengths("--stop", given["stop"], STOP, of="bend"),
        developed_mm=asked.plain.length_mm("--developed", given["developed"], LEG),
        thickness_mm=asked.plain.length_mm("--measured-thickness", given["measured_thickness"], MEASURED),
        lot=given["lot"].strip(),
        piece=given["piece"],
    )
    if not 1 <= given["piece"] <= MOST_PIECE:
        asked.plain.fault("--piece", f"{given['piece']} cannot be", f"a whole number from 1 to {MOST_PIECE} is wanted")
    if not found.lot.isprintable():
        asked.plain.fault("--lot", "has signs that do not print", "a name in one line is wanted")
    if not (given["included"] or given["turn"] or given["leg"]):
        fits = "give what was measured, like --included 1=91.5 or --leg 1=25.2"
        asked.plain.fault("--included, --turn, --leg", "none of them is given", fits)
    asked.plain.done()
    return found


class _Pairs:
    """Reads options of the form NUMBER=VALUE against the part's bends and legs."""

    def __init__(self, plain: OptionReader, part: Part) -> None:
        self.plain = plain
        self._counts = {"bend": len(part.section.bends), "leg": len(part.section.legs_mm)}

    def angles(self, option: str, texts: Sequence[str], span: Span) -> dict[int, float]:
        """Angles in degrees by bend."""
        return self._read(option, texts, "bend", lambda text: self._angle(option, text, span))

    def lengths(self, option: str, texts: Sequence[str], span: Span, *, of: str) -> dict[int, float]:
        """Lengths in mm by bend or leg."""
        return self._read(option, texts, of, lambda text: self.plain.length_mm(option, text, span))

    def _angle(self, option: str, text: str, span: Span) -> float | None:
        return self.plain.number(option, text.strip().removesuffix("°").removesuffix("deg"), span)

    def _read(self, option: str, texts: Sequence[str], of: str, read: _Reading) -> dict[int, float]:
        found: dict[int, float] = {}
        for text in texts:
            left, sign, right = text.partition("=")
            number = int(left) if left.strip().isdecimal() and len(left) < 6 else None
            if not sign or number is None:
                example = "25.2" if of == "leg" else "91.5"
                self.plain.fault(option, f"{text!r} is not understood", f"write {of.upper()}=VALUE, like 1={example}")
            elif not 1 <= number <= self._counts[of]:
                self.plain.fault(option, f"there is no {of} {number}", f"the part has {of}s 1 to {self._counts[of]}")
            elif number in found:
                self.plain.fault(option, f"{of} {number} is given twice", "keep one of them")
            else:
                value = read(right)
                found[number] = math.nan if value is None else value
        return found
