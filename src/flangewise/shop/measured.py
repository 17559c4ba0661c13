"""The shop's measured bends, `measured.csv`: rows read with every fault, and written so that no spreadsheet runs them.

One row a lot, part, bend and piece. The file is plain CSV with commas; lines that begin with # tell what the columns
are. It grows by the `tryout` command and may be edited by hand or in a spreadsheet.
"""

import csv
import io
import math
import re
from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Annotated, get_type_hints

from flangewise.faults import Fault, Unusable, name_fits
from flangewise.records import dataclass, fields
from flangewise.units import trimmed

# What a spreadsheet takes for a formula when a cell begins with it.
FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")
# Up to the next comma outside quotes.
_CELL = re.compile(r'(?:^|,)((?:[^,"]|"[^"]*(?:"|$))*)')


@dataclass(frozen=True)
class MeasuredSpan:
    """Least and most of a number: far beyond any press brake, so that a slipped point or unit is found."""

    least: float
    most: float


THICKNESS = MeasuredSpan(0.05, 50.0)
TURN = MeasuredSpan(0.0, 180.0)
DEDUCTION = MeasuredSpan(-1000.0, 1000.0)


@dataclass(frozen=True)
class MeasuredRow:
    """One bend of one piece: what it is, what it was made with, what was set, what was measured.

    `model_turn_deg`, `deg_per_mm` and `springback_deg` are what the bare model, with nothing learned, says for the
    depth that was set; they are what a later lot is compared with. `rule_deduction_mm` is the allowance rule's.
    None stands for what was not measured or cannot be computed.
    """

    lot: str
    part: str
    bend: Annotated[int, MeasuredSpan(1, 999)]
    piece: Annotated[int, MeasuredSpan(1, 9999)]
    machine: str
    material: str
    thickness_mm: Annotated[float, THICKNESS]
    measured_thickness_mm: Annotated[float | None, THICKNESS]
    punch: str
    nose_radius_mm: Annotated[float, MeasuredSpan(0.0, 500.0)]
    die: str
    wanted_turn_deg: Annotated[float, TURN]
    depth_mm: Annotated[float | None, MeasuredSpan(-50.0, 500.0)]
    measured_turn_deg: Annotated[float | None, TURN]
    model_turn_deg: Annotated[float | None, TURN]
    deg_per_mm: Annotated[float | None, MeasuredSpan(0.0, 1000.0)]
    springback_deg: Annotated[float | None, MeasuredSpan(0.0, 90.0)]
    radius_mm: Annotated[float | None, MeasuredSpan(0.0, 1000.0)]
    rule_deduction_mm: Annotated[float | None, DEDUCTION]
    deduction_mm: Annotated[float | None, DEDUCTION]
    deduction_sd_mm: Annotated[float | None, MeasuredSpan(0.0, 100.0)]

    @property
    def identity(self) -> tuple[str, str, int, int]:
        """Lot, part, bend and piece: what is recorded once."""
        return (self.lot, self.part, self.bend, self.piece)

    @property
    def error_deg(self) -> float | None:
        """How far the piece turned beyond what the bare model says for the depth that was set."""
        if self.measured_turn_deg is None or self.model_turn_deg is None:
            return None
        return self.measured_turn_deg - self.model_turn_deg


@dataclass(frozen=True)
class MeasuredBends:
    """All measured bends of a shop in the file's order, oldest first; empty for the built-in shop."""

    rows: tuple[MeasuredRow, ...] = ()


COLUMNS = tuple(field.name for field in fields(MeasuredRow))


@cache
def _column(name: str) -> tuple[MeasuredSpan | None, bool, bool]:
    """A column's bounds (None for a text), whether it holds whole numbers, and whether a cell may be empty."""
    kind = get_type_hints(MeasuredRow, include_extras=True)[name]
    within = next(iter(getattr(kind, "__metadata__", ())), None)
    plain = getattr(kind, "__origin__", str)
    return within, plain is int, plain not in (str, int, float)


HEAD = """\
# Measured bends: one row a lot, part, bend and piece. Written by `flangewise tryout --record`; may be edited.
# Lengths in mm, turns in degrees from flat (90 for a square flange). An empty cell was not measured.
# lot part bend piece: what was measured; the same four are recorded once. piece 1 is the first of its lot.
# machine material thickness_mm punch nose_radius_mm die: what it was made with; thickness_mm is the nominal one.
# measured_thickness_mm: of the piece, where it was measured.
# wanted_turn_deg depth_mm measured_turn_deg: what was wanted, the depth set on the machine, what came out.
# model_turn_deg deg_per_mm springback_deg: what the model says for that depth with nothing learned.
# radius_mm rule_deduction_mm: inside radius and deduction the blank was made with, by the allowance rule.
# deduction_mm deduction_sd_mm: the deduction the legs show, and its standard deviation.
"""


def read_measured(path: Path | None) -> MeasuredBends:
    """The measured bends of a file; none where there is no file. Raises Unusable with every fault, line and column."""
    if path is None or not path.exists():
        return MeasuredBends()
    return parse_measured(text_of(path), str(path))


def text_of(path: Path) -> str:
    """The text of the file, however long it has grown. Raises Unusable where it cannot be read or is not UTF-8."""
    try:
        return path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        wrong, fits = f"cannot be read ({error.strerror})", "give a file that can be read"
    except UnicodeDecodeError:
        wrong, fits = "is not UTF-8 text", "save it as CSV in UTF-8"
    raise Unusable([Fault(str(path), None, None, "file", wrong, fits)])


def parse_measured(text: str, file: str) -> MeasuredBends:
    """Measured bends from the text of a file. Raises Unusable with every fault, each with its line and column."""
    reader = _CsvReader(file)
    rows = tuple(reader.rows(text))
    if reader.faults:
        raise Unusable(reader.faults)
    return MeasuredBends(rows)


def measured_text(rows: Iterable[MeasuredRow]) -> str:
    """Measured bends as the text of a file, its head first."""
    return added_text(HEAD + ",".join(COLUMNS), rows)


def added_text(text: str, rows: Iterable[MeasuredRow]) -> str:
    """The text of a file with rows added at its end, in the order of its own columns; all else stays as it is."""
    heads = (split_line(line) for line in text.splitlines() if line.strip() and not line.startswith("#"))
    names = [cell.strip() for cell, _ in next(heads, [(name, 0) for name in COLUMNS])]
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows([_written(getattr(row, name)) for name in names] for row in rows)
    return text + ("\n" if text and not text.endswith("\n") else "") + out.getvalue()


def _written(value: str | float | int | None) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return "'" + value if value.startswith((*FORMULA_SIGNS, "#", "'")) else value
    return str(value) if isinstance(value, int) else trimmed(value, 5)


class _CsvReader:
    def __init__(self, file: str) -> None:
        self.file = file
        self.faults: list[Fault] = []
        self._seen: dict[tuple[str, str, int, int], int] = {}

    def rows(self, text: str) -> Iterator[MeasuredRow]:
        head: list[str] | None = None
        for number, line in enumerate(text.splitlines(), start=1):
            cells = split_line(line)
            if not line.strip() or cells[0][0].startswith("#"):
                continue
            if head is None:
                head = self._head(cells, number)
            elif (row := self._row(head, cells, number)) is not None:
                first = self._seen.setdefault(row.identity, number)
                if first == number:
                    yield row
                else:
                    wrong = f"lot {row.lot!r}, bend {row.bend}, piece {row.piece} of {row.part} stands twice"
                    self._fault(number, 1, "row", wrong, f"keep one of it and line {first}")

    def _head(self, cells: list[tuple[str, int]], line: int) -> list[str]:
        names = [cell.strip() for cell, _ in cells]
        for name, (_, column) in zip(names, cells, strict=True):
            if name not in COLUMNS:
                self._fault(line, column, "head", f"unknown column {name!r}", name_fits(name, COLUMNS))
            elif names.count(name) > 1:
                self._fault(line, column, name, "stands twice in the head", "keep one of the columns")
        missing = [name for name in COLUMNS if name not in names]
        if missing:
            self._fault(line, 1, "head", f"lacks the column {missing[0]}", "the columns are " + ", ".join(COLUMNS))
        return names

    def _row(self, head: Sequence[str], cells: list[tuple[str, int]], line: int) -> MeasuredRow | None:
        if len(cells) != len(head):
            fits = f"a row has {len(head)} cells with commas between them, text with commas in double quotes"
            self._fault(line, 1, "row", f"has {len(cells)} cells", fits)
            return None
        before = len(self.faults)
        values = {
            name: self._value(name, cell, line=line, column=column)
            for name, (cell, column) in zip(head, cells, strict=True)
            if name in COLUMNS
        }
        return None if len(self.faults) > before or len(values) < len(COLUMNS) else MeasuredRow(**values)  # type: ignore[arg-type]

    def _value(self, name: str, cell: str, *, line: int, column: int) -> str | float | int | None:
        text = cell.strip()
        within, whole, may_be_empty = _column(name)
        if within is None:
            return text[1:] if text.startswith("'") else text
        if not text and may_be_empty:
            return None
        try:
            value = int(text) if whole else float(text)
        except ValueError:
            value = math.nan
        if not within.least <= value <= within.most:
            kind = "a whole number" if whole else "a number with a point"
            wanted = f"{kind} from {within.least:g} to {within.most:g} is wanted"
            self._fault(line, column, name, f"is {text!r}", wanted)
        return value

    def _fault(self, line: int, column: int, where: str, wrong: str, fits: str) -> None:
        self.faults.append(Fault(self.file, line, column, where, wrong, fits))


def split_line(line: str) -> list[tuple[str, int]]:
    """The cells of one line of CSV with the column each begins at; a double quote inside quotes is written twice."""
    return [(_unquoted(cell[1]), cell.start(1) + 1) for cell in _CELL.finditer(line)]


def _unquoted(cell: str) -> str:
    stripped = cell.strip()
    if len(stripped) > 1 and stripped[0] == stripped[-1] == '"':
        return stripped[1:-1].replace('""', '"')
    return cell
