"""Many pieces of work: failures apart, few in hand, on processes and on none; members of the crew that die."""

import multiprocessing
import os
import signal
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from flangewise.jobs import crew
from flangewise.jobs.crew import DiedError, Hire, Known, each_outcome, in_order, processes

HIRES = [None, processes(2, 6)]


def double(number: int) -> int:
    if number == 3:
        raise ValueError("three")
    return 2 * number


def dies(number: int) -> int:
    if number == 1:
        os.kill(os.getpid(), signal.SIGKILL)
    return number


class OneOfItsOwnError(Exception):
    """Cannot be handed from one process to another."""

    def __init__(self) -> None:
        super().__init__(lambda: None)


def fails_oddly(number: int) -> int:
    raise OneOfItsOwnError


def waits(seconds: float) -> float:
    time.sleep(seconds)
    return seconds


def notes_and_waits(file: str) -> None:
    Path(file).write_text(str(os.getpid()))
    time.sleep(60)


@pytest.mark.parametrize("hire", HIRES)
def test_results_come_in_the_order_of_the_work_and_one_failure_stops_nothing(hire: Hire | None) -> None:
    outcomes = list(in_order(each_outcome(double, range(6), hire=hire)))
    assert [each for each in outcomes if not isinstance(each, Exception)] == [0, 2, 4, 8, 10]
    assert isinstance(outcomes[3], ValueError) and str(outcomes[3]) == "three"


@pytest.mark.parametrize("hire", HIRES)
def test_no_work_makes_no_outcomes(hire: Hire | None) -> None:
    assert list(each_outcome(double, [], hire=hire)) == []


@pytest.mark.parametrize("hire", HIRES)
def test_what_is_known_needs_no_work_and_keeps_its_place(hire: Hire | None) -> None:
    works = [Known(70), 4, Known(ValueError("known")), 5]
    outcomes = list(in_order(each_outcome(double, works, hire=hire)))
    assert outcomes[:2] == [70, 8] and str(outcomes[2]) == "known" and outcomes[3:] == [10]


def test_a_process_that_dies_costs_its_own_work_and_no_other() -> None:
    outcomes = dict(each_outcome(dies, range(8), hire=processes(2, 8)))
    assert isinstance(outcomes.pop(1), DiedError)
    assert outcomes == {number: number for number in (0, 2, 3, 4, 5, 6, 7)}


def test_what_cannot_be_handed_over_is_told() -> None:
    outcomes = dict(each_outcome(fails_oddly, range(2), hire=processes(2, 2)))
    assert [type(each) for each in outcomes.values()] == [DiedError, DiedError]


def test_a_result_larger_than_any_pipe_comes_whole() -> None:
    (_, whole), (_, other) = sorted(each_outcome(bytes, [5_000_000, 3], hire=processes(2, 2)), reverse=True)
    assert {len(whole), len(other)} == {5_000_000, 3}  # type: ignore[arg-type]


def test_no_more_is_in_hand_than_there_are_processes() -> None:
    taken = 0

    def works() -> Iterator[int]:
        nonlocal taken
        for number in range(100):
            taken += 1
            yield number

    running = each_outcome(abs, works(), hire=processes(2, 100))
    for given in range(1, 31):
        next(running)
        assert taken <= given + 3
    running.close()  # type: ignore[attr-defined]
    assert taken < 40


def test_results_are_given_as_soon_as_they_are_ready() -> None:
    running = each_outcome(waits, [30.0, 0.0, 0.0], hire=processes(2, 3))
    assert [next(running), next(running)] == [(1, 0.0), (2, 0.0)]
    running.close()  # type: ignore[attr-defined]


def test_work_left_when_the_reader_stops_is_dropped_and_its_process_ended(tmp_path: Path) -> None:
    file = tmp_path / "at-work"
    hire = processes(2, 2)
    assert hire is not None
    hands = hire(notes_and_waits)
    hands.take(0, str(file))
    until = time.monotonic() + 30
    while not (file.exists() and file.read_text()) and time.monotonic() < until:
        time.sleep(0.01)
    hands.leave()
    with pytest.raises(ProcessLookupError):
        os.kill(int(file.read_text()), 0)


def own_number(_: int) -> int:
    return os.getpid()


def test_a_process_is_replaced_before_it_has_grown(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(crew, "MOST_PIECES", 3)
    by_process = Counter(number for _, number in each_outcome(own_number, range(7), hire=processes(1, 7)))
    assert sorted(by_process.values()) == [1, 3, 3]
    assert os.getpid() not in by_process


@pytest.mark.parametrize(
    ("count", "works", "hired"), [(1, 9, False), (8, 1, False), (8, 0, False), (2, 9, True), (1, 1000, True)]
)
def test_processes_are_hired_only_where_they_help(count: int, works: int, hired: bool) -> None:
    assert (processes(count, works) is not None) is hired


def test_each_is_given_when_those_before_it_have_come() -> None:
    assert list(in_order([(2, "c"), (0, "a"), (1, "b"), (3, "d")])) == ["a", "b", "c", "d"]


def test_a_line_that_is_cut_before_it_was_read_ends_its_process_without_a_word() -> None:
    """As when the one that hired it is killed: what lies there unread makes the end of the line a fault."""
    ours, theirs = multiprocessing.Pipe()
    process = multiprocessing.get_context("fork").Process(
        target=crew._at_work, args=(double, theirs, [ours], os.getpid())
    )
    process.start()
    theirs.close()
    ours.send(1)
    assert ours.poll(30)
    ours.close()
    process.join(30)
    assert process.exitcode == 0
