"""`queue`: the jobs of a folder in order, what it saves, where stations stand, and which day a job ends."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest

from flangewise.commands import run

Capture = pytest.CaptureFixture[str]
EXAMPLES = Path(__file__).parents[3] / "examples" / "parts"
# Two angles of one die and one zed between them, whose tools are others.
PART = """part: {name}
material: DC01
thickness: {thickness}
quantity: 60
machine: bench-310
{more}section: {{length: 110, legs: [40, 40], bends: [{{turn: 90, punch: {punch}, die: {die}}}]}}
"""
OTHER = {"punch": "round-nose-10", "die": "vee-40-78", "thickness": 4}
SAME = {"punch": "straight-88", "die": "vee-10-86", "thickness": 1.5}


def told(capsys: Capture, *args: object) -> tuple[int, str, str]:
    status = run([str(each) for each in args])
    out, err = capsys.readouterr()
    return status, out, err


def folder_of(tmp_path: Path, **jobs: dict[str, Any]) -> Path:
    for name, own in jobs.items():
        given = {**SAME, "more": "", **own}
        (tmp_path / f"{name}.yaml").write_text(PART.format(name=name, **given))
    return tmp_path


def record_of(capsys: Capture, *args: object) -> dict[str, Any]:
    status, out, err = told(capsys, "queue", *args, "--format", "json")
    assert status == 0, err
    return json.loads(out)  # type: ignore[no-any-return]


def test_what_stands_shortens_the_next_set_up(tmp_path: Path, capsys: Capture) -> None:
    """bench-310: 900 s a set-up, 90 s a tool. Both stations stand beside each other: 3 x 900 + 4 x 90 s = 51 min."""
    queue = record_of(capsys, folder_of(tmp_path, a={}, b=OTHER, c={}))
    assert (queue["set_up_min"], queue["given_min"], queue["alone_min"]) == (51.0, 51.0, 54.0)
    assert queue["proven_least"] is True and queue["lower_bound_min"] == 51.0 and queue["saved_min"] == 0
    assert [job["part"] for job in queue["jobs"]] == ["a", "b", "c"]
    (layout,) = queue["layouts"]
    assert [(each["station"], each["jobs"]) for each in layout["stations"]] == [("A", ["a", "c"]), ("B", ["b"])]
    assert sum(job["set_up_min"] for job in queue["jobs"]) == pytest.approx(51.0)


def test_each_job_is_set_up_as_its_own_plan_is(tmp_path: Path, capsys: Capture) -> None:
    folder = folder_of(tmp_path, a={}, b=OTHER, c={}, d=OTHER)
    queue = record_of(capsys, folder)
    assert len(queue["jobs"]) == 4
    for job in queue["jobs"]:
        plan = json.loads(told(capsys, "plan", folder / f"{job['part']}.yaml", "--format", "json")[1])
        assert job["alone_min"] * 60 == pytest.approx(plan["totals"]["set_up_s"])
        (use,) = job["stations"]
        stations = queue["layouts"][job["layout"] - 1]["stations"]
        station = next(each for each in stations if each["station"] == use["station"])
        # The figure at the letter moves the sheet's place to where the station stands.
        assert plan["steps"][0]["stations"][0]["from_mm"] + use["moved_mm"] == pytest.approx(station["from_mm"])


def test_due_days_keep_their_order_and_the_late_are_told(tmp_path: Path, capsys: Capture) -> None:
    folder = folder_of(
        tmp_path, a={"more": "due: 2026-12-02\n"}, b={**OTHER, "more": "due: 2026-11-30\n"}, c={"more": ""}
    )
    status, out, err = told(capsys, "queue", folder, "--from", "2026-11-30", "--hours", "0.1", "--format", "json")
    assert status == 0, err
    queue = json.loads(out)
    dated = [job for job in queue["jobs"] if job["due"]]
    assert [job["part"] for job in dated] == ["b", "a"] and [job["late"] for job in dated] == [True, True]
    text = told(capsys, "queue", folder, "--from", "2026-11-30", "--hours", "0.1")
    assert "2 late, as early as it can be" in text[1] and "b: it is due 2026-11-30" in text[2]
    in_time = told(capsys, "queue", folder, "--from", "2026-11-30", "--hours", "8,8,8,8,6,0,0")
    assert "none late" in in_time[1]
    assert all(len(line) <= 80 for line in (text[1] + in_time[1]).splitlines())


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (("--from", "2026-11-30"), "says nothing without --hours"),
        (("--from", "monday", "--hours", "8"), "is no date"),
        (("--from", "2026-11-30", "--hours", "25"), "are no hours"),
        (("--from", "2026-11-30", "--hours", "0,0,0,0,0,0,0"), "are no hours"),
    ],
)
def test_days_that_make_no_sense_are_told(capsys: Capture, args: tuple[str, ...], says: str) -> None:
    status, out, err = told(capsys, "queue", EXAMPLES / "zed.yaml", *args)
    assert status == 2 and says in err and not out


def test_a_part_without_a_plan_is_left_out_and_said(tmp_path: Path, capsys: Capture) -> None:
    folder = folder_of(tmp_path, a={}, b={"thickness": 12})
    status, out, err = told(capsys, "queue", folder, "--format", "csv")
    assert status == 1 and "b: left out, it cannot be bent" in err
    rows = list(csv.DictReader(io.StringIO(out)))
    assert [row["part"] for row in rows] == ["a"] and rows[0]["set_up_min"] == "18.0"


@pytest.mark.parametrize("lang", ["en", "de", pytest.param("es", marks=pytest.mark.anew)])
def test_the_page_is_one_and_the_same_each_time(tmp_path: Path, capsys: Capture, lang: str) -> None:
    folder = folder_of(tmp_path / "", a={}, b=OTHER, c={"more": "due: 2026-12-02\n"})
    pages = []
    for name in ("one.pdf", "other.pdf"):
        status, _, err = told(capsys, "queue", folder, "-o", tmp_path / name, "--lang", lang, "--paper", "letter")
        assert status == 0, err
        pages.append((tmp_path / name).read_bytes())
    assert pages[0] == pages[1] and pages[0].startswith(b"%PDF")


def test_panels_wait_in_the_same_queue(tmp_path: Path, capsys: Capture) -> None:
    """Rows of a panel are exact; set-ups that follow each other on the bed are layouts of their own."""
    panels = [EXAMPLES.parent / "panels" / f"{name}.yaml" for name in ("dust-hopper", "mast-bracket")]
    queue = record_of(capsys, folder_of(tmp_path, a={}), *panels)
    assert len(queue["jobs"]) == 3
    for job in queue["jobs"]:
        file = next((each for each in panels if each.stem in job["part"].replace("-feed", "")), tmp_path / "a.yaml")
        plan = json.loads(told(capsys, "plan", file, "--format", "json")[1])
        assert job["alone_min"] * 60 == pytest.approx(plan["totals"]["set_up_s"])
        assert job["changes_inside"] == (plan["totals"]["tool_changes"] > 0)
    hopper = next(job for job in queue["jobs"] if job["part"] == "dust-feed-hopper")
    assert len(hopper["stations"]) == 2 and len(queue["layouts"]) >= hopper["layout"] + 1
