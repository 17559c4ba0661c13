"""Figures of the hits of panels derived by hand: stops, free stretches, meetings, and the way out turned."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from flangewise.panel_order import SpaceHit, StandingRow

from ..rooms.panel_order.made import bends, hit_of, hits
from .panels import blank
from .source import Row

# Two ears, 60, 60 and 20 between them: 290, of whose ends 35 stand as a foot only.
EARS = StandingRow(-1.0, 290.0, 35.0, 35.0)


@cache
def _hits(panel: str, over_deg: float) -> list[SpaceHit]:
    return hits(blank(panel), over_deg=over_deg)


def _asked(row: Row) -> tuple[SpaceHit, frozenset[int]]:
    """The hit of a row, and the bends bent before it."""
    panel = row.text("panel")
    found = _hits(panel, row.number("over_deg"))
    done = row.text("done").split() if "done" in row else []
    return hit_of(found, row.text("face"), parent_behind=row.text("behind") == "base"), bends(blank(panel), *done)


def _stop_x(row: Row) -> float:
    hit, done = _asked(row)
    return hit.stops(done)[0].x_mm


def _free(row: Row) -> float:
    """Between the stretches at the two ends of the line, for the whole punch."""
    hit, done = _asked(row)
    (_, left), (right, _) = hit.forbidden(done).punch
    return right - left


def _self_overlap(row: Row) -> float:
    hit, done = _asked(row)
    met = hit.meets_itself(done)
    return 0.0 if met is None else met.overlap_mm


def _turned(row: Row) -> tuple[float, float]:
    hit, done = _asked(row)
    found = hit.leaves(done, EARS)
    assert found is not None and found.turn_deg is not None
    return found.turn_deg


PANEL_HIT_ANSWERS: dict[str, Callable[[Row], float]] = {
    "stop_x": _stop_x,
    "free": _free,
    "self_overlap": _self_overlap,
    "turned_from": lambda row: _turned(row)[0],
    "turned_to": lambda row: _turned(row)[1],
}
