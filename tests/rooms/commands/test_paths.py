"""Work on many parts: statuses, faults, and the bar."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator

import pytest

from flangewise.commands import Settings, tell_faults
from flangewise.commands.output import Printer
from flangewise.commands.paths import counted, spread
from flangewise.faults import Fault, Unusable
from flangewise.part import FoundPart, Part, read_part
from flangewise.shop import load_shop

PLAIN = "part: {}\nmaterial: DC01\nthickness: 2\nsection:\n  length: 100\n  legs: [40, 60]\n  bends: [90]\n"
PRINTER = Printer(Settings(None, "mm", quiet=True), "json")
FAULT = Fault("b.yaml", 1, 1, "part", "is missing", "every part needs it")


def found(*names: str) -> list[FoundPart]:
    shop = load_shop()
    return [FoundPart(f"{name}.yaml", read_part(PLAIN.format(name), f"{name}.yaml", shop)) for name in names]


def test_every_part_is_done_and_the_highest_status_wins() -> None:
    done: list[str] = []
    statuses = {"a": 0, "b": 1, "c": 0}

    def work(part: object, to: Printer) -> int:
        done.append(part.name)  # type: ignore[attr-defined]
        return statuses[part.name]  # type: ignore[attr-defined]

    assert spread(found("a", "b", "c"), work, PRINTER) == 1
    assert done == ["a", "b", "c"]


def test_nothing_to_do_is_well() -> None:
    assert spread([], lambda part, to: 1, PRINTER) == 0


def test_faults_are_told_and_stop_no_other(capfd: pytest.CaptureFixture[str]) -> None:
    done: list[str] = []
    mixed = [FoundPart("b.yaml", None, (FAULT,)), *found("c")]
    assert spread(mixed, lambda part, to: done.append(part.name) or 0, PRINTER) == 2  # type: ignore[func-returns-value]
    assert done == ["c"]
    assert capfd.readouterr() == ("", "b.yaml:1:1: part: is missing, every part needs it\n")


def test_work_that_finds_its_input_unusable_stops_no_other(capfd: pytest.CaptureFixture[str]) -> None:
    def work(part: object, to: Printer) -> int:
        if part.name == "a":  # type: ignore[attr-defined]
            raise Unusable([FAULT])
        return 0

    assert spread(found("a", "c"), work, PRINTER) == 2
    assert capfd.readouterr().err == FAULT.text + "\n"


def test_telling_faults_means_status_2(capfd: pytest.CaptureFixture[str]) -> None:
    assert tell_faults([FAULT, FAULT]) == 2
    assert capfd.readouterr().err.count("\n") == 2


def test_the_bar_waits_a_second(capfd: pytest.CaptureFixture[str]) -> None:
    assert list(counted("abcd", 4, shown=True)) == list("abcd")
    assert capfd.readouterr().err == ""


def test_the_bar_shows_how_many_are_done_and_is_taken_away(
    capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    now_s = time.monotonic()
    waited: list[str] = []

    def items() -> Iterator[str]:
        for each in "abcd":
            waited.append(capfd.readouterr().err)
            yield each

    bar = counted(items(), 4, shown=True)
    assert next(bar) == "a"
    monkeypatch.setattr(time, "monotonic", lambda: now_s + 5.0)
    assert next(bar) == "b"
    assert waited == ["", "\r[######                  ] 1/4"]
    assert capfd.readouterr().err == "\r" + " " * 30 + "\r"
    assert list(bar) == ["c", "d"]
    # After the last part there is nothing more to wait for.
    assert waited[-1].endswith("3/4") and "4/4" not in capfd.readouterr().err


def test_no_bar_where_none_is_wanted(capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    now_s = time.monotonic()
    bar = counted("abcd", 4, shown=False)
    assert next(bar) == "a"
    monkeypatch.setattr(time, "monotonic", lambda: now_s + 5.0)
    assert list(bar) == ["b", "c", "d"]
    assert capfd.readouterr().err == ""


@pytest.mark.parametrize("jobs", [1, 2])
def test_what_goes_wrong_with_one_part_is_told_in_a_line_and_stops_no_other(
    jobs: int, capfd: pytest.CaptureFixture[str]
) -> None:
    def work(part: Part, to: Printer) -> int:
        if part.name == "b":
            raise KeyError("odd")
        return to.give({"part": part.name}, str)

    assert spread(found("a", "b", "c"), work, PRINTER, jobs=jobs) == 2
    out, err = capfd.readouterr()
    assert [json.loads(line)["part"] for line in out.splitlines()] == ["a", "c"]
    assert err == "b.yaml: part: KeyError: 'odd', please report it with the part file\n"
