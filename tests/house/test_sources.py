"""A number of the bend, or of what lies clear of what, says who says so: a book, a standard, or that it was derived."""

from __future__ import annotations

import ast
import re

import pytest

from .source_tree import Module, modules, public_functions

ROOMS = ("bend", "clearance")

# What names a source. A work or a standard stands after "Source:"; what has none says that too.
NAMED = re.compile(
    r"\bSource: \S|\b[Dd]erived (here|from|below)\b|\b[Cc]ommon practice\b|\bfrom memory\b|\b[Jj]udgement\b"
)


def _of_the_rooms() -> list[Module]:
    return [module for module in modules() if module.room in ROOMS and list(public_functions(module))]


@pytest.mark.parametrize("room", ROOMS)
def test_every_public_function_has_a_source(room: str) -> None:
    silent = [
        f"{module.name}.{name}"
        for module in _of_the_rooms()
        if module.room == room and not NAMED.search(ast.get_docstring(module.tree) or "")
        for name, node in public_functions(module)
        if not NAMED.search(ast.get_docstring(node) or "")
    ]
    assert silent == [], "say the source in the function's or the module's docstring"


def test_the_rooms_are_looked_at() -> None:
    found = {room: sum(len(list(public_functions(m))) for m in _of_the_rooms() if m.room == room) for room in ROOMS}
    assert found["bend"] > 80 and found["clearance"] > 30


def test_a_docstring_without_a_source_is_caught() -> None:
    assert not NAMED.search("Force per metre of bend: 1.42 Rm t^2/V. The source is unknown.")
    assert NAMED.search("1.42 Rm t^2/V, the rounded form.\n\nSource: common practice.")
    assert NAMED.search("Derived here from the arc.")
