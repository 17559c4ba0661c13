"""What coming from one grip on a panel to another takes between two hits, for all grips at once.

A part kept in hand comes from each grip into few others; put down on a station, into any that finds it there. So the
least that grips are come to with is found without going through all pairs of them.
"""

from __future__ import annotations

import numpy as np

from flangewise.handling.moves import Floats
from flangewise.handling.panel_bodies import Bools
from flangewise.handling.step_grips import Ints
from flangewise.records import dataclass


@dataclass(frozen=True)
class KeptInHand:
    """Ways to make all moves with the part kept in hand: from each of some grips into another of its own, in so many
    seconds more; `turned`: the grips in which the gripper turns it on the way, which want room for that."""

    before: Ints
    after: Ints
    more_s: float
    turned: tuple[Ints, ...]

    def where(self, may_turn: Bools) -> tuple[Ints, Ints]:
        """Before and after of those that have room."""
        free = np.ones(len(self.before), dtype=bool)
        for grips in self.turned:
            free &= may_turn[grips]
        return self.before[free], self.after[free]


@dataclass(frozen=True)
class Passing:
    """From any grip to any other: kept in hand, or put down on the station and taken up.

    `over_s` [with room to turn in hand, without; grip]: seconds in which each turns the part over and tilts it;
    `base_s`: what the order reckons for all moves. `lies`: which grips put it down or take it up as it lies before the
    moves, and after them. `regrip_s` None: there is no station.
    """

    in_hand: tuple[KeptInHand, ...]
    over_s: Floats
    base_s: float
    lies: tuple[Bools, Bools]
    regrip_s: float | None

    @property
    def may_turn_in_hand(self) -> bool:
        """Whether it matters who has room to turn the part in hand."""
        return any(way.turned for way in self.in_hand) or not np.array_equal(*self.over_s)

    def _dearer_s(self, may_turn: Bools) -> Floats:
        with_room, without = self.over_s
        found: Floats = np.maximum(np.where(may_turn, with_room, without) - self.base_s, 0.0)
        return found

    def arrived(self, spent_s: Floats, may_turn: Bools) -> Floats:
        """The least that each grip is come to with; `spent_s`: what each is left with, of any number of ways there."""
        found = np.full_like(spent_s, np.inf)
        for way in self.in_hand:
            one, other = way.where(may_turn)
            found[..., other] = np.minimum(found[..., other], spent_s[..., one] + way.more_s)
        if self.regrip_s is not None:
            (before, after), dearer_s = self.lies, self._dearer_s(may_turn)
            # Turned over by the grip that lets go, which puts it down as it is to lie, or by the one that takes it.
            first = least_of_others(np.where(after, spent_s + dearer_s, np.inf))
            then = least_of_others(np.where(before, spent_s, np.inf))
            put_down = np.minimum(np.where(after, first, np.inf), np.where(before, then + dearer_s, np.inf))
            found = np.minimum(found, put_down + self.regrip_s)
        return found

    def table(self, may_turn: Bools) -> Floats:
        """Seconds more [grip before, grip after]."""
        own = np.full((len(may_turn), len(may_turn)), np.inf)
        np.fill_diagonal(own, 0.0)
        return self.arrived(own, may_turn)


def least_of_others(values: Floats) -> Floats:
    """Of each place on the last axis the least of all others there."""
    if values.shape[-1] < 2:
        return np.full_like(values, np.inf)
    two = np.partition(values, 1, axis=-1)
    least = np.repeat(two[..., :1], values.shape[-1], axis=-1)
    at = values.argmin(axis=-1)[..., None]
    np.put_along_axis(least, at, two[..., 1:2], axis=-1)
    return least
