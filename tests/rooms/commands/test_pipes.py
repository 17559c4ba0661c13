"""The README's one-liners, run as they stand there, on two parts and a refused one; and the manual page."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from flangewise.commands import COMMANDS, run

ROOT = Path(__file__).parents[3]
BLOCK = re.compile(r"<!-- run in a shell -->\n```sh\n(.*?)```", re.DOTALL)
LINES = [line for line in BLOCK.findall((ROOT / "README.md").read_text())[0].splitlines() if not line.startswith("#")]


@pytest.fixture(scope="module")
def shop_floor(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with examples, a printer that only notes what it is given, and the command itself."""
    folder = tmp_path_factory.mktemp("pipes")
    for kind, name in (("parts", "zed"), ("parts", "angle"), ("refused", "too-strong")):
        place = folder / "examples" / kind
        place.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / "examples" / kind / f"{name}.yaml", place)
    tools = folder / "bin"
    tools.mkdir()
    (tools / "lp").write_text('#!/bin/sh\necho "$@" >> printed.txt\n')
    (tools / "flangewise").write_text(f'#!/bin/sh\nexec {sys.executable} -m flangewise "$@"\n')
    for tool in tools.iterdir():
        tool.chmod(0o755)
    return folder


def shell(line: str, folder: Path) -> subprocess.CompletedProcess[str]:
    world = {**os.environ, "PATH": f"{folder / 'bin'}:{os.environ['PATH']}"}
    return subprocess.run(["bash", "-o", "pipefail", "-c", line], cwd=folder, env=world, capture_output=True, text=True)


@pytest.mark.skipif(shutil.which("jq") is None, reason="jq is not installed")
def test_every_line_does_what_it_says(shop_floor: Path) -> None:
    ran = [shell(line, shop_floor) for line in LINES]
    assert [each.returncode for each in ran] == [0, 1, 0, 0, 0, 0, 0], [each.stderr for each in ran]
    seconds, refused, _, _, _, cost, changed = (each.stdout.splitlines() for each in ran)
    assert [line.split("\t")[0] for line in seconds] == ["mast-angle", "rain-gauge-foot"]
    assert refused == ["pole-shoe"]
    assert sorted(each.name for each in (shop_floor / "blanks").iterdir()) == ["mast-angle.dxf", "rain-gauge-foot.dxf"]
    assert (shop_floor / "printed.txt").read_text().endswith("sheets/rain-gauge-foot.pdf\n")
    # The set-up is shared by more parts.
    assert float(cost[0]) < float(seconds[1].split("\t")[2])
    assert changed[0] == "rain-gauge-foot" and any(line.startswith("job") for line in changed)


def test_a_shell_completes_commands_and_options(shop_floor: Path) -> None:
    asked = "COMP_WORDS='flangewise plan --si' COMP_CWORD=2 _FLANGEWISE_COMPLETE=bash_complete flangewise"
    assert shell(asked, shop_floor).stdout.split() == ["plain,--since"]
    for kind in ("bash", "zsh", "fish"):
        source = shell(f"_FLANGEWISE_COMPLETE={kind}_source flangewise", shop_floor)
        assert source.returncode == 0 and "flangewise" in source.stdout


def test_the_manual_page_names_every_command_and_option(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["manual"]) == 0
    page = capsys.readouterr().out
    sections = re.findall(r"^\.SS (\w+)", page, re.MULTILINE)
    assert list(dict.fromkeys(name for name in sections if name in COMMANDS)) == list(COMMANDS)
    for name in COMMANDS:
        run([name, "--help"])
        options = set(re.findall(r"--[a-z-]+", capsys.readouterr().out)) - {"--help"}
        missing = [each for each in options if each.replace("-", "\\-") not in page]
        assert not missing, (name, missing)
    assert not re.search(r"^[.'](?!TH|SH|SS|B |TP|PP)", page, re.MULTILINE)


@pytest.mark.skipif(shutil.which("groff") is None, reason="groff is not installed")
def test_the_manual_page_is_set_without_a_warning(capsys: pytest.CaptureFixture[str]) -> None:
    run(["manual"])
    page = capsys.readouterr().out
    told = subprocess.run(
        ["groff", "-man", "-Tascii", "-P-c", "-P-u", "-P-b", "-ww"], input=page, capture_output=True, text=True
    )
    assert (told.returncode, told.stderr) == (0, "")
    assert "EXIT" in told.stdout
