"""Ways in and out against openings worked out for plain blocks: free translation, a ram without an upper end."""

import numpy as np
import pytest

from flangewise.replay.fold import ZoneBend, view_of
from flangewise.replay.meets import obstacles, way_out
from flangewise.replay.stroke import Vee, bend_moments

U = (40.0, 100.0, 40.0)
LIPPED = (15.0, 40.0, 100.0, 40.0, 15.0)


def stack(toy):
    endless = toy.outline((30, 0), (30, 40), (60, 40), (60, 5000), (-60, 5000), (-60, 40), (-30, 40), (-30, 0))
    return obstacles(toy.bodies(ram=endless).stack("straight", "v12").solids)


def comes_out(toy, lengths, zone, *, start_behind, lift_mm):
    """Whether the finished part comes out with the punch lifted so far from the bottom of its stroke."""
    section = toy.sharp(lengths, (90.0,) * (len(lengths) - 1))
    view = view_of(section, section.turns_deg, marked_up=True, start_behind=start_behind)
    swing = ZoneBend(view.place_of(zone), 90.0, -0.75)
    moment = bend_moments(view, swing, vee=Vee(12.0, 0.0), turns_deg=np.array([90.0]))
    touch = float(moment.nose_up_mm[0])
    return way_out(moment.rings.points_mm[0], stack(toy), touch_mm=touch, open_mm=lift_mm + touch)


@pytest.mark.parametrize(
    ("lengths", "zone", "start_behind", "opens", "stays"),
    [(U, 1, False, 30, 25), (U, 1, True, 85, 80), (LIPPED, 2, False, 45, 40)],
)
def test_least_lift_of_channels(toy, lengths, zone, start_behind, opens, stays):
    assert comes_out(toy, lengths, zone, start_behind=start_behind, lift_mm=opens)
    assert not comes_out(toy, lengths, zone, start_behind=start_behind, lift_mm=stays)


def test_a_flat_sheet_needs_its_thickness(toy):
    ring = np.array([(-50.0, 0.0), (50.0, 0.0), (50.0, 1.5), (-50.0, 1.5)])
    assert way_out(ring, stack(toy), touch_mm=1.5, open_mm=1.6)
    assert not way_out(ring, stack(toy), touch_mm=1.3, open_mm=1.3)


def test_a_closed_tube_round_the_punch_never_comes_out(toy):
    outer = [(-40.0, -2.0), (40.0, -2.0), (40.0, 90.0), (-40.0, 90.0)]
    slit = [*outer, (-40.0, -2.0), (-39.0, -1.0), (39.0, -1.0), (39.0, 89.0), (-39.0, 89.0), (-39.0, -1.0)]
    assert not way_out(np.array(slit) + np.array([0.0, 2.0]), stack(toy), touch_mm=1.0, open_mm=20.0)


def test_a_leg_leaning_over_a_relieved_punch_comes_out_by_moving_with_the_ram(toy):
    # The finished leg reaches past the middle into the relief: the ram cannot rise over the part lying still.
    section = toy.sharp((40.0, 30.0, 40.0), (90.0, 90.0))
    view = view_of(section, section.turns_deg, marked_up=True, start_behind=False)
    moment = bend_moments(view, ZoneBend(view.place_of(1), 90.0, -0.75), vee=Vee(12.0, 0.0), turns_deg=np.array([90.0]))
    ring, touch = moment.rings.points_mm[0], float(moment.nose_up_mm[0])
    relieved = obstacles(toy.bodies(toy.GOOSENECK).stack("straight", "v12").solids)
    assert not way_out(ring, relieved, touch_mm=touch, open_mm=touch + 20.0)
    assert way_out(ring, relieved, touch_mm=touch, open_mm=touch + 45.0)
