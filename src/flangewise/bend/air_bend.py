"""One air bend, or many, or a whole stroke: turn to depth, depth to turn, with springback, radius and force.

The process model: Swift hardening, closed-form moment curve, elastica arm between nose and shoulder, free or wrapped
apex, nose correction. Lengths mm, angles deg, force kN per metre (= N per mm). Opening between the tangent points of
the shoulder arcs. Commanded depth = model depth - depth offset: a positive offset means that the machine goes deeper
than it shows.

Holds for plane strain (bend longer than 8 t). Not in it: Bauschinger effect, unbending when a wrapped nose lets go
(loaded turn above 120, large noses), line contact lifting off under a large nose, coated or clad sheet, heat, speed,
tools and machine giving way, cracks.

Source: derived here (`elastica`, `moment`); compared with finite-element bends of our own and with a tool
maker's force chart, in `shared/published`. No measured bend stands behind it.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from flangewise.records import dataclass, fields

from .asked import AskedOnce
from .elastica import BoolArray, Rows, effective_radii_mm
from .formula import Formula
from .moment import FloatArray, Swift
from .newton import (
    CONVERGED,
    IMPOSSIBLE,
    Aim,
    SolvedBends,
    Target,
    solve,
    start_from_depth,
    start_from_finished,
    start_from_loaded,
)
from .records import NOTHING_LEARNED, AirBend, AirBends, BendBatch, BendFigures, BendSetup, Learned, NoBend

PEAK_GRID_DEG = (16.0, 32.0, 42.0, 52.0, 62.0, 72.0, 90.0, 110.0)
"""Loaded turns at which the force is looked at for its peak; a parabola through the highest leaves 0.02 %."""

_PEAK_END_GAP_DEG = 15.0  # nearer to the end of the stroke the end itself will do

MODEL_SOURCE = (
    "process model: elastica with the sheet's own moment curve and complementary energy; derivation in flangewise.bend"
)
_INPUTS = (
    "V {die_opening_mm}, shoulder {shoulder_radius_mm}, nose {nose_radius_mm}, Swift K {swift.strength_mpa:.1f} N/mm², "
    "e0 {swift.prestrain:.5f}, n {swift.exponent:.4f}, E {swift.modulus_mpa:g} N/mm², friction {friction:g}"
)
MODEL_FORMULAS = tuple(
    Formula(key, formula, _INPUTS, MODEL_SOURCE)
    for key, formula in {
        "formed_radius_mm": "radius after release of the arc that, with straight flanges, puts "
        "the flange where it lies",
        "loaded_turn_deg": "finished turn + springback",
        "springback_deg": "elastic unbending of the moment along the sheet, M/(E'I) integrated",
        "depth_mm": "nose below the die's top where that turn is reached",
        "deg_per_mm": "change of the finished turn for a change of depth",
        "force_kn_per_m": "highest force over the stroke",
        "end_force_kn_per_m": "2 R cos(half turn - friction angle)",
    }.items()
)
"""What the model gives, as told."""

FIRST_TURN_DEG = 1.0


def bend_to_turn(
    setup: BendSetup, swift: Swift, turn_deg: float, *, learned: Learned = NOTHING_LEARNED, nose_correction: bool = True
) -> AirBend | NoBend:
    """The bend left at `turn_deg` (above 0, below 180) after release; NoBend where none is reached or found."""
    return air_bends([setup], swift, [turn_deg], learned=learned, nose_correction=nose_correction)[0]


def bend_at_depth(
    setup: BendSetup, swift: Swift, depth_mm: float, *, learned: Learned = NOTHING_LEARNED, nose_correction: bool = True
) -> AirBend | NoBend:
    """The bend that a commanded depth makes; the finished turn is its `turn_deg`.

    Where the sheet springs back altogether the turn is 0 and the formed radius too, having no meaning. At first touch
    and above there is no bend: NoBend "unreachable".
    """
    return air_bends([setup], swift, [depth_mm], target="depth", learned=learned, nose_correction=nose_correction)[0]


def air_bends(
    setups: Sequence[BendSetup],
    swift: Swift,
    targets: Sequence[float],
    *,
    target: Target = "finished",
    learned: Learned = NOTHING_LEARNED,
    nose_correction: bool = True,
) -> tuple[AirBend | NoBend, ...]:
    """Bends of one metal in many set-ups, in one call, records as from `bend_to_turn`, peak force included.

    `targets` are turns in degrees ("finished", "loaded") or commanded depths in mm ("depth"), one a set-up. No set-up
    gives an empty tuple. Punches of one nose and dies of one opening bend alike: each is worked out once.
    """
    asked = _Asked(swift, target, learned, nose_correction)
    return _answered([(setup, float(value), asked) for setup, value in zip(setups, targets, strict=True)])


class _Asked(NamedTuple):
    """What bends asked for together have in common."""

    swift: Swift
    target: Target
    learned: Learned
    nose_correction: bool


def _answers(questions: Sequence[tuple[BendSetup, float, _Asked]]) -> tuple[AirBend | NoBend, ...]:
    asked, values = questions[0][-1], np.array([value for _, value, _ in questions])
    batch = BendBatch.of([setup for setup, _, _ in questions], [asked.swift], [asked.learned])
    return _with_peaks(batch, asked.target, values, nose_correction=asked.nose_correction)


_answered = AskedOnce(_answers, most=4096)


def bends_of(batch: BendBatch, target: Target, values: FloatArray, *, nose_correction: bool = True) -> AirBends:
    """Many bends in one call, for `values` as the targets of `air_bends`, without the peak force."""
    with np.errstate(all="ignore"):  # impossible rows are solved too and dropped by status
        rows = batch.rows(nose_correction=nose_correction)
        aim, start, possible = _aim(batch, target, np.atleast_1d(np.asarray(values, dtype=float)), rows)
        return _bends(solve(rows, aim, *start), possible, rows, batch)


def _aim(
    batch: BendBatch, kind: Target, value: FloatArray, rows: Rows
) -> tuple[Aim, tuple[FloatArray, FloatArray], BoolArray]:
    if kind == "depth":
        depth_mm = value + batch.depth_offset_mm
        possible = batch.possible(depth_mm, least=-np.inf, most=np.inf)
        depth_mm = np.where(possible, depth_mm, 0.0)
        return Aim.of(kind, depth_mm / rows.half_opening_mm), start_from_depth(depth_mm, rows), possible
    possible = batch.possible(value, least=0.0, most=180.0)
    turn = np.radians(np.where(possible, value, 90.0))
    start = start_from_finished if kind == "finished" else start_from_loaded
    return Aim.of(kind, turn), start(turn, rows), possible


def _bends(found: SolvedBends, possible: BoolArray, rows: Rows, batch: BendBatch) -> AirBends:
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


def _with_peaks(
    batch: BendBatch, kind: Target, values: FloatArray, *, nose_correction: bool
) -> tuple[AirBend | NoBend, ...]:
    """Bends and, in the same call of the solver, the forces at a few turns along the stroke of each."""
    count = values.size
    with np.errstate(all="ignore"):  # impossible rows are solved too and dropped by status
        rows = batch.rows(nose_correction=nose_correction)
        target, start, possible = _aim(batch, kind, values, rows)
        nearly_deg = np.degrees(2 * start[0])[:, None] - _PEAK_END_GAP_DEG
        bend, step = np.nonzero(np.array(PEAK_GRID_DEG) < nearly_deg)
        grid = np.radians(PEAK_GRID_DEG)[step]
        along = start_from_loaded(grid, rows.take(bend))
        noses = [np.broadcast_to(nose, (count,)) for nose in (rows.nose_mm, batch.force_nose_mm(rows))]
        everything = rows.take(np.concatenate([np.arange(count), bend]))
        found = solve(
            everything.with_nose(np.concatenate([noses[0], noses[1][bend]])),
            target.join(Aim.of("loaded", grid)),
            np.concatenate([start[0], along[0]]),
            np.concatenate([start[1], along[1]]),
        )
        bends = _bends(SolvedBends._make(column[:count] for column in found), possible, rows, batch)
    forces = np.zeros((count, len(PEAK_GRID_DEG)))
    forces[bend, step] = found.force_n_per_mm[count:]
    return tuple(
        _scalar(bends, index, forces[index]) if bends.converged[index] else NoBend(bends.reason(index))
        for index in range(count)
    )


def _scalar(bends: AirBends, index: int, forces_kn_per_m: FloatArray) -> AirBend:
    loaded_deg, end_kn_per_m = float(bends.loaded_turn_deg[index]), float(bends.force_kn_per_m[index])
    grid_deg = np.array(PEAK_GRID_DEG)
    before = (grid_deg < loaded_deg) & (forces_kn_per_m > 0)
    peak, peak_turn = peak_of(np.append(grid_deg[before], loaded_deg), np.append(forces_kn_per_m[before], end_kn_per_m))
    figures = {field.name: float(getattr(bends, field.name)[index]) for field in fields(BendFigures)}
    return AirBend(**figures, peak_kn_per_m=peak, peak_turn_deg=peak_turn)


def peak_of(turns_deg: FloatArray, forces_kn_per_m: FloatArray) -> tuple[float, float]:
    """Highest force and its turn along a stroke: a parabola through the highest point and its neighbours, or an end."""
    turns, forces = turns_deg, forces_kn_per_m
    top = int(forces.argmax())
    if top in (0, forces.size - 1):
        return float(forces[top]), float(turns[top])
    left, right = turns[top - 1] - turns[top], turns[top + 1] - turns[top]
    down_left, down_right = forces[top - 1] - forces[top], forces[top + 1] - forces[top]
    slope = (down_left * right / left - down_right * left / right) / (right - left)
    bow = (down_right / right - down_left / left) / (right - left)
    shift = -slope / (2 * bow) if bow < 0 else 0.0
    return float(forces[top] + (slope + bow * shift) * shift), float(turns[top] + shift)


@dataclass(frozen=True)
class StrokePoints:
    """Points along a stroke, in order, those without an answer left out; the rate is of the loaded turn."""

    loaded_turn_deg: tuple[float, ...]
    turn_deg: tuple[float, ...]
    depth_mm: tuple[float, ...]
    force_kn_per_m: tuple[float, ...]
    loaded_deg_per_mm: tuple[float, ...]


def stroke(
    setup: BendSetup, swift: Swift, *, to_loaded_turn_deg: float, learned: Learned = NOTHING_LEARNED, points: int = 46
) -> StrokePoints:
    """Points evenly in loaded turn, from 1 degree to the end of the stroke; one that ends below 1 has its end alone."""
    return strokes([(setup, swift, to_loaded_turn_deg)], learned=learned, points=points)[0]


def strokes(
    to_turns_deg: Sequence[tuple[BendSetup, Swift, float]], *, learned: Learned = NOTHING_LEARNED, points: int = 46
) -> tuple[StrokePoints, ...]:
    """The strokes of many bends, each as from `stroke`, by set-up, metal and last turn, in one call of the solver."""
    return _strokes_asked([(*each, learned, points) for each in to_turns_deg])


def _strokes(questions: Sequence[tuple[BendSetup, Swift, float, Learned, int]]) -> list[StrokePoints]:
    turns = [
        np.linspace(min(FIRST_TURN_DEG, to), to, points if to > FIRST_TURN_DEG else 1)
        for _, _, to, _, points in questions
    ]
    each = [question for question, along in zip(questions, turns, strict=True) for _ in along]
    setups, swifts, taught = [one for one, *_ in each], [one for _, one, *_ in each], [one for *_, one, _ in each]
    found = bends_of(BendBatch.of(setups, swifts, taught), "loaded", np.concatenate(turns))
    columns = (found.loaded_turn_deg, found.turn_deg, found.depth_mm, found.force_kn_per_m, found.loaded_deg_per_mm)
    ends = np.cumsum([along.size for along in turns])[:-1]
    cut = zip(*(np.split(column, ends) for column in (found.converged, *columns)), strict=True)
    return [StrokePoints(*(tuple(column[good].tolist()) for column in one)) for good, *one in cut]


_strokes_asked = AskedOnce(_strokes, most=1024)


def tip_speed_factor(along: StrokePoints, reach_mm: float) -> float:
    """Highest speed of a point on the leg, as a multiple of the ram's: the largest |L d(a)/dD - 1| over the stroke.

    a is the half turn, L the distance from the bend. The sheet's middle goes down with the ram while the leg swings
    up. An empty stroke gives 0. For a sharp bend at its start this is 2L/V - 1; real radii make it 1.2 to 1.3 times
    that near 25 to 30 degrees. Source: kinematics of the straight flange, derived here.
    """
    rates = np.radians(np.array(along.loaded_deg_per_mm)) / 2
    return float(np.abs(reach_mm * rates - 1).max(initial=0.0))


def ram_speed_for_tip_mm_per_s(tip_limit_mm_per_s: float, along: StrokePoints, *, reach_mm: float) -> float | None:
    """Ram speed that keeps the leg's tip at or under a limit; None where the tip does not move against the floor."""
    factor = tip_speed_factor(along, reach_mm)
    return tip_limit_mm_per_s / factor if factor > 0 else None
