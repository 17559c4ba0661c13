"""What is in the way of an operation, whatever is bent before: the set that comes nearest, and what it lacks."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from flangewise.panel_order.layers import Layers
from flangewise.panel_order.places import Runs
from flangewise.panel_order.problem import PanelWay
from flangewise.panel_order.search import PanelSearch
from flangewise.panel_order.solution import PanelBlocker

Bools = NDArray[np.bool_]

# Rows are told of to a tenth: less is rounding.
LEAST_MM = 0.05


def blockers(search: PanelSearch) -> Iterator[PanelBlocker]:
    """Of each operation that no way makes in any set, the way and set that come nearest; where each is made in some,
    what is in the way of those left from the set that most of them lead to."""
    stuck = False
    for index, operation in enumerate(search.problem.operations):
        own = next((each for each in _hits(search, index) if not search.tables.can[each].any()), None)
        if own is None:
            continue
        stuck = True
        if index in search.looks.no_stops:
            yield PanelBlocker(operation, (), (), "stop")
        elif index in search.looks.meetings:
            faces = search.problem.names()
            met = search.looks.meetings[index]
            named = tuple(faces[face] for face in met.faces)
            yield PanelBlocker(operation, tuple(sorted(met.bends)), (), "self", faces=named)
        else:
            yield _by_row(search, index, own)
    if not stuck and search.problem.order is None:
        yield from _at_the_end(search)


def _at_the_end(search: PanelSearch) -> Iterator[PanelBlocker]:
    """What is in the way of the operations left at a set that is come to and led on from by none, the fullest."""
    problem = search.problem
    can: list[Bools] = [
        np.all([search.tables.can[own].any(axis=0) for own in _hits(search, index)], axis=0)
        for index in range(len(problem.operations))
    ]
    layers = Layers(len(can)).by_done
    come = np.zeros(problem.sets, dtype=bool)
    come[0] = True
    for layer in layers[:-1]:
        for index, sets in enumerate(can):
            lacking = layer[(layer >> index & 1) == 0]
            come[lacking | 1 << index] |= come[lacking] & sets[lacking]
    fullest = next((layer for layer in reversed(layers[:-1]) if come[layer].any()), layers[0])
    done = int(fullest[come[fullest]][0])
    if come[-1]:
        return
    for index in range(len(can)):
        if not done >> index & 1:
            shut = (own for own in _hits(search, index) if not search.tables.can[own, done].any())
            yield _by_row(search, index, next(shut, _hits(search, index)[0]), done)


def _hits(search: PanelSearch, index: int) -> list[list[int]]:
    """The ways of an operation, of a hem those that flatten it by themselves."""
    ways = list(enumerate(search.problem.ways))
    kinds = ([at for at, way in ways if way.operation == index and way.is_second == second] for second in (False, True))
    return [own for own in kinds if own]


def _by_row(search: PanelSearch, index: int, own: list[int], done: int | None = None) -> PanelBlocker:
    """The widest gap along the line that any set, or the one given, leaves for a punch, against what the line needs."""
    problem, tables = search.problem, search.tables
    operation = problem.operations[index]
    best: tuple[float, int, PanelWay, Runs] | None = None
    for at in own:
        way, patterns = problem.ways[at], tables.patterns[at]
        for number in range(len(patterns.bent)):
            if done is not None and patterns.of_set[done] != number:
                continue
            each = patterns.stretches(number)
            wide_mm = free_mm(tables.line(way).from_mm, tables.line(way).to_mm, each.punch, problem.rules.clear_mm)
            if best is None or wide_mm > best[0]:
                at_set = int(np.flatnonzero(patterns.of_set == number)[0]) if done is None else done
                best = wide_mm, at_set, way, each.punch
    if best is None:
        told = frozenset[int]() if done is None else problem.bends_of(done)
        return PanelBlocker(operation, tuple(sorted(told)), (), "machine")
    wide_mm, at_set, way, _ = best
    rules = problem.rules
    needs_mm = operation.length_mm - 2 * max(rules.beside_short_mm, rules.free_short_mm)
    lengths = [punch.length_mm for punch, _ in problem.rows[way.mounting].pairs if not punch.gaps_mm]
    made_mm = max((length for length in lengths if length <= wide_mm + LEAST_MM), default=0.0)
    bent = problem.bends_of(at_set)
    flat = frozenset(bend for each in problem.operations for bend in each.bends) - bent - set(operation.bends)
    return PanelBlocker(
        operation, tuple(sorted(bent)), tuple(sorted(flat)), "row", needs_mm=needs_mm, free_mm=wide_mm, made_mm=made_mm
    )


def free_mm(low_mm: float, high_mm: float, barred: Runs, clear_mm: float) -> float:
    """The longest row without ears that finds room about the middle of a line; endless where nothing stands there."""
    middle = (low_mm + high_mm) / 2
    left = max((to + clear_mm for _, to in barred if to <= middle), default=-np.inf)
    right = min((begin - clear_mm for begin, _ in barred if begin >= middle), default=np.inf)
    inside = any(begin < middle < to for begin, to in barred)
    return 0.0 if inside else float(right - left)
