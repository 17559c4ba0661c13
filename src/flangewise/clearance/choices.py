"""What stands in the way with each of many choices of tools, asked of all of them at once. Source: derived here."""

import itertools
from collections.abc import Sequence
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from flangewise.clearance.region import MACHINE, Geometries, Region, Shrunk
from flangewise.geometry import Points

# For each line or wing a bit a choice of tools.
Bits = NDArray[np.uint8]
# What a wing meets on its way it mostly meets at this moment: it is asked before those besides it and the last.
EARLY = 2
# Of fewer bodies it is asked of together with the others.
MANY_BODIES = 12
# So many corners of lines are laid beside bodies at once.
MOST_CORNERS = 200_000
# Of so few lines and areas those far apart are not sorted out first.
FEW_PAIRS = 100
_Ints = NDArray[np.int64]
_Floats = NDArray[np.float64]


class _Stills:
    """Areas that stand still, each at a moment: the same area as often as it is looked at."""

    def __init__(self, bodies: Sequence[Shrunk]) -> None:
        stills = [(nth, body.keep_mm, *still) for nth, body in enumerate(bodies) for still in body.stills]
        moments = np.array([len(sights) for *_, sights in stills], dtype=np.int64)
        areas = np.array([area for _, _, area, _ in stills], dtype=object)
        bounds_mm = shapely.bounds(areas).reshape(-1, 4)
        keep_mm = np.array([keep_mm for _, keep_mm, *_ in stills])
        self.owners: _Ints = np.repeat(np.array([nth for nth, *_ in stills], dtype=np.int64), moments)
        self._areas, self._keep_mm = np.repeat(areas, moments), np.repeat(keep_mm, moments)
        # What lies outside of these keeps clear: least and greatest coordinates, (4, areas).
        self._boxes_mm = np.repeat(bounds_mm.T + keep_mm * [[-1.0], [-1.0], [1.0], [1.0]], moments, axis=1)
        self._sights = np.concatenate([np.zeros((0, 4)), *(sights for *_, sights in stills)]).T
        # Which moments are asked together: the last, an early one, the others.
        ends = np.repeat(np.cumsum(moments), moments)
        from_end = ends - np.arange(len(ends))
        self.turns = np.where(from_end == 1, 0, np.where(np.repeat(moments, moments) - from_end == EARLY, 1, 2))

    def met(self, points_mm: Points, rows: _Ints, at: _Ints) -> tuple[_Ints, _Ints]:
        """Which lines meet the bodies of which areas, asked of those lines and areas."""
        few = max(MOST_CORNERS // max(points_mm.shape[1], 1), 1)
        if len(rows) > few:
            parts = [
                self.met(points_mm, rows[nth : nth + few], at[nth : nth + few]) for nth in range(0, len(rows), few)
            ]
            return np.concatenate([each for each, _ in parts]), np.concatenate([each for _, each in parts])
        if len(rows) > FEW_PAIRS:
            # A circle about a line lies where its middle does, however the line is turned.
            low_mm, high_mm = points_mm.min(axis=1), points_mm.max(axis=1)
            radius_mm = np.hypot(*(high_mm - low_mm).T) / 2
            middles_mm = self._placed((low_mm + high_mm)[:, None] / 2, rows, at)
            near = self._are_near(*middles_mm, at, radius_mm[rows])
            rows, at = rows[near], at[near]
        across_mm, up_mm = self._placed(points_mm, rows, at)
        near = self._are_near(across_mm, up_mm, at)
        if not len(near):
            return near, near
        rows, at, lines = rows[near], at[near], shapely.linestrings(across_mm[near], up_mm[near])
        hit = np.flatnonzero(shapely.dwithin(self._areas[at], lines, self._keep_mm[at]))
        return rows[hit], self.owners[at[hit]]

    def _placed(self, points_mm: Points, rows: _Ints, at: _Ints) -> tuple[_Floats, _Floats]:
        """Across and up of the corners of lines as areas see them: (pairs, corners) both."""
        cos, sin, across_mm, up_mm = self._sights[:, at, None]
        x, y = points_mm[rows, :, 0], points_mm[rows, :, 1]
        return cos * x - sin * y + across_mm, sin * x + cos * y + up_mm

    def _are_near(self, across_mm: _Floats, up_mm: _Floats, at: _Ints, wider_mm: _Floats | float = 0.0) -> _Ints:
        """Which lines come near to the boxes of areas."""
        left, low, right, high = self._boxes_mm[:, at]
        is_beside = (across_mm.min(axis=1) <= right + wider_mm) & (across_mm.max(axis=1) >= left - wider_mm)
        is_level = (up_mm.min(axis=1) <= high + wider_mm) & (up_mm.max(axis=1) >= low - wider_mm)
        return np.flatnonzero(is_beside & is_level)


class InEachWay:
    """Bodies that stand in the way of one wing with some choices of tools; a body that several share is asked once."""

    def __init__(self, each: Sequence[Sequence[Shrunk]]) -> None:
        """`each`: what surely stands in the way with each choice."""
        self._each, self._bodies = each, tuple(dict.fromkeys(itertools.chain(*each)))
        self.all: Bits = np.packbits(np.ones(len(each), dtype=bool))

    @cached_property
    def _own(self) -> NDArray[np.float32]:
        """Which bodies are a choice's: (bodies, choices)."""
        numbers = {id(body): nth for nth, body in enumerate(self._bodies)}
        own = np.zeros((len(self._bodies), len(self._each)), dtype=np.float32)
        for choice, bodies in enumerate(self._each):
            own[[numbers[id(body)] for body in bodies], choice] = 1.0
        return own

    @cached_property
    def _stills(self) -> _Stills:
        return _Stills(self._bodies)

    @cached_property
    def _turns(self) -> list[tuple[_Ints, _Ints]]:
        """What is asked one after the other, with its owners: bodies at the last moment, at an early one, then at the
        others; of few all but the last at once."""
        turns = np.minimum(self._stills.turns, 1) if len(self._bodies) < MANY_BODIES else self._stills.turns
        each = [np.flatnonzero(turns == turn) for turn in range(3)]
        return [(stills, self._stills.owners[stills]) for stills in each if len(stills)]

    def struck(self, lines: Geometries) -> Bits:
        """With which choices each line surely meets a body; lines of as many corners each."""
        met = np.zeros((len(lines), len(self._bodies)), dtype=np.float32)
        found = np.zeros((len(lines), len(self.all)), dtype=np.uint8)
        if not len(lines):
            return found
        left, points_mm, asked = np.arange(len(lines)), _corners_mm(lines), met == 0
        for nth, (stills, owners) in enumerate(self._turns):
            if nth:
                # Of bodies that are met already, or that only choices have that are shut already, no more is asked.
                is_open = np.unpackbits(~found[left], axis=1)[:, : len(self._each)].astype(np.float32)
                asked = (met[left] == 0) & (is_open @ self._own.T > 0)
            rows, at = np.nonzero(asked[:, owners])
            struck, bodies = self._stills.met(points_mm, left[rows], stills[at])
            if len(struck):
                met[struck, bodies] = 1.0
                found[left] = np.packbits(met[left] @ self._own > 0, axis=1)
                left = left[(found[left] != self.all).any(axis=1)]
                if not len(left):
                    break
        return found


def _corners_mm(lines: Geometries) -> Points:
    """The corners of lines of as many each, the first once where all lines begin with it several times."""
    points_mm = shapely.get_coordinates(lines).reshape(len(lines), -1, 2)
    is_first = (points_mm == points_mm[:, :1]).all(axis=(0, 2))
    found: Points = points_mm[:, max(int(is_first.argmin()) - 1, 0) :]
    return found


def shrunk_machine(regions: Sequence[Region], moved_mm: Sequence[float], slack_mm: float) -> tuple[Shrunk, ...]:
    """What of the machine's own bodies stands in the way with every one of some tools, each by itself."""
    found = []
    for name in MACHINE:
        own = [[part for part in region.parts if part.sweeps[0].name == name] for region in regions]
        if all(len(each) == 1 for each in own):
            found.append(Shrunk([part for (part,) in own], moved_mm, slack_mm))
    return tuple(found)
