"""A measured piece as rows, and rows added to `measured.csv`: one writer at a time, the file whole, nothing twice."""

import fcntl
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

from flangewise.bend import bend_at_depth, outside_more_mm
from flangewise.faults import Fault, Unusable
from flangewise.punch_die import Pair
from flangewise.records import dataclass
from flangewise.shop import MeasuredRow, Shop, added_text, measured_text, parse_measured, text_of
from flangewise.tryout.correct import is_suspect
from flangewise.tryout.piece import BendCorrection, Corrections, TriedBend, TriedPiece
from flangewise.writing import write_whole

# Beside the table, since the table itself is replaced by every writing.
LOCK_NAME = ".measured.lock"


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
    """One row for each bend made with `tools` of which something was measured; none of a suspect piece."""
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
    more = outside_more_mm(piece.thickness_mm, turn_deg=bend.wanted_deg, sizes=piece.sizes)
    return MeasuredRow(
        **vars(tag),
        bend=bend.number,
        piece=piece.piece,
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


@dataclass(frozen=True)
class Remembered:
    """What became of rows: written now, there before with the same figures, there before with others."""

    file: Path
    recorded: tuple[MeasuredRow, ...]
    kept: tuple[MeasuredRow, ...]
    differing: tuple[MeasuredRow, ...]


def place_to_record(shop: Shop) -> Path:
    """The file a shop's measured bends go to. Raises Unusable for the built-in shop, which is read only."""
    if shop.measured_file is None:
        wrong = "the built-in example shop cannot remember"
        fits = "copy it with `flangewise shop copy DIR` and give --shop DIR"
        raise Unusable([Fault("shop", None, None, "--record", wrong, fits)])
    return shop.measured_file


def remember(file: Path, rows: Sequence[MeasuredRow]) -> Remembered:
    """Add the rows whose lot, part, bend and piece the file does not hold yet; the others stand as they were.

    Waits for another writer to finish. The file is replaced in one step, so a reader, or whoever comes after a crash,
    finds the old one or the new one. Raises Unusable where the file that is there has faults: it is then left alone.
    """
    with _alone(file.with_name(LOCK_NAME)):
        text = text_of(file) if file.exists() else ""
        known = {row.identity: row for row in parse_measured(text, str(file)).rows}
        new = [row for row in rows if row.identity not in known]
        if new:
            whole = added_text(text, new) if text.strip() else measured_text(new)
            # A shop's folder may hold its table as a link to where all machines find it.
            write_whole(file, whole.encode(), through_link=True)
    old = [row for row in rows if row.identity in known]
    same = [row for row in old if added_text("", [row]) == added_text("", [known[row.identity]])]
    return Remembered(file, tuple(new), tuple(same), tuple(row for row in old if row not in same))


@contextmanager
def _alone(lock: Path) -> Iterator[None]:
    """Hold the lock of a shop folder; the system lets go of it when the process ends, however it ends."""
    with lock.open("a") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        yield
