"""What stands in the way with each of many choices of tools, asked of all of them at once. Source: derived here."""

import itertools
from collections.abc import Sequence
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from flangewise.clearance.region import SAMPLES, Geometries, Shrunk

# For each line or wing a bit a choice of tools.
Bits = NDArray[np.uint8]
_Drawn = tuple[float, shapely.STRtree, NDArray[np.int64]]


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
    def _drawn(self) -> tuple[tuple[_Drawn, ...], ...]:
        """By the distance to keep from them: bodies as they are drawn, and which body each of these is; one of
        their moments first, which as a rule is enough, then the others."""
        alike: dict[float, list[int]] = {}
        for nth, body in enumerate(self._bodies):
            alike.setdefault(body.keep_mm, []).append(nth)
        found = []
        for is_last in (True, False):
            turn = []
            for keep_mm, numbers in alike.items():
                drawn = [self._bodies[nth].drawn for nth in numbers]
                drawn = [shapes[(np.arange(len(shapes)) % SAMPLES == SAMPLES - 1) == is_last] for shapes in drawn]
                owners = np.repeat(np.array(numbers), [len(shapes) for shapes in drawn])
                turn.append((keep_mm, shapely.STRtree(np.concatenate(drawn)), owners))
            found.append(tuple(turn))
        return tuple(found)

    def struck(self, lines: Geometries) -> Bits:
        """With which choices each line surely meets a body."""
        met = np.zeros((len(lines), len(self._bodies)), dtype=np.float32)
        found = np.zeros((len(lines), len(self.all)), dtype=np.uint8)
        left = np.arange(len(lines))
        shapely.prepare(lines)
        for nth, turn in enumerate(self._drawn):
            asked = met[left] == 0
            if nth:
                # Of bodies that are met already, or that only choices have that are shut already, no more is asked.
                is_open = ~np.unpackbits(found[left], axis=1)[:, : len(self._each)].astype(bool)
                asked &= is_open.astype(np.float32) @ self._own.T > 0
            for keep_mm, tree, owners in turn:
                rows, shapes = tree.query(_boxes(lines[left], keep_mm))
                some = asked[rows, owners[shapes]]
                rows, shapes = rows[some], shapes[some]
                near = shapely.dwithin(lines[left[rows]], tree.geometries[shapes], keep_mm)
                met[left[rows[near]], owners[shapes[near]]] = 1.0
            found[left] = np.packbits(met[left] @ self._own > 0, axis=1)
            left = left[(found[left] != self.all).any(axis=1)]
        return found


def _boxes(lines: Geometries, wider_mm: float) -> Geometries:
    low_x, low_y, high_x, high_y = shapely.bounds(lines).T
    boxes: Geometries = shapely.box(low_x - wider_mm, low_y - wider_mm, high_x + wider_mm, high_y + wider_mm)
    return boxes
