"""The command `sheet` through its real entry point: rows, files, exit status, attachments."""

import contextlib
import html
import io
import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pypdf
import pytest

from flangewise import commands
from flangewise.sheet import MissingPangoError
from flangewise.words import catalogue

HEAD = "part: {name}\nrevision: A\n"
ANGLE = HEAD + "material: DC01\nthickness: 2\nsection:\n  length: 120\n  legs: [40, 60]\n  bends: [90]\n"
# More force than the small brake has.
REFUSED = HEAD + (
    "material: S355MC\nthickness: 8\nmachine: bench-310\nsection:\n  length: 600\n  legs: [80, 120]\n  bends: [90]\n"
)


def run(*arguments: object) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = commands.run([str(each) for each in arguments])
    return status, out.getvalue(), err.getvalue()


def rows(*arguments: object) -> tuple[int, list[dict[str, Any]]]:
    status, out, _ = run(*arguments, "--format", "json")
    return status, [json.loads(line) for line in out.splitlines()]


def write(folder: Path, name: str, text: str = ANGLE) -> Path:
    folder.mkdir(exist_ok=True)
    file = folder / f"{name}.yaml"
    file.write_text(text.format(name=name))
    return file


@pytest.mark.anew
def test_a_pdf_is_made_kept_and_made_anew_when_asked(tmp_path: Path) -> None:
    part, out = write(tmp_path, "one"), tmp_path / "out"
    status, (made,) = rows("sheet", part, "-o", out)
    assert (status, made["status"], made["sheet"]) == (0, "made", str(out / "one.pdf"))
    assert made["pages"] == len(pypdf.PdfReader(out / "one.pdf").pages)
    first = (out / "one.pdf").read_bytes()
    _, (kept,) = rows("sheet", part, "-o", out)
    assert (kept["status"], kept["pages"], kept["findings"]) == ("kept", made["pages"], made["findings"])
    _, (again,) = rows("sheet", part, "-o", out, "--all")
    assert again["status"] == "made"
    assert (out / "one.pdf").read_bytes() == first


def test_the_sheet_says_which_thickness_was_computed_with(tmp_path: Path) -> None:
    part, out = write(tmp_path, "one"), tmp_path / "out"
    page = out / "one.html"
    for lang in ("en", "de", "es"):
        options = ("-o", out, "--html", "--lang", lang)
        told = catalogue(lang)["sheet.material.computed-with"]
        assert rows("sheet", part, *options)[0] == 0
        assert told not in page.read_text()
        _, (made,) = rows("sheet", part, *options, "--measured-thickness", "1.93")
        assert made["status"] == "made"
        shown = re.sub(r"<[^>]*>|\s+", " ", html.unescape(page.read_text()))
        assert re.search(rf"{told} +1{'.' if lang == 'en' else ','}93\b", shown)


def test_the_row_has_the_keys_of_the_contract(tmp_path: Path) -> None:
    _, (row,) = rows("sheet", write(tmp_path, "one"), "-o", tmp_path / "out", "--html")
    keys = {"schema_version", "part", "file", "sheet", "pages", "status", "superseded", "findings", "leaf", "differs"}
    assert set(row) == keys
    assert (row["leaf"], row["differs"]) == (None, [])


def test_what_rides_inside_is_what_the_other_commands_write(tmp_path: Path) -> None:
    part, out = write(tmp_path, "one"), tmp_path / "out"
    rows("sheet", part, "-o", out)
    files = pypdf.PdfReader(out / "one.pdf").attachments
    _, plan, _ = run("plan", part, "--format", "json")
    assert files["one.plan.json"][0].decode() == plan
    run("flat", part, "--dxf", tmp_path / "dxf")
    assert files["one.dxf"][0] == (tmp_path / "dxf" / "one.dxf").read_bytes()


def test_a_refused_part_makes_no_sheet_and_withdraws_the_old_one(tmp_path: Path) -> None:
    part, out = write(tmp_path, "one"), tmp_path / "out"
    rows("sheet", part, "-o", out, "--html")
    write(tmp_path, "one", REFUSED)
    status, (row,) = rows("sheet", part, "-o", out, "--html")
    assert (status, row["status"], row["sheet"]) == (1, "failed", None)
    assert row["superseded"] == str(out / "one.superseded.html")
    assert any(finding["severity"] == "refuse" for finding in row["findings"])
    assert sorted(file.name for file in out.iterdir()) == ["one.superseded.html"]


def test_a_part_that_cannot_be_read_leaves_its_old_sheet_and_stops_no_other(tmp_path: Path) -> None:
    parts, out = tmp_path / "parts", tmp_path / "out"
    bad = write(parts, "a-bad")
    write(parts, "b-good")
    rows("sheet", parts, "-o", out, "--html")
    before = (out / "a-bad.html").read_bytes()
    bad.write_text("part: a-bad\nthickness: [\n")
    write(parts, "b-good", ANGLE.replace("revision: A", "revision: B"))
    status, found = rows("sheet", parts, "-o", out, "--html")
    assert status == 2
    assert [(row["part"], row["status"]) for row in found] == [(None, "failed"), ("b-good", "made")]
    assert (out / "a-bad.html").read_bytes() == before


def test_the_highest_status_wins(tmp_path: Path) -> None:
    parts = tmp_path / "parts"
    write(parts, "a")
    write(parts, "b", REFUSED)
    assert rows("sheet", parts, "-o", tmp_path / "out", "--html")[0] == 1
    (parts / "c.yaml").write_text(": :")
    assert rows("sheet", parts, "-o", tmp_path / "out", "--html")[0] == 2


def test_rows_come_in_the_order_of_the_files_on_several_processes(tmp_path: Path) -> None:
    parts = tmp_path / "parts"
    for name in ("a", "b", "c", "d"):
        write(parts, name)
    _, serial = rows("sheet", parts, "-o", tmp_path / "one", "--html", "--jobs", 1)
    _, spread = rows("sheet", parts, "-o", tmp_path / "two", "--html", "--jobs", 2)
    assert [row["part"] for row in spread] == [row["part"] for row in serial] == ["a", "b", "c", "d"]
    for name in ("a", "b", "c", "d"):
        assert (tmp_path / "one" / f"{name}.html").read_bytes() == (tmp_path / "two" / f"{name}.html").read_bytes()


def test_text_goes_to_standard_output_and_findings_to_standard_error(tmp_path: Path) -> None:
    status, out, err = run("sheet", write(tmp_path, "one", REFUSED), "-o", tmp_path / "out", "--html")
    assert status == 1
    assert out == "one: no sheet, the part is refused\n"
    assert "refuse" in err


def test_csv_has_its_head_once(tmp_path: Path) -> None:
    parts = tmp_path / "parts"
    write(parts, "00123")
    write(parts, "b")
    _, out, _ = run("sheet", parts, "-o", tmp_path / "out", "--html", "--format", "csv")
    lines = out.splitlines()
    assert lines[0].replace('"', "") == "part,file,sheet,pages,status,superseded,findings,leaf,differs"
    assert lines[1].startswith('"00123",')
    assert len(lines) == 3


def test_missing_pango_is_one_line_that_names_the_packages_and_html(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def missing() -> None:
        raise MissingPangoError("cannot load libpango")

    import flangewise.commands.sheet as module

    monkeypatch.setattr(module, "load_pdf_maker", missing)
    status, out, err = run("sheet", write(tmp_path, "one"), "-o", tmp_path / "out", "--format", "json")
    assert (status, out) == (2, "")
    (line,) = err.splitlines()
    for word in ("libpango-1.0-0", "libpangoft2-1.0-0", "libharfbuzz-subset0", "fonts-dejavu-core", "--html"):
        assert word in line
    assert run("sheet", tmp_path / "one.yaml", "-o", tmp_path / "out", "--html")[0] == 0


def test_a_folder_that_cannot_be_written_is_a_fault_and_no_traceback(tmp_path: Path) -> None:
    """A file in its place is told once, before any work; what no file system takes as a name with each part."""
    (tmp_path / "out").write_text("a file, no folder")
    part = write(tmp_path, "one")
    asked = run("--quiet", "sheet", part, "-o", tmp_path / "out", "--html")
    assert asked == (2, "", f"{tmp_path / 'out'}: folder: is a file, give a folder, or a name for a new one\n")
    status, out, err = run("--quiet", "sheet", part, "-o", tmp_path / ("x" * 300), "--html")
    assert (status, out) == (2, "")
    assert err.startswith(f"{part}: sheet: File name too long: ") and len(err.splitlines()) == 1


def test_the_language_and_paper_of_the_shop_hold_where_none_is_asked(tmp_path: Path) -> None:
    part = write(tmp_path, "one")
    rows("sheet", part, "-o", tmp_path / "out", "--html", "--lang", "en", "--paper", "letter")
    assert "size: 215.9mm 279.4mm" in (tmp_path / "out" / "one.html").read_text()
    rows("sheet", part, "-o", tmp_path / "out", "--html")
    assert "size: 210.0mm 297.0mm" in (tmp_path / "out" / "one.html").read_text()


@pytest.mark.skipif(sys.platform == "win32", reason="signals")
def test_an_interrupted_run_leaves_no_half_file(tmp_path: Path) -> None:
    parts, out = tmp_path / "parts", tmp_path / "out"
    for number in range(6):
        write(parts, f"p{number}")
    running = subprocess.Popen(
        [sys.executable, "-m", "flangewise", "sheet", str(parts), "-o", str(out), "--html", "--jobs", "1"],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, env={**os.environ},
    )  # fmt: skip
    assert running.stdout is not None
    running.stdout.readline()
    running.kill()
    running.communicate()
    whole = [file for file in out.iterdir() if file.suffix == ".html"]
    assert whole
    assert all(file.read_bytes().rstrip().endswith(b"</html>") for file in whole)


def planned(part: Path) -> dict[str, Any]:
    _, out, _ = run("plan", part, "--format", "json")
    plan: dict[str, Any] = json.loads(out)
    return plan


def saved(folder: Path, plan: dict[str, Any]) -> Path:
    file = folder / "edited.json"
    file.write_text(json.dumps(plan), encoding="utf-8")
    return file


ZED = HEAD + "material: DC01\nthickness: 2\nsection:\n  length: 120\n  legs: [30, 60, 30]\n  bends: [90, -90]\n"


def words_of(pdf: pypdf.PdfReader) -> str:
    return " ".join("\n".join(page.extract_text() for page in pdf.pages).split())


def other_way_round(plan: dict[str, Any]) -> None:
    one, two = plan["steps"]
    plan["steps"] = [two, one]
    for key in ("moves", "open_height_mm"):
        one[key], two[key] = two[key], one[key]


def test_a_plan_edited_by_hand_is_printed_as_it_is(tmp_path: Path) -> None:
    part, out = write(tmp_path, "zed", ZED), tmp_path / "out"
    plan = planned(part)
    order = [step["bends"] for step in plan["steps"]]
    other_way_round(plan)
    x_mm = round(plan["steps"][0]["stops"]["x_mm"] + 0.06, 2)
    plan["steps"][0]["stops"]["x_mm"] = x_mm
    plan["steps"][0]["open_height_mm"] = 77.0
    file = saved(tmp_path, plan)
    status, (row,) = rows("sheet", part, "--plan", file, "-o", out)
    assert (status, row["status"], row["sheet"]) == (0, "made", str(out / "zed.pdf"))
    told = [finding["text"] for finding in row["findings"] if finding["code"] == "by-hand-mm"]
    assert len(told) == 2 and all(" by hand, " in text and text.endswith(" computed") for text in told)
    pdf = pypdf.PdfReader(out / "zed.pdf")
    words = words_of(pdf)
    assert f"{x_mm:.2f}" in words.split() and "77" in words.split()
    heads = [f"{number} {'AB'[bend - 1]} 90°" for number, (bend,) in enumerate(order[::-1], start=1)]
    assert all(head in words for head in heads)
    assert words.index(heads[0]) < words.index(heads[1])
    riding = json.loads(pdf.attachments["zed.plan.json"][0])
    assert [step["bends"] for step in riding["steps"]] == order[::-1]
    assert riding["steps"][0]["stops"]["x_mm"] == x_mm
    _, (kept,) = rows("sheet", part, "--plan", file, "-o", out)
    assert kept["status"] == "kept"
    _, (own,) = rows("sheet", part, "-o", out)
    assert own["status"] == "made", "the planner's own plan is another sheet"
    own_words = words_of(pypdf.PdfReader(out / "zed.pdf"))
    assert "90°" in own_words and not any(head in own_words for head in heads)


def test_a_plan_that_strikes_is_not_printed_and_the_old_sheet_stays(tmp_path: Path) -> None:
    part, out = write(tmp_path, "zed", ZED), tmp_path / "out"
    rows("sheet", part, "-o", out, "--html")
    before = (out / "zed.html").read_bytes()
    plan = planned(part)
    plan["steps"][1]["open_height_mm"] = 3.0
    plan["steps"][0]["stops"]["x_mm"] += 30
    file = saved(tmp_path, plan)
    status, (row,) = rows("sheet", part, "--plan", file, "-o", out, "--html")
    assert (status, row["status"], row["sheet"], row["superseded"]) == (1, "failed", None, None)
    assert {"replay-stop-off", "replay-unload"} <= {each["code"] for each in row["findings"]}
    assert (out / "zed.html").read_bytes() == before
    status, text, err = run("sheet", part, "--plan", file, "-o", out, "--html")
    assert (status, text) == (1, "zed: no sheet, the plan is not printed\n")
    assert err.count("refused: zed: step") >= 2


def test_a_plan_of_another_part_is_refused(tmp_path: Path) -> None:
    part, other = write(tmp_path, "zed", ZED), write(tmp_path, "other", ZED)
    file = saved(tmp_path, planned(other))
    status, (row,) = rows("sheet", part, "--plan", file, "-o", tmp_path / "out", "--html")
    assert (status, row["status"]) == (1, "failed")
    assert [each["code"] for each in row["findings"] if each["severity"] == "refuse"] == ["replay-other-part"]


def test_a_plan_is_for_one_part(tmp_path: Path) -> None:
    parts = tmp_path / "parts"
    one = write(parts, "one")
    write(parts, "two")
    file = saved(tmp_path, planned(one))
    status, out, err = run("sheet", parts, "--plan", file, "-o", tmp_path / "out")
    assert (status, out) == (2, "") and "one part at a time" in err


@pytest.mark.parametrize("text", ["", "{}", "[]", '{"steps": []}', '{"steps": [{"bends": "x"}]}', "nonsense"])
def test_what_is_no_plan_is_a_fault(tmp_path: Path, text: str) -> None:
    file = tmp_path / "plan.json"
    file.write_text(text, encoding="utf-8")
    part, out = write(tmp_path, "one"), tmp_path / "out"
    assert run("sheet", part, "--plan", file, "-o", out, "--html")[0] == 2
    assert run("sheet", part, "--plan", tmp_path / "none.json", "-o", out, "--html")[0] == 2
    assert not out.exists() or list(out.iterdir()) == []


def test_a_link_at_the_sheet_s_place_is_replaced_and_told(tmp_path: Path) -> None:
    elsewhere, place = tmp_path / "elsewhere.html", tmp_path / "out" / "one.html"
    elsewhere.write_text("not ours")
    place.parent.mkdir()
    place.symlink_to(elsewhere)
    status, _, err = run("sheet", "--html", write(tmp_path, "one"), "-o", place.parent)
    assert (status, elsewhere.read_text(), place.is_symlink()) == (0, "not ours", False)
    assert f"{place} was a link to {elsewhere}" in err
