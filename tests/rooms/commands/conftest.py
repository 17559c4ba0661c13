"""What the tests of commands share: no shop of the shell they run in, and a part file of their own."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from flangewise.commands import run

from .made import CHANNEL


@pytest.fixture(autouse=True)
def no_shop_of_the_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    """The tests' own shell may have one."""
    monkeypatch.delenv("FLANGEWISE_SHOP", raising=False)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """A channel, written down."""
    path = tmp_path / "part.yaml"
    path.write_text(CHANNEL)
    return path


@pytest.fixture
def told(capfd: pytest.CaptureFixture[str]) -> Any:
    """Runs a command line in this process: status, standard output, standard error."""

    def call(*args: str) -> tuple[int, str, str]:
        status = run(list(args))
        out, err = capfd.readouterr()
        return status, out, err

    return call
