"""Columns chosen and put in order, totals, and plans as lines to type in."""

import csv
import io
import json
from pathlib import Path

import pytest

from flangewise.commands.form import Form, Totals
from flangewise.faults import Unusable

from .test_sheet import REFUSED, ZED, run, write

EXAMPLES = Path(__file__).parents[3] / "examples"


def table(*arguments: object) -> tuple[int, list[list[str]], str]:
    status, out, err = run("--quiet", *arguments, "--format", "csv")
    return status, list(csv.reader(io.StringIO(out))), err


def test_columns_come_in_the_order_asked_and_are_the_values_of_the_whole_table(tmp_path: Path) -> None:
    part = write(tmp_path, "zed", ZED)
    _, (head, *lines), _ = table("plan", part)
    _, chosen, _ = table("plan", part, "--columns", "x_mm, step,part")
    at = [head.index(name) for name in ("x_mm", "step", "part")]
    assert chosen == [["x_mm", "step", "part"], *([line[place] for place in at] for line in lines)]


def test_columns_that_are_not_usual_can_be_asked_for(tmp_path: Path) -> None:
    part = write(tmp_path, "zed", ZED)
    plan = json.loads(run("plan", part, "--format", "json")[1])
    _, (head, first, _), _ = table("plan", part, "--columns", "machine,slow_from_mm,material")
    assert head == ["machine", "slow_from_mm", "material"]
    assert first == [plan["machine"], str(plan["steps"][0]["slow_from_mm"]), "DC01"]


@pytest.mark.parametrize("command", ["flat", "plan", "estimate", "check"])
def test_a_wrong_column_is_a_fault_that_lists_those_there_are(tmp_path: Path, command: str) -> None:
    part = write(tmp_path, "zed", ZED)
    _, (head, *_), _ = table(command, part)
    status, lines, err = table(command, part, "--columns", f"{head[1]}x,part")
    assert (status, lines) == (2, [])
    (fault,) = err.splitlines()
    assert f"perhaps {head[1]!r}; there are " + ", ".join(head) in fault


def test_a_column_named_twice_is_a_fault(tmp_path: Path) -> None:
    status, _, err = table("flat", write(tmp_path, "zed", ZED), "--columns", "part,mass_kg,part")
    assert status == 2 and err == "--columns: part: is named twice, name each column once\n"


def test_columns_and_totals_are_for_csv(tmp_path: Path) -> None:
    part = write(tmp_path, "zed", ZED)
    for option in (("--columns", "part"), ("--totals",)):
        status, out, err = run("flat", part, *option)
        assert (status, out) == (2, "") and "are for --format csv" in err


def test_the_last_line_is_the_sum_of_the_lines_before_it(tmp_path: Path) -> None:
    write(tmp_path / "parts", "a", ZED)
    write(tmp_path / "parts", "b", ZED.replace("120", "240"))
    _, lines, _ = table("flat", tmp_path / "parts", "--columns", "part,mass_kg,area_mm2", "--totals")
    assert [line[0] for line in lines] == ["part", "a", "b", "total"]
    for place in (1, 2):
        one, two, total = (float(line[place]) for line in lines[1:])
        assert two == pytest.approx(2 * one, rel=1e-5) and total == pytest.approx(one + two, rel=1e-5)


def test_what_is_not_known_of_one_is_not_added_up_and_said(tmp_path: Path) -> None:
    write(tmp_path / "parts", "a", ZED)
    write(tmp_path / "parts", "b", REFUSED)
    asked = ("sheet", tmp_path / "parts", "-o", tmp_path / "out", "--html", "--format", "csv", "--totals")
    status, out, err = run(*asked, "--columns", "part,pages,status")
    assert status == 1
    assert list(csv.reader(io.StringIO(out)))[-1] == ["total", "", ""]
    assert "pages is not added up: 2 of 2 lines have none" in err


def test_nothing_to_add_up_is_a_fault(tmp_path: Path) -> None:
    part = write(tmp_path, "zed", ZED)
    assert table("check", part, "--totals")[0] == 2
    status, lines, err = table("flat", part, "--columns", "part", "--totals")
    assert (status, lines) == (2, []) and "ask for one of area_mm2, mass_kg" in err


def test_alternatives_are_not_added_up(tmp_path: Path) -> None:
    part = write(tmp_path, "zed", ZED)
    status, _, err = table("estimate", part, "--machine", "any", "--totals")
    assert status == 2 and "name one machine and one handler" in err
    one = ("--machine", "bench-310", "--handler", "operator")
    _, lines, _ = table("estimate", part, *one, "--totals", "--columns", "part,set_up_min")
    assert lines[-1] == ["total", lines[1][1]]


def test_totals_stand_beside_a_mark_where_there_is_room_for_one() -> None:
    sums = Totals()
    sums.add([{"mass_kg": 1.5, "part": "a"}, {"mass_kg": 2, "part": "b"}], ("mass_kg", "part"))
    assert sums.row(("mass_kg", "part")) == {"mass_kg": 3.5, "part": "total"}
    assert sums.row(("mass_kg",)) == {"mass_kg": 3.5}


def test_a_form_is_its_name() -> None:
    form = Form("csv")
    assert form == "csv" and form.checked(("a", "b"), ("a",)) == ("a",)
    form.columns = ("b", "c")
    with pytest.raises(Unusable, match="'c'"):
        form.checked(("a", "b"), ("a",))


def column(line: str, first: int, last: int) -> str:
    """What stands in columns of a line, counted from 1 as the README does."""
    return line[first - 1 : last].strip()


def test_lines_to_type_in_stand_in_the_columns_of_the_readme(tmp_path: Path) -> None:
    part = write(tmp_path, "zed", ZED)
    plan = json.loads(run("plan", part, "--format", "json")[1])
    status, out, _ = run("--quiet", "plan", part, "--format", "keys")
    told, heads, *lines = out.splitlines()
    assert status == 0
    assert told == f"# part zed  revision A  machine {plan['machine']}  material DC01  thickness_mm 2.00  steps 2"
    readme = (EXAMPLES.parent / "README.md").read_text(encoding="utf-8")
    block = readme.split("<!-- columns of the lines to type in -->")[1].split("```")[1]
    places = {
        name: (int(first), int(last)) for first, last, name in (line.split()[:3] for line in block.split("\n")[1:-1])
    }
    assert len(places) == 16 and len(lines) == 2
    for name, (first, last) in places.items():
        assert column(heads, first, last).lstrip("#") == name
    stops = [step["stops"] for step in plan["steps"]]
    for line, step, stop in zip(lines, plan["steps"], stops, strict=True):
        assert column(line, *places["step"]) == str(step["step"])
        assert column(line, *places["bends"]) == str(step["bends"][0])
        assert column(line, *places["face"]) == step["marked_face"]
        figures = {"x_mm": stop["x_mm"], "r_mm": stop["r_mm"], "z1_mm": stop["z_mm"][0], "z2_mm": stop["z_mm"][1]}
        figures |= {"depth_mm": step["depth_mm"], "bend_to_deg": step["bend_to_deg"], "slow_mm": step["slow_from_mm"]}
        figures |= {"finished_deg": step["finished_deg"], "open_mm": step["open_height_mm"]}
        for name, value in figures.items():
            assert column(line, *places[name]) == f"{value:.2f}"
        assert line[places["crown_mm"][1] :].split() == [step["punch"], step["die"]]


def test_lines_to_type_in_are_in_mm_whatever_the_units_and_a_refused_part_has_none(tmp_path: Path) -> None:
    part, refused = write(tmp_path, "zed", ZED), write(tmp_path, "no", REFUSED)
    told = run("--quiet", "plan", part, "--format", "keys")[1]
    assert run("--quiet", "--units", "inch", "plan", part, "--format", "keys")[1] == told
    status, out, _ = run("--quiet", "plan", refused, "--format", "keys")
    (line,) = out.splitlines()
    assert status == 1 and line.startswith("# part no ") and line.endswith("steps no plan")


def test_lines_to_type_in_of_a_panel(tmp_path: Path) -> None:
    panel = EXAMPLES / "panels" / "collector-pan.yaml"
    plan = json.loads(run("plan", panel, "--format", "json")[1])
    _, _, *lines = run("--quiet", "plan", panel, "--format", "keys")[1].splitlines()
    assert len(lines) == len(plan["steps"]) > 1
    assert [line.split()[1] for line in lines] == ["+".join(map(str, step["bends"])) for step in plan["steps"]]


@pytest.mark.parametrize("option", ["--cell", "--why"])
def test_lines_to_type_in_are_a_plan_s_own(tmp_path: Path, option: str) -> None:
    status, out, err = run("plan", write(tmp_path, "zed", ZED), "--format", "keys", option)
    assert (status, out) == (2, "") and "leave out --since, --cell and --why" in err
