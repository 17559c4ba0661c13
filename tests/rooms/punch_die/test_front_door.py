"""The room's front door: what puts tools on a bed is loaded late."""

from __future__ import annotations

import subprocess
import sys

from flangewise import geometry, punch_die


def test_late_names_are_those_of_their_modules() -> None:
    assert punch_die.Station.__module__ == "flangewise.punch_die.stations"
    assert punch_die.cover.__module__ == "flangewise.punch_die.stations"
    assert geometry.Chain.__module__ == "flangewise.geometry.chain"


def test_a_single_bend_loads_no_chains_no_beds_and_no_explanations() -> None:
    names = ["geometry.chain", "punch_die.stations", "commands.bend_why", "drawing"]
    code = f"import flangewise.commands.bend, sys; print([n for n in {names} if 'flangewise.' + n in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
