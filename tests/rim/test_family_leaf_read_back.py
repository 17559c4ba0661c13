"""The leaf of a family read back from its PDF: each size's figures, common or in the table, are its own plan's."""

from __future__ import annotations

import contextlib
import io
import json
from functools import cache
from pathlib import Path
from typing import Any

import pypdf
import pytest

from flangewise import commands

from ..how_many import one_in
from .job_read_out import FIGURES, LEAST, Figure, Reader
from .reading_order import Line, lines_of

RAIL = """part: rail
title: Rail <with> & sign
material: DC01
thickness: 2
quantity: 10
section:
  length: 300
  legs: [30, 60, 40]
  bends: [90, 90]
family: one-leaf
variants:
  - {part: rail-30}
  - {part: rail-32, section.legs.1: 32, section.length: 200, title: Short}
  - {part: rail-34, section.legs.1: 34, section.legs.2: 62, section.legs.3: 43, quantity: 7}
  - {part: rail-85, section.bends.1: {turn: 85}}
  - {part: long, section.length: 1200}
"""
WAYS = [("en", "mm", "a4"), ("de", "mm", "a4"), ("es", "inch", "letter")]
SIZES = ["rail-30", "rail-32", "rail-34", "rail-85"]
LABELS = {"depth_mm": "step.depth", "x_mm": "step.x", "r_mm": "step.r", "finished_deg": "step.finished"}
LABELS |= {"force_kn": "step.force", "open_height_mm": "step.open", "z_mm": "step.z"}


def out_of(*arguments: object) -> list[dict[str, Any]]:
    out = io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(io.StringIO()):
        commands.run([*map(str, arguments), "--format", "json"])
    return [json.loads(line) for line in out.getvalue().splitlines()]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("family")
    (place / "rail.yaml").write_text(RAIL, encoding="utf-8")
    return place


@cache
def made(folder: Path, lang: str, units: str, paper: str) -> dict[str, dict[str, Any]]:
    """The rows of a run, whose sheets lie in the folder named by the language."""
    options = ("-o", folder / lang, "--lang", lang, "--paper", paper)
    return {row["part"]: row for row in out_of("--units", units, "sheet", folder / "rail.yaml", *options)}


@pytest.fixture(scope="module")
def rows(folder: Path) -> dict[str, dict[str, Any]]:
    """The rows of the run in English."""
    return made(folder, *WAYS[0])


@cache
def lines_in(file: Path) -> list[Line]:
    """The lines of a sheet in reading order."""
    return lines_of(pypdf.PdfReader(file))


@pytest.fixture(scope="module")
def planned(folder: Path) -> dict[str, dict[str, Any]]:
    return {plan["part"]: plan for plan in out_of("plan", folder / "rail.yaml")}


def table_under(lines: list[Line], heading: str) -> dict[str, dict[str, str]]:
    """The cells of the tables under a heading, by size and label; {} where there is none."""
    found: dict[str, dict[str, str]] = {}
    for at, line in enumerate(lines):
        if line.kind == "H3" and line.words == heading:
            rest = lines[at + 1 :]
            labels = [each.words for each in rest[: next(i for i, each in enumerate(rest) if each.kind != "TH")]]
            cells = rest[len(labels) :]
            cells = cells[: next((i for i, each in enumerate(cells) if each.kind != "TD"), len(cells))]
            assert cells and len(cells) % len(labels) == 0
            for start in range(0, len(cells), len(labels)):
                name, *values = (each.words for each in cells[start : start + len(labels)])
                found.setdefault(name.replace("- ", "-"), {}).update(zip(labels[1:], values, strict=True))
    return found


def figures_of(reader: Reader, step: list[str], table: dict[str, str]) -> dict[str, list[Figure]]:
    """What a setter keys in at a step for one size: what stands at the step, or where that says so the table."""
    read = {"force_kn": reader.force, "finished_deg": reader.figure, "open_height_mm": reader.opening}
    found = {}
    for name, code in LABELS.items():
        told = reader.value(code, step)
        if told == reader.word("sizes.table"):
            told = table[reader.word(code)]
        else:
            assert reader.word(code) not in table, f"{name} stands twice"
        if name == "z_mm":
            found[name] = [reader.across(each) for each in told.split(" / ")]
        else:
            found[name] = [read.get(name, reader.length)(told)]
    return found


@pytest.mark.parametrize(("lang", "units", "paper"), WAYS[:: one_in(3)])
def test_every_figure_of_every_size_is_its_own_plan_s(
    lang: str, units: str, paper: str, folder: Path, planned: dict[str, dict[str, Any]]
) -> None:
    told = made(folder, lang, units, paper)
    on_leaf = [part for part, row in told.items() if row["leaf"] == "rail"]
    assert on_leaf == SIZES
    lines = lines_in(folder / lang / "rail.pdf")
    reader = Reader([line.words for line in lines], lang, units)
    record = next(at for at, line in enumerate(lines) if line.words == reader.word("section.first-piece"))
    heads = [at for at, line in enumerate(lines) if line.kind == "H3" and at < record]
    steps = [[line.words for line in lines[start:end]] for start, end in zip(heads, [*heads[1:], record], strict=True)]
    assert len(steps) == 2
    tabled = 0
    for part in on_leaf:
        assert [step["step"] for step in planned[part]["steps"]] == [1, 2]
        for plan, step in zip(planned[part]["steps"], steps, strict=True):
            table = table_under(lines, reader.word("sizes.step").format(step=plan["step"])).get(part, {})
            tabled += len(table)
            for name, figures in figures_of(reader, step, table).items():
                wanted = plan["stops"][name] if name in plan["stops"] else plan[name]
                wanted = wanted if isinstance(wanted, list) else [wanted]
                assert len(figures) == len(wanted), (part, name)
                for figure, value in zip(figures, wanted, strict=True):
                    assert abs(figure.value - value) <= figure.half + LEAST, (part, plan["step"], name, value)
    assert tabled == 4 * (6 + 3), "depth, X, Z, angle, force, opening of the first step, X, Z, force of the second"
    assert set(LABELS) - {"z_mm"} == set(FIGURES) - {"bend_to_deg"}


def test_blank_quantity_and_sizes_of_the_record_are_each_size_s_own(
    folder: Path, planned: dict[str, dict[str, Any]], rows: dict[str, dict[str, Any]]
) -> None:
    assert set(SIZES) < set(rows)
    lines = lines_in(folder / "en" / "rail.pdf")
    job, record = (
        table_under(lines, "Job"),
        table_under(lines, "First piece: nominal by size, below it room for the reading"),
    )
    assert {name: cells["quantity"] for name, cells in job.items()} == {
        "rail-30": "10", "rail-32": "10", "rail-34": "7", "rail-85": "10"
    }  # fmt: skip
    assert set(job) == set(record)
    for name, cells in job.items():
        blank = planned[name]["blank"]
        along, across = map(float, cells["along × across bends"].split(" × "))
        assert along == blank["along_bends_mm"]
        assert across == pytest.approx(blank["developed_mm"], abs=0.005 + LEAST)
    assert record["rail-34"] == {"A": "90.0°", "B": "90.0°", "L1": "34", "L2": "62", "L3": "43"}
    assert record["rail-85"] == {"A": "95.0°", "B": "90.0°", "L1": "30", "L2": "60", "L3": "40"}


def test_where_the_tools_of_each_size_stand_is_said_beside_them(
    folder: Path, planned: dict[str, dict[str, Any]], rows: dict[str, dict[str, Any]]
) -> None:
    assert set(SIZES) < set(rows)
    lines = [line.words for line in lines_in(folder / "en" / "rail.pdf")]
    reader = Reader(lines, "en", "mm")
    beside = lines[lines.index("Tools to collect") : lines.index("Order")]
    named = [each.partition(": From ")[::2] for each in beside if ": From " in each and each.startswith("rail-")]
    told = {name: f"From {words}" for names, words in named for name in names.split(", ")}
    common = [each for each in beside if each.startswith("From ")]
    assert len({*told.values()}) > 1 and set(told) | (set(SIZES) if common else set()) == set(SIZES)
    for name in SIZES:
        found = reader.told("tool.station", told.get(name, *common))
        (station,) = planned[name]["steps"][0]["stations"]
        assert found is not None
        assert [float(found["start"]), float(found["end"])] == [station["from_mm"], station["to_mm"]]
        assert sum(map(float, found["punch"].split(" + "))) == station["to_mm"] - station["from_mm"]


def drawn(file: Path) -> str:
    """The words of the pictures of the first page, without blanks."""
    return " ".join(line.words for line in lines_in(file) if line.kind == "Figure" and line.page == 1)


def test_pictures_hold_no_figure_that_is_not_that_of_all(folder: Path, rows: dict[str, dict[str, Any]]) -> None:
    """Neither a leg that differs, nor the blank, nor X; the sheet of one size alone has each in its pictures."""
    assert rows["rail-30"]["leaf"] == "rail"
    alone = folder / "alone.yaml"
    alone.write_text(RAIL.split("family:")[0].replace("part: rail", "part: alone"), encoding="utf-8")
    out_of("sheet", alone, "-o", folder / "en")
    of_one, of_all = drawn(folder / "en" / "alone.pdf"), drawn(folder / "en" / "rail.pdf")
    differing = [each for each in ("L130", "L260", "L340", "300", "122.15", "X28.04") if each in of_one]
    assert len(differing) >= 5, of_one
    assert [each for each in differing if each in of_all] == []
    assert "▦" in of_all and "▦" not in of_one


def test_a_size_that_is_made_otherwise_is_told_and_stands_alone(folder: Path, rows: dict[str, dict[str, Any]]) -> None:
    assert rows["long"]["sheet"] == str(folder / "en" / "long.pdf")
    assert (rows["long"]["leaf"], rows["long"]["differs"]) == (None, ["machine"])
    assert {rows[name]["sheet"] for name in SIZES} == {str(folder / "en" / "rail.pdf")}
    files = pypdf.PdfReader(folder / "en" / "rail.pdf").attachments
    assert sorted(files) == sorted(f"{name}{ending}" for name in SIZES for ending in (".dxf", ".plan.json"))
