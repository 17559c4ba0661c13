"""Where a plane face stands in space: a rotation and an origin, and how frames are set one on another."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flangewise.records import dataclass

SpacePoints = NDArray[np.float64]
Vector = tuple[float, float, float]
Rotation = tuple[Vector, Vector, Vector]

_UPRIGHT: Rotation = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


@dataclass(frozen=True)
class Frame:
    """A rigid motion: `rotation` (rows of an orthonormal matrix) first, then `origin_mm` added.

    It takes points of a face, as they lie on the blank, to where they stand in space.
    """

    rotation: Rotation = _UPRIGHT
    origin_mm: Vector = (0.0, 0.0, 0.0)

    def place(self, points_mm: Sequence[Sequence[float]] | SpacePoints) -> SpacePoints:
        """Points (n, 3) moved by this frame."""
        points = np.asarray(points_mm, dtype=np.float64).reshape(-1, 3)
        moved: SpacePoints = points @ np.array(self.rotation).T + np.array(self.origin_mm)
        return moved

    def turn(self, vectors: Sequence[Sequence[float]] | SpacePoints) -> SpacePoints:
        """Directions (n, 3) turned by this frame, not moved."""
        turned: SpacePoints = np.asarray(vectors, dtype=np.float64).reshape(-1, 3) @ np.array(self.rotation).T
        return turned

    def after(self, first: Frame) -> Frame:
        """The motion that does `first` and then this one."""
        rotation = np.array(self.rotation) @ np.array(first.rotation)
        return as_frame(rotation, self.place([first.origin_mm])[0])

    def inverse(self) -> Frame:
        """The motion that takes every point back."""
        back = np.array(self.rotation).T
        return as_frame(back, -(back @ np.array(self.origin_mm)))

    @property
    def normal(self) -> Vector:
        """The direction in which the marked face looks."""
        return (self.rotation[0][2], self.rotation[1][2], self.rotation[2][2])


def as_frame(rotation: NDArray[np.float64], origin_mm: NDArray[np.float64]) -> Frame:
    """A frame from arrays, held as plain numbers."""
    first, second, third = (_vector(row) for row in rotation)
    return Frame((first, second, third), _vector(origin_mm))


def shift(along_mm: float, across_mm: float, up_mm: float) -> Frame:
    """A move without a turn."""
    return Frame(_UPRIGHT, (along_mm, across_mm, up_mm))


def turn_about_along(turn_deg: float) -> Frame:
    """A turn about the first axis; positive lifts what lies across."""
    cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return Frame(((1.0, 0.0, 0.0), (0.0, cos, -sin), (0.0, sin, cos)))


def turn_about_up(turn_deg: float) -> Frame:
    """A turn in the plane of the blank, counterclockwise seen on the marked face."""
    cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return Frame(((cos, -sin, 0.0), (sin, cos, 0.0), (0.0, 0.0, 1.0)))


def _vector(row: NDArray[np.float64]) -> Vector:
    return float(row[0]), float(row[1]), float(row[2])
