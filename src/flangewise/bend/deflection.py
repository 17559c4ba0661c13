"""How ram and bed give under a part anywhere along the bed: bow, mean opening, and the crowning that answers.

Each of the two is a plate on supports at its ends, in bending and in shear. Along the bed every place is counted from
the middle of the machine, left negative. Load q on [a, b], W = q (b - a), supports at 0 and S:

* M(x) = R_A<x> + R_B<x-S> - q/2 <x-a>^2 + q/2 <x-b>^2
* EI d_b = -R_A<x>^3/6 - R_B<x-S>^3/6 + q<x-a>^4/24 - q<x-b>^4/24 + C1 x + C0, zero at both supports
* d_s = [M(x) - M(0) - (M(S) - M(0)) x/S]/(k G A), k = 5/6

A full load gives 5 q S^4/(384 EI) + q S^2/(8 k G A) in the middle. Deflections are positive in the load's direction;
ram and bed both open the gap. Source: beam theory with Timoshenko's shear, from memory.
"""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from flangewise.records import dataclass

# A place along the bed, or many at once.
Places = float | NDArray[np.float64]

SHEAR_SHARE = 5 / 6
_MEAN_POINTS = 64


@dataclass(frozen=True)
class BeamPlate:
    """A ram or a bed: distance between supports, plate thickness and height, steel unless told otherwise."""

    span_mm: float
    plate_mm: float
    height_mm: float
    modulus_mpa: float = 210_000.0
    poisson: float = 0.3


@dataclass(frozen=True)
class BedLoad:
    """A bend on the bed: where it begins and ends, from the machine's middle, and its force per metre."""

    from_mm: float
    to_mm: float
    kn_per_m: float

    @property
    def total_kn(self) -> float:
        """Force of the whole bend."""
        return self.kn_per_m * (self.to_mm - self.from_mm) / 1000


@dataclass(frozen=True)
class Deflection:
    """What the machine's giving does to the gap under a part.

    bow_mm: how much more the middle of the part opens than its ends: what crowning has to put back. mean_mm: what the
    whole part loses in depth where the stroke is read at the side frames.
    """

    bow_mm: float
    mean_mm: float


def reactions_kn(beam: BeamPlate, load: BedLoad) -> tuple[float, float]:
    """Left and right support force."""
    middle_mm = (load.from_mm + load.to_mm) / 2 + beam.span_mm / 2
    right_kn = load.total_kn * middle_mm / beam.span_mm
    return load.total_kn - right_kn, right_kn


def deflection_mm(beam: BeamPlate, load: BedLoad, at_mm: Places) -> tuple[Places, Places]:
    """Deflection by bending and by shear at a place or many, in the direction of the load."""
    shift_mm = beam.span_mm / 2
    x, a, b = at_mm + shift_mm, load.from_mm + shift_mm, load.to_mm + shift_mm
    left_n, right_n = (1000 * kn for kn in reactions_kn(beam, load))
    q, span = load.kn_per_m, beam.span_mm

    def moment(place: Places) -> Places:
        supports = left_n * _ramp(place) + right_n * _ramp(place - span)
        return supports - q / 2 * _ramp(place - a) ** 2 + q / 2 * _ramp(place - b) ** 2

    def bent(place: Places) -> Places:
        supports = left_n * _ramp(place) ** 3 + right_n * _ramp(place - span) ** 3
        return -supports / 6 + q / 24 * (_ramp(place - a) ** 4 - _ramp(place - b) ** 4)

    def between(values: tuple[Places, Places, Places]) -> Places:
        # Less the straight line through both supports, which do not give.
        here, at_left, at_right = values
        return here - at_left - (at_right - at_left) * x / span

    bending_stiffness = beam.modulus_mpa * beam.plate_mm * beam.height_mm**3 / 12
    shear_modulus = beam.modulus_mpa / (2 * (1 + beam.poisson))
    shear_stiffness = SHEAR_SHARE * shear_modulus * beam.plate_mm * beam.height_mm
    bending = between((bent(x), bent(0.0), bent(span))) / bending_stiffness
    return bending, between((moment(x), moment(0.0), moment(span))) / shear_stiffness


def opening_mm(ram: BeamPlate, bed: BeamPlate, load: BedLoad, at_mm: Places) -> Places:
    """How far the gap opens at a place or many: ram and bed, bending and shear."""
    return sum(deflection_mm(ram, load, at_mm)) + sum(deflection_mm(bed, load, at_mm))


@lru_cache(maxsize=256)
def bed_deflection(ram: BeamPlate, bed: BeamPlate, load: BedLoad) -> Deflection:
    """Bow and mean opening over the part under load; a part of no length, or no force, gives zeros."""
    # The ends and the middle, then places alike apart.
    shares = np.concatenate([[0.0, 0.5, 1.0], (np.arange(_MEAN_POINTS) + 0.5) / _MEAN_POINTS])
    opened = np.asarray(opening_mm(ram, bed, load, load.from_mm + shares * (load.to_mm - load.from_mm)))
    left, middle, right = opened[:3].tolist()
    return Deflection(middle - (left + right) / 2, float(opened[3:].mean()))


def _ramp(value: Places) -> Places:
    ramp: Places = np.maximum(0.0, value)
    return ramp
