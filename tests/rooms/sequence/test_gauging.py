"""The quick rule for what the stops can touch."""

from __future__ import annotations

import math

import numpy as np
import pytest

from flangewise.sequence import Backgauge, Costs
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.gauging import GaugeTable, WingBehind, heights_in_reach, stop_face_mm

FINGER = ((0.0, 0.0), (0.0, 12.0), (-40.0, 12.0), (-40.0, 0.0))
REACH = Backgauge(10.0, 150.0, -50.0, 100.0, FINGER, contact_mm=8.0)
PRICES = Costs(gauge_flange=2.0, gauge_inclined=3.0, gauge_past_bends=1.0, gauge_unwanted=5.0)


def edge_and_flange(problem, active: int, done: int, behind: int = 1) -> list[float]:
    """Prices of gauging operation `active` on the edge and on a formed flange, the end behind unless said."""
    tree = FeasibilityTable(problem).tree(active, toward_end=behind == 1, marked_up=problem.chain.turns_deg[active] > 0)
    leaves = tree.leaves(np.array([done]))
    return GaugeTable(problem).prices(WingBehind(active, behind, tree, leaves))[0].tolist()


def test_without_a_gauge_the_edge_is_free(toy):
    assert edge_and_flange(toy([30, 60, 40], [90, 90]), 0, 0) == [0.0, math.inf]


def test_raw_edge_within_travel(toy):
    assert edge_and_flange(toy([30, 60, 40], [90, 90], gauge=REACH, costs=PRICES), 0, 0) == [0.0, math.inf]
    assert edge_and_flange(toy([30, 60, 91], [90, 90], gauge=REACH, costs=PRICES), 0, 0) == [math.inf, math.inf]
    assert edge_and_flange(toy([30, 9], [90], gauge=REACH, costs=PRICES), 0, 0) == [math.inf, math.inf]


def test_formed_flange_hides_the_edge(toy):
    assert edge_and_flange(toy([30, 60, 40], [90, 90], gauge=REACH, costs=PRICES), 0, 0b10) == [math.inf, 2.0]
    assert edge_and_flange(toy([30, 60, 40], [90, -90], gauge=REACH, costs=PRICES), 0, 0b10) == [math.inf, 2.0]


def test_flange_too_low_or_too_oblique(toy):
    low = toy([30, 60, 7], [90, 90], gauge=REACH, costs=PRICES)
    assert edge_and_flange(low, 0, 0b10) == [math.inf, math.inf]
    oblique = toy([30, 60, 40], [90, 45], gauge=REACH, costs=PRICES)
    assert edge_and_flange(oblique, 0, 0b10) == [4.0, math.inf]  # a sloping edge beyond a bend: 3 + 1


def test_a_level_edge_beyond_a_z(toy):
    z = toy([30, 40, 20, 50], [90, 90, -90], gauge=REACH, costs=PRICES)
    assert edge_and_flange(z, 0, 0b110) == [1.0, math.inf]


def test_a_flange_that_something_overhangs_cannot_be_touched(toy):
    overhung = toy([30, 40, 20, 30], [90, 90, -90], gauge=REACH, costs=PRICES)
    edge, flange = edge_and_flange(overhung, 0, 0b110)
    assert (edge, flange) == (1.0, math.inf)
    curled = toy([30, 40, 20, 30], [90, 90, 90], gauge=REACH, costs=PRICES)
    assert edge_and_flange(curled, 0, 0b110) == [math.inf, 2.0]


def test_out_of_reach_in_height(toy):
    shallow = Backgauge(10.0, 150.0, -5.0, 20.0, FINGER)
    assert heights_in_reach(shallow) == pytest.approx((-5.0, 32.0)) and stop_face_mm(shallow) == 12.0
    deep = toy([30, 40, 35, 50], [90, -90, 90], gauge=shallow, costs=PRICES)
    assert edge_and_flange(deep, 0, 0b110) == [math.inf, math.inf]
    assert edge_and_flange(toy([30, 40, 35, 50], [90, -90, 90], gauge=REACH, costs=PRICES), 0, 0b110)[0] == 1.0


def test_unwanted_datums_cost_more(toy):
    wished = toy([30, 60, 40], [90, 90], gauge=REACH, costs=PRICES, preferred=(("start",), ()))
    assert edge_and_flange(wished, 0, 0, behind=1) == [5.0, math.inf]
    assert edge_and_flange(wished, 0, 0, behind=0) == [0.0, math.inf]
