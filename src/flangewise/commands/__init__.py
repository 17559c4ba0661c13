"""The commands: one module each, loaded only when called.

Takes the command line. Gives results on standard output, findings and faults on standard error, an exit status.
Relies on every room; nobody imports this one.
"""

import gc
import importlib
import os
import re
import signal
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import NoReturn

import click

from flangewise import __version__
from flangewise.faults import Fault, Unusable
from flangewise.records import dataclass

# A command's name, and what `--help` says of it without loading it.
COMMANDS = {
    "bend": "One bend from the command line: every number a setter looks up.",
    "flat": "The developed blank of part files; also as DXF.",
    "plan": "Tools, bend order, stops, forces and handling of part files.",
    "estimate": "What parts cost in time, by machine and handler.",
    "check": "Only the findings of part files.",
    "sheet": "Setup sheets as PDF or HTML, for files and whole folders.",
    "queue": "Jobs in the order with the least changing of tools.",
    "tryout": "The first piece: what was measured, and the corrections.",
    "shop": "List the tables of the shop, copy them out to edit, check edited ones.",
    "schema": "The JSON Schema of a part file or of a shop table.",
    "manual": "The manual page, for `man`.",
}

# Arrays as small as ours need no threads, and no plugin takes part in checking tables; both are slow to get ready.
QUICK_START = {"OPENBLAS_NUM_THREADS": "1", "PYDANTIC_DISABLE_PLUGINS": "true"}

# Characters that steer a terminal or turn the direction of reading (Unicode's controls and bidirectional marks).
_STEERING = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]|\r(?!\n)")
# So many records are made between two looks for such as hold each other: all but few are kept to the end, and loading
# and planning a part of a few bends makes some 95,000.
NEW_RECORDS = 200_000

UNUSABLE_STATUS = 2
# A command ended by a signal says so as a shell does; an interrupt is one.
STATUS_OF_SIGNAL = 128
INTERRUPTED_STATUS = 130


@dataclass(frozen=True)
class Settings:
    """What the options before the command say: the shop's folder (None: the built-in one), units, quiet.

    `told_units` are the units if they were said at all: a sheet is else in those of its part.
    """

    shop_folder: Path | None
    units: str
    quiet: bool
    told_units: str | None = None

    @property
    def is_watched(self) -> bool:
        """Whether a person looks on who wants to be told."""
        return not self.quiet and sys.stderr.isatty()

    def say(self, line: str) -> None:
        """A line for the person, on standard error, unless they asked for quiet; folded to a terminal."""
        if not self.quiet:
            click.echo(_folded(visible(line)) if self.is_watched else visible(line), err=True)


def visible(text: str) -> str:
    """Text that a terminal does nothing with but show it: what would steer it is written as JSON writes it."""
    return _STEERING.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def _folded(line: str) -> str:
    """A line at the ends of words, as wide as the terminal is, what follows its first line set in."""
    import shutil
    import textwrap

    wide = shutil.get_terminal_size().columns
    return textwrap.fill(line, max(wide, 40), subsequent_indent="  ", break_long_words=False, break_on_hyphens=False)


class _LazyGroup(click.Group):
    """Lists the commands from the table above and imports the one that is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = importlib.import_module(f"flangewise.commands.{cmd_name}").command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            from flangewise.faults import name_fits

            ctx.fail(f"no command {args[0]!r}, {name_fits(args[0], COMMANDS)}")
        return super().resolve_command(ctx, args)


@click.group(
    cls=_LazyGroup,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog="The numbers are for planning. The machine's manual, local rules and a competent person decide.",
)
@click.option(
    "--shop", "shop", metavar="DIR", envvar="FLANGEWISE_SHOP", help="The shop's tables; else the example shop."
)
@click.option("--units", type=click.Choice(["mm", "inch"]), default="mm", show_default=True, help="For bare lengths.")
@click.option("--quiet", is_flag=True, help="Say nothing on standard error but faults.")
@click.version_option(__version__, prog_name="flangewise")
@click.pass_context
def cli(ctx: click.Context, shop: str | None, units: str, quiet: bool) -> None:
    """Press brake bends, flat blanks, bend plans and printed setup sheets from YAML part files."""
    is_told = ctx.get_parameter_source("units") != click.core.ParameterSource.DEFAULT
    ctx.obj = Settings(Path(shop) if shop else None, units, quiet, units if is_told else None)


def main(args: list[str] | None = None) -> NoReturn:
    """Run the command line and leave with its exit status; no traceback ever reaches the user."""
    for name, value in QUICK_START.items():
        os.environ.setdefault(name, value)
    gc.set_threshold(NEW_RECORDS, 10, 10)
    for number in (signal.SIGTERM, signal.SIGHUP):
        if signal.getsignal(number) == signal.SIG_DFL:
            signal.signal(number, _ended)
    status = run(args)
    gc.freeze()  # all of it goes with the process, and need not be gone through once more to be freed one by one
    sys.exit(status)


def _ended(number: int, _frame: object) -> NoReturn:
    """Leave when told to end, as after an interrupt: what is half written goes, whoever works for this run too."""
    sys.exit(STATUS_OF_SIGNAL + number)


def run(args: list[str] | None = None) -> int:
    """Run the command line and give its exit status: 0 well, 1 refused, 2 unusable input or wrong usage."""
    try:
        status = cli.main(args=args, prog_name="flangewise", standalone_mode=False)
        sys.stdout.flush()
    except Unusable as unusable:
        return tell_faults(unusable.faults)
    except click.ClickException as error:
        error.show()
        return UNUSABLE_STATUS
    except (click.Abort, KeyboardInterrupt):
        click.echo("interrupted", err=True)
        return INTERRUPTED_STATUS
    except BrokenPipeError:
        # The reader went away: leave quietly, and keep Python from complaining when it closes standard output.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as error:
        where = str(error.filename) if error.filename is not None else "flangewise"
        wrong = error.strerror or str(error)
        return tell_faults([Fault(where, None, None, "file", wrong, "check the path, its rights and the disk")])
    except MemoryError:
        return tell_faults([Fault("flangewise", None, None, "memory", "is exhausted", "give fewer or smaller parts")])
    except Exception as error:  # the last guard before the user
        if os.environ.get("FLANGEWISE_DEBUG"):
            raise
        told = f"{type(error).__name__}: {error}".splitlines()[0]
        fits = "please report it with the part file"
        return tell_faults([Fault("flangewise", None, None, "a fault of the program", told, fits)])
    return status if isinstance(status, int) else 0


def tell_faults(faults: Iterable[Fault]) -> int:
    """Faults to standard error, a line each; the exit status they mean."""
    for fault in faults:
        click.echo(visible(fault.text), err=True)
    return UNUSABLE_STATUS
