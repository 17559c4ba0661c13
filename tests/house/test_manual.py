"""The README and the commands say the same."""

from __future__ import annotations

import ast
import re

import click
import pytest

from flangewise.commands import COMMANDS, cli

from .source_tree import REPOSITORY, modules

README = (REPOSITORY / "README.md").read_text(encoding="utf-8")
GUIDE = (REPOSITORY / "DEVELOPERS.md").read_text(encoding="utf-8")

# Options of other programs that the README's lines for setting up may use.
FOREIGN = {
    "--no-install-recommends",
    "--upgrade",
    "--quiet",
    "--dist",
    "--editable",
    "--host",
    "--nworkers",
    "--nthreads",
    "--count",
}


def _command(name: str) -> click.Command:
    command = cli.get_command(click.Context(cli), name)
    assert command is not None
    return command


def _options(command: click.Command) -> set[str]:
    below = command.commands.values() if isinstance(command, click.Group) else ()
    own = {name for each in command.params for name in [*each.opts, *each.secondary_opts] if name.startswith("--")}
    return own.union(*(_options(child) for child in below)) if below else own


def _all_options() -> set[str]:
    own = {name for each in cli.params for name in each.opts}
    return own.union(*(_options(_command(name)) for name in COMMANDS))


def test_a_command_is_a_file_in_the_room_of_commands() -> None:
    files = {
        module.name.removeprefix("commands.")
        for module in modules()
        if module.room == "commands" and "." in module.name and _holds_a_command(module.tree)
    }
    assert files == set(COMMANDS)


def _holds_a_command(tree: ast.Module) -> bool:
    named = {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}
    assigned = {ast.unparse(target) for node in tree.body if isinstance(node, ast.Assign) for target in node.targets}
    return "command" in named | assigned


@pytest.mark.parametrize("name", COMMANDS)
def test_the_readme_shows_a_command(name: str) -> None:
    assert re.search(rf"flangewise (--\S+ \S+ )*{name}\b|`{name}`", README)


@pytest.mark.parametrize("name", COMMANDS)
def test_the_readme_names_every_option_of_a_command(name: str) -> None:
    missing = {option for option in _options(_command(name)) if not re.search(rf"{option}(?![a-z-])", README)}
    assert missing == set()


def test_the_readme_names_the_options_before_the_command() -> None:
    for option in ("--shop", "--units", "--quiet"):
        assert option in README


@pytest.mark.parametrize("text", [README, GUIDE], ids=["README", "DEVELOPERS"])
def test_no_option_is_named_that_does_not_exist(text: str) -> None:
    known = _all_options() | FOREIGN | {"--help", "--version"}
    assert set(re.findall(r"(?<![\w-])--[a-z][a-z-]+", text)) - known == set()


@pytest.mark.parametrize("text", [README, GUIDE], ids=["README", "DEVELOPERS"])
def test_no_command_is_shown_that_does_not_exist(text: str) -> None:
    shown = re.findall(r"(?m)^(?:\$ |\S*bin/)?flangewise ((?:--\S+ (?!-)\S+ )*)([a-z]+)\b", text)
    assert {name for _, name in shown} - set(COMMANDS) == set()


@pytest.mark.parametrize("text", [README, GUIDE], ids=["README", "DEVELOPERS"])
def test_every_file_named_by_a_link_is_there(text: str) -> None:
    links = re.findall(r"\]\(([^)#\s]+)[^)]*\)", text)
    assert links
    for link in links:
        assert "://" in link or (REPOSITORY / link).exists(), link


def test_the_readme_opens_with_the_job() -> None:
    """A title, then a paragraph: no badge, picture or table of contents first."""
    lines = [line for line in README.splitlines() if line.strip()]
    assert lines[0].startswith("# ")
    assert re.match(r"[A-Z]\w+ ", lines[1])


@pytest.mark.parametrize("name", COMMANDS)
def test_help_says_what_every_option_is(name: str) -> None:
    looked_at = list(_all_parameters(_command(name)))
    assert looked_at or name == "manual"
    for each in looked_at:
        if isinstance(each, click.Option):
            assert each.help, f"{name} {each.opts[0]}"


def _all_parameters(command: click.Command) -> list[click.Parameter]:
    below = command.commands.values() if isinstance(command, click.Group) else ()
    return [*command.params, *(each for child in below for each in _all_parameters(child))]
