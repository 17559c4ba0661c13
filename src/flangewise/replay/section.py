"""The section as the replay sees it: plain numbers, folded by its own walk along the middle of the thickness."""

from dataclasses import dataclass, replace
from typing import Literal

Kind = Literal["bend", "hem", "offset"]


@dataclass(frozen=True)
class NumberedBend:
    """One bend number of the section: what it is and which zones it has (an offset has two, all others one)."""

    number: int
    kind: Kind
    zones: tuple[int, ...]


@dataclass(frozen=True)
class SectionNumbers:
    """A section in plain numbers: flats (n + 1), bend zones (n) with flat width, turn and inside radius, thickness.

    `turns_deg` are signed, positive toward the marked face. `bends` groups the zones under the user's bend numbers;
    left empty, each zone is a bend of its own, numbered from 1. `round_ends` gives the sheet half discs for edges, for
    comparing with figures that thicken a middle line by a disc.
    Raises ValueError where the lists do not fit together.
    """

    flats_mm: tuple[float, ...]
    zones_mm: tuple[float, ...]
    turns_deg: tuple[float, ...]
    radii_mm: tuple[float, ...]
    thickness_mm: float
    bends: tuple[NumberedBend, ...] = ()
    round_ends: bool = False

    def __post_init__(self) -> None:
        count = len(self.zones_mm)
        if len(self.flats_mm) != count + 1 or len(self.turns_deg) != count or len(self.radii_mm) != count:
            raise ValueError("a section of n zones has n + 1 flats, n turns and n radii")
        if not self.bends:
            plain = tuple(NumberedBend(zone + 1, "bend", (zone,)) for zone in range(count))
            object.__setattr__(self, "bends", plain)
        if sorted(zone for bend in self.bends for zone in bend.zones) != list(range(count)):
            raise ValueError("every zone belongs to exactly one bend number")

    def bend(self, number: int) -> NumberedBend:
        """The bend of a number. Raises KeyError where the section has none."""
        for bend in self.bends:
            if bend.number == number:
                return bend
        raise KeyError(number)


@dataclass(frozen=True)
class View:
    """The section as it lies in the machine, from the backgauge toward the operator; a turn that rises is positive.

    `section` has its lists from the back and its turns as the drawing wants them, seen so; `turns_deg` are the turns
    the zones have at this moment. `start_behind` says whether the section's first flat is the rearmost one.
    """

    section: SectionNumbers
    turns_deg: tuple[float, ...]
    start_behind: bool

    def place_of(self, zone: int) -> int:
        """Where a zone of the section stands in this view, counted from the back; the same the other way round."""
        return zone if self.start_behind else len(self.turns_deg) - 1 - zone

    def leg_of(self, flat: int) -> int:
        """The user's number of the leg with a flat: counted from the section's start."""
        return flat + 1 if self.start_behind else len(self.section.flats_mm) - flat


def view_of(section: SectionNumbers, turns_now_deg: tuple[float, ...], *, marked_up: bool, start_behind: bool) -> View:
    """The section with its turns of the moment, laid in the machine: marked face up or down, start or end behind."""
    sign = 1.0 if marked_up else -1.0
    step = 1 if start_behind else -1
    lying = replace(
        section,
        flats_mm=section.flats_mm[::step],
        zones_mm=section.zones_mm[::step],
        turns_deg=tuple(sign * turn for turn in section.turns_deg[::step]),
        radii_mm=section.radii_mm[::step],
    )
    return View(lying, tuple(sign * turn for turn in turns_now_deg[::step]), start_behind)
