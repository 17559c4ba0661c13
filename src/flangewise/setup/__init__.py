"""What the setter keys in for each hit: stops, depth, opening, speeds, force, crowning, and where the tools stand.

Takes the steps of an order with the tools chosen for them, machine and handler. Gives a frozen `Setup`, whole.
Relies on punch_die for the numbers of each bend and on sequence for what stops touch and how the part lies.
"""

from flangewise.setup.set_up import set_up
from flangewise.setup.step import Chosen, Correction, Move, Setup, SetupStep, Stops, station_json

__all__ = ["Chosen", "Correction", "Move", "Setup", "SetupStep", "Stops", "set_up", "station_json"]
