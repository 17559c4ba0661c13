"""No test holds because there was nothing to look at."""

from __future__ import annotations

from pathlib import Path

from .loops import hollow_tests
from .source_tree import REPOSITORY

HOLLOW = """
def test_of_each():
    for each in found():
        assert each
"""
FULL = """
def test_of_each():
    things = found()
    assert things
    for each in things:
        assert each > 1
    for each in range(3):
        assert each < 3
"""


def test_what_is_looked_at_in_a_loop_is_there() -> None:
    files = sorted((REPOSITORY / "tests").rglob("test_*.py"))
    found = [f"{file.relative_to(REPOSITORY)}::{test}" for file in files for test in hollow_tests(file)]
    assert len(files) > 100
    assert found == [], "assert what is looped over first, so that the loop cannot be empty unseen"


def test_a_hollow_test_is_found(tmp_path: Path) -> None:
    (tmp_path / "test_one.py").write_text(HOLLOW, encoding="utf-8")
    (tmp_path / "test_two.py").write_text(FULL, encoding="utf-8")
    assert list(hollow_tests(tmp_path / "test_one.py")) == ["test_of_each"]
    assert list(hollow_tests(tmp_path / "test_two.py")) == []
