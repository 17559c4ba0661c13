"""`flat` tells the blank that `plan` bends: that of the tools of the least plan, whatever was asked before it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from tests.brute.parts import drawn, judged_shop
from tests.how_many import one_in

from flangewise.commands import run
from flangewise.faults import Unusable
from flangewise.shop import load_shop

SEEDS = range(0, 120, one_in(30))


def _told(capsys: pytest.CaptureFixture[str], *arguments: str) -> dict[str, Any]:
    run(["--quiet", *arguments, "--format", "json"])
    return {told["part"]: told for told in map(json.loads, capsys.readouterr().out.splitlines())}


def test_of_parts_near_their_limits_flat_tells_the_blank_of_the_plan(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """In one run, one part after another; the plans in the other order, each part longer and shorter beside it."""
    shop, files = judged_shop(load_shop()), []
    for seed in SEEDS:
        try:
            text = drawn(seed, shop).text
        except Unusable:
            continue
        name = text.split("part: ")[1].split("\n")[0]
        length = text.split("length: ")[1].split("\n")[0].rstrip(",")
        for more_mm in (0, 130):
            file = tmp_path / f"part-{seed}-{more_mm}.yaml"
            own = text.replace(f"part: {name}", f"part: {file.stem}")
            file.write_text(own.replace(f"length: {length}", f"length: {float(length) + more_mm:g}"))
            files.append(str(file))
    flat, plan = _told(capsys, "flat", *files), _told(capsys, "plan", *reversed(files))
    assert len(flat) == len(files) > 5 and sum(told["feasible"] is True for told in plan.values()) > 2
    for name, told in plan.items():
        assert flat[name]["blank"] == {key: told["blank"][key] for key in flat[name]["blank"]}, name
