"""Where a picture is already inked: a raster of half-millimetre cells.

It answers one question fast: is this rectangle still free? A cell counts as inked as soon as a line touches it, so
the answer errs to the careful side only. Derived here; no source.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from flangewise.drawing.clip import crossings_mm
from flangewise.drawing.items import Box, Line, Point

CELL_MM = 0.5


@dataclass(frozen=True)
class Ink:
    """The inked cells of a frame: `cells[i, j]` is the one `i * CELL_MM` down and `j * CELL_MM` to the right."""

    frame: Box
    cells: NDArray[np.bool_]

    def with_lines(self, lines: Iterable[Line]) -> "Ink":
        """The raster with lines drawn in, each as thick as its pen; black shapes count whole."""
        inked = replace(self, cells=self.cells.copy())
        for line in lines:
            points = (*line.points_mm, line.points_mm[0]) if line.closed else line.points_mm
            half_mm = line.pen.weight_mm / 2 if line.pen else 0.0
            for here, there in pairwise(points):
                inked._stroke(here, there, half_mm=half_mm)
            if line.fill == "black":
                inked._flood(line.points_mm)
        return inked

    def with_boxes(self, boxes: Iterable[Box]) -> "Ink":
        """The raster with whole rectangles inked: the room of texts."""
        inked = replace(self, cells=self.cells.copy())
        for box in boxes:
            inked.cells[self._rows(box.top_mm, box.bottom_mm), self._columns(box.left_mm, box.right_mm)] = True
        return inked

    def free(self, box: Box) -> bool:
        """Whether the rectangle lies in the frame and touches no inked cell."""
        inside = self.cells[self._rows(box.top_mm, box.bottom_mm), self._columns(box.left_mm, box.right_mm)]
        return self.frame.holds(box) and not inside.any()

    def free_places(self, boxes_mm: NDArray[np.float64]) -> NDArray[np.bool_]:
        """The same for many rectangles at once, rows of left, top, right, bottom: how many inked cells each holds."""
        frame = self.frame
        inside: NDArray[np.bool_] = np.all(boxes_mm[:, :2] >= (frame.left_mm, frame.top_mm), axis=1)
        inside &= np.all(boxes_mm[:, 2:] <= (frame.right_mm, frame.bottom_mm), axis=1)
        # How many cells are inked above and to the left of each corner of the raster.
        summed = np.pad(self.cells.cumsum(axis=0, dtype=np.int64).cumsum(axis=1), ((1, 0), (1, 0)))
        origin = np.array([frame.left_mm, frame.top_mm, frame.left_mm, frame.top_mm])
        left, top, right, bottom = ((boxes_mm[inside] - origin) / CELL_MM).astype(int).T
        inked = summed[bottom + 1, right + 1] - summed[top, right + 1] - summed[bottom + 1, left] + summed[top, left]
        inside[inside] = inked == 0
        return inside

    def _stroke(self, here: Point, there: Point, *, half_mm: float) -> None:
        (x0, y0), (x1, y1) = sorted((here, there), key=lambda point: point[1])
        rows = self._rows(y0 - half_mm, y1 + half_mm)
        if y1 - y0 < 1e-9 or x0 == x1:
            self.cells[rows, self._columns(min(x0, x1) - half_mm, max(x0, x1) + half_mm)] = True
            return
        slope, half_way = (x1 - x0) / (y1 - y0), CELL_MM + half_mm
        for row in range(rows.start, rows.stop):
            level_mm = self.frame.top_mm + row * CELL_MM
            one = x0 + slope * (min(max(level_mm - half_mm, y0), y1) - y0)
            two = x0 + slope * (min(max(level_mm + half_way, y0), y1) - y0)
            self.cells[row, self._columns(min(one, two) - half_mm, max(one, two) + half_mm)] = True

    def _flood(self, outline_mm: tuple[Point, ...]) -> None:
        """Ink the inside of a shape, row by row through the middle of each row; its edges are inked as strokes."""
        box = bounds(outline_mm)
        rows = self._rows(box.top_mm, box.bottom_mm)
        for row in range(rows.start, rows.stop):
            cuts = crossings_mm(outline_mm, self.frame.top_mm + (row + 0.5) * CELL_MM)
            for left, right in zip(cuts[::2], cuts[1::2], strict=False):
                self.cells[row, self._columns(left, right)] = True

    def _rows(self, top_mm: float, bottom_mm: float) -> slice:
        return _span(top_mm - self.frame.top_mm, bottom_mm - self.frame.top_mm, len(self.cells))

    def _columns(self, left_mm: float, right_mm: float) -> slice:
        return _span(left_mm - self.frame.left_mm, right_mm - self.frame.left_mm, self.cells.shape[1])


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
