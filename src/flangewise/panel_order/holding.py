"""What the search of a panel's order asks of who holds the part, where holding it takes time beside the order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from flangewise.panel_order.forward import Between, PlanPath
from flangewise.panel_order.layers import Graph
from flangewise.panel_order.leaving import StandingRow
from flangewise.panel_order.places import BedLine
from flangewise.panel_order.solution import PanelStep
from flangewise.panel_order.stations import RowPair
from flangewise.panel_order.tables import PanelTables
from flangewise.punch_die import Placed, Row, SegmentUse

Floats = NDArray[np.float64]


class Holding(Protocol):
    """Order and grips together. What is asked is kept; what was not asked is taken to take nothing."""

    @property
    def over(self) -> bool:
        """Whether so much was asked that no more is."""

    def cheapest(
        self, graph: Graph, left: Floats, pairs: Sequence[RowPair] | None, between: Between, *, below_s: float
    ) -> PlanPath | None:
        """The plan that takes least with these stations, as far as it was asked, if any takes less than `below_s`.

        `left`: what is left of the order alone, of every set. `pairs` None: whatever rows its tools stand in.
        """

    def is_known(self, path: PlanPath, pairs: Sequence[RowPair] | None) -> bool:
        """Whether all of a plan was asked before; from now on it was."""

    def held(self, path: PlanPath, graph: Graph, pairs: Sequence[RowPair], between: Between) -> PlanPath:
        """A plan with what holding it takes."""


def with_any_rows(tables: PanelTables, step: PanelStep, index: int, done: int) -> PanelStep:
    """A hit as it is with whatever rows: its tools stand where all do that make it then, and no way out is known.

    Where some have gaps they are known to stand over the bends alone, but for what they may leave at their ends and a
    gap beside that. Where some have an ear, over its reach there is no more than its foot, which every punch has there.
    """
    mounting = tables.problem.ways[index].mounting
    from_mm, short_mm = tables.all_stand_mm(index, done)
    at = np.flatnonzero(np.isfinite(short_mm))
    pairs, from_mm = [tables.rows[mounting].pairs[own] for own in at.tolist()], from_mm[at]
    punches = [StandingRow.of(punch, mm) for (punch, _), mm in zip(pairs, from_mm.tolist(), strict=True)]
    die_mm = (from_mm + tables.pairs[mounting].die_on_mm[at]).tolist()
    dies = [StandingRow.of(die, mm) for (_, die), mm in zip(pairs, die_mm, strict=True)]
    bends = _surely_over(tables.line(tables.problem.ways[index]))
    whole = max(each.whole_mm[0] for each in punches), min(each.whole_mm[1] for each in punches)
    punch = _common(punches, bends)
    foot_mm = max(whole[0] - punch.from_mm, punch.to_mm - whole[1], 0.0)
    return replace(
        step, punch=replace(punch, row=_with_ears(punch.row, foot_mm)), die=_common(dies, bends), leaving=None
    )


def _surely_over(line: BedLine) -> list[tuple[float, float]]:
    less_mm = max(line.free_short_mm, line.beside_short_mm) + line.most_gap_mm
    return [(low + less_mm, high - less_mm) for low, high in line.bends_mm]


def _common(rows: Sequence[StandingRow], bends: Sequence[tuple[float, float]]) -> Placed:
    """What all of some rows cover, as a row with gaps; the bends alone where some have gaps."""
    low_mm, high_mm = max(row.from_mm for row in rows), min(row.to_mm for row in rows)
    parts = bends if any(row.gaps_mm for row in rows) else [(low_mm, high_mm)]
    runs = [(max(low, low_mm), min(high, high_mm)) for low, high in parts]
    runs = [(low, high) for low, high in runs if high > low] or [(low_mm, low_mm)]
    before = [runs[0][0], *(high for _, high in runs)]
    uses = (SegmentUse(high - low, None, low - at) for (low, high), at in zip(runs, before, strict=False))
    return Placed(Row(tuple(uses)), runs[0][0])


def _with_ears(row: Row, reach_mm: float) -> Row:
    """The same with an ear at either end, the row parted for it where it is one piece."""
    first, last = row.segments[0], row.segments[-1]
    if not reach_mm:
        return row
    if len(row.segments) == 1:
        half = replace(first, length_mm=first.length_mm / 2)
        return Row((replace(half, ear="left"), replace(half, ear="right")), reach_mm)
    return Row((replace(first, ear="left"), *row.segments[1:-1], replace(last, ear="right")), reach_mm)
