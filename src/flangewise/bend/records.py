"""What goes into an air bend and what comes out: set-up, what was learned, one result, many results.

Source: definitions; the noses of depth and force are corrected as derived in `elastica`.
"""

from collections.abc import Sequence
from typing import Generic, Literal, TypeVar

import numpy as np

from flangewise.records import dataclass, field

from .elastica import BoolArray, Rows, corrected_nose_mm, force_nose_share, nose_log_strain
from .moment import FloatArray, Swift, moment_curve
from .newton import CONVERGED, IMPOSSIBLE, UNREACHABLE, IntArray

Reason = Literal["unreachable", "not-converged", "impossible-input"]

DEFAULT_FRICTION = 0.1


@dataclass(frozen=True)
class BendSetup:
    """Sheet between punch and die: thickness, opening and shoulder radius of the die, nose radius of the punch."""

    thickness_mm: float
    opening_mm: float
    shoulder_radius_mm: float
    nose_radius_mm: float
    friction: float = DEFAULT_FRICTION


@dataclass(frozen=True)
class Learned:
    """What measured pieces taught: the machine goes this much deeper than it shows; ln of the springback multiplier."""

    depth_offset_mm: float = 0.0
    springback_log: float = 0.0


NOTHING_LEARNED = Learned()


Figures = TypeVar("Figures", float, FloatArray)


@dataclass(frozen=True)
class BendFigures(Generic[Figures]):
    """What the model says of one bend, or of many in arrays. Radii are effective inside radii: a gauge reads less."""

    turn_deg: Figures
    loaded_turn_deg: Figures
    springback_deg: Figures
    depth_mm: Figures
    effective_radius_mm: Figures
    formed_radius_mm: Figures
    force_kn_per_m: Figures
    deg_per_mm: Figures
    contact_length_mm: Figures
    nose_contact_deg: Figures
    loaded_deg_per_mm: Figures


@dataclass(frozen=True)
class AirBend(BendFigures[float]):
    """One bend that converged, with the highest force on the way and the turn at which it stands."""

    peak_kn_per_m: float
    peak_turn_deg: float
    converged: Literal[True] = field(default=True, init=False)

    @property
    def wrapped(self) -> bool:
        """Whether the sheet lies round the nose: the nose sets the radius."""
        return self.nose_contact_deg > 0


@dataclass(frozen=True)
class NoBend:
    """A bend the model has no answer for, and why; a finding is made of it, never a number."""

    reason: Reason
    converged: Literal[False] = False


@dataclass(frozen=True)
class BendBatch:
    """Many bends, one an element of each array; arrays of length 1 serve all."""

    thickness_mm: FloatArray
    opening_mm: FloatArray
    shoulder_radius_mm: FloatArray
    nose_radius_mm: FloatArray
    friction: FloatArray
    strength_mpa: FloatArray
    prestrain: FloatArray
    exponent: FloatArray
    modulus_mpa: FloatArray
    poisson: FloatArray
    strain_factor: FloatArray
    depth_offset_mm: FloatArray
    springback_log: FloatArray

    @classmethod
    def of(
        cls, setups: Sequence[BendSetup], swifts: Sequence[Swift], learned: Sequence[Learned] = (NOTHING_LEARNED,)
    ) -> "BendBatch":
        """A batch from records; each sequence of one length, or of length 1 for all."""
        # The fields of a batch are those of set-up, metal and what was learned, in that order.
        tables = [np.array([[*vars(one).values()] for one in part], dtype=float) for part in (setups, swifts, learned)]
        return cls(*(column for table in tables for column in table.T))

    def rows(self, *, nose_correction: bool = True) -> Rows:
        """The bends as the solver takes them, the nose radius corrected unless told otherwise."""
        t, nose_mm, angle = self.thickness_mm, self.nose_radius_mm, np.arctan(self.friction)
        if nose_correction:
            nose_mm = corrected_nose_mm(nose_mm, t)
        return Rows(
            thickness_mm=t,
            half_opening_mm=self.opening_mm / 2,
            shoulder_mm=self.shoulder_radius_mm,
            nose_mm=nose_mm,
            nose_log_strain=nose_log_strain(nose_mm, t),
            friction_rad=angle,
            friction_sin=np.sin(angle),
            friction_cos=np.cos(angle),
            springback_factor=np.exp(self.springback_log),
            curve=moment_curve(
                self.strength_mpa,
                self.prestrain,
                exponent=self.exponent,
                modulus_mpa=self.modulus_mpa,
                poisson=self.poisson,
                strain_factor=self.strain_factor,
            ),
        )

    def force_nose_mm(self, rows: Rows) -> FloatArray:
        """Nose radius that the peak force is worked with, from that of the rows."""
        share = force_nose_share(self.thickness_mm, self.opening_mm)
        return self.nose_radius_mm + share * (rows.nose_mm - self.nose_radius_mm)

    def possible(self, target: FloatArray, *, least: float, most: float) -> BoolArray:
        """Bends whose figures make sense at all: sizes and strengths above zero, the target between its bounds."""
        above = (self.thickness_mm, self.strength_mpa, self.prestrain, self.exponent, self.modulus_mpa)
        not_below = (self.shoulder_radius_mm, self.nose_radius_mm, self.friction)
        fits = (target > least) & (target < most)
        for column in above:
            fits = fits & (column > 0) & np.isfinite(column)
        for column in not_below:
            fits = fits & (column >= 0) & np.isfinite(column)
        room_mm = self.opening_mm / 2 - self.shoulder_radius_mm
        return fits & (room_mm > 0) & np.isfinite(self.opening_mm) & (self.friction < 1) & (self.poisson < 1)


@dataclass(frozen=True)
class AirBends(BendFigures[FloatArray]):
    """Many bends. Where `converged` is false every figure is 0 and `status` says why."""

    status: IntArray

    @property
    def converged(self) -> BoolArray:
        """Which bends have an answer."""
        return np.asarray(self.status == CONVERGED)

    def reason(self, index: int) -> Reason:
        """Why one bend has no answer."""
        told: dict[int, Reason] = {IMPOSSIBLE: "impossible-input", UNREACHABLE: "unreachable"}
        return told.get(int(self.status[index]), "not-converged")
