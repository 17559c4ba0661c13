"""Many pieces of work: order kept, failures apart, on threads, on processes and on none."""

import os
import threading
from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor
from contextlib import AbstractContextManager, nullcontext
from threading import Event, Timer

import pytest

from flangewise.jobs.sheets import each_outcome, processes


def double(number: int) -> int:
    if number == 3:
        raise ValueError("three")
    return 2 * number


def dies(number: int) -> int:
    if number == 1:
        os._exit(7)
    return number


KINDS = [lambda: nullcontext(None), lambda: ThreadPoolExecutor(3), lambda: ProcessPoolExecutor(2)]


@pytest.mark.parametrize("kind", KINDS)
def test_results_come_in_the_order_of_the_work_and_one_failure_stops_nothing(kind) -> None:  # type: ignore[no-untyped-def]
    made: AbstractContextManager[Executor | None] = kind()
    with made as executor:
        outcomes = list(each_outcome(double, range(6), executor=executor))
    assert [each for each in outcomes if not isinstance(each, Exception)] == [0, 2, 4, 8, 10]
    assert isinstance(outcomes[3], ValueError) and str(outcomes[3]) == "three"


def test_no_work_makes_no_outcomes() -> None:
    assert list(each_outcome(double, [])) == []


def test_a_process_that_dies_is_an_error_and_not_the_end() -> None:
    with ProcessPoolExecutor(1) as executor:
        outcomes = list(each_outcome(dies, [0, 1, 2], executor=executor))
    assert len(outcomes) == 3
    assert isinstance(outcomes[1], Exception)


def test_outcomes_are_given_as_soon_as_they_are_ready() -> None:
    gate = threading.Event()

    def wait(number: int) -> int:
        if number:
            gate.wait(10)
        return number

    with ThreadPoolExecutor(2) as executor:
        running = each_outcome(wait, [0, 1], executor=executor)
        assert next(running) == 0
        gate.set()
        assert next(running) == 1


def test_work_left_when_the_reader_stops_is_cancelled() -> None:
    started, go_on = [], Event()

    def note(number: int) -> int:
        started.append(number)
        if number > 9:
            go_on.wait(timeout=10)
        return number

    with ThreadPoolExecutor(1) as executor:
        running = each_outcome(note, range(1000), executor=executor)
        next(running)
        Timer(0.2, go_on.set).start()
        running.close()  # type: ignore[attr-defined]
    assert len(started) < 1000


@pytest.mark.parametrize(("count", "works", "pool"), [(1, 9, False), (8, 1, False), (8, 0, False), (2, 9, True)])
def test_processes_are_started_only_where_they_help(count: int, works: int, pool: bool) -> None:
    with processes(count, works) as executor:
        assert (executor is not None) is pool
