"""What stands in the way with each of many choices of tools, asked of all of them at once. Source: derived here."""

import itertools
from collections.abc import Sequence
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from flangewise.clearance.region import LAST, OTHERS, Geometries, Shrunk

# For each line or wing a bit a choice of tools.
Bits = NDArray[np.uint8]
_NONE: Geometries = np.zeros(0, dtype=object)
# Least and greatest coordinates: (shapes, 4).
_Boxes = NDArray[np.float64]
_Drawn = tuple[Geometries, _Boxes, NDArray[np.int64], NDArray[np.float64]]


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
    def _known(self) -> dict[tuple[bool, bytes], _Drawn]:
        return {}

    def _drawn(self, numbers: NDArray[np.int64], moments: slice) -> _Drawn:
        """Bodies as they are drawn at some moments, which body each of these is, and how near to each is too near."""
        key = moments is LAST, numbers.tobytes()
        if key not in self._known:
            drawn = [self._bodies[nth].drawn(moments) for nth in numbers.tolist()]
            shapes, owners = np.concatenate([_NONE, *drawn]), np.repeat(numbers, [len(each) for each in drawn])
            keep_mm = np.array([body.keep_mm for body in self._bodies])[owners]
            self._known[key] = shapes, shapely.bounds(shapes), owners, keep_mm
        return self._known[key]

    def struck(self, lines: Geometries) -> Bits:
        """With which choices each line surely meets a body."""
        met = np.zeros((len(lines), len(self._bodies)), dtype=np.float32)
        found = np.zeros((len(lines), len(self.all)), dtype=np.uint8)
        left = np.arange(len(lines))
        shapely.prepare(lines)
        for moments in (LAST, OTHERS):
            asked = met[left] == 0
            if moments is OTHERS:
                # Of bodies that are met already, or that only choices have that are shut already, no more is asked.
                is_open = ~np.unpackbits(found[left], axis=1)[:, : len(self._each)].astype(bool)
                asked &= is_open.astype(np.float32) @ self._own.T > 0
            shapes, bounds_mm, owners, keep_mm = self._drawn(np.flatnonzero(asked.any(axis=0)), moments)
            rows, at = np.nonzero(_are_near(shapely.bounds(lines[left]), bounds_mm, keep_mm) & asked[:, owners])
            near = shapely.dwithin(lines[left[rows]], shapes[at], keep_mm[at])
            met[left[rows[near]], owners[at[near]]] = 1.0
            found[left] = np.packbits(met[left] @ self._own > 0, axis=1)
            left = left[(found[left] != self.all).any(axis=1)]
        return found


def _are_near(lines_mm: _Boxes, shapes_mm: _Boxes, keep_mm: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which boxes come so near to each other: (lines, shapes)."""
    low, high = (shapes_mm[:, :2].T - keep_mm)[:, None], (shapes_mm[:, 2:].T + keep_mm)[:, None]
    own_low, own_high = lines_mm[:, :2].T[..., None], lines_mm[:, 2:].T[..., None]
    near: NDArray[np.bool_] = np.all((own_low <= high) & (own_high >= low), axis=0)
    return near
