"""Random blanks of panels, reckoned by hand beside the reader: corners, bend lines, what hangs on what.

A base with its corners notched; on its edges nothing, a whole flange or tabs between slots; on a flange's tip a return.
Lines lie inside the edge they belong to, so that they end at notches, slots or edges.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import ezdxf

from flangewise.geometry import Point

from .made import AWAY, CUT, TOWARD

# A slot is so wide and reaches so far past the line.
SLOT_MM, PAST_MM = 1.5, 0.5


@dataclass(frozen=True)
class Fold:
    """A bend line from start to end with what hangs on it on its left; the place of the fold it hangs on itself."""

    start_mm: Point
    end_mm: Point
    toward: bool
    hangs_on: int | None


@dataclass(frozen=True)
class RandomBlank:
    """The corners of a blank counterclockwise, its cut-outs, its folds, a point of its base."""

    outline_mm: tuple[Point, ...]
    cutouts_mm: tuple[tuple[Point, ...], ...]
    folds: tuple[Fold, ...]
    base_mm: Point

    @property
    def area_mm2(self) -> float:
        """Outline less cut-outs, by the rule of cross products."""
        return abs(_cross_sum(self.outline_mm)) / 2 - sum(abs(_cross_sum(ring)) / 2 for ring in self.cutouts_mm)


def _cross_sum(ring: Sequence[Point]) -> float:
    return sum(a * d - b * c for (a, b), (c, d) in zip(ring, [*ring[1:], ring[0]], strict=True))


def random_blank(chance: random.Random) -> RandomBlank:
    """A blank turned and moved anywhere; each edge in its own frame: u along it, v outward, turned to its place."""
    sizes_mm = (chance.uniform(150, 400), chance.uniform(150, 300))
    line_mm = chance.uniform(2, 6)
    notch_mm = line_mm + PAST_MM
    outline: list[Point] = []
    folds: list[Fold] = []
    for edge in range(4):
        length_mm = sizes_mm[edge % 2]
        walk, edge_folds = _edge(chance, length_mm, line_mm, notch_mm)
        place = _placed(edge, sizes_mm)
        first = len(folds)
        outline += [place(point) for point in walk]
        folds += [
            Fold(place(a), place(b), toward, None if on is None else first + on) for a, b, toward, on in edge_folds
        ]
    holes = []
    for place_mm in ((0.3, 0.3), (0.7, 0.6)):
        if chance.random() < 0.5:
            x, y, w, h = sizes_mm[0] * place_mm[0], sizes_mm[1] * place_mm[1], *chance.choices((5.0, 12.0, 20.0), k=2)
            holes.append(((x, y), (x + w, y), (x + w, y + h), (x, y + h)))
    angle, shift = chance.uniform(0, 2 * math.pi), (chance.uniform(-500, 500), chance.uniform(-500, 500))

    def moved(point: Point) -> Point:
        (x, y), (c, s) = point, (math.cos(angle), math.sin(angle))
        return x * c - y * s + shift[0], x * s + y * c + shift[1]

    return RandomBlank(
        outline_mm=tuple(map(moved, outline)),
        cutouts_mm=tuple(tuple(map(moved, ring)) for ring in holes),
        folds=tuple(Fold(moved(each.start_mm), moved(each.end_mm), each.toward, each.hangs_on) for each in folds),
        base_mm=moved((sizes_mm[0] / 2, sizes_mm[1] / 2 + 40)),
    )


def _placed(edge: int, sizes_mm: tuple[float, float]) -> Any:
    """From an edge's own frame to the base's: the edges go round counterclockwise, v points out."""
    corners = ((0.0, 0.0), (sizes_mm[0], 0.0), sizes_mm, (0.0, sizes_mm[1]))
    along = ((1, 0), (0, 1), (-1, 0), (0, -1))[edge]
    (x, y), (c, s) = corners[edge], along
    return lambda point: (x + point[0] * c + point[1] * s, y + point[0] * s - point[1] * c)


_OwnFold = tuple[Point, Point, bool, int | None]


def _edge(
    chance: random.Random, length_mm: float, line_mm: float, notch_mm: float
) -> tuple[list[Point], list[_OwnFold]]:
    """Corners and folds of one edge from notch to notch, in its own frame. What hangs out lies on a line's left."""
    begins, ends = notch_mm, length_mm - notch_mm
    walk: list[Point] = [(begins, -notch_mm)]
    folds: list[_OwnFold] = []
    kind = chance.choice(("none", "flange", "return", "tabs"))
    if kind == "tabs":
        middle = (begins + ends) / 2
        walk.append((begins, 0.0))
        for low, high in ((begins + 8, middle - 6), (middle + 6, ends - 8)):
            height, deep = chance.uniform(10, 40), -line_mm - PAST_MM
            walk += [(low - SLOT_MM, 0.0), (low - SLOT_MM, deep), (low, deep), (low, height)]
            walk += [(high, height), (high, deep), (high + SLOT_MM, deep), (high + SLOT_MM, 0.0)]
            folds.append(((high, -line_mm), (low, -line_mm), chance.random() < 0.5, None))
        walk.append((ends, 0.0))
    elif kind == "none":
        walk += [(begins, 0.0), (ends, 0.0)]
    else:
        height = chance.uniform(15, 60)
        walk += [(begins, height), (ends, height)]
        folds.append(((ends, -line_mm), (begins, -line_mm), chance.random() < 0.5, None))
        if kind == "return":
            up = height - chance.uniform(5, 10)
            folds.append(((ends, up), (begins, up), chance.random() < 0.5, 0))
    return [*walk, (ends, -notch_mm)], folds


def drawn(blank: RandomBlank, chance: random.Random) -> Any:
    """The blank as a document, its pieces in any order, either way round, some twice; lines a little short or long."""
    document = ezdxf.new("R2000")  # type: ignore[attr-defined]
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    pieces: list[tuple[Point, Point, str]] = []
    for ring in (blank.outline_mm, *blank.cutouts_mm):
        if chance.random() < 0.3:
            space.add_lwpolyline(ring[:: chance.choice((1, -1))], close=True, dxfattribs={"layer": CUT})
        else:
            pieces += [(one, other, CUT) for one, other in zip(ring, [*ring[1:], ring[0]], strict=True)]
    for fold in blank.folds:
        length_mm = math.dist(fold.start_mm, fold.end_mm)
        way = [(b - a) / length_mm for a, b in zip(fold.start_mm, fold.end_mm, strict=True)]
        over = [chance.uniform(-0.4, 1.0) for _ in range(2)]
        start = (fold.start_mm[0] - over[0] * way[0], fold.start_mm[1] - over[0] * way[1])
        end = (fold.end_mm[0] + over[1] * way[0], fold.end_mm[1] + over[1] * way[1])
        pieces.append((start, end, TOWARD if fold.toward else AWAY))
    pieces += chance.sample(pieces, k=min(2, len(pieces)))
    chance.shuffle(pieces)
    for one, other, layer in pieces:
        ends = (one, other) if chance.random() < 0.5 else (other, one)
        space.add_line(*ends, dxfattribs={"layer": layer})
    return document
