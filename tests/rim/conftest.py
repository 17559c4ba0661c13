"""Every example is planned once: the commands ask for the same plans again and again, in other units and languages."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from flangewise import jobs
from flangewise.commands import COMMANDS

from .read_back import FOLDERS

# With so many seconds left a search comes to its end.
LONG_S = 2.0


@pytest.fixture(scope="session", autouse=True)
def there_is_a_folder(tmp_path_factory: pytest.TempPathFactory) -> None:
    """What the commands write goes where pytest clears away."""
    FOLDERS.append(tmp_path_factory.mktemp("rim"))


@pytest.fixture(scope="session", autouse=True)
def plans_are_kept() -> Iterator[None]:
    """What a part and a shop were worked out to is kept by their whole contents; nothing else is stood in for."""
    for name in ("jobs.sheets", "jobs.printed", *(f"commands.{command}" for command in COMMANDS)):
        importlib.import_module(f"flangewise.{name}")
    changed = [_kept(name) for name in ("work_out", "worked_out")]
    yield
    for modules, name, real in changed:
        _put(modules, name, real)


def _kept(name: str) -> tuple[list[Any], str, Callable[..., Any]]:
    """A function of the room of jobs kept by what it is asked, wherever it is held."""
    real, known = getattr(jobs, name), dict[str, Any]()

    def asked(part: Any, shop: Any, *watch: Any) -> Any:
        if any(each.until - each.clock() < LONG_S for each in watch):
            return real(part, shop, *watch)
        question = f"{part!r} {shop!r}"
        if question not in known:
            known[question] = real(part, shop, *watch)
        return known[question]

    modules = [each for at, each in sys.modules.items() if at.startswith("flangewise")]
    holders = [module for module in modules if getattr(module, name, None) is real]
    _put(holders, name, asked)
    return holders, name, real


def _put(modules: list[Any], name: str, function: Callable[..., Any]) -> None:
    for module in modules:
        setattr(module, name, function)
