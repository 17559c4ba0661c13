"""Where exactly the stops touch."""

from __future__ import annotations

import numpy as np
import pytest

from flangewise.geometry import Chain, section_path
from flangewise.sequence import Backgauge
from flangewise.sequence.candidates import Candidate
from flangewise.sequence.contact import contact, furthest_in_band
from flangewise.sequence.moves import EDGE, FLANGE

from ..geometry.by_hand import sharp_chain

FINGER = ((0.0, 0.0), (0.0, 12.0), (-40.0, 12.0), (-40.0, 0.0))
REACH = Backgauge(5.0, 300.0, -80.0, 200.0, FINGER)


def gauging(problem, *, operation: int, done: int, behind: int, datum: int, up: bool = True):
    return contact(problem, Candidate(operation, 0, up, behind), done, datum=datum)


def test_a_raw_edge_is_met_in_the_middle_of_the_stop_face(toy):
    found = gauging(toy([40, 100, 40], [90, 90], gauge=REACH), operation=1, done=0, behind=0, datum=EDGE).gauging
    assert (found.on, found.zone, found.x_mm) == ("start", None, pytest.approx(140.0))
    assert found.r_mm == pytest.approx(0.75 - 6.0) and found.height_mm == pytest.approx(0.75)
    assert found.retract_mm == 0.0


def test_a_formed_leg_is_met_on_its_outer_face(toy):
    found = gauging(toy([40, 100, 40], [90, 90], gauge=REACH), operation=1, done=1, behind=0, datum=FLANGE).gauging
    assert (found.on, found.zone) == ("flange", 0)
    assert found.x_mm == pytest.approx(100.75)
    assert 0 < found.r_mm < 40


def test_real_radii_and_zones_count(bend_all, stack):
    # channel 20 | 60 | 20 outside, t 2, r 2, k 0.42: second bend on the outside of the first leg at 58.23
    zone = np.pi / 2 * (2 + 0.42 * 2)
    chain = Chain((16.0, 52.0, 16.0), (zone, zone), (90.0, 90.0), (2.0, 2.0), 2.0)
    problem = bend_all(chain, [stack()], gauge=REACH)
    on_leg = gauging(problem, operation=1, done=1, behind=0, datum=FLANGE).gauging
    on_edge = gauging(problem, operation=1, done=0, behind=1, datum=EDGE).gauging
    assert on_leg.x_mm == pytest.approx(58.23, abs=0.005)
    assert on_edge.x_mm == pytest.approx(18.23, abs=0.005)


def test_a_hanging_leg_pushes_the_stop_back(toy):
    # a leg hanging 20 at distance 60 in flat position: its lower corner goes from 60 to sqrt(60^2 + h^2) at most
    problem = toy([20, 60, 60], [-90, 90], gauge=REACH)
    found = gauging(problem, operation=1, done=1, behind=0, datum=FLANGE).gauging
    assert found.r_mm < 0 and found.x_mm == pytest.approx(60.75)
    assert 0.0 < found.retract_mm <= np.hypot(60.75, 20.0) - 60.75 + 0.8


def test_a_leg_that_rises_needs_no_retraction(toy):
    problem = toy([40, 100, 40], [90, 90], gauge=REACH)
    assert gauging(problem, operation=1, done=1, behind=0, datum=FLANGE).gauging.retract_mm == 0.0


def test_what_stands_in_the_way_is_named(toy):
    # the edge lies inside the die block's half width and the finger cannot stand above the die top
    low = Backgauge(5.0, 300.0, -80.0, -11.0, FINGER)
    found = gauging(toy([12, 60], [90], gauge=low), operation=0, done=0, behind=0, datum=EDGE)
    assert found.gauging is None and "die" in found.obstacles
    far = Backgauge(50.0, 300.0, -80.0, 100.0, FINGER)
    assert gauging(toy([12, 60], [90], gauge=far), operation=0, done=0, behind=0, datum=EDGE).obstacles


def test_nothing_to_say_without_a_gauge(toy):
    assert gauging(toy([40, 60], [90]), operation=0, done=0, behind=0, datum=EDGE).gauging is None


def test_hem_is_touched_at_its_fold(bend_all, stack):
    chain = Chain((12.0, 50.0, 30.0), (2.4, 4.2), (180.0, 90.0), (0.0, 2.0), 1.5)
    problem = bend_all(chain, [stack()], gauge=REACH)
    found = gauging(problem, operation=1, done=1, behind=0, datum=FLANGE).gauging
    assert found.zone == 0 and found.x_mm == pytest.approx(2.1 + 50.0 + 1.5, abs=0.03)  # fold bulges out by t


def test_sloping_edge(toy):
    problem = toy([40, 60, 50], [30, 90], gauge=REACH)
    found = gauging(problem, operation=1, done=1, behind=0, datum=EDGE).gauging
    assert abs(found.slope_deg) == pytest.approx(30.0)
    assert found.x_mm == pytest.approx(60 + 40 * np.cos(np.radians(30)) + 0.75 * 0.5, abs=1e-6)


def test_furthest_point_between_two_heights():
    path = section_path(sharp_chain([50, 30], [90], thickness_mm=2.0), (90.0,))
    assert furthest_in_band(path, 2.0, low_mm=10.0, high_mm=20.0) == (pytest.approx(51.0), 2)
    assert furthest_in_band(path, 2.0, low_mm=-0.5, high_mm=0.5)[0] >= 50.0
    assert furthest_in_band(path, 2.0, low_mm=100.0, high_mm=120.0) == (-np.inf, -1)
