"""Finds the state of many bends at once: half turn and log strain that close the arm and meet a target.

Newton with one-sided differences, the three evaluations stacked in one array call, blocks small enough to stay in
the processor's cache. What does not converge from the usual start is tried again from a scan over the whole stroke;
what the scan does not reach is said to be unreachable, never guessed.
Start values are those of a cantilever, elastic or of power-law metal, and of straight flanges on an arc.
Source: Newton's method, textbook; starts derived here; steps, limits and scan found by trial over random bends.
"""

from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt

from .elastica import PLASTIC_POINTS, Arm, BoolArray, Rows, arm
from .moment import FloatArray

IntArray = npt.NDArray[np.int64]
Target = Literal["finished", "depth", "loaded"]

CONVERGED, NOT_CONVERGED, UNREACHABLE, IMPOSSIBLE = 0, 1, 2, 3

_BLOCK = 1024
_SMALL = 100
_ALLOCATOR_HINT = 3_000_000  # doubles: below the 32 MB above which such an allocator learns nothing
_STEP = 1e-6  # of both unknowns in the one-sided differences
_RESIDUAL = 1e-6  # relative to V/2 and in radians; the step from there, taken to first order, leaves its square
_ITERATIONS = 25
_MOST_HALF_RAD = np.pi / 2 - 1e-4
_COARSE_TRIALS, _COARSE_POINTS = 2, 8  # far from the answer fewer sections will do
_LEAST_HALF_RAD = 1e-6
_MOST_WRAP = 0.999  # of the half turn: the flange must leave the nose
_LEAST_DET = 1e-30
_ELASTIC_SLACK = 1e-6  # of the half turn's rate: before first yield nothing is left after release
_SCAN_DEG = np.array([0.5, 2, 5, 10, 20, 35, 50, 70, 90, 105, 120, 130, 140, 150, 160, 168, 174, 178, 179.4])
_SCAN_HALVINGS, _SCAN_BLOCK = 26, 256
_LEAST_LOG_STRAIN = -16.0

_RADIUS_SHARE = 0.13  # of V, a middling natural radius
_HALVINGS = 14


class Aim(NamedTuple):
    """What shall be met, one a bend: loaded x loaded turn - release x springback + depth x depth/(V/2) = value."""

    loaded: FloatArray
    release: FloatArray
    depth: FloatArray
    value: FloatArray

    @classmethod
    def of(cls, target: Target, value: FloatArray) -> "Aim":
        """A turn left after release or a turn under load, rad; or a depth, as a share of V/2."""
        loaded, release, depth = {"finished": (1, 1, 0), "loaded": (1, 0, 0), "depth": (0, 0, 1)}[target]
        one = np.ones_like(value)
        return cls(loaded * one, release * one, depth * one, value)

    def take(self, rows: npt.NDArray[np.intp]) -> "Aim":
        """The targets of some of the bends."""
        return Aim._make(column[rows] for column in self)

    def join(self, other: "Aim") -> "Aim":
        """These targets and then the others."""
        return Aim._make(np.concatenate(pair) for pair in zip(self, other, strict=True))

    def missed(self, half_turn: FloatArray, state: Arm, rows: Rows) -> FloatArray:
        """How far a state is past the target, rad or share of V/2."""
        depth = state.depth_mm / rows.half_opening_mm
        return self.loaded * 2 * half_turn - self.release * state.springback_rad + self.depth * depth - self.value


class SolvedBends(NamedTuple):
    """States found: unknowns, the arm, rates along the stroke (rad per mm of depth), status. One a bend."""

    half_turn: FloatArray
    log_strain: FloatArray
    depth_mm: FloatArray
    springback_rad: FloatArray
    force_n_per_mm: FloatArray
    contact_mm: FloatArray
    wrapped_rad: FloatArray
    half_turn_rate: FloatArray
    finished_rate: FloatArray
    status: IntArray


def solve(rows: Rows, target: Aim, half_turn: FloatArray, log_strain: FloatArray) -> SolvedBends:
    """States of all bends from start values; rows of length 1 serve every target.

    Every bend gets a status: CONVERGED, NOT_CONVERGED (a state should exist but was not found) or UNREACHABLE (the
    stroke was scanned and never comes there). Figures of a bend without CONVERGED are zero.
    """
    if target.value.size > _SMALL:
        # One large array, got and given back, makes a common allocator keep freed blocks instead of returning them to
        # the system after every operation; that alone halves the time. No other effect.
        np.empty(_ALLOCATOR_HINT)
    found = _in_blocks(rows, target, half_turn, log_strain)
    missing = np.flatnonzero(found.status != CONVERGED)
    for first in range(0, missing.size, _SCAN_BLOCK):
        left = missing[first : first + _SCAN_BLOCK]
        half_turn, log_strain, reached = scan(rows.take(left), target.take(left))
        again = _newton(rows.take(left), target.take(left), half_turn, log_strain)
        for column, values in zip(found[:-1], again[:-1], strict=True):
            column[left] = values
        found.status[left] = np.where(reached | (again.status == CONVERGED), again.status, UNREACHABLE)
    return found


def scan(rows: Rows, target: Aim) -> tuple[FloatArray, FloatArray, BoolArray]:
    """Half turn and log strain between the first scanned half turns that cross the target, and whether any do.

    At each half turn the closing condition is solved by halving in log strain (it falls steadily).
    """
    count = target.value.size
    half = np.broadcast_to(np.radians(_SCAN_DEG / 2)[:, None], (_SCAN_DEG.size, count))
    low = np.full_like(half, _LEAST_LOG_STRAIN)
    high = rows.nose_log_strain + 2 * _MOST_WRAP * half
    top_open = arm(half, high, rows, plastic_points=_COARSE_POINTS).closing_mm > 0
    for _ in range(_SCAN_HALVINGS):
        middle = (low + high) / 2
        wide = arm(half, middle, rows, plastic_points=_COARSE_POINTS).closing_mm > 0
        low, high = np.where(wide, middle, low), np.where(wide, high, middle)
    past = target.missed(half, arm(half, low, rows), rows)
    past[top_open] = np.nan
    crossed = (past[:-1] <= 0) & (past[1:] > 0)
    at = crossed.argmax(axis=0)
    bends = np.arange(count)
    before, after = past[at, bends], past[at + 1, bends]
    reached: BoolArray = np.asarray(crossed.any(axis=0))
    share = np.where(reached, before / np.where(reached, before - after, 1.0), 0.0)
    return (
        half[at, bends] + share * (half[at + 1, bends] - half[at, bends]),
        low[at, bends] + share * (low[at + 1, bends] - low[at, bends]),
        reached,
    )


def _in_blocks(rows: Rows, target: Aim, half_turn: FloatArray, log_strain: FloatArray) -> SolvedBends:
    count = target.value.size
    if count <= _BLOCK:
        return _newton(rows, target, half_turn, log_strain)
    blocks = [np.arange(first, min(first + _BLOCK, count)) for first in range(0, count, _BLOCK)]
    parts = [_newton(rows.take(each), target.take(each), half_turn[each], log_strain[each]) for each in blocks]
    return SolvedBends._make(np.concatenate(columns) for columns in zip(*parts, strict=True))


def _newton(rows: Rows, target: Aim, half_turn: FloatArray, log_strain: FloatArray) -> SolvedBends:
    count = target.value.size
    out = SolvedBends._make([*(np.zeros(count) for _ in SolvedBends._fields[:-1]), np.full(count, NOT_CONVERGED)])
    left = np.arange(count)
    for trial in range(_ITERATIONS):
        half3 = np.stack([half_turn, half_turn + _STEP, half_turn])
        strain3 = np.stack([log_strain, log_strain, log_strain + _STEP])
        coarse = trial < _COARSE_TRIALS
        state = arm(half3, strain3, rows, plastic_points=_COARSE_POINTS if coarse else PLASTIC_POINTS)
        closing = state.closing_mm / rows.half_opening_mm
        missed = target.missed(half3, state, rows)
        by_half, by_strain = _step(closing, missed)
        done = (np.abs(closing[0]) < _RESIDUAL) & (np.abs(missed[0]) < _RESIDUAL)
        if not coarse and done.any():
            at = np.flatnonzero(done)
            _keep(out, left[at], (half_turn[at], log_strain[at]), (by_half[at], by_strain[at]), at, state)
            going = np.flatnonzero(~done)
            if going.size == 0:
                break
            left, rows, target = left[going], rows.take(going), target.take(going)
            half_turn, log_strain = half_turn[going], log_strain[going]
            by_half, by_strain = by_half[going], by_strain[going]
        half_turn = _between(half_turn + _between(by_half, -0.25, 0.25), _LEAST_HALF_RAD, _MOST_HALF_RAD)
        most = rows.nose_log_strain + 2 * _MOST_WRAP * half_turn
        log_strain = _between(log_strain + _between(by_strain, -1.0, 1.0), _LEAST_LOG_STRAIN, most)
    return out


def _step(closing: FloatArray, missed: FloatArray) -> tuple[FloatArray, FloatArray]:
    c_half, c_strain = (closing[1:] - closing[0]) / _STEP
    m_half, m_strain = (missed[1:] - missed[0]) / _STEP
    det = c_half * m_strain - c_strain * m_half
    det = np.where(np.abs(det) < _LEAST_DET, _LEAST_DET, det)
    return (c_strain * missed[0] - m_strain * closing[0]) / det, (m_half * closing[0] - c_half * missed[0]) / det


def _between(values: FloatArray, least: float, most: float | FloatArray) -> FloatArray:
    return np.minimum(np.maximum(values, least), most)


def _keep(
    out: SolvedBends,
    to: npt.NDArray[np.intp],
    unknowns: tuple[FloatArray, FloatArray],
    step: tuple[FloatArray, FloatArray],
    at: npt.NDArray[np.intp],
    state: Arm,
) -> None:
    """Write converged states with the last step taken to first order, and the rates along the stroke.

    The stroke runs in the direction in which the arm stays closed. A state from which more depth leaves less turn is
    beyond what the pair can do and is not kept.
    """
    columns = [column[:, at] for column in state]
    by_half = [(column[1] - column[0]) / _STEP for column in columns]
    by_strain = [(column[2] - column[0]) / _STEP for column in columns]
    here = [
        column[0] + one * step[0] + two * step[1] for column, one, two in zip(columns, by_half, by_strain, strict=True)
    ]
    along = [two * by_half[0] - one * by_strain[0] for one, two in zip(by_half, by_strain, strict=True)]
    closing, depth, release = 0, 1, 2
    half_along = -by_strain[closing]
    half_rate = half_along / along[depth]
    finished_rate = (2 * half_along - along[release]) / along[depth]
    good = (half_rate > 0) & (finished_rate > -_ELASTIC_SLACK * half_rate)
    values = (unknowns[0] + step[0], unknowns[1] + step[1], *here[1:], half_rate, finished_rate)
    for column, value in zip(out[:-1], values, strict=True):
        column[to[good]] = value[good]
    out.status[to[good]] = CONVERGED


_MOST_START_RAD = np.radians(86.0)


def start_from_loaded(loaded_turn_rad: FloatArray, rows: Rows) -> tuple[FloatArray, FloatArray]:
    """Half turn and log strain for a loaded turn: the apex strain of an elastic or a power-law cantilever."""
    half = np.minimum(loaded_turn_rad / 2, _MOST_START_RAD)
    return half, np.log(_apex_strain(half, rows))


def start_from_finished(turn_rad: FloatArray, rows: Rows) -> tuple[FloatArray, FloatArray]:
    """The same for a finished turn: springback of a cantilever with that apex strain is added."""
    half = np.minimum(turn_rad / 2, _MOST_START_RAD)
    t = rows.thickness_mm
    strain = np.minimum(_apex_strain(half, rows), np.exp(rows.nose_log_strain))
    moment = t**2 / 2 * rows.curve.f_and_g_mpa(strain)[0]
    stiffness = rows.curve.plane_modulus_mpa * t**3 / 12
    added = rows.springback_factor * moment * _lever_mm(half, rows) / stiffness
    return start_from_loaded(turn_rad + np.minimum(added, 0.6), rows)


def start_from_depth(depth_mm: FloatArray, rows: Rows) -> tuple[FloatArray, FloatArray]:
    """The same for a depth: straight flanges on an arc of 0.13 V, solved by halving."""
    radius = np.maximum(_RADIUS_SHARE * 2 * rows.half_opening_mm, rows.nose_mm)
    low = np.zeros_like(depth_mm + radius)
    high = np.full_like(low, _MOST_START_RAD)
    for _ in range(_HALVINGS):
        half = (low + high) / 2
        rise = 1 / np.cos(half) - 1
        at = rows.half_opening_mm * np.tan(half) - (radius + rows.shoulder_mm) * rise - rows.thickness_mm * (rise + 1)
        low, high = np.where(at < depth_mm, half, low), np.where(at < depth_mm, high, half)
    return start_from_loaded(low + high, rows)


def _lever_mm(half: FloatArray, rows: Rows) -> FloatArray:
    reach = rows.half_opening_mm - (rows.shoulder_mm + rows.thickness_mm / 2) * np.sin(half)
    return np.asarray(reach / np.cos(half))


def _apex_strain(half: FloatArray, rows: Rows) -> FloatArray:
    t, n = rows.thickness_mm, np.maximum(rows.curve.exponent, 0.02)
    lever = np.maximum(_lever_mm(half, rows), t)
    rise = t * np.sin(half) / lever
    return np.asarray(np.maximum(rise, rise / 2 * (1 + n) / n))
