"""One law over many cases in one test: what fails is told of all of them at once, each by its name."""

from __future__ import annotations

import functools
import inspect
import traceback
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, TypeVar

import pytest

Case = TypeVar("Case")
HERE = Path(__file__).parent


def all_hold(check: Callable[..., object], cases: Iterable[Case], *, named: Callable[[Case], str] = str) -> None:
    """Fails with every case that a check does not pass, by its name, and where there is no case at all.

    A check of several things takes each case apart. A case that its check leaves out fails too: what cannot be looked
    at must not be among the cases.
    """
    several = len(inspect.signature(check).parameters) > 1
    failed: dict[str, str] = {}
    looked_at: set[str] = set()
    for case in cases:
        name = named(case)
        assert name not in looked_at, f"two cases are called {name}"
        looked_at.add(name)
        try:
            check(*case) if several else check(case)  # type: ignore[misc]
        except (Exception, pytest.fail.Exception, pytest.skip.Exception) as trouble:
            failed[name] = f"{type(trouble).__name__} in line {_line_of(trouble)}: {trouble}"
    assert looked_at, "there is nothing to look at"
    if failed:
        told = "\n".join(f"{name}: {trouble}" for name, trouble in failed.items())
        pytest.fail(f"{len(failed)} of {len(looked_at)} do not hold:\n{told}", pytrace=False)


def _line_of(trouble: BaseException) -> str:
    """File and line of the last line of the tests that it went through: what stands deeper is told by its words."""
    lines = traceback.extract_tb(trouble.__traceback__)
    (*_, last) = [each for each in lines if HERE in Path(each.filename).parents and each.filename != __file__] or lines
    return f"{Path(last.filename).name}:{last.lineno}"


def of_each(
    cases: Iterable[Case], *, named: Callable[[Case], str] = str
) -> Callable[[Callable[..., None]], Callable[[], None]]:
    """Makes one test of a test a case, for cases by the hundred that take less than what a test of its own costs."""

    def one_test(check: Callable[..., None]) -> Callable[[], None]:
        @functools.wraps(check)
        def test() -> None:
            all_hold(check, cases, named=named)

        # What it takes is none of the fixtures.
        del test.__wrapped__  # type: ignore[attr-defined]
        return test

    return one_test


def name_of(case: Any) -> str:
    """The name that a case has itself."""
    return str(case.name)
