"""Facets in space put in the order in which they hide each other, by binary space partition.

Each facet's plane parts the others into those before and those behind it; what it crosses is cut in two. Drawn from the
far side of every plane to the near one, what comes later hides what came before, exactly. Source: Fuchs, Kedem, Naylor
1980 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from flangewise.geometry import EdgeKind, Facet
from flangewise.records import dataclass, field

Points = NDArray[np.float64]
# Corners nearer to a plane than this lie on it: far under what is drawn, far over rounding.
ON_MM = 1e-4


@dataclass(frozen=True)
class FacetPiece:
    """A facet or a piece of one: its corners, the kinds of its edges, its normal and the place of its body."""

    corners_mm: Points
    edges: tuple[EdgeKind, ...]
    normal: Points
    body: int


@dataclass
class _Node:
    """A plane with the pieces on it, and what lies behind and before it."""

    normal: Points
    off_mm: float
    pieces: list[FacetPiece]
    behind: _Node | None = None
    before: _Node | None = None
    waiting: tuple[list[FacetPiece], list[FacetPiece]] = field(default_factory=lambda: ([], []))


def piece_of(facet: Facet, body: int) -> FacetPiece:
    """A facet as a piece of a body."""
    return FacetPiece(facet.corners_mm, facet.edges, facet.normal, body)


def back_to_front(pieces: Sequence[FacetPiece], to_eye: Points) -> Iterator[FacetPiece]:
    """All pieces, cut where they must be, each before those that hide some of it from an eye far off in that
    direction."""
    root = _parted(list(pieces))
    waiting: list[_Node | list[FacetPiece]] = [root] if root is not None else []
    while waiting:
        each = waiting.pop()
        if isinstance(each, list):
            yield from each
            continue
        far, near = each.behind, each.before
        if float(each.normal @ to_eye) < 0:
            far, near = near, far
        waiting += [node for node in (near, each.pieces, far) if node is not None]


def _parted(pieces: list[FacetPiece]) -> _Node | None:
    """The tree of planes, without calling itself: a long row of facets would go too deep."""
    root = _planted(pieces)
    growing = [root] if root is not None else []
    while growing:
        node = growing.pop()
        behind, before = node.waiting
        node.behind, node.before, node.waiting = _planted(behind), _planted(before), ([], [])
        growing += [each for each in (node.behind, node.before) if each is not None]
    return root


def _planted(pieces: list[FacetPiece]) -> _Node | None:
    """A node on the plane of the middle piece, the others sorted to its sides."""
    if not pieces:
        return None
    first = pieces[len(pieces) // 2]
    normal, off_mm = first.normal, float(first.normal @ first.corners_mm.mean(axis=0))
    node = _Node(normal, off_mm, [])
    behind, before = node.waiting
    starts = np.cumsum([0, *(len(piece.corners_mm) for piece in pieces[:-1])])
    far_mm = np.vstack([piece.corners_mm for piece in pieces]) @ normal - off_mm
    lows_mm, highs_mm = np.minimum.reduceat(far_mm, starts).tolist(), np.maximum.reduceat(far_mm, starts).tolist()
    for piece, start, low_mm, high_mm in zip(pieces, starts.tolist(), lows_mm, highs_mm, strict=True):
        if piece is first or (low_mm > -ON_MM and high_mm < ON_MM):
            node.pieces.append(piece)
        elif low_mm > -ON_MM:
            before.append(piece)
        elif high_mm < ON_MM:
            behind.append(piece)
        else:
            own_mm = far_mm[start : start + len(piece.corners_mm)]
            before.append(_half(piece, own_mm))
            behind.append(_half(piece, -own_mm))
    return node


def _half(piece: FacetPiece, off_mm: Points) -> FacetPiece:
    """What of a piece lies on the positive side of a plane from which its corners are so far off."""
    corners: list[Points] = []
    edges: list[EdgeKind] = []
    count = len(piece.corners_mm)
    for at in range(count):
        to = (at + 1) % count
        here, there = float(off_mm[at]), float(off_mm[to])
        if here >= 0:
            corners.append(piece.corners_mm[at])
            edges.append(piece.edges[at])
        if (here < 0) != (there < 0):
            share = here / (here - there)
            corners.append(piece.corners_mm[at] + share * (piece.corners_mm[to] - piece.corners_mm[at]))
            # Into the half the edge goes on; out of it the cut begins, which is no edge.
            edges.append(piece.edges[at] if here < 0 else "none")
    return FacetPiece(np.array(corners), tuple(edges), piece.normal, piece.body)
