"""A published source as a file: its head says where the figures come from, its rows are the figures.

A column ends in its unit. `quantity` names what is printed and its unit, `within` how near an answer must come (a plain
number in the unit of the answer, or a share of it with %), `verdict` what is asked of it:

* holds: the answer lies within;
* differs: another convention or a coarser rule, said in the remark; the answer must not lie within;
* misprint: the print is wrong, said in the remark; the answer must not lie within;
* left-out: kept for the reader and not checked, with the reason in the remark.

`read` says how the printed figure is known: read in the source, its grid inferred, from memory, or computed: worked out
here from what the source states (a formula, a multiple, another unit, the middle of a range) or by a run of our own. A
source whose page nobody can find again has `source` in its head: why it has no name, and the date read.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

FOLDER = Path(__file__).parents[2] / "shared" / "published"
HEAD = ("work", "edition", "year", "page", "table", "units", "digits", "read", "checks", "options", "misprints")
VERDICTS = ("holds", "differs", "misprint", "left-out")
READ = ("read", "grid inferred", "memory", "computed")

MM_PER_INCH = 25.4


@dataclass(frozen=True)
class Row:
    """One printed figure with its inputs; `line` is its line in the file."""

    source: str
    line: int
    cells: dict[str, str]

    def __contains__(self, name: str) -> bool:
        return bool(self.cells.get(name))

    def text(self, name: str) -> str:
        """A cell as it stands; KeyError where it is empty, so that no check runs on a missing input."""
        if name not in self:
            raise KeyError(f"{self.source}:{self.line}: no {name}")
        return self.cells[name]

    def number(self, name: str) -> float:
        """A cell as a number."""
        return float(self.text(name))

    def mm(self, name: str) -> float:
        """A length in mm from `<name>_mm` or `<name>_in`."""
        if f"{name}_in" in self:
            return self.number(f"{name}_in") * MM_PER_INCH
        return self.number(f"{name}_mm")

    def sum_mm(self, name: str) -> float:
        """A row of lengths, `16 + 21`, summed, in mm."""
        inch = f"{name}_in" in self
        total = sum(float(each) for each in self.text(f"{name}_in" if inch else f"{name}_mm").split("+"))
        return total * MM_PER_INCH if inch else total

    @property
    def turn_deg(self) -> float:
        """The angle turned through, from either way of giving it."""
        return self.number("turn_deg") if "turn_deg" in self else 180 - self.number("included_deg")

    @property
    def k_factor(self) -> float | None:
        """A K that the source gives, as a share of the thickness; DIN's k counts half thicknesses."""
        if "k_din" in self:
            return self.number("k_din") / 2
        return self.number("k_factor") if "k_factor" in self else None

    @property
    def quantity(self) -> str:
        """What is printed, unit included."""
        return self.text("quantity")

    @property
    def printed(self) -> float:
        """The printed answer."""
        return self.number("printed")

    @property
    def within(self) -> float:
        """How near an answer must come, in the unit of the answer."""
        text = self.text("within")
        return float(text[:-1]) / 100 * abs(self.printed) if text.endswith("%") else float(text)

    @property
    def verdict(self) -> str:
        """What is asked of the row."""
        return self.text("verdict")

    @property
    def name(self) -> str:
        """How a test names the row."""
        return f"{self.source}:{self.line}"


@dataclass(frozen=True)
class Source:
    """A file: its head by key, the columns, the rows."""

    name: str
    head: dict[str, str]
    columns: tuple[str, ...]
    rows: tuple[Row, ...]


def read_source(path: Path) -> Source:
    """Read one file; the head is every leading line that begins with `# `."""
    lines = path.read_text(encoding="utf-8").splitlines()
    top = [line for line in lines if line.startswith("# ")]
    head = dict(line[2:].split(": ", 1) for line in top)
    reader = csv.DictReader(lines[len(top) :], strict=True)
    rows = tuple(Row(path.stem, number, cells) for number, cells in enumerate(reader, len(top) + 2))
    return Source(path.stem, head, tuple(reader.fieldnames or ()), rows)


def all_sources() -> list[Source]:
    """Every file of published values, by name."""
    return [read_source(path) for path in sorted(FOLDER.glob("*.csv"))]


def printed_at(name: str, quantity: str, *inputs: str) -> dict[tuple[float, ...], float]:
    """The figures of one quantity of a source by their inputs, for the tests of a room; rows left out are not there."""
    rows = (row for row in read_source(FOLDER / f"{name}.csv").rows if row.quantity == quantity)
    return {tuple(row.number(key) for key in inputs): row.printed for row in rows if row.verdict == "holds"}


def rows_to_check(sources: list[Source]) -> Iterator[Row]:
    """Every row but those left out with a reason."""
    for source in sources:
        yield from (row for row in source.rows if row.verdict != "left-out")
