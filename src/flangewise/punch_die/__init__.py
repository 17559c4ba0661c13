"""Punches and dies offered for each bend, best first, each with what it makes of the sheet and what speaks against it.

Takes plain wishes, the stock and the shop's tools. Gives frozen `PunchDie` offers, and stations on the bed made of the
segments held. Relies on the bend model for every number and on the shop's outlines for radii, opening and angles.
"""

from importlib import import_module
from typing import TYPE_CHECKING

from flangewise.punch_die.answer import Answer, Question, answer
from flangewise.punch_die.judge import judge, vee_pair
from flangewise.punch_die.learned import deduction_of, depth_of, learned_notes, learned_offers, taught
from flangewise.punch_die.limits import may_crack
from flangewise.punch_die.loads import NEAR_SHARE, concentrated_kn_per_m, off_centre_force_kn
from flangewise.punch_die.offer import at_depth, nothing_offered, offer, usable
from flangewise.punch_die.pair import Model, Mounting, Pair, PunchDie
from flangewise.punch_die.spread import drawn_spread, expected_spread
from flangewise.punch_die.told import wants_remedy, with_remedy
from flangewise.punch_die.wish import BendWish, Ideal, Stock, Tooling

if TYPE_CHECKING:
    from flangewise.punch_die.segments import SegmentUse, cover
    from flangewise.punch_die.stations import Station, place_stations

# Loaded when first asked for: a single bend puts no tools on a bed, and must start quickly.
_LATE = {
    "segments": {"SegmentUse", "cover"},
    "stations": {"Station", "place_stations"},
}

__all__ = [
    "NEAR_SHARE",
    "Answer",
    "BendWish",
    "Ideal",
    "Model",
    "Mounting",
    "Pair",
    "PunchDie",
    "Question",
    "SegmentUse",
    "Station",
    "Stock",
    "Tooling",
    "answer",
    "at_depth",
    "concentrated_kn_per_m",
    "cover",
    "deduction_of",
    "depth_of",
    "drawn_spread",
    "expected_spread",
    "judge",
    "learned_notes",
    "learned_offers",
    "may_crack",
    "nothing_offered",
    "off_centre_force_kn",
    "offer",
    "place_stations",
    "taught",
    "usable",
    "vee_pair",
    "wants_remedy",
    "with_remedy",
]


def __getattr__(name: str) -> object:
    """A name of a module that is loaded late; AttributeError for one the room does not have."""
    for module, given in _LATE.items():
        if name in given:
            return getattr(import_module(f".{module}", __name__), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
