"""Where things stand: the top level, the rooms, one test file a module."""

from __future__ import annotations

import subprocess

import pytest

from .source_tree import PACKAGE, REPOSITORY, modules
from .test_imports import LAW

TOP = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "src", "tests", "examples", "shared"}
TESTS = {"bench", "brute", "hard", "house", "laws", "mistakes", "pages", "parts", "published", "rim", "rooms"}
# Data that a room reads, beside its modules.
DATA = {".yaml", ".txt", ".html", ".css", ".js", ".j2", ".csv", ".typed"}


def _in_git() -> list[str]:
    command = ["git", "ls-files", "--cached", "--others", "--exclude-standard"]
    done = subprocess.run(command, cwd=REPOSITORY, capture_output=True, text=True, timeout=60, check=True)
    return done.stdout.splitlines()


def test_the_top_level_is_as_the_guide_says() -> None:
    if not (REPOSITORY / ".git").exists():
        pytest.fail("a checkout is wanted: the list of files is git's")
    tops = {name.split("/")[0] for name in _in_git()}
    assert {name for name in tops if not name.startswith(".")} == TOP


def test_the_folders_of_tests_are_as_the_guide_says() -> None:
    folders = {name.split("/")[1] for name in _in_git() if name.startswith("tests/") and name.count("/") > 1}
    assert folders <= TESTS
    assert {"bench", "house", "laws", "published", "rooms"} <= folders


def test_a_room_is_a_folder_with_a_front_door() -> None:
    below = [path for path in PACKAGE.iterdir() if path.is_dir() and path.name[0] not in "._"]
    folders = {path.name for path in below} - {"catalogue"}
    assert folders <= set(LAW)
    assert all((PACKAGE / name / "__init__.py").is_file() for name in folders)


def test_the_package_holds_code_and_the_data_its_rooms_read() -> None:
    names = [name for name in _in_git() if name.startswith("src/")]
    assert len(names) > 80
    assert {"." + name.rsplit(".", 1)[-1] for name in names} <= {".py", *DATA}


def test_the_work_reads_in_the_alphabet_in_the_order_of_the_work() -> None:
    flow = ["part", "pattern", "punch_die", "sequence", "setup", "sheet"]
    assert flow == sorted(flow)
    assert [room for room in LAW if room in flow] == flow


def test_every_room_has_tests_of_its_own() -> None:
    rooms = {module.room for module in modules() if "." in module.name}
    tested = {path.parent.name for path in (REPOSITORY / "tests" / "rooms").glob("*/test_*.py")}
    assert rooms <= tested
