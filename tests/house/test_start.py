"""What a bare `--help` loads, and that no run shows a traceback."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from flangewise.commands import QUICK_START

# What `flangewise --help` may load of ours and of others: nothing that a command needs only when it is called.
OURS = {"flangewise", "flangewise.commands", "flangewise.faults", "flangewise.records"}
OTHERS = {"click"}

PRINT_LOADED = """
import sys
before = set(sys.modules)
from flangewise.commands import run
run({arguments!r})
print("\\n".join(sorted(set(sys.modules) - before)), file=sys.stderr)
"""


def _loaded(*arguments: str) -> set[str]:
    """Modules that a fresh process has loaded after a command, without the standard library."""
    command = [sys.executable, "-c", PRINT_LOADED.format(arguments=list(arguments))]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=True)
    assert done.stdout
    return {name for name in done.stderr.split() if name.split(".")[0] not in sys.stdlib_module_names}


def test_bare_help_loads_only_what_it_shows() -> None:
    loaded = _loaded("--help")
    ours = {name for name in loaded if name.split(".")[0] == "flangewise"}
    assert ours <= OURS
    assert {name.split(".")[0] for name in loaded - ours} <= OTHERS


NEVER = {"ezdxf", "weasyprint", "jinja2", "segno"}
NO_BODIES = {
    *NEVER,
    "shapely",
    *(f"flangewise.{room}" for room in ("clearance", "sequence", "replay", "tryout", "jobs")),
}
ONLY_LOOKED_AT = {f"flangewise.shop.{name}" for name in ("copying", "listing", "remembered", "schemas")}
NO_PANELS = {"flangewise.drawn", *(f"flangewise.part.{name}" for name in ("panel_file", "panel_part", "read_panel"))}
NO_SIMULATOR = {
    *NEVER,
    *ONLY_LOOKED_AT,
    *(f"flangewise.{name}" for name in ("replay", "tryout", "drawing", "sheet")),
}
# A run, and what it does not need: modules, or whole rooms and libraries.
LIGHT_RUNS = {
    "bend": (["bend", "--material", "DC01", "--thickness", "2", "--turn", "90"], NO_BODIES | ONLY_LOOKED_AT),
    "shop list": (["shop", "list", "materials"], NO_BODIES),
    "schema": (["schema", "part"], NO_BODIES),
    "plan": (["plan", "{part}"], NO_SIMULATOR | NO_PANELS | {"flangewise.punch_die.answers"}),
    "check": (["check", "{part}", "--format", "json"], NO_SIMULATOR | {"flangewise.punch_die.answers"}),
    "flat": (["flat", "{part}"], NO_SIMULATOR | {"flangewise.punch_die.answers"}),
}


@pytest.mark.parametrize(("arguments", "unneeded"), LIGHT_RUNS.values(), ids=LIGHT_RUNS)
def test_a_command_loads_only_what_it_uses(arguments: list[str], unneeded: set[str], folder: Path) -> None:
    loaded = _loaded(*(each.format(part=folder / "part.yaml") for each in arguments))
    assert "flangewise.shop" in loaded
    assert {name for name in loaded if any(name == each or name.startswith(f"{each}.") for each in unneeded)} == set()


def test_a_process_gets_no_threads_and_no_plugins_ready_unless_told(folder: Path) -> None:
    code = "import atexit, os; from flangewise.commands import QUICK_START, main;"
    code += "atexit.register(lambda: print([os.environ[name] for name in QUICK_START])); main(['--version'])"
    own = dict.fromkeys(QUICK_START, "2")
    asked = {"with nothing said": dict.fromkeys(QUICK_START), "with the user's own": own}
    told = {name: _python(code, folder, **world).stdout.splitlines()[-1] for name, world in asked.items()}
    assert told == {"with nothing said": "['1', 'true']", "with the user's own": "['2', '2']"}


BAD_RUNS: dict[str, list[str]] = {
    "no such command": ["bent"],
    "no such option": ["bend", "--thick", "2"],
    "no such material": ["bend", "--material", "DC99", "--thickness", "2", "--turn", "90"],
    "no number": ["bend", "--material", "DC01", "--thickness", "two", "--turn", "90"],
    "not finite": ["bend", "--material", "DC01", "--thickness", "nan", "--turn", "90"],
    "absurd": ["bend", "--material", "DC01", "--thickness", "1e300", "--turn", "90"],
    "beyond a fold": ["bend", "--material", "DC01", "--thickness", "2", "--turn", "181"],
    "two angles": ["bend", "--material", "DC01", "--thickness", "2", "--turn", "90", "--included", "90"],
    "no such file": ["check", "nowhere.yaml"],
    "binary": ["check", "binary.yaml"],
    "a folder without parts": ["flat", "empty"],
    "no such shop": ["--shop", "nowhere", "check", "part.yaml"],
    "no such table": ["shop", "list", "hammers"],
    "not a plan": ["plan", "part.yaml", "--replay", "binary.yaml"],
    "no such bend": ["tryout", "part.yaml", "--turn", "9=90"],
}

PART = """part: foot
material: DC01
thickness: 2
section: {length: 100, legs: [30, 40], bends: [90]}
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "empty").mkdir()
    (tmp_path / "binary.yaml").write_bytes(bytes(range(256)))
    (tmp_path / "part.yaml").write_text(PART, encoding="utf-8")
    return tmp_path


# All of them one after the other in one process, which a fresh one each would only make slow: a line of JSON each.
RUN_ALL = """
import contextlib, io, json, sys
from flangewise.commands import run
for arguments in json.loads(sys.argv[1]):
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = run(arguments)
    print(json.dumps([status, out.getvalue(), err.getvalue()]))
"""


def test_bad_runs_end_in_words_and_status_2(folder: Path) -> None:
    command = [sys.executable, "-c", RUN_ALL, json.dumps(list(BAD_RUNS.values()))]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=60, check=True)
    for name, line in zip(BAD_RUNS, done.stdout.splitlines(), strict=True):
        status, out, err = json.loads(line)
        assert (status, out) == (2, ""), (name, err)
        assert err.strip(), name
        assert "Traceback" not in err and "fault of the program" not in err, name


@pytest.mark.parametrize("name", ["no such material", "no such file"])
def test_a_bad_run_does_so_as_a_process_of_its_own(name: str, folder: Path) -> None:
    told = _run(BAD_RUNS[name], folder)
    assert (told.returncode, told.stdout) == (2, "")
    assert told.stderr.strip() and "Traceback" not in told.stderr


def test_a_closed_pipe_ends_quietly() -> None:
    command = f"{sys.executable} -m flangewise shop list punches --format json | head -c 1"
    done = subprocess.run(command, shell=True, capture_output=True, text=True, timeout=60, check=False)
    assert (done.stdout, done.stderr) == ("{", "")


def test_the_guard_hides_a_traceback_and_the_debug_word_shows_it(folder: Path) -> None:
    """The last guard tells a fault of the program in one line; whoever works on it asks for the traceback."""
    breaking = "from flangewise import commands; commands.cli.main = lambda **_: 1 / 0; commands.main(['--help'])"
    quiet = _python(breaking, folder)
    assert quiet.returncode == 2
    assert "ZeroDivisionError" in quiet.stderr and "Traceback" not in quiet.stderr
    assert len(quiet.stderr.splitlines()) == 1
    assert "Traceback" in _python(breaking, folder, FLANGEWISE_DEBUG="1").stderr


def _run(arguments: list[str], folder: Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "flangewise", *arguments]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=60, check=False)


def _python(code: str, folder: Path, **more: str | None) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", code]
    world = {name: value for name, value in {**os.environ, **more}.items() if value is not None}
    return subprocess.run(command, cwd=folder, env=world, capture_output=True, text=True, timeout=60, check=False)
