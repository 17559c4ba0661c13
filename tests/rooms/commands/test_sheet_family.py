"""The command `sheet` with `family: one-leaf`: which sizes share the leaf, which do not, what is kept and what goes."""

from __future__ import annotations

from pathlib import Path

import pypdf
import pytest

from flangewise.commands import paths

from .test_sheet import rows, run

BRACKET = """part: bracket
material: DC01
thickness: 2
section:
  length: 120
  legs: [40, 60]
  bends: [90]
family: one-leaf
variants:
"""
TWO = "  - {part: short}\n  - {part: high, section.legs.1: 45}\n"
REFUSED = "  - {part: no-leg, section.legs.1: 3}\n"
THICK = "  - {part: thick, thickness: 3}\n"


def family(folder: Path, variants: str) -> Path:
    file = folder / "bracket.yaml"
    file.write_text(BRACKET + variants, encoding="utf-8")
    return file


def test_sizes_made_alike_share_one_leaf_and_others_do_not(tmp_path: Path) -> None:
    part, out = family(tmp_path, TWO + REFUSED + THICK), tmp_path / "out"
    status, found = rows("sheet", part, "-o", out)
    assert status == 1
    by_part = {row["part"]: row for row in found}
    assert [row["part"] for row in found] == ["short", "high", "no-leg", "thick"]
    assert {name: (row["status"], row["leaf"]) for name, row in by_part.items()} == {
        "short": ("made", "bracket"),
        "high": ("made", "bracket"),
        "no-leg": ("failed", None),
        "thick": ("made", None),
    }
    assert by_part["short"]["sheet"] == by_part["high"]["sheet"] == str(out / "bracket.pdf")
    assert by_part["short"]["pages"] == len(pypdf.PdfReader(out / "bracket.pdf").pages) == 2
    assert "material" in by_part["thick"]["differs"] and by_part["thick"]["sheet"] == str(out / "thick.pdf")
    assert [finding["code"] for finding in by_part["no-leg"]["findings"]]
    assert sorted(each.name for each in out.iterdir()) == ["bracket.pdf", "thick.pdf"]


def test_what_differs_is_told_in_one_line(tmp_path: Path) -> None:
    _, out, told = run("sheet", family(tmp_path, TWO + THICK), "-o", tmp_path)
    lines = [line for line in told.splitlines() if line.startswith("thick: a sheet of its own: not the same: material")]
    assert len(lines) == 1
    assert f"short: made {tmp_path}/bracket.pdf, 2 pages; on the leaf of bracket, planned by itself" in out


def test_a_part_named_as_the_leaf_but_for_capitals_is_told_before_any_work(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file, out = family(tmp_path, TWO), tmp_path / "out"
    other = tmp_path / "other.yaml"
    other.write_text(BRACKET.partition("family:")[0].replace("bracket", "Bracket"), encoding="utf-8")
    monkeypatch.setattr(paths, "folds_case", lambda folder: True)
    status, told, err = run("--quiet", "sheet", file, other, "-o", out)
    assert (status, told, out.exists()) == (2, "", False)
    assert f"{other}: part: the name 'Bracket' is that of 'bracket' in {file} but for capitals" in err
    # Where there is no leaf no file has its name.
    assert run("--quiet", "sheet", file, other, "-o", out, "--html")[0] == 0


def test_a_leaf_is_kept_until_any_of_its_sizes_changes(tmp_path: Path) -> None:
    part, out = family(tmp_path, TWO + THICK), tmp_path / "out"
    _, made = rows("sheet", part, "-o", out)
    bytes_made = (out / "bracket.pdf").read_bytes()
    _, kept = rows("sheet", part, "-o", out)
    assert [row["status"] for row in kept] == ["kept"] * 3
    assert [{**row, "status": "made"} for row in kept] == made
    assert (out / "bracket.pdf").read_bytes() == bytes_made
    family(tmp_path, TWO.replace("45", "46") + THICK)
    _, again = rows("sheet", part, "-o", out)
    assert [(row["part"], row["status"]) for row in again] == [("short", "made"), ("high", "made"), ("thick", "kept")]


def test_a_sheet_whose_place_another_took_is_withdrawn(tmp_path: Path) -> None:
    out = tmp_path / "out"
    own = tmp_path / "bracket.yaml"
    own.write_text((BRACKET + TWO).replace("family: one-leaf\n", ""), encoding="utf-8")
    rows("sheet", own, "-o", out)
    assert sorted(each.name for each in out.iterdir()) == ["high.pdf", "short.pdf"]
    _, found = rows("sheet", family(tmp_path, TWO), "-o", out)
    assert [row["superseded"] for row in found] == [str(out / f"{name}.superseded.pdf") for name in ("short", "high")]
    _, found = rows("sheet", family(tmp_path, "  - {part: short}\n" + THICK), "-o", out)
    assert [row["leaf"] for row in found] == [None, None]
    assert found[0]["superseded"] == str(out / "bracket.superseded.pdf")
    assert not (out / "bracket.pdf").exists() and (out / "thick.pdf").exists() and (out / "short.pdf").exists()


def test_a_page_for_a_tablet_is_one_a_size_and_that_is_told(tmp_path: Path) -> None:
    status, _, told = run("sheet", family(tmp_path, TWO), "-o", tmp_path / "out", "--html")
    assert status == 0
    assert "one leaf for a family is PDF only: --html gives each size its page" in told
    assert sorted(each.name for each in (tmp_path / "out").iterdir()) == ["high.html", "short.html"]


@pytest.mark.anew
def test_the_same_leaf_comes_from_many_processes(tmp_path: Path) -> None:
    part = family(tmp_path, TWO)
    other = tmp_path / "other.yaml"
    other.write_text((BRACKET + TWO).replace("bracket", "other").replace("part: ", "part: o-"), encoding="utf-8")
    for name, jobs in (("one", 1), ("two", 2)):
        rows("sheet", part, other, "-o", tmp_path / name, "--jobs", jobs)
    names = sorted(each.name for each in (tmp_path / "one").iterdir())
    assert names == ["bracket.pdf", "o-other.pdf"]
    assert [(tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes() for name in names] == [
        True,
        True,
    ]


@pytest.mark.parametrize("name", ["short", "high"])
def test_a_size_that_has_the_leaf_s_name_is_a_fault(name: str, tmp_path: Path) -> None:
    part = tmp_path / "bracket.yaml"
    part.write_text((BRACKET + TWO).replace("part: bracket", f"part: {name}"), encoding="utf-8")
    status, _, told = run("sheet", part, "-o", tmp_path / "out")
    assert status == 2 and f"the name '{name}' is also that of" in told
