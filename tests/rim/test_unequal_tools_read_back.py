"""Tools of which punch and die are made of other segments, ratings and heights: none stands for the other."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
import yaml

from flangewise.drawing import svg
from flangewise.jobs import work_out
from flangewise.jobs.printed import printed
from flangewise.part import read_parts
from flangewise.sheet import Wording
from flangewise.sheet.bed_picture import bed_picture
from flangewise.shop import Shop, copy_shop, load_shop

from ..house.running import run
from .paper import boxed, middle, pictures_of, runs, the_picture, words_at
from .read_back import EXAMPLES, leaf_of, listed, numbers, said
from .test_sheet_read_back import limits_said

DIE_SEGMENTS, DIE_LOAD = {90: 6, 40: 4, 25: 4}, 777.0
"""What every die of the shop is made of and rated at here, in kN/m; punches stay as they are."""
MADE_OF = {"rain-gauge-gutter": [90.0, 90.0, 90.0, 90.0], "logger-lid": [90.0, 90.0, 40.0]}
"""The fewest of them that reach the part's length, 320 and 220, with the least overhang; by hand."""

STATIONS = {"rain-gauge-gutter": 1, "logger-lid": 3}


@dataclass(frozen=True)
class Told:
    """What one run says of the parts: the plan's records and CSV, the pages, and the picture of the bed."""

    plans: dict[str, dict[str, Any]]
    pages: dict[str, str]
    beds: dict[str, str]


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Told:
    """Two examples planned with such a shop, one with a single pair of tools and one with three beside each other."""
    there = tmp_path_factory.mktemp("unequal")
    copy_shop(there / "shop")
    dies = yaml.safe_load((there / "shop" / "dies.yaml").read_text(encoding="utf-8"))
    unequal = {name: {**row, "segments": dict(DIE_SEGMENTS), "load_kn_per_m": DIE_LOAD} for name, row in dies.items()}
    (there / "shop" / "dies.yaml").write_text(yaml.safe_dump(unequal), encoding="utf-8")
    ask = ("--quiet", "--shop", str(there / "shop"))
    parts = [str(EXAMPLES / f"{file}.yaml") for file in ("gutter", "hemmed-edge")]
    status, out, err = run(*ask, "plan", *parts, "--format", "json")
    assert status == 0, err
    status, _, err = run(*ask, "sheet", *parts, "-o", str(there / "sheets"), "--html")
    assert status == 0, err
    plans = {line["part"]: line for line in map(json.loads, out.splitlines())}
    assert {name: len({str(step["stations"]) for step in plan["steps"]}) for name, plan in plans.items()} == STATIONS
    pages = {name: (there / "sheets" / f"{name}.html").read_text(encoding="utf-8") for name in plans}
    return Told(
        plans, {name: leaf_of(page) for name, page in pages.items()}, dict(beds_drawn(parts, load_shop(there / "shop")))
    )


def beds_drawn(parts: list[str], shop: Shop) -> Iterator[tuple[str, str]]:
    """The picture of the bed by the part's name: the sheet has it where several stations leave it room."""
    for found in read_parts(parts, shop):
        assert found.part is not None
        sheet = printed(work_out(found.part, shop))
        drawing = bed_picture(sheet, Wording(sheet.machine), width_mm=178.0, height_mm=60.0)
        yield found.part.name, svg(drawing)


@pytest.mark.parametrize("name", MADE_OF)
def test_the_die_of_a_station_is_its_own(name: str, told: Told) -> None:
    """As long as its segments together, its middle the punch's, from the left end of the bed."""
    steps, long = told.plans[name]["steps"], sum(MADE_OF[name])
    assert steps
    for step in steps:
        (station,) = step["stations"]
        centre = (station["from_mm"] + station["to_mm"]) / 2
        assert sorted(map(float, station["die_segments"]), reverse=True) == MADE_OF[name]
        assert (station["die_from_mm"], station["die_to_mm"]) == pytest.approx((centre - long / 2, centre + long / 2))
        assert sorted(station["segments"]) != sorted(station["die_segments"])
        assert station["to_mm"] - station["from_mm"] == sum(map(float, station["segments"]))


@pytest.mark.parametrize("name", MADE_OF)
def test_the_sheet_builds_and_rates_each_tool_of_its_own(name: str, told: Told) -> None:
    page, steps = told.pages[name], told.plans[name]["steps"]
    punches = listed("punches")
    text = said(page)
    stations = list({str(step["stations"]): step for step in steps}.values())
    built = re.findall(r"punch ([\d +]+); die ([\d +]+)\.", text)
    assert [(numbers(punch), numbers(die)) for punch, die in built] == [
        (numbers(" ".join(step["stations"][0]["segments"])), numbers(" ".join(step["stations"][0]["die_segments"])))
        for step in stations
    ]
    limits = limits_said(page)
    rated = dict(re.findall(r"(\S+): [\d.]+ kN/m of ([\d.]+) kN/m", limits))
    for step in stations:
        if step["bend_to_deg"] is not None:
            assert float(rated[step["die"]]) == DIE_LOAD
            assert float(rated[step["punch"]]) == punches[step["punch"]]["load_kn_per_m"]


@pytest.mark.parametrize("name", MADE_OF)
def test_the_bed_is_drawn_with_each_tools_blocks_where_they_stand(name: str, told: Told) -> None:
    """The two rows of blocks, punch above and die below, on the bed's own scale; the words beside them say the same."""
    picture = the_picture(pictures_of(told.beds[name]), "The tools on the bed")
    blocks = [block for block in runs(picture, "0.5") if len(block) == 5]
    upper, lower = sorted({round(boxed(block)[1], 2) for block in blocks})
    stations = list({str(step["stations"]): step["stations"][0] for step in told.plans[name]["steps"]}.values())
    words = [(each, at) for each, at in words_at(picture) if re.search(r"\d", each)]
    scale = None
    for level, key, first in ((upper, "segments", "from_mm"), (lower, "die_segments", "die_from_mm")):
        row = sorted((block for block in blocks if round(boxed(block)[1], 2) == level), key=middle)
        wanted = [
            (station[first] + sum(lengths[:nth]), length)
            for station in sorted(stations, key=lambda each: each["from_mm"])
            for lengths in [numbers(" ".join(station[key]))]
            for nth, length in enumerate(lengths)
        ]
        assert len(row) == len(wanted)
        for block, (_, length) in zip(row, wanted, strict=True):
            wide = boxed(block)[2] - boxed(block)[0]
            scale = scale or wide / length
            assert wide == pytest.approx(length * scale, abs=0.03)
        for block, (start, _) in list(zip(row, wanted, strict=True))[1:]:
            ahead = boxed(block)[0] - boxed(row[0])[0]
            if len(stations) == 1:
                assert ahead == pytest.approx((start - wanted[0][0]) * scale, abs=0.03)
    for station in stations:
        punch, die = (" + ".join(station[key]) for key in ("segments", "die_segments"))
        assert any(each.endswith(f": {punch}") for each, _ in words)
        assert any(each == die for each, _ in words)
        between = [at for each, at in words if each == f"{station['from_mm']:.0f} – {station['to_mm']:.0f}"]
        ends = [at for end in ("from_mm", "to_mm") for each, at in words if each == f"{station[end]:.0f}"]
        assert len(between) == 1 or (len(ends) == 2 and ends[0][0] < ends[1][0])
    centre = next(each for each, _ in words if each.startswith("machine centre"))
    bed = listed("machines")[told.plans[name]["machine"]]["bed_length_mm"]
    assert numbers(centre) == [bed / 2]
