"""A measured piece as rows for `measured.csv`: what was set and came out, and what the bare model says for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from flangewise.bend import bend_at_depth, leg_setback_mm
from flangewise.punch_die import Pair
from flangewise.shop import MeasuredRow
from flangewise.tryout.depth import is_suspect
from flangewise.tryout.piece import BendCorrection, Corrections, TriedBend, TriedPiece


@dataclass(frozen=True)
class Tag:
    """What the rows of a piece are filed under. `thickness_mm` is the nominal one, the measured one may be None."""

    lot: str
    part: str
    machine: str
    material: str
    thickness_mm: float
    measured_thickness_mm: float | None


def rows_of(
    piece: TriedPiece, corrections: Corrections, *, tag: Tag, tools: Mapping[int, Pair]
) -> tuple[MeasuredRow, ...]:
    """One row for each bend made with `tools` of which an angle or a deduction was measured.

    None of a piece with an angle more than 5 degrees off: until it is known why, it would teach the wrong thing.
    """
    if any(is_suspect(bend) for bend in piece.bends):
        return ()
    found = []
    for told in corrections.bends:
        bend = told.tried
        made = tools.get(bend.number)
        is_measured = bend.turn_deg is not None or told.deduction_mm is not None
        if made is not None and bend.rule_mm is not None and is_measured:
            found.append(_row(piece, told, tag=tag, made=made))
    return tuple(found)


def _row(piece: TriedPiece, told: BendCorrection, *, tag: Tag, made: Pair) -> MeasuredRow:
    bend = told.tried
    model_turn, rate, springback = model_figures(bend)
    more = outside_more_mm(piece, bend)
    return MeasuredRow(
        lot=tag.lot,
        part=tag.part,
        bend=bend.number,
        piece=piece.piece,
        machine=tag.machine,
        material=tag.material,
        thickness_mm=tag.thickness_mm,
        measured_thickness_mm=tag.measured_thickness_mm,
        punch=made.punch_name or "",
        nose_radius_mm=made.nose_radius_mm or 0.0,
        die=made.die_name or "",
        wanted_turn_deg=bend.wanted_deg,
        depth_mm=bend.depth_mm,
        measured_turn_deg=bend.turn_deg,
        model_turn_deg=model_turn,
        deg_per_mm=rate,
        springback_deg=springback,
        radius_mm=bend.radius_mm,
        rule_deduction_mm=None if bend.rule_mm is None else bend.rule_mm + more,
        deduction_mm=None if told.deduction_mm is None else told.deduction_mm + more,
        deduction_sd_mm=told.deduction_sd_mm,
    )


def model_figures(bend: TriedBend) -> tuple[float | None, float | None, float | None]:
    """Finished turn, degrees per mm and springback of the bare model at the depth that was set; None without one."""
    if bend.model is None or bend.depth_mm is None or bend.turn_deg is None:
        return None, None, None
    made = bend_at_depth(bend.model.setup, bend.model.swift, bend.depth_mm)
    return (made.turn_deg, made.deg_per_mm, made.springback_deg) if made.converged else (None, None, None)


def outside_more_mm(piece: TriedPiece, bend: TriedBend) -> float:
    """What the deduction of outside sizes is larger by than that of the part's own sizes."""
    if piece.sizes == "outside":
        return 0.0
    setbacks = [
        leg_setback_mm(bend.radius_mm, piece.thickness_mm, turn_deg=bend.wanted_deg, sizes=sizes)
        for sizes in ("outside", "inside")
    ]
    return 2 * (setbacks[0] - setbacks[1])
