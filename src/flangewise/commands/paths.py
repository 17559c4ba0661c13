"""The part files a command is given: files, folders and standard input, the sheet measured, the work done on each."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

from flangewise.commands import Settings, tell_faults
from flangewise.commands.options import OptionReader, Span
from flangewise.commands.output import Printer
from flangewise.faults import Fault, Unusable
from flangewise.part import MEASURED_MM, FoundPart, Part, read_parts
from flangewise.shop import Shop, load_shop
from flangewise.writing import clear_left, folds_case

if TYPE_CHECKING:
    from flangewise.part import PanelPart

# Work shorter than this needs no bar.
QUIET_S = 1.0
BAR_SIGNS = 24
# A path that ends so is a drawing, any other a folder of them.
SVG_ENDING = ".svg"
MEASURED = Span(*MEASURED_MM, "a thickness from 0.05 to 50 mm is wanted")
# A sheet further off its nominal thickness than this is another sheet, or a slip in the reading.
MOST_OFF_SHARE = 0.25

# Files, folders, or - for standard input, handed over as `paths`.
paths_argument = click.argument("paths", nargs=-1, required=True, metavar="PATH...")
_IN_HAND = "Thickness measured of the sheet in hand: depth and angle are worked out for it."
measured_thickness_option = click.option("--measured-thickness", metavar="T", help=_IN_HAND)

_Item = TypeVar("_Item")


def on_each_part(
    paths: Sequence[str],
    settings: Settings,
    printer: Callable[[bool], Printer],
    work: Callable[[Part, Shop, Printer], int],
    panel_work: Callable[[PanelPart, Shop, Printer], int],
    *,
    jobs: int = 1,
    into: Iterable[Path] = (),
) -> int:
    """Read the shop and the parts, and do the work on every part; the highest status wins.

    `printer`: how results leave, asked for once it is known whether there are panels among the parts. `into`: folders
    that the work writes a file for each part into.
    """
    shop = load_shop(settings.shop_folder)
    found = read_parts(paths, shop)
    for folder in into:
        made_ready(folder, found)
    to = printer(any(each.panel is not None for each in found)).begun()
    status = spread(
        found,
        lambda part, to: work(part, shop, to),
        to,
        panel_work=lambda part, to: panel_work(part, shop, to),
        jobs=jobs,
    )
    to.end()
    return status


def spread(
    found: Iterable[FoundPart],
    work: Callable[[Part, Printer], int],
    printer: Printer,
    *,
    panel_work: Callable[[PanelPart, Printer], int] | None = None,
    jobs: int = 1,
) -> int:
    """Do the work on every part, on so many processes, and tell of it in order; the highest status wins.

    Without `panel_work` a panel is told to be none that the command can do. The faults of a file that cannot be used go
    to standard error and stop no other file, and so does whatever goes wrong with the work on one.
    """
    every, settings = tuple(found), printer.settings

    def do(each: FoundPart, to: Printer) -> int:
        if each.panel is not None and panel_work is not None:
            return panel_work(each.panel, to)
        if each.part is None:
            raise Unusable(each.faults)
        return work(each.part, to)

    def one_after_the_other() -> Iterator[int | Exception]:
        for each in counted(every, len(every), shown=settings.is_watched):
            try:
                yield do(each, printer)
            except Exception as error:  # the run goes on, whatever a part does
                yield error

    statuses = one_after_the_other()
    if min(jobs, len(every)) > 1:
        # Loaded late: one part at a time needs no processes.
        from flangewise.commands.listening import heard
        from flangewise.jobs.crew import each_outcome, in_order, processes

        told = each_outcome(lambda each: heard(printer, partial(do, each)), every, hire=processes(jobs, len(every)))
        all_heard = in_order(counted(told, len(every), shown=settings.is_watched))
        statuses = (each if isinstance(each, Exception) else each.retold(printer) for each in all_heard)
    return max(
        (
            tell_faults(faults_of(file.file, "part", status)) if isinstance(status, Exception) else status
            for file, status in zip(every, statuses, strict=True)
        ),
        default=0,
    )


def faults_of(file: str, where: str, error: Exception) -> Sequence[Fault]:
    """What is told of a part whose work failed: its own faults, or what went wrong, in one line.

    Raises what is no part's fault but wrong usage.
    """
    if isinstance(error, Unusable):
        return error.faults
    if isinstance(error, click.ClickException) or os.environ.get("FLANGEWISE_DEBUG"):
        raise error
    if isinstance(error, OSError) and error.strerror:
        told = f"{error.strerror}: {error.filename}" if error.filename else error.strerror
        return [Fault(file, None, None, where, told, "check the folder, its rights and the disk")]
    told = f"{type(error).__name__}: {error}".splitlines()[0]
    return [Fault(file, None, None, where, told, "please report it with the part file")]


def counted(items: Iterable[_Item], count: int, *, shown: bool) -> Iterator[_Item]:
    """The items one by one; while the next is waited for, where shown, with a bar of how many are done.

    The bar stands on standard error once the work has lasted over a second.
    """
    began_s, drawn = time.monotonic(), 0
    for done, each in enumerate(items, start=1):
        if drawn:
            click.echo("\r" + " " * drawn + "\r", nl=False, err=True)
        yield each
        drawn = 0
        if shown and done < count and time.monotonic() - began_s > QUIET_S:
            full = "#" * (BAR_SIGNS * done // count)
            bar = f"[{full:<{BAR_SIGNS}}] {done}/{count}"
            click.echo("\r" + bar, nl=False, err=True)
            drawn = len(bar)


def with_thickness(found: Sequence[FoundPart], text: str | None, settings: Settings) -> tuple[FoundPart, ...]:
    """The parts of a run, each bent from the sheet measured; as they were where nothing was measured.

    Raises Unusable where it is no thickness, none that a part's sheet could have, or where a part is a panel.
    """
    asked = OptionReader(settings.units)
    thickness_mm = asked.length_mm("--measured-thickness", text, MEASURED)
    taken = []
    for each in found:
        if each.part is not None and thickness_mm is not None:
            nominal_mm = each.part.thickness_mm
            if abs(thickness_mm - nominal_mm) > MOST_OFF_SHARE * nominal_mm:
                wrong = f"{thickness_mm:g} mm is far from the {nominal_mm:g} mm of {each.part.name}"
                asked.fault("--measured-thickness", wrong, "measure again, or mend the part file")
            each = replace(each, part=replace(each.part, measured_thickness_mm=thickness_mm))
        elif each.panel is not None and thickness_mm is not None:
            wrong = f"{each.name} is a panel, which is planned for the thickness of its file"
            asked.fault("--measured-thickness", wrong, "leave it out, or write the thickness into the file")
        taken.append(each)
    asked.done()
    return tuple(taken)


def made_ready(folder: Path, found: Iterable[FoundPart], *, leaves: bool = False) -> None:
    """A folder to write a file for each part into: what a killed run left half written there is cleared.

    The files are named by the parts, and two names that differ only in capitals are one on many file systems: where
    they are one there, Unusable is raised before any work, as where a file has the name of the folder. `leaves`: there
    are files of families as well.
    """
    with suppress(OSError):  # what cannot even be a name is told where it is written to
        if folder.exists() and not folder.is_dir():
            fits = "give a folder, or a name for a new one"
            raise Unusable([Fault(str(folder), None, None, "folder", "is a file", fits)])
    alike: dict[str, dict[tuple[str, str], None]] = {}
    for each in found:
        for name in (each.leaf if leaves else "", each.name):
            if name:
                alike.setdefault(name.casefold(), {})[name, each.file] = None
    twice = [[*same] for same in alike.values() if len(same) > 1]
    if twice and folds_case(folder):
        wrong, fits = "the name {!r} is that of {!r} in {} but for capitals, which are one in {}", "rename one of them"
        raise Unusable(
            Fault(file, None, None, "part", wrong.format(name, first, where, folder), fits)
            for (first, where), *others in twice
            for name, file in others
        )
    clear_left(folder)
