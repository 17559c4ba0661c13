"""The operations outward on a wing, each as the piece of sheet that it adds, flat and bent."""

import math

import numpy as np

from flangewise.geometry import Chain, zone_points
from flangewise.records import dataclass
from flangewise.sequence.arrays import Floats
from flangewise.sequence.problem import Operation

# Faces folded back on each other meet in no corner.
MOST_SHARP_RAD = math.radians(175.0)
FAR_MM = 1e6


@dataclass(frozen=True)
class Level:
    """One operation outward on a wing: its bit in the set of done operations, and its two shapes.

    A shape runs from the end of the face before to the end of the face after, heading +x at first;
    `turn_rad` is the heading at its end when bent. `bent_developed_mm`: the sheet in each piece of the bent shape.
    `corner_mm`: how far along the faces beside a bend would meet in a sharp corner (`FAR_MM`: not, or in several).
    """

    operation: int
    flat_mm: Floats
    bent_mm: Floats
    turn_rad: float
    flange_mm: float
    bent_developed_mm: Floats
    corner_mm: float


def _shape(
    chain: Chain, zones: tuple[int, ...], faces: tuple[int, ...], *, up: float, bent: bool
) -> tuple[Floats, Floats]:
    """Points of a shape, and the developed length between each two of them: a zone keeps its sheet when formed."""
    at, heading = np.zeros(2), 0.0
    points = [np.zeros((1, 2))]
    lengths: list[Floats] = []
    for zone, face in zip(zones, faces, strict=True):
        angle = up * chain.turns_deg[zone] if bent else 0.0
        piece = zone_points(chain, zone, angle_deg=angle)
        chords = np.linalg.norm(np.diff(piece, axis=0, prepend=[[0.0, 0.0]]), axis=1)
        lengths.extend((chords * (chain.zones_mm[zone] / max(chords.sum(), 1e-12)), np.array([chain.flats_mm[face]])))
        last = math.radians(angle)
        piece = np.vstack([piece, piece[-1] + chain.flats_mm[face] * np.array([math.cos(last), math.sin(last)])])
        cos, sin = math.cos(heading), math.sin(heading)
        laid = piece @ np.array([[cos, sin], [-sin, cos]]) + at
        points.append(laid)
        at, heading = laid[-1], heading + last
    whole, developed = np.vstack(points), np.concatenate(lengths)
    return (whole, developed) if bent else (whole[[0, -1]], developed.sum(keepdims=True))


def levels_outward(
    chain: Chain, operations: tuple[Operation, ...], active: int, *, toward_end: bool, marked_up: bool
) -> tuple[Level, ...]:
    """The levels of one wing of operation `active`, nearest first."""
    up = 1.0 if marked_up else -1.0
    others = range(active + 1, len(operations)) if toward_end else range(active - 1, -1, -1)
    levels = []
    for other in others:
        zones = operations[other].zones if toward_end else operations[other].zones[::-1]
        faces = tuple(zone + 1 if toward_end else zone for zone in zones)
        turn = math.radians(up * sum(chain.turns_deg[zone] for zone in zones))
        flat, _ = _shape(chain, zones, faces, up=up, bent=False)
        shape, developed = _shape(chain, zones, faces, up=up, bent=True)
        across, upward = shape[-2]
        corner_mm = across - upward / math.tan(turn) if len(zones) == 1 and abs(turn) < MOST_SHARP_RAD else FAR_MM
        levels.append(Level(other, flat, shape, turn, chain.flats_mm[faces[-1]], developed, corner_mm))
    return tuple(levels)
