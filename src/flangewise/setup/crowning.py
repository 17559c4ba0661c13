"""How far bed and ram bow apart under the load of a hit, and what the crowning is to take out of that."""

from dataclasses import dataclass

from flangewise.bend import BedLoad, Plate, give
from flangewise.findings import Finding, caution, note
from flangewise.punch_die import PunchDie
from flangewise.setup.hit import PlannedHit
from flangewise.shop import Beam, Machine

# An angle difference between middle and ends smaller than this is lost in what a protractor reads.
TOLD_FROM_DEG = 0.3


@dataclass(frozen=True)
class Crowned:
    """Bow over the bend, the crowning that takes it out as far as the machine can, and what is left of it.

    `left_deg` is how much less the middle is turned than the ends with that crowning, None where no angle is known.
    """

    bow_mm: float | None
    crowning_mm: float | None
    mean_opening_mm: float | None
    left_deg: float | None

    def told(self, hit: PlannedHit) -> tuple[Finding, ...]:
        """A note where the middle stays open by more than can be read."""
        if self.left_deg is None or self.left_deg < TOLD_FROM_DEG:
            return ()
        values = {"bow_mm": self.bow_mm, "crowning_mm": self.crowning_mm, "left_deg": self.left_deg}
        told = caution if self.left_deg >= 2 * TOLD_FROM_DEG else note
        return (told("middle-opens", hit.place, **values),)


NOT_BOWED = Crowned(None, None, None, None)


def crowned(pair: PunchDie, *, machine: Machine, from_mm: float, length_mm: float) -> Crowned:
    """Bow of ram and bed together at the end of a hit that lies from `from_mm` along the bed.

    The force at the end of the stroke decides, since the angle is made there; where no model gives it, the table's.
    The crowning that is to be set is the bow itself, at most what the machine has.
    """
    force = pair.end_force_kn_per_m if pair.end_force_kn_per_m is not None else pair.limit_force_kn_per_m
    if force is None:
        return NOT_BOWED
    start_mm = from_mm - machine.bed_length_mm / 2
    load = BedLoad(start_mm, start_mm + length_mm, force)
    given = give(_beam(machine.ram_beam), _beam(machine.bed_beam), load, deg_per_mm=pair.deg_per_mm or 0.0)
    crowning_mm = min(max(given.bow_mm, 0.0), machine.crowning_most_mm)
    left_deg = None if pair.deg_per_mm is None else (given.bow_mm - crowning_mm) * pair.deg_per_mm
    return Crowned(given.bow_mm, crowning_mm, given.mean_mm, left_deg)


def _beam(row: Beam) -> Plate:
    return Plate(row.span_mm, row.thickness_mm, row.height_mm, row.modulus_mpa, row.poisson)
