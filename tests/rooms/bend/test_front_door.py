"""What a single bend does not need is loaded late."""

import subprocess
import sys

from flangewise import bend


def test_late_names_are_those_of_their_modules():
    assert bend.BeamPlate.__module__ == "flangewise.bend.deflection"
    assert bend.drawn_spread.__module__ == "flangewise.bend.draws"
    assert bend.deductions_of_chain.__module__ == "flangewise.bend.correct"
    assert bend.linear_tolerance_mm.__module__ == "flangewise.bend.general_tolerance"


def test_a_bend_loads_neither_draws_nor_beams():
    lines = (
        "import sys, flangewise.bend as b",
        "assert b.bend_to_turn(b.BendSetup(2, 16, 1.5, 1), b.Swift(541, 0.0082, 0.207, 210000), 90).converged",
        "late = ('correct', 'deflection', 'draws', 'general_tolerance')",
        "print([name for name in late if 'flangewise.bend.' + name in sys.modules])",
    )
    told = subprocess.run([sys.executable, "-c", "\n".join(lines)], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"
