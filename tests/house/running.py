"""The command line run in this process, through the entry point that the installed command uses."""

from __future__ import annotations

import contextlib
import io
import json
from typing import Any

from flangewise import commands


def run(*arguments: str) -> tuple[int, str, str]:
    """Exit status, standard output and standard error of one command."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = commands.run(list(arguments))
    return status, out.getvalue(), err.getvalue()


def records(*arguments: str) -> list[dict[str, Any]]:
    """The JSON lines of a command that could use its input."""
    status, out, err = run(*arguments, "--format", "json")
    assert status in (0, 1), err
    return [json.loads(line) for line in out.splitlines()]
