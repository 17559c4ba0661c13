"""The form results leave in, as the command line says it: text, JSON or CSV; of CSV which columns, and what adds up."""

from __future__ import annotations

import functools
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, TypeVar, cast

import click

from flangewise.faults import Fault, Unusable, nearest

Command = TypeVar("Command", bound=Callable[..., Any])

_FORMAT = "Text for people, JSON Lines or CSV for scripts (always mm, kN, degrees)."
_COLUMNS = "Columns of the CSV in this order, with commas between."
_TOTALS = "A last line in the CSV that adds up what can be added."

# Columns of which a sum over the lines of a run means something.
SUMMED = frozenset(
    ("area_mm2", "mass_kg", "seconds", "set_up_min", "machine_h", "people_h", "tool_changes", "regrips", "pages")
)
TOTAL = "total"


class Form(str):
    """The name of a form; of CSV also the columns asked for, () for all usual ones, and whether totals are wanted."""

    columns: tuple[str, ...] = ()
    totals: bool = False

    def checked(self, known: Sequence[str], usual: Sequence[str]) -> tuple[str, ...]:
        """The columns of a table: those asked for, else the usual ones of those known.

        Raises Unusable for what is no column, is named twice, or where nothing would be added up.
        """
        faults = [self._fault(name, known) for name in dict.fromkeys(self.columns) if name not in known]
        faults += [
            Fault("--columns", None, None, name, "is named twice", "name each column once")
            for name, count in Counter(self.columns).items()
            if count > 1
        ]
        shown = self.columns or tuple(usual)
        summed = [name for name in known if name in SUMMED]
        if self.totals and not faults and not SUMMED.intersection(shown):
            fits = f"ask for one of {', '.join(summed)}" if summed else "leave it out"
            faults.append(Fault("--totals", None, None, "columns", "none of them can be added up", fits))
        if faults:
            raise Unusable(faults)
        return shown

    def _fault(self, name: str, known: Sequence[str]) -> Fault:
        near, has = nearest(name, known), f"there are {', '.join(known)}"
        fits = has if near is None else f"perhaps {near!r}; {has}"
        return Fault("--columns", None, None, repr(name[:60]), "is no column of this table", fits)


def form_options(*more: str) -> Callable[[Command], Command]:
    """The options of a command's results, handed over as `fmt`: text, json, csv, and `more` forms of its own."""
    forms = click.Choice(["text", "json", "csv", *more])

    def on(command: Command) -> Command:
        @functools.wraps(command)
        def formed(*arguments: Any, fmt: str, columns: str | None, totals: bool, **given: Any) -> Any:
            form = Form(fmt)
            form.columns = () if columns is None else tuple(name.strip() for name in columns.split(","))
            form.totals = totals
            if fmt != "csv" and (totals or columns is not None):
                raise click.UsageError("--columns and --totals are for --format csv")
            return command(*arguments, fmt=form, **given)

        told: Any = click.option("--totals", "totals", is_flag=True, help=_TOTALS)(formed)
        told = click.option("--columns", "columns", metavar="NAMES", help=_COLUMNS)(told)
        told = click.option("--format", "fmt", type=forms, default="text", show_default=True, help=_FORMAT)(told)
        return cast(Command, told)

    return on


class Totals:
    """What the lines of a table add up to, gathered while they go by."""

    def __init__(self) -> None:
        self._sums: Counter[str] = Counter()
        self.missing: Counter[str] = Counter()
        self.lines = 0

    def add(self, rows: Iterable[Mapping[str, Any]], columns: Sequence[str]) -> None:
        """Lines that have gone by; a column without a value in one of them has no sum."""
        summed = [name for name in columns if name in SUMMED]
        for row in rows:
            self.lines += 1
            for name in summed:
                if isinstance(row.get(name), (int, float)):
                    self._sums[name] += row[name]
                else:
                    self.missing[name] += 1

    def row(self, columns: Sequence[str]) -> dict[str, Any]:
        """The last line: sums in their columns, and what it is in the first column that has none."""
        sums = {name: None if self.missing[name] else self._sums[name] for name in columns if name in SUMMED}
        mark = next((name for name in columns if name not in SUMMED), None)
        return sums if mark is None else {mark: TOTAL, **sums}
