"""Random sections, and a part folded up measured as a drawing sizes it, by lines of its own."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
from hypothesis import strategies as st

from flangewise.geometry import Fold
from flangewise.part import Part, Section, WantedBend, WantedHole
from flangewise.pattern import FlatPattern, lay_out
from flangewise.shop import Shop, load_shop


@cache
def shop() -> Shop:
    """The built-in example shop."""
    return load_shop()


@st.composite
def bends(draw: st.DrawFn, number: int, *, kinds: tuple[str, ...] = ("bend", "hem", "offset")) -> WantedBend:
    """A bend of any kind; turns from 1 to 175 degrees."""
    kind = draw(st.sampled_from(kinds))
    away = draw(st.booleans())
    k_factor = draw(st.none() | st.floats(0.2, 0.5))
    if kind == "hem":
        return WantedBend(
            number, 180.0, away, kind="hem", gap_mm=draw(st.sampled_from([0.0, 1.5, 6.0])), k_factor=k_factor
        )
    if kind == "offset":
        turn_deg = draw(st.floats(20.0, 90.0))
        return WantedBend(
            number, turn_deg, away, kind="offset", offset_mm=draw(st.floats(60.0, 120.0)), k_factor=k_factor
        )
    return WantedBend(number, draw(st.floats(1.0, 175.0)), away, k_factor=k_factor)


@st.composite
def parts(draw: st.DrawFn, *, kinds: tuple[str, ...] = ("bend", "hem", "offset"), holes: bool = False) -> Part:
    """A section of 1 to 6 bends whose legs are long enough for any radius of `radii_mm`."""
    count = draw(st.integers(1, 6))
    section = Section(
        length_mm=draw(st.floats(100.0, 2000.0)),
        legs_mm=tuple(draw(st.floats(60.0, 500.0)) for _ in range(count + 1)),
        bends=tuple(draw(bends(number, kinds=kinds)) for number in range(1, count + 1)),
        radius_mm=None,
        sizes=draw(st.sampled_from(["outside", "inside"])),
        holes=(),
    )
    part = Part("p", "DC01", draw(st.floats(0.5, 8.0)), section, file="p.yaml")
    return replace(part, section=replace(section, holes=_holes(draw, section))) if holes else part


def _holes(draw: st.DrawFn, section: Section) -> tuple[WantedHole, ...]:
    """One hole a leg at the most, well inside it, so that none meet."""
    found: list[WantedHole] = []
    for leg, leg_mm in enumerate(section.legs_mm, start=1):
        if draw(st.booleans()):
            along_mm = draw(st.floats(30.0, section.length_mm - 30.0))
            size = {"diameter_mm": draw(st.floats(1.0, 15.0))} if draw(st.booleans()) else {"size_mm": (20.0, 8.0)}
            found.append(WantedHole(len(found) + 1, leg, along_mm, leg_mm / 2, **size))
    return tuple(found)


def radii_mm(part: Part, radius_mm: float) -> dict[int, float]:
    """One radius for all bends, and half the gap for hems."""
    return {each.number: (each.gap_mm or 0.0) / 2 if each.kind == "hem" else radius_mm for each in part.section.bends}


def blank(part: Part, radius_mm: float) -> FlatPattern:
    """The part's blank with one radius for all its bends."""
    return lay_out(part, shop(), radii_mm=radii_mm(part, radius_mm))


def middle_line(pattern: FlatPattern, fold: Fold) -> list[tuple[np.ndarray, np.ndarray]]:
    """Both ends of each face in the cross-section (developed, up), faces in order."""
    ends = []
    for face in pattern.faces:
        near, far = fold.folded_mm(face.number, [face.outline_mm[0], face.outline_mm[3]])[:, 1:]
        ends.append((near, far))
    return ends


def direction(pattern: FlatPattern, fold: Fold, index: int) -> np.ndarray:
    """Where a face runs in the cross-section, from its frame, so that a face of no length has one too."""
    rotation = np.array(fold.frames[pattern.faces[index].number].rotation)
    return rotation[1:, 1]


def turned_deg(before: np.ndarray, after: np.ndarray) -> float:
    """The turn from one direction to the next, signed, in degrees: -180 to 180."""
    cross = before[0] * after[1] - before[1] * after[0]
    return math.degrees(math.atan2(cross, float(before @ after)))
