"""The first piece: what was measured becomes corrections, and evidence for the next job.

Takes a piece as plain numbers: what was wanted, set and measured, bend by bend and leg by leg. Gives corrections of
depth, stop and blank, the deductions the piece shows with their uncertainty, and rows for `measured.csv`.
Relies on the bend room for the model and on the shop for the file.
"""

from .correct import correct as correct, is_suspect as is_suspect
from .piece import Corrections as Corrections, Readings as Readings, TriedBend as TriedBend, TriedPiece as TriedPiece
from .remember import (
    Remembered as Remembered,
    Tag as Tag,
    place_to_record as place_to_record,
    remember as remember,
    rows_of as rows_of,
)
