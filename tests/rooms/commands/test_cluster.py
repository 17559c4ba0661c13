"""Sheets by the workers of a real scheduler on this machine: the bytes of a local run; what is told where it fails."""

import json
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path

import pytest

from .test_sheet import ANGLE, REFUSED, rows, run, write

WHY_NOT = "dask.distributed is not installed: pip install '.[cluster]'"
needs_cluster = pytest.mark.skipif(find_spec("distributed") is None, reason=WHY_NOT)
READY_S = 120.0
# So many parts are enough for a worker to be killed among them.
COUNT = 5


def free_port() -> int:
    with socket.socket() as any_port:
        any_port.bind(("127.0.0.1", 0))
        return int(any_port.getsockname()[1])


class Yard:
    """A scheduler and two workers, each a process of its own."""

    def __init__(self, folder: Path) -> None:
        port = free_port()
        self.address, self._folder = f"tcp://127.0.0.1:{port}", folder
        self.executor = f"dask://127.0.0.1:{port}"
        self.scheduler = self._begun("scheduler", "--host", "127.0.0.1", "--port", str(port), "--no-show")
        self.workers = [self._begun("worker", self.address, "--nthreads", "1", "--no-nanny") for _ in range(2)]

    def _begun(self, kind: str, *options: str) -> "subprocess.Popen[bytes]":
        command = [sys.executable, "-m", f"distributed.cli.dask_{kind}", *options, "--no-dashboard"]
        return subprocess.Popen(command, cwd=self._folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

    def wait(self) -> None:
        from distributed import Client

        until = time.monotonic() + READY_S
        while time.monotonic() < until:
            try:
                with Client(self.address, timeout=5) as client:
                    client.wait_for_workers(2, timeout=READY_S)
                    return
            except OSError:
                time.sleep(0.2)
        raise AssertionError("the scheduler did not come up")

    def close(self) -> None:
        for each in (*self.workers, self.scheduler):
            each.kill()
            each.wait()


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Yard]:
    yard = Yard(tmp_path_factory.mktemp("yard"))
    try:
        yard.wait()
        yield yard
    finally:
        yard.close()


@needs_cluster
def test_workers_of_a_cluster_make_the_bytes_of_a_local_run(yard: Yard, tmp_path: Path) -> None:
    parts = tmp_path / "parts"
    for number in range(3):
        write(parts, f"p{number}", ANGLE.replace("60", str(60 + number)))
    write(parts, "refused", REFUSED)
    (parts / "wrong.yaml").write_text("part: [\n")
    local, far = tmp_path / "local", tmp_path / "far"
    status, here = rows("sheet", parts, "-o", local, "--jobs", 1)
    other, there = rows("sheet", parts, "-o", far, "--executor", yard.executor)
    assert (status, other) == (2, 2)
    assert [row["status"] for row in there] == ["made", "made", "made", "failed", "failed"]
    assert json.dumps(there).replace(str(far), str(local)) == json.dumps(here)
    made = sorted(file.name for file in far.iterdir())
    assert made == sorted(file.name for file in local.iterdir()) == ["p0.pdf", "p1.pdf", "p2.pdf"]
    assert all((far / name).read_bytes() == (local / name).read_bytes() for name in made)


@needs_cluster
def test_a_scheduler_that_does_not_answer_is_a_fault_before_any_work(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("flangewise.jobs.cluster.ANSWER_S", 0.5)
    out = tmp_path / "out"
    executor = f"dask://127.0.0.1:{free_port()}"
    status, told, err = run("--quiet", "sheet", write(tmp_path, "one"), "-o", out, "--executor", executor)
    assert (status, told, out.exists()) == (2, "", False)
    (fault,) = err.splitlines()
    assert fault.startswith(f"--executor: {executor}: is not answered by any scheduler")


@pytest.mark.parametrize(
    "executor", ["", "local", "dask://", "dask://here", "dask://here:none", "tcp://here:8786", "dask://a:8786/b"]
)
def test_what_is_no_address_is_a_fault(tmp_path: Path, executor: str) -> None:
    status, told, err = run("--quiet", "sheet", write(tmp_path, "one"), "-o", tmp_path, "--executor", executor)
    assert (status, told) == (2, "")
    assert "is no address of a scheduler, write dask://HOST:PORT" in err


def test_without_the_extra_it_says_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    status, told, err = run("--quiet", "sheet", write(tmp_path, "one"), "-o", tmp_path, "--executor", "dask://a:8786")
    assert (status, told) == (2, "")
    assert "install flangewise[cluster]" in err


def test_processes_and_a_cluster_are_not_asked_for_together(tmp_path: Path) -> None:
    asked = ("--jobs", "2", "--executor", "dask://a:8786")
    status, told, err = run("sheet", write(tmp_path, "one"), "-o", tmp_path, *asked)
    assert (status, told) == (2, "")
    assert "leave it out with --executor" in err


@needs_cluster
def test_a_worker_that_is_killed_costs_no_sheet(yard: Yard, tmp_path: Path) -> None:
    """The last of this file: nothing is left of the yard."""
    parts, out = tmp_path / "parts", tmp_path / "out"
    for number in range(COUNT):
        write(parts, f"p{number}")
    command = [sys.executable, "-m", "flangewise", "--quiet", "sheet", str(parts), "-o", str(out), "--html"]
    running = subprocess.Popen([*command, "--executor", yard.executor], stdout=subprocess.PIPE)
    assert running.stdout is not None
    running.stdout.readline()
    yard.workers[0].kill()
    # What came with the first line is held by the stream: `communicate` would pass it over.
    told = running.stdout.read()
    running.communicate(timeout=200)
    assert (running.returncode, len(told.splitlines())) == (0, COUNT - 1)
    running = subprocess.Popen([*command, "--all", "--executor", yard.executor], stdout=subprocess.PIPE, stderr=-1)
    assert running.stdout is not None
    running.stdout.readline()
    yard.scheduler.kill()
    _, err = running.communicate(timeout=60)
    assert running.returncode == 2
    told = err.decode().splitlines()
    assert len(told) == 1, told
    (fault,) = told
    assert fault.startswith(f"--executor: {yard.executor}: was lost")
    assert sorted(file.name for file in out.iterdir()) == [f"p{number}.html" for number in range(COUNT)]
