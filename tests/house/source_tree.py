"""The repository as the house tests read it: files, syntax trees, imports, public names."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

REPOSITORY = Path(__file__).parents[2]
PACKAGE = REPOSITORY / "src" / "flangewise"


@dataclass(frozen=True)
class Import:
    """One import of a module: what is imported, where it stands, and whether inside a function."""

    module: str
    line: int
    inside: str | None
    typing_only: bool

    @property
    def top(self) -> str:
        """The library's name."""
        return self.module.split(".")[0]


@dataclass(frozen=True)
class Module:
    """One source file: its dotted name below the package ("bend.force"), its path."""

    name: str
    path: Path

    @property
    def tree(self) -> ast.Module:
        """The syntax tree, read when it is first asked for."""
        return _tree(self.path)

    @property
    def room(self) -> str:
        """The room a module stands in; a file of the package's top is a room of its own."""
        return self.name.split(".")[0]

    @property
    def is_front_door(self) -> bool:
        """Whether this is a room's `__init__.py` or a one-file room."""
        return "." not in self.name


@cache
def _tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def modules() -> tuple[Module, ...]:
    """Every module of the package, `__init__` named for its room ("" for the package's own)."""
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE).with_suffix("").parts
        name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        found.append(Module(name, path))
    return tuple(found)


@cache
def imports(module: Module) -> tuple[Import, ...]:
    """All imports of a module as absolute names, those inside functions with the function's name."""
    return tuple(_walk(module, module.tree, None, False))


def _walk(module: Module, node: ast.AST, inside: str | None, typing_only: bool) -> Iterator[Import]:
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.Import):
            yield from (Import(alias.name, child.lineno, inside, typing_only) for alias in child.names)
        elif isinstance(child, ast.ImportFrom):
            yield from (Import(name, child.lineno, inside, typing_only) for name in _from(module, child))
        else:
            within = child.name if isinstance(child, (ast.FunctionDef, ast.AsyncFunctionDef)) else inside
            checking = isinstance(child, ast.If) and ast.unparse(child.test).endswith("TYPE_CHECKING")
            yield from _walk(module, child, within, typing_only or checking)


def _from(module: Module, node: ast.ImportFrom) -> list[str]:
    base = node.module or ""
    if node.level:
        parts = ("flangewise." + module.name).rstrip(".").split(".")
        is_package = module.path.name == "__init__.py"
        kept = parts[: len(parts) - node.level + (1 if is_package else 0)]
        base = ".".join([*kept, *([node.module] if node.module else [])])
    # `from flangewise import bend` and `from . import force` import modules; a name that the door lists stays a name.
    given = listed(base)
    return [
        f"{base}.{alias.name}" if alias.name not in given and _is_module(f"{base}.{alias.name}") else base
        for alias in node.names
    ]


@cache
def listed(package: str) -> frozenset[str]:
    """What the front door of a package gives: each name imported as itself; nothing of a single module."""
    door = PACKAGE.joinpath(*package.split(".")[1:]) / "__init__.py"
    if package.split(".")[0] != "flangewise" or not door.is_file():
        return frozenset()
    tree = ast.parse(door.read_text(encoding="utf-8"))
    doors = [node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    return frozenset(alias.name for node in doors for alias in node.names if alias.asname == alias.name)


def _is_module(dotted: str) -> bool:
    parts = dotted.split(".")
    if parts[0] != "flangewise":
        return False
    path = PACKAGE.joinpath(*parts[1:])
    return path.with_suffix(".py").is_file() or (path / "__init__.py").is_file()


def inner(name: str) -> str | None:
    """A dotted import below the package: "flangewise.bend.force" is "bend.force"; None for another library."""
    if name != "flangewise" and not name.startswith("flangewise."):
        return None
    return name.removeprefix("flangewise").removeprefix(".")


def public_functions(module: Module) -> Iterator[tuple[str, ast.FunctionDef]]:
    """Functions and methods a reader may use: no name on the way begins with an underscore."""
    yield from _functions(module.tree, "")


def _functions(node: ast.AST, above: str) -> Iterator[tuple[str, ast.FunctionDef]]:
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.ClassDef) and not child.name.startswith("_"):
            yield from _functions(child, f"{above}{child.name}.")
        if isinstance(child, ast.FunctionDef) and not child.name.startswith("_"):
            yield above + child.name, child


def public_classes(module: Module) -> Iterator[ast.ClassDef]:
    """Classes of the module's top without a leading underscore."""
    yield from (node for node in module.tree.body if isinstance(node, ast.ClassDef) and not node.name.startswith("_"))
