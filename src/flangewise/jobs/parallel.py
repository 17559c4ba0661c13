"""Many pieces of work on any executor: results in the order of the work, and none that fails stops the rest."""

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from functools import partial
from typing import Generic, TypeVar

Work = TypeVar("Work")
Result = TypeVar("Result")


@dataclass(frozen=True)
class Outcome(Generic[Work, Result]):
    """One piece of work with its result, or with what went wrong: then `result` is None."""

    work: Work
    result: Result | None
    error: Exception | None = None


def each_outcome(
    do: Callable[[Work], Result], works: Sequence[Work], *, executor: Executor | None = None
) -> Iterator[Outcome[Work, Result]]:
    """Do every piece of work and give the outcomes in the order of the work, each as soon as it is ready.

    Without an executor all is done here, one after the other. With one, `do` and the works must be such that they can
    be handed to it: for processes, functions of a module and plain data. Work left when the reader stops is cancelled.
    A pool that breaks because one of its processes died gives an error for every piece it could not finish.
    """
    if executor is None:
        for work in works:
            yield _outcome(work, partial(do, work))
        return
    futures: list[Future[Result]] = []
    try:
        futures.extend(executor.submit(do, work) for work in works)
        for work, future in zip(works, futures, strict=True):
            yield _outcome(work, future.result)
    finally:
        for future in futures:
            future.cancel()


def _outcome(work: Work, get: Callable[[], Result]) -> Outcome[Work, Result]:
    """The result, or the error that came instead: whatever a part does, the run goes on."""
    try:
        return Outcome(work, get())
    except Exception as error:
        return Outcome(work, None, error)


def processes(count: int, works: int) -> AbstractContextManager[Executor | None]:
    """So many processes, or none at all where one would do: the executor used where no other is asked for."""
    useful = min(count, works)
    return ProcessPoolExecutor(useful) if useful > 1 else nullcontext(None)
