"""What the commands reach: a walk from their entry points over every name that a reached definition uses."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache

from flangewise.commands import COMMANDS

from .source_tree import PACKAGE, Module, listed, modules

# A method with another decorator than these is called by the library that gave the decorator.
PLAIN_DECORATORS = {
    "property",
    "cached_property",
    "cache",
    "lru_cache",
    "classmethod",
    "staticmethod",
    "abstractmethod",
}


@dataclass(frozen=True)
class Definition:
    """A function, class, method or constant: the module it stands in, its name ("Class.method"), its tree."""

    module: str
    name: str
    node: ast.AST

    @property
    def is_public(self) -> bool:
        """Whether no name on the way begins with an underscore."""
        return not any(part.startswith("_") for part in self.name.split("."))

    @property
    def place(self) -> str:
        """Module and name in one word, "bend.force.edge_kn_per_m"."""
        return f"{self.module}.{self.name}"


@cache
def definitions() -> dict[str, Definition]:
    """Every definition of the package by its place."""
    return {each.place: each for module in modules() for each in defined_in(module)}


def defined_in(module: Module) -> Iterator[Definition]:
    """What one module defines at its top, and the methods of its classes."""
    for node in module.tree.body:
        if isinstance(node, (ast.FunctionDef, ast.ClassDef)):
            yield Definition(module.name, node.name, node)
        for name in _assigned(node):
            yield Definition(module.name, name, node)
        if isinstance(node, ast.ClassDef):
            for method in node.body:
                if isinstance(method, ast.FunctionDef):
                    yield Definition(module.name, f"{node.name}.{method.name}", method)


def _assigned(node: ast.stmt) -> list[str]:
    targets = node.targets if isinstance(node, ast.Assign) else [node.target] if isinstance(node, ast.AnnAssign) else []
    return [target.id for target in targets if isinstance(target, ast.Name) and not target.id.startswith("__")]


def reached() -> set[str]:
    """The places of all definitions that a command, the command line itself or a page's template uses."""
    waiting = ["commands.main", *(f"commands.{name}.command" for name in COMMANDS)]
    waiting += [each.place for each in definitions().values() if _is_subcommand(each.node)]
    waiting += [place for name in _words_of_templates() for place in _members().get(name, ())]
    waiting += [place for module in modules() for node in _run_on_import(module) for place in _used(module.name, node)]
    found: set[str] = set()
    while waiting:
        place = waiting.pop()
        if place not in found:
            found.add(place)
            waiting += _needs(definitions()[place])
    return found


def _is_subcommand(node: ast.AST) -> bool:
    return isinstance(node, ast.FunctionDef) and any(
        ast.unparse(each).startswith("command.command(") for each in node.decorator_list
    )


def _run_on_import(module: Module) -> list[ast.stmt]:
    """Statements of a module's top that define no name of ours: loops, conditions, calls, what Python itself asks."""
    passive = (ast.FunctionDef, ast.ClassDef, ast.Import, ast.ImportFrom, ast.AnnAssign)
    return [node for node in module.tree.body if not isinstance(node, passive) and not _assigned(node)]


def _words_of_templates() -> set[str]:
    texts = (path.read_text(encoding="utf-8") for ending in ("*.html", "*.j2") for path in PACKAGE.rglob(ending))
    return set(re.findall(r"[a-z_]+", " ".join(texts)))


def _needs(definition: Definition) -> Iterator[str]:
    """The places a definition uses; a class needs what its library calls, its other methods wait to be named."""
    if not isinstance(definition.node, ast.ClassDef):
        yield from _used(definition.module, definition.node)
        return
    kind = definition.node
    for node in [*kind.bases, *kind.keywords, *kind.decorator_list]:
        yield from _used(definition.module, node)
    foreign = any(not _is_ours(definition.module, base) for base in kind.bases)
    for node in kind.body:
        if not isinstance(node, ast.FunctionDef):
            yield from _used(definition.module, node)
        elif foreign or node.name.startswith("__") or _is_hooked(node):
            yield f"{definition.place}.{node.name}"


def _is_ours(module: str, base: ast.expr) -> bool:
    """Whether a base is a class of the package or one that calls nothing by itself."""
    name = ast.unparse(base).split("[")[0]
    return name in {"Protocol", "Generic", "NamedTuple", "Exception", "BaseModel"} or bool(_resolved(module, name))


def _is_hooked(method: ast.FunctionDef) -> bool:
    names = {re.split(r"[(]", ast.unparse(each))[0].split(".")[-1] for each in method.decorator_list}
    return bool(names - PLAIN_DECORATORS)


def _used(module: str, node: ast.AST) -> Iterator[str]:
    for each in ast.walk(node):
        if isinstance(each, ast.Name) and (place := _resolved(module, each.id)):
            yield place
        elif isinstance(each, ast.Attribute):
            yield from _members().get(each.attr, ())
            yield from (place for late in _loaded_late(module) if (place := _resolved(late, each.attr)))
            owner = _names(module).get(each.value.id) if isinstance(each.value, ast.Name) else None
            if owner is not None and owner[1] == "" and (place := _resolved(owner[0], each.attr)):
                yield place


@cache
def _members() -> dict[str, tuple[str, ...]]:
    """Methods by their bare name: which class answers is not to be known here."""
    found: dict[str, tuple[str, ...]] = {}
    for place, each in definitions().items():
        if "." in each.name:
            bare = each.name.split(".")[-1]
            found[bare] = (*found.get(bare, ()), place)
    return found


@cache
def _names(module: str) -> dict[str, tuple[str, str]]:
    """The names a module imports from the package: from which module, which name ("" for the module itself)."""
    here = next(each for each in modules() if each.name == module)
    known = {each.name for each in modules()}
    found: dict[str, tuple[str, str]] = {}
    for node in ast.walk(here.tree):
        if isinstance(node, ast.ImportFrom):
            base = _base(here, node)
            for alias in node.names if base is not None else ():
                below = f"{base}.{alias.name}".lstrip(".")
                is_module = below in known and alias.name not in _given(base or "")
                found[alias.asname or alias.name] = (below, "") if is_module else (base or "", alias.name)
    return found


@cache
def _loaded_late(module: str) -> frozenset[str]:
    """Modules of the package that a module loads by a name in a string."""
    tree = next(each.tree for each in modules() if each.name == module)
    texts = {node.value for node in ast.walk(tree) if isinstance(node, ast.Constant) and isinstance(node.value, str)}
    return frozenset(each.name for each in modules() if each.name and f"flangewise.{each.name}" in texts)


@cache
def _given(module: str) -> frozenset[str]:
    """The names a module gives: its own, and those its front door lists."""
    return listed(f"flangewise.{module}") | {each.name for each in definitions().values() if each.module == module}


def _base(module: Module, node: ast.ImportFrom) -> str | None:
    if not node.level:
        name = node.module or ""
        return name.removeprefix("flangewise").lstrip(".") if name.split(".")[0] == "flangewise" else None
    parts = module.name.split(".")
    kept = parts if module.path.name == "__init__.py" else parts[:-1]
    kept = kept[: len(kept) - node.level + 1]
    return ".".join([*kept, *([node.module] if node.module else [])])


def _resolved(module: str, name: str) -> str | None:
    """The place of a name as a module sees it, through front doors to where it is defined; None for a foreign one."""
    while True:
        if f"{module}.{name}" in definitions():
            return f"{module}.{name}"
        if name not in _names(module):
            return None
        there, meant = _names(module)[name]
        if meant == "" or (there, meant) == (module, name):
            return None
        module, name = there, meant


def unreached(kept: Iterable[str] = ()) -> set[str]:
    """Public definitions that no command reaches, those kept (and what they use) aside."""
    found = reached()
    waiting = list(kept)
    while waiting:
        place = waiting.pop()
        if place not in found:
            found.add(place)
            waiting += _needs(definitions()[place])
    return {place for place, each in definitions().items() if each.is_public} - found
