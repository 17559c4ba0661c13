"""Where a picture is already inked: a raster of half-millimetre cells, one whole number a row, one bit a cell.

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
from flangewise.drawing.items import Box, Line
from flangewise.drawing.pens import Point

CELL_MM = 0.5


@dataclass(frozen=True)
class Ink:
    """The inked cells of a frame: `rows[i]` holds the cells from `i * CELL_MM` down, lowest bit leftmost."""

    frame: Box
    rows: tuple[int, ...]

    def with_lines(self, lines: Iterable[Line]) -> "Ink":
        """The raster with lines drawn in, each as thick as its pen; black shapes count whole."""
        rows = list(self.rows)
        for line in lines:
            points = (*line.points_mm, line.points_mm[0]) if line.closed else line.points_mm
            half_mm = line.pen.weight_mm / 2 if line.pen else 0.0
            for here, there in pairwise(points):
                self._stroke(rows, here, there, half_mm=half_mm)
            if line.fill == "black":
                self._flood(rows, line.points_mm)
        return replace(self, rows=tuple(rows))

    def with_boxes(self, boxes: Iterable[Box]) -> "Ink":
        """The raster with whole rectangles inked: the room of texts."""
        rows = list(self.rows)
        for box in boxes:
            self._block(rows, box)
        return replace(self, rows=tuple(rows))

    def free(self, box: Box) -> bool:
        """Whether the rectangle lies in the frame and touches no inked cell."""
        if not self.frame.holds(box):
            return False
        # Inside the frame all distances are positive, so whole cells are cut off, not looked down.
        left = int((box.left_mm - self.frame.left_mm) / CELL_MM)
        wide = int((box.right_mm - self.frame.left_mm) / CELL_MM) - left + 1
        top = int((box.top_mm - self.frame.top_mm) / CELL_MM)
        bottom = int((box.bottom_mm - self.frame.top_mm) / CELL_MM)
        mask = ((1 << wide) - 1) << left
        return not any(row & mask for row in self.rows[top : bottom + 1])

    def free_places(self, boxes_mm: NDArray[np.float64]) -> NDArray[np.bool_]:
        """The same for many rectangles at once, rows of left, top, right, bottom: how many inked cells each holds."""
        frame = self.frame
        inside = (boxes_mm[:, 0] >= frame.left_mm) & (boxes_mm[:, 1] >= frame.top_mm)
        inside &= (boxes_mm[:, 2] <= frame.right_mm) & (boxes_mm[:, 3] <= frame.bottom_mm)
        summed = self._summed()
        origin = np.array([frame.left_mm, frame.top_mm, frame.left_mm, frame.top_mm])
        cells = ((boxes_mm[inside] - origin) / CELL_MM).astype(int)
        left, top, right, bottom = cells[:, 0], cells[:, 1], cells[:, 2] + 1, cells[:, 3] + 1
        inked = summed[bottom, right] - summed[top, right] - summed[bottom, left] + summed[top, left]
        inside[inside] = inked == 0
        return inside

    def _summed(self) -> NDArray[np.int64]:
        """How many cells are inked above and to the left of each corner of the raster."""
        size = math.ceil(self.frame.width_mm / CELL_MM) // 8 + 1
        packed = np.frombuffer(b"".join(row.to_bytes(size, "little") for row in self.rows), dtype=np.uint8)
        cells = np.unpackbits(packed, bitorder="little").reshape(len(self.rows), -1)
        summed = np.zeros((cells.shape[0] + 1, cells.shape[1] + 1), dtype=np.int64)
        summed[1:, 1:] = cells.cumsum(axis=0, dtype=np.int64).cumsum(axis=1)
        return summed

    def _stroke(self, rows: list[int], here: Point, there: Point, *, half_mm: float) -> None:
        (x0, y0), (x1, y1) = sorted((here, there), key=lambda point: point[1])
        top, bottom = self._band(y0 - half_mm, y1 + half_mm)
        if y1 - y0 < 1e-9 or x0 == x1:
            mask = self._mask(min(x0, x1) - half_mm, max(x0, x1) + half_mm)
            for row in range(top, bottom + 1):
                rows[row] |= mask
            return
        slope, half_way = (x1 - x0) / (y1 - y0), CELL_MM + half_mm
        for row in range(top, bottom + 1):
            level_mm = self.frame.top_mm + row * CELL_MM
            one = x0 + slope * (min(max(level_mm - half_mm, y0), y1) - y0)
            two = x0 + slope * (min(max(level_mm + half_way, y0), y1) - y0)
            rows[row] |= self._mask(min(one, two) - half_mm, max(one, two) + half_mm)

    def _flood(self, rows: list[int], outline_mm: tuple[Point, ...]) -> None:
        """Ink the inside of a shape, row by row through the middle of each row; its edges are inked as strokes."""
        box = bounds(outline_mm)
        top, bottom = self._band(box.top_mm, box.bottom_mm)
        for row in range(top, bottom + 1):
            level_mm = self.frame.top_mm + (row + 0.5) * CELL_MM
            cuts = crossings_mm(outline_mm, level_mm)
            for left, right in zip(cuts[::2], cuts[1::2], strict=False):
                rows[row] |= self._mask(left, right)

    def _block(self, rows: list[int], box: Box) -> None:
        mask = self._mask(box.left_mm, box.right_mm)
        top, bottom = self._band(box.top_mm, box.bottom_mm)
        for row in range(top, bottom + 1):
            rows[row] |= mask

    def _band(self, top_mm: float, bottom_mm: float) -> tuple[int, int]:
        last = len(self.rows) - 1
        top = math.floor((top_mm - self.frame.top_mm) / CELL_MM)
        bottom = math.floor((bottom_mm - self.frame.top_mm) / CELL_MM)
        return (max(0, top), min(last, bottom))

    def _mask(self, left_mm: float, right_mm: float) -> int:
        last = math.ceil(self.frame.width_mm / CELL_MM)
        left = min(max(0, math.floor((left_mm - self.frame.left_mm) / CELL_MM)), last + 1)
        right = min(max(-1, math.floor((right_mm - self.frame.left_mm) / CELL_MM)), last)
        return ((1 << (right + 1)) - 1) & ~((1 << left) - 1) if right >= left else 0


def clean(frame: Box) -> Ink:
    """A raster with nothing on it."""
    return Ink(frame, (0,) * (math.ceil(frame.height_mm / CELL_MM) + 1))


def bounds(points_mm: Iterable[Point]) -> Box:
    """The smallest upright rectangle around the points. Raises ValueError for none at all."""
    spots = list(points_mm)
    across, down = [x for x, _ in spots], [y for _, y in spots]
    return Box(min(across), min(down), max(across), max(down))
