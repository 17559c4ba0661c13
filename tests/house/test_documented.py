"""Everything public says what it is and what it takes."""

from __future__ import annotations

import ast

import pytest

from .source_tree import Module, modules, public_classes, public_functions


@pytest.mark.parametrize("module", modules(), ids=lambda module: module.name or "flangewise")
def test_module_has_a_docstring(module: Module) -> None:
    assert ast.get_docstring(module.tree), module.path


@pytest.mark.parametrize("module", modules(), ids=lambda module: module.name or "flangewise")
def test_public_classes_and_functions_have_a_docstring(module: Module) -> None:
    silent = [node.name for node in public_classes(module) if not ast.get_docstring(node)]
    silent += [
        name for name, node in public_functions(module) if not ast.get_docstring(node) and not _inherits_its_words(node)
    ]
    assert silent == [], module.path


def _inherits_its_words(node: ast.FunctionDef) -> bool:
    """A method that answers for a library's own method, such as click's: the library's docstring says what it is."""
    return node.name in {"list_commands", "get_command", "format_commands", "resolve_command"}


@pytest.mark.parametrize("module", modules(), ids=lambda module: module.name or "flangewise")
def test_public_functions_say_their_types(module: Module) -> None:
    for name, node in public_functions(module):
        given = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
        untyped = [each.arg for each in given if each.annotation is None and each.arg not in {"self", "cls"}]
        assert untyped == [] and node.returns is not None, f"{module.path}: {name} {untyped}"


def test_the_front_door_lists_what_a_room_gives() -> None:
    doors = [module for module in modules() if module.name and module.path.name == "__init__.py"]
    assert len(doors) >= 15
    for door in doors:
        assigned = [node for node in door.tree.body if isinstance(node, ast.Assign)]
        listed = [node for node in assigned if ast.unparse(node.targets[0]) == "__all__"]
        assert listed or door.name == "commands", f"{door.path}: __all__ is missing"
