"""Every example is planned once: the commands ask for the same plans again and again, in other units and languages."""

from __future__ import annotations

import importlib
import os
import sys
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from flangewise import jobs
from flangewise.commands import COMMANDS

from .read_back import FOLDERS, SHARED

# With so many seconds left a search comes to its end.
LONG_S = 2.0


@pytest.fixture(scope="session", autouse=True)
def there_is_a_folder(tmp_path_factory: pytest.TempPathFactory) -> None:
    """What the commands write goes where pytest clears away."""
    FOLDERS.append(tmp_path_factory.mktemp("rim"))
    base = tmp_path_factory.getbasetemp()
    SHARED.append((base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "rim-of-all")


@pytest.fixture(scope="session", autouse=True)
def plans_are_kept() -> Iterator[None]:
    """What a part and a shop were worked out to is kept by their whole contents; nothing else is stood in for."""
    for name in ("jobs.sheets", "jobs.printed", *(f"commands.{command}" for command in COMMANDS)):
        importlib.import_module(f"flangewise.{name}")
    changed = [*(_kept(name) for name in ("work_out", "worked_out")), _kept_as_printed()]
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

    return _put_wherever_held(name, real, asked)


def _kept_as_printed() -> tuple[list[Any], str, Callable[..., Any]]:
    """What a sheet prints of a job, kept by the job itself; each language and unit asks for the same."""
    real, known = importlib.import_module("flangewise.jobs.printed").printed, dict[Any, Any]()

    def asked(job: Any, attachments: Any = (), *, moving: bool = False) -> Any:
        # The job is held with it: its identity is no other job's as long as it lives.
        key = (id(job), attachments, moving)
        if key not in known:
            known[key] = (job, real(job, attachments, moving=moving))
        return known[key][1]

    return _put_wherever_held("printed", real, asked)


def _put_wherever_held(
    name: str, real: Callable[..., Any], asked: Callable[..., Any]
) -> tuple[list[Any], str, Callable[..., Any]]:
    modules = [each for at, each in sys.modules.items() if at.startswith("flangewise")]
    holders = [module for module in modules if getattr(module, name, None) is real]
    _put(holders, name, asked)
    return holders, name, real


def _put(modules: list[Any], name: str, function: Callable[..., Any]) -> None:
    for module in modules:
        setattr(module, name, function)
