"""What the setter keys in for each hit: stops, depth, opening, speeds, force, crowning, and where the tools stand.

Takes the steps of an order with the tools chosen for them, machine and handler. Gives a frozen `Setup`, whole.
Relies on punch_die for the numbers of each bend and on sequence for what stops touch and how the part lies.
"""

from flangewise.setup.hit import PlannedHit, planned_hits
from flangewise.setup.loads import Load, most_loaded
from flangewise.setup.moves import handled, side_exit, words_before
from flangewise.setup.near import near_findings
from flangewise.setup.scatter import first_piece
from flangewise.setup.seconds import around_s, hit_time
from flangewise.setup.set_up import set_up
from flangewise.setup.step import Correction, Move, Setup, SetupStep, Stops, station_json
from flangewise.setup.support import stands_behind
from flangewise.setup.tolerance import angle_tolerance, leg_tolerances_mm
from flangewise.setup.work import WorkCentre, Workpiece

__all__ = [
    "Correction",
    "Load",
    "Move",
    "PlannedHit",
    "Setup",
    "SetupStep",
    "Stops",
    "WorkCentre",
    "Workpiece",
    "angle_tolerance",
    "around_s",
    "first_piece",
    "handled",
    "hit_time",
    "leg_tolerances_mm",
    "most_loaded",
    "near_findings",
    "planned_hits",
    "set_up",
    "side_exit",
    "stands_behind",
    "station_json",
    "words_before",
]
