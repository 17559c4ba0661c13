"""A tilted way that a plan tells, walked by the judge's own fold and folding: it looks for none by itself.

So where no way is level the judge's own least is silent, and a plan that is told with one is held to its price and to
its way alone; that it is the least is never claimed of it.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import shapely

from .bench import Hit
from .exits import obstacles
from .fold import Line, Wing, arc, mirrored, plane
from .poses import laid_out, nose_mm
from .rack import Blank, Choice
from .strikes import swing_of

STEP_MM, CAUGHT_MM, PRESSED_MM, FURTHEST_MM = 0.5, 0.07, 0.3, 0.5
TOLD = ("tilt-in", "tilt-out")


def _lying(
    blank: Blank, hit: Hit, choice: Choice, front: Wing, back: Wing, *, at_end: bool
) -> tuple[Line, float, float]:
    """The part flat, or at the end and sprung back; the height of the nose; how deep it may lie in the tools."""
    if choice.hits[0].kind != "bend":
        nose = nose_mm(blank, hit.bend, choice, hit=0, at_end=at_end)
        whole = laid_out(blank, hit.bend, choice, front, back, hit=0, at_end=at_end, start_behind=hit.start_behind)
        return whole, nose, PRESSED_MM
    swing = swing_of(blank, hit.bend, choice)
    turn = min(abs(blank.turns_deg[blank.zones_of[hit.bend][0]]) / 2, swing.half_deg) if at_end else 0.0
    ahead, edge = np.exp(1j * math.radians(turn)), swing.edge(turn)
    bow = arc(swing.radius_mm + swing.thickness_mm / 2, -turn, turn)
    # What is left of the zone lies straight on both sides of the arc, which the two ends of it are level with.
    begin = mirrored(np.array([edge]))[0] + (edge.real * 2 - bow[-1].real) / 2 / ahead.real / ahead
    line: Line = np.concatenate(
        [mirrored(back.whole * ahead + edge)[::-1], [begin], begin + bow, front.whole * ahead + edge]
    )
    return line, swing.nose_mm(turn), CAUGHT_MM


def is_free(blank: Blank, hit: Hit, choice: Choice, front: Wing, back: Wing, move: str) -> bool:
    """Whether the way told for a move leads out of the tools without striking, at moments near each other."""
    line, nose, tight = _lying(blank, hit, choice, front, back, at_end=move == "tilt-out")
    places = np.array(next(way for told, way in hit.told if told == move))
    standing, coming = (shapely.union_all(bodies) for bodies in obstacles(choice.tools[0]))
    free, rise = blank.thickness_mm / 2 - tight, hit.told_open_mm - nose
    ups = np.linspace(0.0, rise, max(2, math.ceil(rise / STEP_MM)))
    hung = places[1][1] != 0
    # While the ram goes up the part lies still, and is passed by it, or hangs on it, and passes what stands.
    passed = [line + 1j * up if hung else line - 1j * (nose + up) for up in ups]
    if not _clear(passed, standing if hung else coming, free) or (hung and abs(places[1][1] - rise) > FURTHEST_MM):
        return False
    walked, far = [], float(np.abs(line).max())
    for one, other in itertools.pairwise(places[1:]):
        length = math.hypot(*(other[:2] - one[:2])) + far * math.radians(abs(other[2] - one[2]))
        for share in np.linspace(0.0, 1.0, max(2, math.ceil(length / STEP_MM))):
            across, up, tilt = one + share * (other - one)
            walked.append(line * np.exp(1j * math.radians(tilt)) + complex(across, up))
    under = [each - 1j * hit.told_open_mm for each in walked]
    ends = float(walked[-1].real.min()) - free > max(standing.bounds[2], coming.bounds[2])
    return ends and _clear(walked, standing, free) and _clear(under, coming, free)


def _clear(lines: list[Line], body: shapely.Geometry, free_mm: float) -> bool:
    shapely.prepare(body)
    strings = shapely.linestrings(np.stack([plane(line) for line in lines]))
    return not shapely.dwithin(strings, body, free_mm).any()
