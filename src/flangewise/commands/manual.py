"""The manual page, made from the help of every command, so that the two never differ."""

from collections.abc import Iterator

import click

from flangewise import __version__
from flangewise.commands import COMMANDS, cli, output

_STATUS = (
    ("0", "All went well."),
    ("1", "A part is refused."),
    ("2", "An input cannot be used, or the command line is wrong."),
    ("3", "plan --since: something changed."),
    ("130", "Interrupted."),
)
_ENVIRONMENT = (("FLANGEWISE_SHOP", "The shop's tables, where --shop names none."),)


@click.command("manual")
def command() -> None:
    """The manual page in the form that `man` reads, to install or to look at."""
    output.put("\n".join(page()))


def page() -> Iterator[str]:
    """The lines of the page."""
    top = click.Context(cli, info_name="flangewise")
    yield f'.TH FLANGEWISE 1 "" "flangewise {__version__}"'
    yield from (".SH NAME", f"flangewise \\- {_escaped(_first(cli))}")
    yield from (".SH SYNOPSIS", ".B flangewise", "[OPTIONS] COMMAND [ARGS]...")
    yield from (".SH OPTIONS", *_options(cli, top))
    yield ".SH COMMANDS"
    for name in COMMANDS:
        found = cli.get_command(top, name)
        assert found is not None
        yield from _command(found, click.Context(found, info_name=name, parent=top))
    for title, entries in (("EXIT STATUS", _STATUS), ("ENVIRONMENT", _ENVIRONMENT)):
        yield f".SH {title}"
        for term, told in entries:
            yield from (".TP", f".B {_escaped(term)}", _escaped(told))
    yield from (".SH NOTES", _escaped(cli.epilog or ""))


def _command(command: click.Command, context: click.Context) -> Iterator[str]:
    """One command: how it is called, what it does, its options; of a group those below it."""
    called = " ".join([context.command_path.partition(" ")[2], *command.collect_usage_pieces(context)])
    yield f".SS {_escaped(called)}"
    for paragraph in (command.help or "").split("\n\n"):
        yield from (".PP", _escaped(" ".join(paragraph.split())))
    yield from _options(command, context)
    if isinstance(command, click.Group):
        for name in command.list_commands(context):
            below = command.get_command(context, name)
            if below is not None:
                yield from _command(below, click.Context(below, info_name=name, parent=context))


def _options(command: click.Command, context: click.Context) -> Iterator[str]:
    asked = [each for each in command.get_params(context) if command is cli or each.name != "help"]
    records = (parameter.get_help_record(context) for parameter in asked)
    for record in records:
        if record is not None:
            yield from (".TP", f".B {_escaped(record[0])}", _escaped(record[1]))


def _first(command: click.Command) -> str:
    return " ".join((command.help or "").split()).rstrip(".")


def _escaped(text: str) -> str:
    """Text in which nothing steers the page: backslashes and signs that begin a line of orders written out."""
    told = text.replace("\\", "\\e").replace("-", "\\-")
    return f"\\&{told}" if told.startswith((".", "'")) else told
