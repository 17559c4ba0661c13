"""The whole part in the machine, from behind to the front, before a stroke or at its end, as one line."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from .fold import Line, Wing, arc, mirrored
from .rack import Blank, Choice
from .strikes import hem_place, leg_is_at_end, offset_span_mm, swing_of

Place = Callable[[Line, bool], Line]


def nose_mm(blank: Blank, bend: int, choice: Choice, *, hit: int, at_end: bool) -> float:
    """Height of the nose over the die's top, before a stroke (touching the sheet) or at its end."""
    kind = choice.hits[hit].kind
    t = blank.thickness_mm
    if kind in ("bend", "hem"):
        swing = swing_of(blank, bend, choice)
        return swing.nose_mm(swing.half_deg if at_end else 0.0)
    if kind == "offset":
        levels = choice.tools[hit].levels_mm
        return (min(levels) if at_end else max(levels)) + t
    return 2 * (blank.radii_mm[blank.zones_of[bend][0]] + t / 2) + t


def placing(blank: Blank, bend: int, choice: Choice, *, hit: int, at_end: bool, start_behind: bool) -> Place:
    """Where a line of the wing in front (False) or behind (True) lies then."""
    kind = choice.hits[hit].kind
    half = blank.thickness_mm / 2
    if kind in ("bend", "hem"):
        swing = swing_of(blank, bend, choice)
        turn = swing.half_deg if at_end else 0.0
        ahead, edge = np.exp(1j * math.radians(turn)), swing.edge(turn)
        return lambda line, behind: mirrored(line * ahead + edge) if behind else line * ahead + edge
    if kind == "offset":
        span = offset_span_mm(blank, bend, formed=at_end) / 2
        levels = choice.tools[hit].levels_mm
        own = {side: (levels[0 if side else 1] if at_end else max(levels)) for side in (False, True)}
        edges = {side: complex(span, own[side] + half) for side in own}
        return lambda line, behind: mirrored(line + edges[behind]) if behind else line + edges[behind]
    leg_behind = start_behind != leg_is_at_end(blank, bend)

    def pressed(line: Line, behind: bool) -> Line:
        laid = hem_place(blank, bend, line, is_leg=behind == leg_behind)
        return laid if leg_behind else mirrored(laid)

    return pressed


def middle(blank: Blank, bend: int, choice: Choice, *, hit: int, at_end: bool, start_behind: bool) -> Line:
    """What lies between the wings, from behind to the front; its two ends are the wings' own."""
    place = placing(blank, bend, choice, hit=hit, at_end=at_end, start_behind=start_behind)
    root = np.zeros(1, dtype=complex)
    first, last = place(root, True)[0], place(root, False)[0]
    if choice.hits[hit].kind in ("bend", "hem") and at_end:
        swing = swing_of(blank, bend, choice)
        bow = arc(swing.radius_mm + swing.thickness_mm / 2, -swing.half_deg, swing.half_deg)
        line: Line = np.concatenate([[first], first + bow])
        return line
    if choice.hits[hit].kind == "flatten":
        turn = np.linspace(-90.0, 90.0, 25)
        radius, centre = abs(last - first) / 2, (first + last) / 2
        side = np.sign((last - first).imag)
        # The fold lies on the far side of the body: outward of the wings' common beginning.
        far = -1.0 if place(np.ones(1, dtype=complex), False)[0].real > last.real else 1.0
        angles = np.radians(turn)
        bend_line: Line = centre + radius * (far * np.cos(angles) + 1j * side * np.sin(angles))
        return bend_line
    if choice.hits[hit].kind == "offset" and at_end:
        return _step(blank, bend, first, rises=last.imag > first.imag)
    straight: Line = np.array([first, last])
    return straight


def _step(blank: Blank, bend: int, first: complex, *, rises: bool) -> Line:
    """The two arcs of an offset and the web between them, from behind."""
    near, far = blank.zones_of[bend][0], blank.zones_of[bend][-1]
    turn = abs(blank.turns_deg[near]) * (1 if rises else -1)
    radii = [blank.radii_mm[zone] + blank.thickness_mm / 2 for zone in (near, far)]
    up = first + arc(radii[0], 0.0, turn)
    web = up[-1] + blank.flats_mm[far] * np.exp(1j * np.radians(turn))
    line: Line = np.concatenate([[first], up, [web], web + arc(radii[1], turn, 0.0)])
    return line


def laid_out(
    blank: Blank,
    bend: int,
    choice: Choice,
    front: Wing,
    back: Wing,
    *,
    hit: int,
    at_end: bool,
    start_behind: bool,
) -> Line:
    """The middle of the whole sheet."""
    place = placing(blank, bend, choice, hit=hit, at_end=at_end, start_behind=start_behind)
    between = middle(blank, bend, choice, hit=hit, at_end=at_end, start_behind=start_behind)
    line: Line = np.concatenate([place(back.whole, True)[::-1], between[1:-1], place(front.whole, False)])
    return line
