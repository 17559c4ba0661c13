"""Parts and blanks for the tests of this room, made without files."""

from __future__ import annotations

from functools import cache
from typing import Any

from flangewise.part import Part, Section, WantedBend, WantedHole
from flangewise.pattern import FlatPattern, lay_out
from flangewise.shop import Shop, load_shop

T_MM = 2.0


@cache
def shop() -> Shop:
    """The built-in example shop."""
    return load_shop()


def bend(number: int, turn_deg: float = 90.0, **given: Any) -> WantedBend:
    """A plain bend, unless told otherwise; K 0.42 as in the worked figures of the trade used below."""
    return WantedBend(**{"number": number, "kind": "bend", "turn_deg": turn_deg, "away": False, **given})


def hem(number: int, gap_mm: float = 0.0, **given: Any) -> WantedBend:
    return bend(number, 180.0, kind="hem", gap_mm=gap_mm, **given)


def offset(number: int, offset_mm: float, turn_deg: float = 90.0, **given: Any) -> WantedBend:
    return bend(number, turn_deg, kind="offset", offset_mm=offset_mm, **given)


def part(legs_mm: tuple[float, ...], *bends: WantedBend, **given: Any) -> Part:
    """A part of 2 mm DC01, 100 mm long."""
    section = Section(
        length_mm=given.pop("length_mm", 100.0),
        legs_mm=legs_mm,
        bends=bends,
        radius_mm=given.pop("radius_mm", None),
        sizes=given.pop("sizes", "outside"),
        holes=given.pop("holes", ()),
    )
    return Part(
        **{"name": "p", "material": "DC01", "thickness_mm": T_MM, "section": section, "file": "p.yaml", **given}
    )


def hole(number: int, leg: int, at_mm: tuple[float, float], **given: Any) -> WantedHole:
    return WantedHole(number, leg, at_mm[0], at_mm[1], **given)


def blank(wanted: Part, radius_mm: float = 2.0, **given: Any) -> FlatPattern:
    """Its blank, every bend with the same inside radius (hems: half their gap)."""
    radii_mm = {
        each.number: (each.gap_mm or 0.0) / 2 if each.kind == "hem" else radius_mm for each in wanted.section.bends
    }
    return lay_out(wanted, shop(), radii_mm=radii_mm, **given)
