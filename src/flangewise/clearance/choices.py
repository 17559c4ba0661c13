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
# So many corners of lines are laid beside bodies at once.
MOST_CORNERS = 200_000
_Ints = NDArray[np.int64]


class _Stills:
    """Areas that stand still, each at a moment: the same area as often as it is looked at."""

    def __init__(self, bodies: Sequence[Shrunk]) -> None:
        stills = [(nth, body.keep_mm, *still) for nth, body in enumerate(bodies) for still in body.stills]
        moments = np.array([len(sights) for *_, sights in stills], dtype=np.int64)
        areas = np.array([area for _, _, area, _ in stills], dtype=object)
        bounds_mm = shapely.bounds(areas).reshape(-1, 4)
        keep_mm = np.array([keep_mm for _, keep_mm, *_ in stills])[:, None]
        self.owners: _Ints = np.repeat(np.array([nth for nth, *_ in stills], dtype=np.int64), moments)
        self._areas, self._keep_mm = np.repeat(areas, moments), np.repeat(keep_mm[:, 0], moments)
        self._low_mm = np.repeat(bounds_mm[:, :2] - keep_mm, moments, axis=0)
        self._high_mm = np.repeat(bounds_mm[:, 2:] + keep_mm, moments, axis=0)
        self._sights = np.concatenate([np.zeros((0, 4)), *(sights for *_, sights in stills)]).T
        # Which moments are asked together: the last, an early one, the others.
        ends = np.repeat(np.cumsum(moments), moments)
        from_end = ends - np.arange(len(ends))
        self.turns = np.where(from_end == 1, 0, np.where(np.repeat(moments, moments) - from_end == EARLY, 1, 2))

    def met(self, points_mm: Points, rows: _Ints, at: _Ints) -> tuple[_Ints, _Ints]:
        """Which lines meet the bodies of which areas, asked of those lines and areas."""
        few = max(MOST_CORNERS // max(points_mm.shape[1], 1), 1)
        parts = [self._met(points_mm, rows[nth : nth + few], at[nth : nth + few]) for nth in range(0, len(rows), few)]
        none = np.zeros(0, dtype=np.int64)
        found = [np.concatenate([none, *each]) for each in zip((none, none), *parts, strict=True)]
        return found[0], self.owners[found[1]]

    def _met(self, points_mm: Points, rows: _Ints, at: _Ints) -> tuple[_Ints, _Ints]:
        # A circle about a line lies where its middle does, however the line is turned.
        low_mm, high_mm = points_mm.min(axis=1), points_mm.max(axis=1)
        middle_mm, radius_mm = (low_mm + high_mm)[:, None] / 2, np.hypot(*(high_mm - low_mm).T) / 2
        near = self._are_near(self._placed(middle_mm, rows, at), radius_mm[rows, None], at)
        rows, at = rows[near], at[near]
        placed_mm = self._placed(points_mm, rows, at)
        near = self._are_near(placed_mm, 0.0, at)
        rows, at = rows[near], at[near]
        hit = shapely.dwithin(self._areas[at], shapely.linestrings(placed_mm[near]), self._keep_mm[at])
        return rows[hit], at[hit]

    def _placed(self, points_mm: Points, rows: _Ints, at: _Ints) -> Points:
        """Lines as areas see them: (pairs, corners, 2)."""
        cos, sin, across_mm, up_mm = self._sights[:, at, None]
        x, y = points_mm[rows, :, 0], points_mm[rows, :, 1]
        return np.stack([cos * x - sin * y + across_mm, sin * x + cos * y + up_mm], axis=2)

    def _are_near(self, points_mm: Points, wider_mm: Points | float, at: _Ints) -> NDArray[np.bool_]:
        is_below = points_mm.min(axis=1) <= self._high_mm[at] + wider_mm
        near: NDArray[np.bool_] = (is_below & (points_mm.max(axis=1) >= self._low_mm[at] - wider_mm)).all(axis=1)
        return near


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
    def _turns(self) -> tuple[_Ints, ...]:
        """What is asked one after the other: bodies at the last moment, at an early one, then at the others."""
        return tuple(np.flatnonzero(self._stills.turns == turn) for turn in range(3))

    def struck(self, lines: Geometries) -> Bits:
        """With which choices each line surely meets a body; lines of as many corners each."""
        met = np.zeros((len(lines), len(self._bodies)), dtype=np.float32)
        found = np.zeros((len(lines), len(self.all)), dtype=np.uint8)
        if not len(lines):
            return found
        left, points_mm = np.arange(len(lines)), _corners_mm(lines)
        for stills in self._turns:
            # Of bodies that are met already, or that only choices have that are shut already, no more is asked.
            is_open = np.unpackbits(~found[left], axis=1)[:, : len(self._each)].astype(np.float32)
            asked = (met[left] == 0) & (is_open @ self._own.T > 0)
            rows, at = np.nonzero(asked[:, self._stills.owners[stills]])
            struck, bodies = self._stills.met(points_mm, left[rows], stills[at])
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
