"""What the wings of a hit weigh and how far they reach, for all sets at once, as one set after the other has it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from flangewise.panel_order.way_prices import WayPrices
from flangewise.sequence import HoldRule

from ...published.panels import blank
from .test_worked_orders import problem_of

RULE = HoldRule(kg_per_mm=0.0, least_mm=60.0, most_behind_nm=3.0, behind_wish_s=2.0, small_wish_s=1.5)


@pytest.mark.parametrize("name", ["pan", "tabs", "ell"])
def test_every_set_as_it_is_by_itself(name: str) -> None:
    """Front, reach, opening, masses, moment and what holds the part: of each set what the hit says of it."""
    problem = replace(problem_of(blank(name)), hold=RULE)
    prices, seen = WayPrices(problem), 0
    for way in problem.ways:
        front, behind = prices.front_and_behind(way)
        for done in np.flatnonzero(prices.open_sets(way)).tolist()[::3]:
            bends = problem.bends_of(done)
            assert front.far_mm[done] == pytest.approx(way.hit.front_mm(bends), abs=1e-6)
            assert max(front.reach_mm[done], behind.reach_mm[done]) == pytest.approx(way.hit.reach_mm(bends), abs=1e-6)
            assert prices.opening_mm(way, done) == pytest.approx(way.hit.opening_mm(bends), abs=1e-6)
            held, told = prices.hold(way, done), way.hit.hold(bends, RULE)
            assert held is not None and (held.by, held.tips, held.breach) == (told.by, told.tips, told.breach)
            figures = [(each.front_mm, each.front_kg, each.behind_kg, each.moment_nm) for each in (held, told)]
            assert figures[0] == pytest.approx(figures[1], abs=1e-6)
            seen += 1
    assert seen > 20


def test_the_masses_of_both_wings_are_the_blank_s() -> None:
    problem = problem_of(blank("pan"))
    prices = WayPrices(problem)
    masses = [sum(wing.kg for wing in prices.front_and_behind(way)) for way in problem.ways]
    assert len(masses) == 8 and masses == pytest.approx([problem.blank.mass_kg] * 8, rel=1e-3)
