"""The die's shoulder on the flange against a closed form."""

import math

import numpy as np
import pytest

from flangewise.replay.stroke import Vee


def test_least_wing_of_a_sharp_square_bend():
    # (V/2) / cos - (t/2) tan = 7.735 on the middle surface, V / sqrt 2 = 8.485 on the outside
    halves = np.radians(np.linspace(0.0, 45.0, 33))
    least_mm = Vee(12.0, 0.0).shoulder_mm(halves, radius_mm=-0.75, thickness_mm=1.5).max()
    assert least_mm == pytest.approx(7.735, abs=5e-4)
    assert least_mm + 0.75 == pytest.approx(12 / math.sqrt(2), abs=5e-4)
