"""What is in the way of an operation, whatever is bent before: the set that comes nearest, and what it lacks."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from flangewise.panel_order.places import Runs
from flangewise.panel_order.problem import PanelWay
from flangewise.panel_order.search import PanelSearch
from flangewise.panel_order.solution import PanelBlocker

# Rows are told of to a tenth: less is rounding.
LEAST_MM = 0.05


def blockers(search: PanelSearch) -> Iterator[PanelBlocker]:
    """Of each operation that no way makes in any set, the way and set that come nearest."""
    for index, operation in enumerate(search.problem.operations):
        own = [at for at, way in enumerate(search.problem.ways) if way.operation == index]
        if np.isfinite(search.tables.price_s[own]).any():
            continue
        if operation.number in {search.problem.operations[at].number for at in search.looks.no_stops}:
            yield PanelBlocker(operation, (), (), "stop")
        elif index in search.looks.meetings:
            faces = search.problem.names()
            met = search.looks.meetings[index]
            yield PanelBlocker(
                operation, tuple(sorted(met.bends)), (), "self", faces=tuple(faces[face] for face in met.faces)
            )
        else:
            yield _by_row(search, index, own)


def _by_row(search: PanelSearch, index: int, own: list[int]) -> PanelBlocker:
    """The widest gap along the line that any set leaves for a punch, against what the line needs."""
    problem, tables = search.problem, search.tables
    operation = problem.operations[index]
    best: tuple[float, int, PanelWay, Runs] | None = None
    for at in own:
        way, patterns = problem.ways[at], tables.patterns[at]
        for number, each in enumerate(patterns.stretches):
            wide_mm = free_mm(tables.line(way).from_mm, tables.line(way).to_mm, each.punch, problem.rules.clear_mm)
            if best is None or wide_mm > best[0]:
                done = int(np.flatnonzero(patterns.of_set == number)[0])
                best = wide_mm, done, way, each.punch
    if best is None:
        return PanelBlocker(operation, (), (), "machine")
    wide_mm, done, way, _ = best
    rules = problem.rules
    needs_mm = operation.length_mm - 2 * max(rules.beside_short_mm, rules.free_short_mm)
    lengths = [punch.length_mm for punch, _ in problem.rows[way.mounting].pairs]
    made_mm = max((length for length in lengths if length <= wide_mm + LEAST_MM), default=0.0)
    bent = problem.bends_of(done)
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
