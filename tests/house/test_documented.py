"""Everything public says what it is and what it takes."""

from __future__ import annotations

import ast

from .source_tree import listed, modules, public_classes, public_functions


def test_modules_have_a_docstring() -> None:
    assert [str(module.path) for module in modules() if not ast.get_docstring(module.tree)] == []


def test_public_classes_and_functions_have_a_docstring() -> None:
    named = [(module, node.name, node) for module in modules() for node in public_classes(module)]
    named += [
        (module, name, node)
        for module in modules()
        for name, node in public_functions(module)
        if not _inherits_its_words(node)
    ]
    assert len(named) > 1000
    assert [f"{module.path}: {name}" for module, name, node in named if not ast.get_docstring(node)] == []


def _inherits_its_words(node: ast.FunctionDef) -> bool:
    """A method that answers for a library's own method, such as click's: the library's docstring says what it is."""
    return node.name in {"list_commands", "get_command", "format_commands", "resolve_command"}


def test_public_functions_say_their_types() -> None:
    silent = [
        f"{module.path}: {name} {untyped}"
        for module in modules()
        for name, node in public_functions(module)
        if (untyped := _untyped(node)) or node.returns is None
    ]
    assert silent == []


def _untyped(node: ast.FunctionDef) -> list[str]:
    given = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
    return [each.arg for each in given if each.annotation is None and each.arg not in {"self", "cls"}]


def test_the_front_door_lists_what_a_room_gives() -> None:
    doors = [module for module in modules() if module.name and module.path.name == "__init__.py"]
    assert len(doors) >= 15
    for door in doors:
        given = listed(f"flangewise.{door.name}")
        assert given or door.name == "commands", f"{door.path}: import what the room gives as itself"
