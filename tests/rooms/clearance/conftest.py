"""The toy tools of the reasoned benchmark parts: V 12, 84 degrees, straight punch of half width 10."""

from __future__ import annotations

import math

import pytest

from flangewise.clearance import Body, Stroke


@pytest.fixture(scope="session")
def bodies() -> tuple[Body, ...]:
    """Punch, clamp, ram, die block and bed."""
    flank = math.tan(math.radians(42))
    up, vee = 10 / flank, 6 / flank
    return (
        Body("punch", ((0, 0), (10, up), (10, 100), (-10, 100), (-10, up)), True),
        Body("holder", ((30, 100), (30, 140), (-30, 140), (-30, 100)), True),
        Body("ram", ((60, 140), (60, 640), (-60, 640), (-60, 140)), True),
        Body("die", ((-20, 0), (-6, 0), (0, -vee), (6, 0), (20, 0), (20, -60), (-20, -60)), False),
        Body("bed", ((60, -60), (60, -800), (-60, -800), (-60, -60)), False),
    )


@pytest.fixture(scope="session")
def square_bend() -> Stroke:
    """A sharp 90-degree bend in 1.5 mm sheet over V 12."""
    return Stroke(12.0, 0.0, 1.5, -0.75, 0.0, 45.0)
