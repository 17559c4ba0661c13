"""An offset of a panel laid out: its web as a flange of its own, and on the web's tip what hangs on the offset."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from flangewise.findings import Finding, place, refuse
from flangewise.part import WantedFlange
from flangewise.pattern.taken import FormedBend
from flangewise.records import dataclass

# A web shorter than this is none: far under what can be bent, far over rounding.
LEAST_WEB_MM = 1e-6


@dataclass(frozen=True)
class OffsetHalf(WantedFlange):
    """One of the two bends of an offset with the face that hangs on it: the web, or the flange beyond it."""

    face_number: int = 0
    is_second: bool = False

    @property
    def number(self) -> int:
        """The number of its face: webs come after all flanges."""
        return self.face_number


def web_name(face: str) -> str:
    """The name of the web between an offset's two bends."""
    return f"{face}.web"


def half_of(flange: WantedFlange) -> int:
    """Which of the zones of its bend a flange hangs on."""
    return int(isinstance(flange, OffsetHalf) and flange.is_second)


def with_webs(
    flanges: Sequence[WantedFlange], taken: Mapping[int, FormedBend], webs: Iterator[int]
) -> tuple[WantedFlange, ...]:
    """The flanges of a face with all that hangs on them, each offset as web and flange; `webs` numbers the webs."""
    return tuple(_with_web(flange, taken, webs) for flange in flanges)


def _with_web(flange: WantedFlange, taken: Mapping[int, FormedBend], webs: Iterator[int]) -> WantedFlange:
    own = taken[flange.bend.number]
    number = next(webs) if own.web_mm is not None else 0
    given = {**vars(flange), "flanges": with_webs(flange.flanges, taken, webs)}
    if own.web_mm is None:
        return WantedFlange(**given)
    beyond = OffsetHalf(
        **{
            **given,
            "on": web_name(flange.face),
            "edge": "tip",
            "shape_mm": tuple((u - flange.from_mm, v) for u, v in flange.shape_mm),
            "from_mm": 0.0,
            "to_mm": None,
            "inset_mm": 0.0,
            "mitred": False,
        },
        face_number=flange.number,
        is_second=True,
    )
    web = {
        "face": web_name(flange.face),
        "height_mm": own.web_mm + 2 * own.allowance.leg_setback_mm,
        "shape_mm": (),
        "mitre_deg": (0.0, 0.0),
        "mitred": False,
        "flanges": (beyond,),
    }
    return OffsetHalf(**{**given, **web}, face_number=number)


def low_offsets(taken: Sequence[FormedBend], thickness_mm: float) -> Iterator[Finding]:
    """Offsets lower than their two arcs: nothing is left of their webs."""
    for each in taken:
        if each.web_mm is not None and each.web_mm < LEAST_WEB_MM:
            bend, radius_mm = each.bend, each.radius_mm
            arcs_mm = (2 * radius_mm + thickness_mm) * (1 - math.cos(math.radians(bend.turn_deg)))
            # To the hundredth that is shown, never below what is needed.
            least_mm = math.ceil(arcs_mm * 100 - 1e-6) / 100
            sizes = {"offset_mm": bend.offset_mm, "least_mm": least_mm, "radius_mm": radius_mm}
            yield refuse("offset-too-low", place("bend", bend.number), turn_deg=bend.turn_deg, **sizes)
