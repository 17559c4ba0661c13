"""No file that must be scrolled for long."""

from __future__ import annotations

import statistics
from pathlib import Path

import pytest

from .source_tree import Module, modules

MOST_LINES = 350


def _lines(path: Path) -> int:
    return len(path.read_text(encoding="utf-8").splitlines())


@pytest.mark.parametrize("module", modules(), ids=lambda module: module.name or "flangewise")
def test_no_module_is_too_long(module: Module) -> None:
    assert _lines(module.path) <= MOST_LINES


def test_modules_are_small_as_a_rule() -> None:
    assert statistics.median(_lines(module.path) for module in modules()) <= 150
