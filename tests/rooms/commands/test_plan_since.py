"""`plan --since`: what changed at the machine between two revisions, and nothing else."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest

from flangewise.commands import run

from .made import CHANNEL, TOY

Capture = pytest.CaptureFixture[str]
ZED = CHANNEL.replace("channel", "zed").replace("[20, 60, 20]", "[30, 40, 30]").replace("90, 90", "90, -90")
ZED = ZED.replace("material:", "revision: A\nmaterial:")


def told(capsys: Capture, *args: object) -> tuple[int, str, str]:
    status = run(["--shop", str(TOY), *map(str, args)])
    out, err = capsys.readouterr()
    return status, out, err


@pytest.fixture
def old(tmp_path: Path, capsys: Capture) -> Path:
    part, plan = tmp_path / "old.yaml", tmp_path / "old.json"
    part.write_text(ZED)
    status, out, err = told(capsys, "plan", part, "--format", "json")
    assert status == 0, err
    plan.write_text(out)
    return plan


def since(capsys: Capture, old: Path, text: str) -> tuple[int, dict[tuple[str, str], tuple[Any, Any]]]:
    part = old.with_name("new.yaml")
    part.write_text(text)
    status, out, _ = told(capsys, "plan", part, "--since", old, "--format", "json")
    found = json.loads(out)["changes"]
    return status, {(each["where"], each["what"]): (each["before"], each["after"]) for each in found}


def test_the_same_part_has_not_changed(old: Path, capsys: Capture) -> None:
    assert since(capsys, old, ZED) == (0, {})
    status, out, _ = told(capsys, "plan", old.with_name("old.yaml"), "--since", old)
    assert (status, out) == (0, "zed: nothing changed that matters at the machine\n")


def test_a_longer_leg_moves_the_stop_by_as_much_and_a_revision_is_told(old: Path, capsys: Capture) -> None:
    status, found = since(capsys, old, ZED.replace("[30, 40", "[32.5, 40").replace("revision: A", "revision: B"))
    assert status == 3
    assert found.pop(("job", "job_card.revision")) == ("A", "B")
    was, now = found.pop(("job", "blank.developed_mm"))
    assert now - was == pytest.approx(2.5)
    was, now = found.pop(("bend 1", "stops.x_mm"))
    assert now - was == pytest.approx(2.5)
    assert {what for _, what in found} <= {"stops.x_mm"}


def test_another_order_is_told_as_one_and_its_steps_by_their_bends(old: Path, capsys: Capture) -> None:
    steps = json.loads(old.read_text())["steps"]
    order = [bend for step in steps for bend in step["bends"]]
    asked = ZED + f"order: {order[::-1]}\n"
    status, found = since(capsys, old, asked)
    assert status == 3
    assert found["job", "order"] == (" ".join(map(str, order)), " ".join(map(str, order[::-1])))
    assert (found["bend 1", "step"], found["bend 2", "step"]) == ((order.index(1) + 1, 2 - order.index(1)),
                                                                (order.index(2) + 1, 2 - order.index(2)))  # fmt: skip
    assert ("bend 1", "force_kn") not in found


def test_a_part_file_of_before_is_planned_first(old: Path, capsys: Capture) -> None:
    new = old.with_name("new.yaml")
    new.write_text(ZED.replace("part: zed", "part: zed-b"))
    status, out, _ = told(capsys, "plan", new, "--since", old.with_name("old.yaml"), "--format", "csv")
    (row,) = csv.DictReader(io.StringIO(out))
    assert status == 3
    assert row == {"part": "zed-b", "where": "job", "what": "part", "before": "zed", "after": "zed-b"}


def test_of_many_plans_each_part_finds_its_own_and_one_that_has_none_is_new(old: Path, capsys: Capture) -> None:
    folder = old.parent / "parts"
    folder.mkdir()
    (folder / "a.yaml").write_text(ZED.replace("part: zed", "part: a"))
    (folder / "b.yaml").write_text(ZED.replace("part: zed", "part: b"))
    plans = old.with_name("both.json")
    plans.write_text(told(capsys, "plan", folder, "--format", "json")[1])
    (folder / "b.yaml").write_text(ZED.replace("part: zed", "part: b").replace("length: 100", "length: 120"))
    (folder / "c.yaml").write_text(ZED.replace("part: zed", "part: c"))
    status, out, _ = told(capsys, "plan", folder, "--since", plans, "--format", "json")
    by_part = {each["part"]: each["changes"] for each in map(json.loads, out.splitlines())}
    assert status == 3
    assert by_part["a"] == []
    assert by_part["c"] == [{"where": "job", "what": "part", "before": None, "after": "c"}]
    assert {"where": "job", "what": "blank.along_bends_mm", "before": 100.0, "after": 120.0} in by_part["b"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "old.json: plan: holds no plan"),
        ("{", "old.json:1:2: JSON:"),
        ("[]", "old.json:1: plan: has no part"),
        ('{"part": "zed", "steps": [{"bends": 3}]}', "old.json:1: plan: has no part, or no list of steps"),
        ('{"part": "zed", "steps": []}\n{"part": 3}', "old.json:2: plan: has no part"),
    ],
)
def test_what_is_no_plan_is_told_with_its_line(old: Path, text: str, said: str, capsys: Capture) -> None:
    old.write_text(text)
    status, out, err = told(capsys, "plan", old.with_name("old.yaml"), "--since", old)
    assert (status, out) == (2, "")
    assert said in err


def test_a_plan_edited_to_nonsense_is_compared_all_the_same(old: Path, capsys: Capture) -> None:
    plan = json.loads(old.read_text())
    plan["steps"][0] |= {"moves": ["x"], "stations": ["y", {"segments": 3}], "stops": 7, "depth_mm": "deep"}
    old.write_text(json.dumps(plan, indent=1))
    status, out, _ = told(capsys, "plan", old.with_name("old.yaml"), "--since", old)
    assert status == 3
    assert "deep" in out
