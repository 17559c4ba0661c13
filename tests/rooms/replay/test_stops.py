"""Contact with the stop, worked out by hand for a sheet lying flat and for flanges of known place."""

import math

import numpy as np
import pytest

from flangewise.replay import SectionNumbers
from flangewise.replay.fold import ZoneBend, view_of
from flangewise.replay.meets import contact
from flangewise.replay.stroke import Vee, bend_moments

FINGER = ((0.0, 0.0), (0.0, 20.0), (-40.0, 20.0), (-40.0, 0.0))


def lying(turns_now, zone, *, start_behind=True, marked_up=True):
    """Flats 30, 50, 20, zones of 4 (90 degrees, inside radius 2, thickness 2), the zone's line at the centre plane."""
    section = SectionNumbers((30.0, 50.0, 20.0), (4.0, 4.0), (90.0, -90.0), (2.0, 2.0), 2.0)
    view = view_of(section, turns_now, marked_up=marked_up, start_behind=start_behind)
    swing = ZoneBend(view.place_of(zone), 92.0, 2.0)
    return bend_moments(view, swing, vee=Vee(16.0, 1.5), turns_deg=np.zeros(1)).rings


def test_raw_edge_is_half_a_zone_and_a_flat_behind_the_line():
    touch = contact(lying((0.0, 0.0), 0), FINGER, x_mm=32.0, r_mm=0.0)
    assert touch.gap_mm == pytest.approx(0.0, abs=1e-9)
    assert touch.labels == {0}


@pytest.mark.parametrize("x", [31.5, 33.0])
def test_gap_is_how_far_the_stop_is_off(x):
    touch = contact(lying((0.0, 0.0), 0), FINGER, x_mm=x, r_mm=0.0)
    assert touch.gap_mm == pytest.approx(x - 32.0, abs=1e-9)


def test_a_stop_set_over_the_sheet_meets_nothing():
    assert math.isinf(contact(lying((0.0, 0.0), 0), FINGER, x_mm=32.0, r_mm=2.5).gap_mm)


def test_outer_face_of_a_standing_flange():
    # From the line of bend 2: half its zone, the web, then the arc's inside radius and the thickness.
    away = 2.0 + 50.0 + 2.0 + 2.0
    touch = contact(lying((90.0, 0.0), 1), FINGER, x_mm=away, r_mm=8.0)
    assert touch.gap_mm == pytest.approx(0.0, abs=1e-9)
    assert touch.labels == {0}


def test_low_on_a_standing_flange_the_arc_is_not_reached_first():
    touch = contact(lying((90.0, 0.0), 1), FINGER, x_mm=56.0, r_mm=0.0)
    assert touch.gap_mm == pytest.approx(0.0, abs=1e-3)
    assert 0 in touch.labels


def test_hanging_flange_is_met_by_a_stop_set_low():
    touch = contact(lying((90.0, 0.0), 1, marked_up=False), FINGER, x_mm=56.0, r_mm=-15.0)
    assert touch.gap_mm == pytest.approx(0.0, abs=1e-3)
    assert 0 in touch.labels


def test_the_other_end_behind():
    touch = contact(lying((0.0, 0.0), 1, start_behind=False), FINGER, x_mm=22.0, r_mm=0.0)
    assert touch.gap_mm == pytest.approx(0.0, abs=1e-9)
