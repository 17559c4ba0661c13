"""Plane convex facets of bodies in space, each with what its edges are; plain numbers in mm."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np

from flangewise.geometry.frame import SpacePoints
from flangewise.records import dataclass

# What an edge of a facet is: none where it was only cut there, smooth where the next facet goes on in the same
# direction, sharp where it does not.
EdgeKind = Literal["none", "smooth", "sharp"]

# A ring that turns less than 30 degrees at a point goes on as a curve there.
LEAST_COSINE = 0.866


@dataclass(frozen=True)
class Facet:
    """A convex facet: corners counterclockwise seen from outside its body, the kind of the edge from each to the next.

    `beside` are the outward normals of the facets beyond smooth edges, by the edge's place: whether the body turns away
    from the eye there.
    """

    corners_mm: SpacePoints
    edges: tuple[EdgeKind, ...]
    beside: tuple[tuple[int, tuple[float, float, float]], ...] = ()

    @property
    def normal(self) -> SpacePoints:
        """Outward unit normal, by Newell's sum, which small edges do not upset."""
        after = np.roll(self.corners_mm, -1, axis=0)
        across = np.cross(self.corners_mm, after).sum(axis=0)
        normal: SpacePoints = across / np.linalg.norm(across)
        return normal


def bar(
    front_mm: SpacePoints, back_mm: SpacePoints, caps: Sequence[tuple[Sequence[int], Sequence[bool]]]
) -> list[Facet]:
    """A body between two plane rings whose points go together, counterclockwise seen from beyond the back one.

    `caps` are the convex parts of the ring, each as places of its corners and whether the edge to the next is one of
    the ring's. Where the ring turns little, as on a curve in chords, no edge runs from end to end.
    """
    count = len(front_mm)
    kinds: list[EdgeKind] = ["sharp" if _turns(front_mm, at) else "none" for at in range(count)]
    sides = [
        Facet(
            np.array([front_mm[at], front_mm[(at + 1) % count], back_mm[(at + 1) % count], back_mm[at]]),
            ("sharp", kinds[(at + 1) % count], "sharp", kinds[at]),
        )
        for at in range(count)
    ]
    ends = []
    for places, own in caps:
        edges: tuple[EdgeKind, ...] = tuple("sharp" if each else "none" for each in own)
        ends.append(Facet(np.array([back_mm[place] for place in places]), edges))
        turned = (*edges[-2::-1], edges[-1])
        ends.append(Facet(np.array([front_mm[place] for place in reversed(places)]), turned))
    return [*_between(sides, kinds), *ends]


def _turns(ring_mm: SpacePoints, at: int) -> bool:
    """Whether a ring has a corner at a point, not a step of a curve."""
    before, after = ring_mm[at] - ring_mm[at - 1], ring_mm[(at + 1) % len(ring_mm)] - ring_mm[at]
    long = float(np.linalg.norm(before) * np.linalg.norm(after))
    return long == 0 or float(before @ after) / long < LEAST_COSINE


def _between(sides: Sequence[Facet], kinds: Sequence[EdgeKind]) -> list[Facet]:
    """The sides with the normals of those beyond edges that are steps of a curve."""
    count = len(sides)
    normals = [tuple(float(each) for each in side.normal) for side in sides]
    made = []
    for at, side in enumerate(sides):
        beside = [(1, normals[(at + 1) % count])] if kinds[(at + 1) % count] == "none" else []
        beside += [(3, normals[at - 1])] if kinds[at] == "none" else []
        made.append(Facet(side.corners_mm, side.edges, tuple(beside)))  # type: ignore[arg-type]
    return made
