"""Many parts on several processes tell what one process tells, in the same order."""

from pathlib import Path

import pytest

from ...how_many import one_in
from .test_sheet import REFUSED, ZED, run, write

PANEL = Path(__file__).parents[3] / "examples" / "panels" / "collector-pan.yaml"


@pytest.fixture(scope="module")
def parts(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("run") / "parts"
    for name, length in (("a", 120), ("b", 90), ("c", 90)):
        write(folder, name, ZED.replace("120", str(length)))
    write(folder, "refused", REFUSED)
    (folder / "wrong.yaml").write_text("part: [\n")
    (folder / "z-pan.yaml").write_text(PANEL.read_text(encoding="utf-8"))
    return folder


@pytest.mark.parametrize(
    "asked",
    [
        ("flat", "--format", "csv", "--columns", "part,mass_kg,size_mm", "--totals"),
        ("flat",),
        ("check", "--format", "json"),
        ("plan", "--format", "keys"),
        ("plan",),
        ("plan", "--format", "json"),
        ("estimate", "--format", "csv", "--machine", "bench-310"),
        ("plan", "--cell"),
        ("check",),
    ][:: one_in(2)],
)
def test_several_processes_tell_what_one_tells(parts: Path, asked: tuple[str, ...]) -> None:
    one, three = (run(asked[0], parts, *asked[1:], "--jobs", jobs) for jobs in (1, 3))
    assert one[1] and one[2]
    assert three == one


def test_files_are_the_same_on_several_processes(parts: Path, tmp_path: Path) -> None:
    for jobs in (1, 3):
        run("--quiet", "flat", parts, "--dxf", tmp_path / str(jobs), "--jobs", jobs)
        run("--quiet", "plan", parts / "a.yaml", parts / "b.yaml", "--draw", tmp_path / str(jobs), "--jobs", jobs)
    one, three = ({file.name: file.read_bytes() for file in (tmp_path / jobs).iterdir()} for jobs in ("1", "3"))
    assert {"a.dxf", "rain-gauge-collector-pan.dxf", "b.step-2.svg"} <= set(one)
    assert three == one


def test_changes_are_told_the_same_on_several_processes(parts: Path, tmp_path: Path) -> None:
    old = tmp_path / "old"
    for name in ("a", "b"):
        write(old, name, ZED.replace("120", "100").replace("60", "61"))
    files = (parts / "a.yaml", parts / "b.yaml")
    one, two = (run("--quiet", "plan", *files, "--since", old, "--jobs", jobs) for jobs in (1, 2))
    assert one[0] == 3 and one[1].count("\n") > 4
    assert two == one
