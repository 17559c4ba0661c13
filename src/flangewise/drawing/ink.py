"""Where a picture is already inked: a raster of half-millimetre cells.

It answers one question fast: is this rectangle still free? A cell counts as inked as soon as a line touches it, so
the answer errs to the careful side only. Derived here; no source.
"""

import math
from collections.abc import Iterable, Iterator
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from flangewise.drawing.clip import crossings_mm
from flangewise.drawing.items import Box, Line, Point
from flangewise.records import dataclass, replace

CELL_MM = 0.5


@dataclass(frozen=True)
class Ink:
    """The inked cells of a frame: `cells[i, j]` is the one `i * CELL_MM` down and `j * CELL_MM` to the right."""

    frame: Box
    cells: NDArray[np.bool_]

    def with_lines(self, lines: Iterable[Line]) -> "Ink":
        """The raster with lines drawn in, each as thick as its pen; black shapes count whole."""
        drawn = tuple(lines)
        strokes = [
            (*upper, *lower, line.pen.weight_mm / 2 if line.pen else 0.0)
            for line in drawn
            for upper, lower in map(
                _from_above, pairwise((*line.points_mm, line.points_mm[0]) if line.closed else line.points_mm)
            )
        ]
        fills = [run for line in drawn if line.fill == "black" for run in self._filled(line.points_mm)]
        return self._with_runs(np.concatenate([self._crossed(np.array(strokes).reshape(-1, 5)), _runs(fills)]))

    def with_boxes(self, boxes: Iterable[Box]) -> "Ink":
        """The raster with whole rectangles inked: the room of texts."""
        inked = replace(self, cells=self.cells.copy())
        for box in boxes:
            inked.cells[self._rows(box.top_mm, box.bottom_mm), self._columns(box.left_mm, box.right_mm)] = True
        return inked

    def free(self, box: Box) -> bool:
        """Whether the rectangle lies in the frame and touches no inked cell."""
        return bool(self.free_places(np.array([[box.left_mm, box.top_mm, box.right_mm, box.bottom_mm]]))[0])

    def free_places(self, boxes_mm: NDArray[np.float64]) -> NDArray[np.bool_]:
        """The same for many rectangles at once, rows of left, top, right, bottom: how many inked cells each holds."""
        frame, columns = self.frame, boxes_mm.T
        inside: NDArray[np.bool_] = (columns[0] >= frame.left_mm) & (columns[1] >= frame.top_mm)
        inside &= (columns[2] <= frame.right_mm) & (columns[3] <= frame.bottom_mm)
        origin = np.array([frame.left_mm, frame.top_mm, frame.left_mm, frame.top_mm])[:, None]
        left, top, right, bottom = ((columns[:, inside] - origin) / CELL_MM).astype(int)
        wide, summed = self._summed.shape[1], self._summed.ravel()
        # Corners by their place in the raster as one row.
        top, bottom, right = top * wide, (bottom + 1) * wide, right + 1
        inside[inside] = summed[bottom + right] - summed[top + right] - summed[bottom + left] + summed[top + left] == 0
        return inside

    @cached_property
    def _summed(self) -> NDArray[np.int64]:
        """How many cells are inked above and to the left of each corner of the raster."""
        return np.pad(self.cells.cumsum(axis=0, dtype=np.int64).cumsum(axis=1), ((1, 0), (1, 0)))

    def _crossed(self, strokes: NDArray[np.float64]) -> NDArray[np.float64]:
        """Each row that a stroke crosses, with the stretch of it that it covers: row of cells, from, to in mm.

        Strokes come as x, y of the upper end, x, y of the lower one, half the pen's weight.
        """
        x0, y0, x1, y1, half_mm = strokes.T
        rows, top_mm = len(self.cells), self.frame.top_mm
        first = np.clip(np.floor((y0 - half_mm - top_mm) / CELL_MM), 0, rows).astype(int)
        count = np.clip(np.floor((y1 + half_mm - top_mm) / CELL_MM) + 1, first, rows).astype(int) - first
        each = np.repeat(np.arange(len(strokes)), count)
        row = np.arange(len(each)) - np.repeat(np.cumsum(count) - count, count) + first[each]
        x0, y0, x1, y1, half_mm = strokes[each].T
        level_mm, high_mm = top_mm + row * CELL_MM, y1 - y0
        level = high_mm < 1e-9
        slope = (x1 - x0) / np.where(level, 1.0, high_mm)
        one = np.where(level, x0, x0 + slope * (np.clip(level_mm - half_mm, y0, y1) - y0))
        two = np.where(level, x1, x0 + slope * (np.clip(level_mm + CELL_MM + half_mm, y0, y1) - y0))
        return np.column_stack([row, np.minimum(one, two) - half_mm, np.maximum(one, two) + half_mm])

    def _filled(self, outline_mm: tuple[Point, ...]) -> Iterator[tuple[float, float, float]]:
        """The inside of a shape, row by row through the middle of each row; its edges are inked as strokes."""
        box = bounds(outline_mm)
        rows = self._rows(box.top_mm, box.bottom_mm)
        for row in range(rows.start, rows.stop):
            cuts = crossings_mm(outline_mm, self.frame.top_mm + (row + 0.5) * CELL_MM)
            yield from ((row, left, right) for left, right in zip(cuts[::2], cuts[1::2], strict=False))

    def _with_runs(self, runs: NDArray[np.float64]) -> "Ink":
        """The raster with stretches of rows inked: counted up where one begins, down behind where it ends."""
        wide = self.cells.shape[1]
        row, cells = runs[:, 0].astype(int), np.floor((runs[:, 1:] - self.frame.left_mm) / CELL_MM).astype(int)
        first, end = np.maximum(cells[:, 0], 0), np.minimum(cells[:, 1] + 1, wide)
        row, first, end = (each[first < end] for each in (row, first, end))
        size = len(self.cells) * (wide + 1)
        steps = np.bincount(row * (wide + 1) + first, minlength=size) - np.bincount(
            row * (wide + 1) + end, minlength=size
        )
        return replace(self, cells=self.cells | (steps.reshape(-1, wide + 1).cumsum(axis=1)[:, :-1] > 0))

    def _rows(self, top_mm: float, bottom_mm: float) -> slice:
        return _span(top_mm - self.frame.top_mm, bottom_mm - self.frame.top_mm, len(self.cells))

    def _columns(self, left_mm: float, right_mm: float) -> slice:
        return _span(left_mm - self.frame.left_mm, right_mm - self.frame.left_mm, self.cells.shape[1])


def _ring(line: Line) -> tuple[Point, ...]:
    return (*line.points_mm, line.points_mm[0]) if line.closed else line.points_mm


def _from_above(ends: tuple[Point, Point]) -> tuple[Point, Point]:
    return ends if ends[0][1] <= ends[1][1] else ends[::-1]


def _runs(found: list[tuple[float, float, float]]) -> NDArray[np.float64]:
    return np.array(found).reshape(-1, 3)


def _span(from_mm: float, to_mm: float, count: int) -> slice:
    """The cells from one place to another, both among them, of so many; what lies beyond is left out."""
    return slice(max(0, math.floor(from_mm / CELL_MM)), min(max(0, math.floor(to_mm / CELL_MM) + 1), count))


def clean(frame: Box) -> Ink:
    """A raster with nothing on it."""
    size = (math.ceil(frame.height_mm / CELL_MM) + 1, math.ceil(frame.width_mm / CELL_MM) + 1)
    return Ink(frame, np.zeros(size, dtype=bool))


def bounds(points_mm: Iterable[Point]) -> Box:
    """The smallest upright rectangle around the points. Raises ValueError for none at all."""
    spots = list(points_mm)
    across, down = [x for x, _ in spots], [y for _, y in spots]
    return Box(min(across), min(down), max(across), max(down))
