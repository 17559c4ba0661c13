"""One air bend, or many: finished turn to depth, depth to finished turn, with springback, radius and force.

The process model: Swift hardening, closed-form moment curve, elastica arm between nose and shoulder, free or wrapped
apex, nose correction. Lengths mm, angles deg, force kN per metre (= N per mm). Opening between the tangent points of
the shoulder arcs. Commanded depth = model depth - depth offset: a positive offset means that the machine goes deeper
than it shows.

Holds for plane strain (bend longer than 8 t). Not in it: Bauschinger effect, unbending when a wrapped nose lets go
(loaded turn above 120, large noses), line contact lifting off under a large nose, coated or clad sheet, heat, speed,
tools and machine giving way, cracks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from .elastica import BoolArray, Rows, corrected_nose_mm, rows_of
from .moment import FloatArray
from .newton import CONVERGED, IMPOSSIBLE, UNREACHABLE, IntArray, Solution, Target, solve
from .released import effective_radii_mm
from .start import start_from_depth, start_from_finished, start_from_loaded
from .swift import Swift

Regime = Literal["free", "wrapped"]
Reason = Literal["unreachable", "not-converged", "impossible-input"]

DEFAULT_FRICTION = 0.1
_PEAK_FROM_DEG, _PEAK_STEP_DEG = 24.0, 6.0


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


@dataclass(frozen=True)
class AirBend:
    """One bend that converged. Radii are effective inside radii: they place the flange, a gauge reads less."""

    turn_deg: float
    loaded_turn_deg: float
    springback_deg: float
    depth_mm: float
    effective_radius_mm: float
    formed_radius_mm: float
    force_kn_per_m: float
    peak_kn_per_m: float
    peak_turn_deg: float
    deg_per_mm: float
    contact_length_mm: float
    nose_contact_deg: float
    regime: Regime
    converged: Literal[True] = True


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
        cls,
        setups: Sequence[BendSetup],
        swifts: Sequence[Swift],
        learned: Sequence[Learned] = (NOTHING_LEARNED,),
    ) -> BendBatch:
        """A batch from records; each sequence of one length, or of length 1 for all."""
        set_up = [(s.thickness_mm, s.opening_mm, s.shoulder_radius_mm, s.nose_radius_mm, s.friction) for s in setups]
        metal = [(s.strength_mpa, s.prestrain, s.exponent, s.modulus_mpa, s.poisson, s.strain_factor) for s in swifts]
        taught = [(one.depth_offset_mm, one.springback_log) for one in learned]
        columns = [column for part in (set_up, metal, taught) for column in np.array(part, dtype=float).T]
        return cls(*columns)

    def rows(self, *, nose_correction: bool = True) -> Rows:
        """The bends as the solver takes them, the nose radius corrected unless told otherwise."""
        nose_mm = self.nose_radius_mm
        return rows_of(
            self.thickness_mm,
            self.opening_mm,
            shoulder_radius_mm=self.shoulder_radius_mm,
            nose_radius_mm=corrected_nose_mm(nose_mm, self.thickness_mm) if nose_correction else nose_mm,
            friction=self.friction,
            springback_log=self.springback_log,
            metal=(
                self.strength_mpa,
                self.prestrain,
                self.exponent,
                self.modulus_mpa,
                self.poisson,
                self.strain_factor,
            ),
        )

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
class AirBends:
    """Many bends. Where `converged` is false every figure is 0 and `status` says why; use `row` to be sure."""

    turn_deg: FloatArray
    loaded_turn_deg: FloatArray
    springback_deg: FloatArray
    depth_mm: FloatArray
    effective_radius_mm: FloatArray
    formed_radius_mm: FloatArray
    force_kn_per_m: FloatArray
    deg_per_mm: FloatArray
    contact_length_mm: FloatArray
    nose_contact_deg: FloatArray
    loaded_deg_per_mm: FloatArray
    status: IntArray

    @property
    def converged(self) -> BoolArray:
        """Which bends have an answer."""
        return np.asarray(self.status == CONVERGED)

    def reason(self, index: int) -> Reason:
        """Why one bend has no answer."""
        status = int(self.status[index])
        if status == IMPOSSIBLE:
            return "impossible-input"
        return "unreachable" if status == UNREACHABLE else "not-converged"


def bend_to_turn(
    setup: BendSetup,
    swift: Swift,
    turn_deg: float,
    *,
    learned: Learned = NOTHING_LEARNED,
    nose_correction: bool = True,
) -> AirBend | NoBend:
    """The bend that is left at `turn_deg` after release: how deep, how far past, how hard.

    Turns above 0 and below 180. What cannot be reached or found comes back as NoBend.
    """
    batch = BendBatch.of([setup], [swift], [learned])
    return _single(batch, "finished", turn_deg, nose_correction=nose_correction)


def bend_at_depth(
    setup: BendSetup,
    swift: Swift,
    depth_mm: float,
    *,
    learned: Learned = NOTHING_LEARNED,
    nose_correction: bool = True,
) -> AirBend | NoBend:
    """The bend that a commanded depth makes; the finished turn is its `turn_deg`.

    At a depth where the sheet is only touched or springs back altogether there is no bend: NoBend "unreachable".
    """
    batch = BendBatch.of([setup], [swift], [learned])
    return _single(batch, "depth", depth_mm, nose_correction=nose_correction)


def bend_loaded_to(
    setup: BendSetup,
    swift: Swift,
    loaded_turn_deg: float,
    *,
    learned: Learned = NOTHING_LEARNED,
    nose_correction: bool = True,
) -> AirBend | NoBend:
    """The bend at a given turn under load: what is left where a die or punch stops it."""
    batch = BendBatch.of([setup], [swift], [learned])
    return _single(batch, "loaded", loaded_turn_deg, nose_correction=nose_correction)


def bends_to_turn(batch: BendBatch, turn_deg: FloatArray, *, nose_correction: bool = True) -> AirBends:
    """Many bends by finished turn, in one call; without the peak force (see `peak_forces`)."""
    return _many(batch, "finished", turn_deg, nose_correction=nose_correction)


def bends_at_depth(batch: BendBatch, depth_mm: FloatArray, *, nose_correction: bool = True) -> AirBends:
    """Many bends by commanded depth, in one call."""
    return _many(batch, "depth", depth_mm, nose_correction=nose_correction)


def bends_loaded_to(batch: BendBatch, loaded_turn_deg: FloatArray, *, nose_correction: bool = True) -> AirBends:
    """Many bends by turn under load, in one call."""
    return _many(batch, "loaded", loaded_turn_deg, nose_correction=nose_correction)


_Kind = Literal["finished", "depth", "loaded"]


def _aim(
    batch: BendBatch, kind: _Kind, value: FloatArray, rows: Rows
) -> tuple[Target, tuple[FloatArray, FloatArray], BoolArray]:
    """Target, start values, and which bends are worth trying."""
    if kind == "depth":
        depth_mm = value + batch.depth_offset_mm
        possible = batch.possible(depth_mm, least=-np.inf, most=np.inf)
        depth_mm = np.where(possible, depth_mm, 0.0)
        half_mm = np.broadcast_to(rows.half_opening_mm, depth_mm.shape)
        return Target.at_depth(depth_mm, half_mm), start_from_depth(depth_mm, rows), possible
    possible = batch.possible(value, least=0.0, most=180.0)
    turn = np.radians(np.where(possible, value, 90.0))
    if kind == "finished":
        return Target.finished_turn(turn), start_from_finished(turn, rows), possible
    return Target.loaded_turn(turn), start_from_loaded(turn, rows), possible


def _many(batch: BendBatch, kind: _Kind, value: FloatArray, *, nose_correction: bool) -> AirBends:
    with np.errstate(all="ignore"):  # impossible rows are solved too and dropped by status
        rows = batch.rows(nose_correction=nose_correction)
        target, start, possible = _aim(batch, kind, np.atleast_1d(np.asarray(value, dtype=float)), rows)
        found = solve(rows, target, *start)
        return _bends(found, possible, rows, batch)


def _bends(found: Solution, possible: BoolArray, rows: Rows, batch: BendBatch) -> AirBends:
    status = np.where(possible, found.status, IMPOSSIBLE)
    good = status == CONVERGED

    def kept(values: FloatArray) -> FloatArray:
        return np.where(good, values, 0.0)

    under, after = effective_radii_mm(found.half_turn, found.log_strain, found.springback_rad, rows)
    loaded = np.degrees(2 * found.half_turn)
    release = np.degrees(found.springback_rad)
    return AirBends(
        turn_deg=kept(loaded - release),
        loaded_turn_deg=kept(loaded),
        springback_deg=kept(release),
        depth_mm=kept(found.depth_mm - batch.depth_offset_mm),
        effective_radius_mm=kept(under),
        formed_radius_mm=kept(after),
        force_kn_per_m=kept(found.force_n_per_mm),
        deg_per_mm=kept(np.degrees(found.finished_rate)),
        contact_length_mm=kept(found.contact_mm),
        nose_contact_deg=kept(np.degrees(found.wrapped_rad)),
        loaded_deg_per_mm=kept(np.degrees(2 * found.half_turn_rate)),
        status=status,
    )


def _single(batch: BendBatch, kind: _Kind, value: float, *, nose_correction: bool) -> AirBend | NoBend:
    """One bend and, in the same call of the solver, the force at steps along its stroke."""
    with np.errstate(all="ignore"):
        rows = batch.rows(nose_correction=nose_correction)
        target, start, possible = _aim(batch, kind, np.array([float(value)]), rows)
        if not possible[0]:
            return NoBend("impossible-input")
        grid = np.radians(_peak_grid_deg(float(np.degrees(2 * start[0][0]))))
        along = start_from_loaded(grid, rows)
        found = solve(
            rows,
            target.join(Target.loaded_turn(grid)),
            np.concatenate([start[0], along[0]]),
            np.concatenate([start[1], along[1]]),
        )
        bends = _bends(Solution._make(column[:1] for column in found), possible, rows, batch)
    if not bends.converged[0]:
        return NoBend(bends.reason(0))
    return _scalar(bends, found)


def _scalar(bends: AirBends, found: Solution) -> AirBend:
    turns = np.degrees(2 * found.half_turn)
    before = (found.status == CONVERGED) & (turns <= turns[0])
    peak, peak_turn = peak_of(turns[before], found.force_n_per_mm[before])
    wrapped_deg = float(bends.nose_contact_deg[0])
    return AirBend(
        turn_deg=float(bends.turn_deg[0]),
        loaded_turn_deg=float(bends.loaded_turn_deg[0]),
        springback_deg=float(bends.springback_deg[0]),
        depth_mm=float(bends.depth_mm[0]),
        effective_radius_mm=float(bends.effective_radius_mm[0]),
        formed_radius_mm=float(bends.formed_radius_mm[0]),
        force_kn_per_m=float(bends.force_kn_per_m[0]),
        peak_kn_per_m=peak,
        peak_turn_deg=peak_turn,
        deg_per_mm=float(bends.deg_per_mm[0]),
        contact_length_mm=float(bends.contact_length_mm[0]),
        nose_contact_deg=wrapped_deg,
        regime="wrapped" if wrapped_deg > 0 else "free",
    )


def _peak_grid_deg(end_deg: float) -> FloatArray:
    # Every 6 degrees through the range where the force peaks, up to where the bend is thought to end.
    if end_deg <= _PEAK_FROM_DEG:
        return np.array([end_deg / 2])
    return np.arange(_PEAK_FROM_DEG, max(end_deg, _PEAK_FROM_DEG + 1), _PEAK_STEP_DEG)


def peak_of(turns_deg: FloatArray, forces_kn_per_m: FloatArray) -> tuple[float, float]:
    """Highest force and its turn from points along a stroke: a parabola through the highest and its neighbours.

    At either end of the stroke the point itself is the peak.
    """
    order = np.argsort(turns_deg)
    turns, forces = turns_deg[order], forces_kn_per_m[order]
    top = int(forces.argmax())
    if top in (0, forces.size - 1):
        return float(forces[top]), float(turns[top])
    left, right = turns[top - 1] - turns[top], turns[top + 1] - turns[top]
    down_left, down_right = forces[top - 1] - forces[top], forces[top + 1] - forces[top]
    slope = (down_left * right / left - down_right * left / right) / (right - left)
    bow = (down_right / right - down_left / left) / (right - left)
    shift = -slope / (2 * bow) if bow < 0 else 0.0
    return float(forces[top] + (slope + bow * shift) * shift), float(turns[top] + shift)
