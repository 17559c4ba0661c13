"""Room for the finger."""

from __future__ import annotations

import numpy as np

from flangewise.clearance import finger_obstacles

FINGER = np.array([(0.0, 0.0), (0.0, 12.0), (-40.0, 12.0), (-40.0, 0.0)])
SHEET = np.array([(-80.0, 0.0), (60.0, 0.0), (60.0, 1.5), (-80.0, 1.5)])


def test_a_finger_at_the_edge_of_a_flat_sheet_touches_nothing_else(bodies):
    assert finger_obstacles(FINGER + np.array((-80.0, -5.0)), SHEET, bodies, nose_mm=1.5) == ()


def test_a_finger_inside_the_die_is_found(bodies):
    short = SHEET * [0.15, 1.0]
    assert finger_obstacles(FINGER + np.array((-12.0, -5.0)), short, bodies, nose_mm=1.5) == ("die",)
    assert finger_obstacles(FINGER + np.array((-12.0, 0.5)), short, bodies, nose_mm=1.5) == ()


def test_a_finger_too_high_near_the_punch_is_found(bodies):
    short = SHEET * [0.1, 1.0]
    assert finger_obstacles(FINGER + np.array((-8.0, 1.0)), short, bodies, nose_mm=1.5) == ("punch",)


def test_what_hangs_in_the_way_from_behind_is_found(bodies):
    hooked = np.array([(-80.0, 0.0), (60.0, 0.0), (60.0, 1.5), (-78.5, 1.5), (-78.5, 30.0), (-120.0, 30.0),
                       (-120.0, 0.0), (-118.5, 0.0), (-118.5, 28.5), (-80.0, 28.5)])  # fmt: skip
    assert finger_obstacles(FINGER + np.array((-80.0, 3.0)), hooked, bodies, nose_mm=1.5) == ("part",)
