"""Part files that must be refused, each with the exact words it must get.

A file in `cases` is a part file, a line `====`, and below it the faults word for word, LINE:COLUMN first. To add a
case, add a file.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from flangewise.commands import run
from flangewise.faults import Unusable
from flangewise.part import read_part
from flangewise.shop import Shop, load_shop

from ..each import of_each

CASES = sorted((Path(__file__).parent / "cases").glob("*.txt"))
PLAIN = "part: p\nmaterial: DC01\nthickness: 2\nsection:\n  length: 100\n  legs: [40, 60]\n  bends: [90]\n"


@cache
def shop() -> Shop:
    return load_shop()


def parted(case: Path) -> tuple[str, list[str]]:
    """The part file and the faults it must get."""
    text, told = case.read_text(encoding="utf-8").split("====\n")
    return text, told.splitlines()


def without_file(fault_text: str) -> str:
    return fault_text.removeprefix("p.yaml:").strip()


def test_there_are_cases() -> None:
    assert len(CASES) > 100


def test_the_plain_part_the_cases_spoil_is_sound() -> None:
    assert read_part(PLAIN, "p.yaml", shop()).name == "p"


@of_each(CASES, named=lambda case: case.stem)
def test_it_gets_exactly_these_words(case: Path) -> None:
    text, told = parted(case)
    with pytest.raises(Unusable) as unusable:
        read_part(text, "p.yaml", shop())
    assert [without_file(fault.text) for fault in unusable.value.faults] == told


@of_each(CASES, named=lambda case: case.stem)
def test_the_words_say_what_would_be_right(case: Path) -> None:
    """Each fault is one line of three things: where, what is wrong, and what would be right."""
    _, told = parted(case)
    assert told
    for line in told:
        place, _, sentence = line.partition(": ")
        assert place and sentence.count(", ") >= 1 and "\n" not in line


@pytest.mark.parametrize("name", ["all-at-once", "bare-45", "holes", "malformed", "empty", "name-with-a-path"])
def test_the_command_tells_them_and_leaves_with_2(name: str, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    text, told = parted(Path(__file__).parent / "cases" / f"{name}.txt")
    file = tmp_path / "p.yaml"
    file.write_text(text, encoding="utf-8")
    assert run(["--quiet", "check", str(file)]) == 2
    out, err = capfd.readouterr()
    assert out == ""
    assert err.splitlines() == [f"{file}:{' ' if line.startswith('file:') else ''}{line}" for line in told]
