"""How long may be searched, what is told when that is over or somebody interrupts, and what is seen meanwhile."""

from __future__ import annotations

import json
import math
import signal
from pathlib import Path
from typing import Any

import pytest

from flangewise.commands import Settings, plan as plan_command, run
from flangewise.commands.looking_on import AGAIN_S, Patience, SearchLine
from flangewise.jobs import Job, work_out
from flangewise.part import Part
from flangewise.sequence import UNLIMITED, Watch
from flangewise.shop import Shop

from .made import CHANNEL, TOY, joined

Capture = pytest.CaptureFixture[str]

AT_ONCE = "0.000001"


def planned(file: Path, *arguments: str) -> int:
    return run(["--shop", str(TOY), "plan", str(file), *arguments])


def test_out_of_time_the_best_plan_so_far_is_told_with_its_gap(file: Path, capsys: Capture) -> None:
    assert planned(file, "--format", "json") == 0
    least = json.loads(capsys.readouterr().out)
    assert planned(file, "--format", "json", "--seconds", AT_ONCE) == 0
    cut = json.loads(capsys.readouterr().out)
    assert least["proven_least"] is True and cut["proven_least"] is False and cut["feasible"] is True
    assert cut["lower_bound"] <= least["cost"] <= cut["cost"] + 1e-6
    assert planned(file, "--seconds", AT_ONCE) == 0
    (order,) = [line for line in joined(capsys.readouterr().out).splitlines() if line.startswith("order")]
    gap, share = cut["cost"] - cut["lower_bound"], 100 * (1 - cut["lower_bound"] / cut["cost"])
    told = order.partition("a gap of ")[2].removesuffix(" %").split(" s, ")
    assert [float(each) for each in told] == pytest.approx([gap, share], abs=0.051)


def test_out_of_time_nothing_is_called_impossible(file: Path, capsys: Capture) -> None:
    # A channel of two bends is proven impossible in no time; one bend more takes some.
    file.write_text(CHANNEL.replace("20, 60, 20", "52, 60, 52, 60").replace("[90, 90]", "[90, 90, 90]"))
    assert planned(file) == 1
    assert "there is none, proven" in capsys.readouterr().out
    assert planned(file, "--seconds", AT_ONCE) == 0
    captured = capsys.readouterr()
    assert "none found, and not proven that there is none" in captured.out
    assert "no order was found in the time allowed" in captured.err and "refuse" not in captured.err


@pytest.mark.parametrize("seconds", ["0", "-1", "soon", "nan", "inf"])
def test_seconds_that_are_none_are_a_fault(file: Path, capsys: Capture, seconds: str) -> None:
    assert planned(file, "--seconds", seconds) == 2
    assert "command line: --seconds:" in capsys.readouterr().err


def test_sheets_are_made_from_the_best_plan_so_far(file: Path, tmp_path: Path, capsys: Capture) -> None:
    status = run(["--shop", str(TOY), "sheet", str(file), "-o", str(tmp_path), "--html", "--seconds", AT_ONCE])
    assert status == 0 and (tmp_path / "channel.html").exists()
    capsys.readouterr()


def interrupted(monkeypatch: pytest.MonkeyPatch, *, times: int) -> None:
    """As if somebody had pressed the keys while the part is worked out."""

    def work(part: Part, shop: Shop, watch: Watch) -> Job:
        for _ in range(times):
            signal.raise_signal(signal.SIGINT)
        return work_out(part, shop, watch)

    monkeypatch.setattr(plan_command, "work_out", work)


def test_an_interrupt_gives_the_best_so_far(file: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch) -> None:
    interrupted(monkeypatch, times=1)
    before = signal.getsignal(signal.SIGINT)
    assert planned(file, "--format", "json") == 0
    told = json.loads(capsys.readouterr().out)
    assert told["feasible"] is True and told["proven_least"] is False and told["lower_bound"] < told["cost"]
    assert signal.getsignal(signal.SIGINT) is before


def test_a_second_interrupt_ends_at_once(file: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch) -> None:
    interrupted(monkeypatch, times=2)
    assert planned(file) == 130
    captured = capsys.readouterr()
    assert captured.out == "" and captured.err.strip() == "interrupted"


def test_after_an_interrupt_no_further_part_is_begun(
    file: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = file.with_name("z.yaml")
    other.write_text(CHANNEL.replace("part: channel", "part: second"))
    interrupted(monkeypatch, times=1)
    assert planned(file.parent, "--format", "json") == 130
    assert [json.loads(line)["part"] for line in capsys.readouterr().out.splitlines()] == ["channel"]


class Clock:
    """A clock that goes on by a step each time it is looked at."""

    def __init__(self, step_s: float) -> None:
        self.now_s, self.step_s = 0.0, step_s

    def __call__(self) -> float:
        self.now_s += self.step_s
        return self.now_s


def test_what_is_searched_stands_in_one_line(capsys: Capture) -> None:
    line = SearchLine(shown=True, clock=Clock(AGAIN_S))
    line.tell(machine="bench")
    line.tell(blank=2, best_s=61.3, bound_s=58.0)
    line.clear()
    drawn = capsys.readouterr().err.split("\r")
    long = "searching on bench, blank 2, best so far 61.3 s, nothing below 58 s"
    assert drawn[1:3] == ["searching on bench", long] and drawn[3].strip() == ""
    assert "\n" not in "".join(drawn)


def test_another_machine_begins_with_its_own_blanks(capsys: Capture) -> None:
    line = SearchLine(shown=True, clock=Clock(AGAIN_S))
    line.tell(machine="bench", blank=7, best_s=math.inf)
    line.tell(machine="long")
    assert capsys.readouterr().err.split("\r")[-1].startswith("searching on long")


def test_no_line_stands_where_results_are_written(capsys: Capture, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Settings, "is_watched", True)
    patience = Patience(60.0, Settings(None, "mm", quiet=False), clock=Clock(AGAIN_S))
    with patience.watch() as watch:
        watch.tell(machine="bench")
        patience.unseen(watch).tell(machine="long")
        drawn = capsys.readouterr().err
    assert "searching on bench" in drawn and drawn.endswith(" \r") and "long" not in drawn


def test_nothing_is_drawn_where_nobody_looks_on(file: Path, capsys: Capture) -> None:
    line = SearchLine(shown=False, clock=Clock(AGAIN_S))
    line.tell(machine="bench")
    line.clear()
    assert capsys.readouterr().err == ""
    assert planned(file) == 0
    assert "\r" not in capsys.readouterr().err


def test_whoever_looks_on_is_told_the_machine_and_the_best_so_far() -> None:
    from flangewise.part import read_part
    from flangewise.shop import load_shop

    told: list[dict[str, Any]] = []
    work_out(read_part(CHANNEL, "p.yaml", load_shop(TOY)), load_shop(TOY), Watch(tell=lambda **each: told.append(each)))
    assert {"machine": "toy"} in told


def test_a_share_of_the_time_left() -> None:
    """Of the processor's time: a share is not over sooner where something else has the machine, the whole is."""
    now = {"clock": 20.0, "work": 5.0}
    watch = Watch(until=60.0, clock=lambda: now["clock"], worked_s=lambda: now["work"])
    share = watch.share(0.25)
    assert share.most_worked_s == 15.0 and not watch.over()
    now |= {"clock": 50.0, "work": 14.0}
    assert not share.over() and share.share(0.5).most_worked_s == 14.5
    now["work"] = 15.1
    assert share.over() and not watch.over()
    now["clock"] = 61.0
    assert watch.over() and watch.share(0.5).over()
    assert UNLIMITED.share(0.5) == UNLIMITED and not UNLIMITED.over()
