"""A cluster as a crew: the workers of a `dask.distributed` scheduler, on this machine or on others.

The same pieces of work as on processes of this machine, and the same results: whoever works has the same code, or is
told that it has not. A worker that is lost is another's work again; the scheduler sees to that.
"""

from __future__ import annotations

import hashlib
import logging
from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any, NoReturn
from urllib.parse import urlsplit

import flangewise
from flangewise.faults import Fault, Unusable
from flangewise.jobs.crew import Hire

if TYPE_CHECKING:
    from distributed import Client, Future

SCHEME = "dask"
# So long a scheduler has to answer, and to have a worker.
ANSWER_S = 10.0
# Pieces in hand for each thread of the workers: one that is worked on, and one that is on its way.
PIECES_EACH = 2
# So many letters of a digest tell one code from another.
_CODE_FILES = ("*.py", "*.yaml", "*.html", "*.css", "*.js")


def cluster(executor: str) -> Hire:
    """What hires the workers of the scheduler at `dask://HOST:PORT`, asked for before any work.

    Raises Unusable where that is no such address, the extra that speaks to one is not installed, no scheduler with a
    worker answers there, or a worker has other code than this.
    """
    address = _address(executor)
    try:
        from distributed import Client
    except ImportError:
        _fault(executor, "needs dask.distributed, which is not installed", "install flangewise[cluster]")
    # Its parts have levels of their own; what is lost is told in one line.
    for name in [name for name in logging.root.manager.loggerDict if name.split(".")[0] == "distributed"]:
        logging.getLogger(name).setLevel(logging.CRITICAL)
    try:
        client = Client(address, timeout=ANSWER_S)
    except (OSError, ValueError):
        _fault(
            executor, "is not answered by any scheduler", "start one there with `dask scheduler`, or check the address"
        )
    try:
        client.wait_for_workers(1, timeout=ANSWER_S)
    except TimeoutError:
        _fault(executor, "has no workers", f"start some with `dask worker {address} --nthreads 1`")
    others = [worker for worker, code in client.run(code_digest, on_error="return").items() if code != code_digest()]
    if others:
        client.close()
        _fault(executor, f"has a worker {others[0]} without this flangewise", f"install {flangewise.__version__} there")
    return lambda do: Cluster(client, do, executor)


def _address(executor: str) -> str:
    """The scheduler's own address. Raises Unusable."""
    try:
        asked = urlsplit(executor)
        host, port = asked.hostname, asked.port
    except ValueError:
        host, port = None, None
    if not host or not port or asked.scheme != SCHEME or asked.path not in ("", "/"):
        _fault(executor, "is no address of a scheduler", f"write {SCHEME}://HOST:PORT, with 8786 for the usual port")
    return f"tcp://[{host}]:{port}" if ":" in host else f"tcp://{host}:{port}"


def _fault(executor: str, wrong: str, fits: str) -> NoReturn:
    raise Unusable([Fault("--executor", None, None, executor, wrong, fits)])


@cache
def code_digest() -> str:
    """A digest of all that the program is made of, by which a worker is known to make the same."""
    root, digest = Path(flangewise.__file__).parent, hashlib.sha256()
    for file in sorted(file for pattern in _CODE_FILES for file in root.rglob(pattern)):
        digest.update(file.relative_to(root).as_posix().encode() + b"\0" + file.read_bytes() + b"\0")
    return digest.hexdigest()


@cache
def _turn() -> Lock:
    """One piece at a time in a process, however many threads its worker was started with."""
    return Lock()


def _itself(do: Callable[[Any], Any]) -> Callable[[Any], Any]:
    """What is done, as a task of its own: it goes to each worker once, and again where it was lost."""
    return do


def _piece(do: Callable[[Any], Any], work: Any) -> Any:
    with _turn():
        return do(work)


class Cluster:
    """Workers of a scheduler, with some pieces more in hand than they can work on at once."""

    def __init__(self, client: Client, do: Callable[[Any], Any], executor: str) -> None:
        self._client, self._executor = client, executor
        self._do = client.submit(_itself, do, pure=False)
        self._in_hand: dict[Future, int] = {}

    @property
    def has_room(self) -> bool:
        """Whether a worker will soon want another piece."""
        with self._reached():
            threads: int = sum(self._client.nthreads().values())
        return len(self._in_hand) < PIECES_EACH * max(1, threads)

    @property
    def is_busy(self) -> bool:
        """Whether anything is in hand."""
        return bool(self._in_hand)

    def take(self, number: int, work: Any) -> None:
        """Hand a piece of work to the scheduler."""
        self._in_hand[self._client.submit(_piece, self._do, work, pure=False)] = number

    def finished(self) -> list[tuple[int, Any]]:
        """What is ready. Raises Unusable where the scheduler is lost."""
        from distributed import wait

        with self._reached():
            done = wait(list(self._in_hand), return_when="FIRST_COMPLETED").done
            return [(self._in_hand.pop(future), self._outcome(future)) for future in done]

    def leave(self) -> None:
        """Take back what is in hand, and leave the workers to others."""
        self._in_hand = {}
        self._client.close(timeout=1)

    def _outcome(self, future: Future) -> Any:
        """What came of a piece of work, as its worker gives it."""
        try:
            return future.result()
        except CancelledError:
            raise
        except Exception as error:
            return error

    @contextmanager
    def _reached(self) -> Iterator[None]:
        """While the scheduler is asked. Raises Unusable where it is lost."""
        try:
            if self._client.status != "running":
                raise ConnectionError
            yield
        except (OSError, CancelledError):
            _fault(self._executor, "was lost", "see to it and start again: what is written stands and is kept")
