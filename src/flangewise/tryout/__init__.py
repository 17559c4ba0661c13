"""The first piece: what was measured becomes corrections, and evidence for the next job.

Takes a piece as plain numbers: what was wanted, set and measured, bend by bend and leg by leg. Gives corrections of
depth, stop and blank, the deductions the piece shows with their uncertainty, and rows for `measured.csv`.
Relies on the bend room for the model and on the shop for the file.
"""

from flangewise.tryout.correct import correct
from flangewise.tryout.depth import is_suspect
from flangewise.tryout.piece import BendCorrection, Corrections, LegResult, Readings, TriedBend, TriedPiece
from flangewise.tryout.remember import Remembered, place_to_record, remember
from flangewise.tryout.rows import Tag, rows_of

__all__ = [
    "BendCorrection",
    "Corrections",
    "LegResult",
    "Readings",
    "Remembered",
    "Tag",
    "TriedBend",
    "TriedPiece",
    "correct",
    "is_suspect",
    "place_to_record",
    "remember",
    "rows_of",
]
