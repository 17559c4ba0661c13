"""No file that must be scrolled for long."""

from __future__ import annotations

import statistics
from pathlib import Path

from .source_tree import modules

MOST_LINES = 350


def _lines(path: Path) -> int:
    return len(path.read_text(encoding="utf-8").splitlines())


def test_no_module_is_too_long() -> None:
    assert [str(module.path) for module in modules() if _lines(module.path) > MOST_LINES] == []


def test_modules_are_small_as_a_rule() -> None:
    assert statistics.median(_lines(module.path) for module in modules()) <= 150
