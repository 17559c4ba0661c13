"""The shop folder: what is read, what may be left out, and that nothing else is touched."""

from __future__ import annotations

import math
import pickle
from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest

from flangewise.faults import Fault, Node, Unusable
from flangewise.reading import read_file
from flangewise.shop import TABLES, Shop, load_shop

Edit = Callable[[str, str, str], None]
REQUIRED = ["shop", "materials", "punches", "dies", "machines", "handlers"]


def test_a_copied_shop_is_the_built_in_one(shop: Shop, folder: Path) -> None:
    copied = load_shop(folder)
    assert copied.folder == folder
    for table in TABLES:
        assert getattr(copied, table) == getattr(shop, table)
        assert list(getattr(copied, table)) == list(getattr(shop, table))
    assert copied.defaults == shop.defaults


@pytest.mark.parametrize("file", REQUIRED)
def test_a_folder_that_lacks_a_table_is_a_fault(folder: Path, file: str) -> None:
    (folder / f"{file}.yaml").unlink()
    with pytest.raises(Unusable) as told:
        load_shop(folder)
    (fault,) = told.value.faults
    assert fault.file == str(folder / f"{file}.yaml")
    assert fault.wrong == "does not exist"


@pytest.mark.parametrize("file", ["gauges", "least_radii", "tolerances"])
def test_a_folder_may_leave_these_to_the_built_in_ones(shop: Shop, folder: Path, file: str) -> None:
    (folder / f"{file}.yaml").unlink()
    assert load_shop(folder).materials == shop.materials


def test_its_own_table_of_radii_is_used(folder: Path, edit: Edit) -> None:
    edit("least_radii.yaml", "floor_mm: 0.8", "floor_mm: 2.5")
    assert load_shop(folder).materials["DC01"].least_radius.floor_mm == 2.5


@pytest.mark.parametrize("there", ["missing", "file.txt"])
def test_a_shop_that_is_no_folder(tmp_path: Path, there: str) -> None:
    (tmp_path / "file.txt").write_text("hello", encoding="utf-8")
    with pytest.raises(Unusable, match="is no folder"):
        load_shop(tmp_path / there)


def test_only_what_is_asked_for_is_read(folder: Path) -> None:
    """Every other table is broken, and nobody notices."""
    for file in ("punches", "dies", "machines", "handlers", "gauges", "tolerances"):
        (folder / f"{file}.yaml").write_text("{", encoding="utf-8")
    shop = load_shop(folder, {"materials"})
    assert "DC01" in shop.materials


@pytest.mark.parametrize("table", sorted(TABLES - {"gauges", "least_radii"}))
def test_touching_a_table_that_was_not_asked_for_is_never_an_empty_answer(table: str) -> None:
    shop = load_shop(None, TABLES - {table})
    rows = getattr(shop, table)
    for touch in (lambda: rows["DC01"], lambda: list(rows), lambda: len(rows), lambda: "DC01" in rows):
        with pytest.raises(LookupError, match=f"table {table} was not asked for"):
            touch()


def test_a_table_that_does_not_exist_is_a_mistake_of_the_program() -> None:
    with pytest.raises(ValueError, match="no such table: hammers"):
        load_shop(None, {"materials", "hammers"})


def test_one_material_alone_is_read(shop: Shop) -> None:
    tables = {"materials", "machines"}
    alone = load_shop(None, tables, only={"materials": "1.4301", "machines": None})
    assert dict(alone.materials) == {"1.4301": shop.materials["1.4301"]}
    assert dict(alone.machines) == dict(shop.machines), "the example shop leaves the machine open"


@pytest.mark.parametrize("named", ["[]", "[bench-310, bench-310]", "[any, mid-740]", "7"])
def test_a_list_of_machines_that_cannot_be_is_a_fault_in_its_line(folder: Path, edit: Edit, named: str) -> None:
    edit("shop.yaml", "machine: any", f"machine: {named}")
    with pytest.raises(Unusable) as told:
        load_shop(folder)
    (fault,) = told.value.faults
    lines = (folder / "shop.yaml").read_text(encoding="utf-8").splitlines()
    assert fault.where == "machine"
    assert fault.line is not None and lines[fault.line - 1] == f"machine: {named}"


@pytest.mark.parametrize(
    ("named", "strongest"), [("any", "long-1450"), ("[mid-740, bench-310]", "mid-740"), ("mid-740", "mid-740")]
)
def test_the_machine_of_a_single_bend_is_the_strongest_of_those_left_open(
    folder: Path, edit: Edit, named: str, strongest: str
) -> None:
    edit("shop.yaml", "machine: any", f"machine: {named}")
    assert load_shop(folder, {"machines"}, only={"machines": None}).strongest_machine.name == strongest
    assert load_shop(folder).strongest_machine.name == strongest


def test_a_machine_other_than_the_default_is_read_alone(shop: Shop) -> None:
    alone = load_shop(None, {"machines"}, only={"machines": "bench-310"})
    assert dict(alone.machines) == {"bench-310": shop.machines["bench-310"]}


def test_for_a_name_that_does_not_exist_the_whole_table_is_there_to_choose_from(shop: Shop) -> None:
    missed = load_shop(None, {"materials"}, only={"materials": "DC0l"})
    assert list(missed.materials) == list(shop.materials)


def test_of_a_folder_all_rows_must_hold(folder: Path, edit: Edit) -> None:
    edit("materials.yaml", "density_kg_per_m3: 8930", "density_kg_per_m3: -1")
    with pytest.raises(Unusable, match="Cu-ETP-R240"):
        load_shop(folder, {"materials"}, only={"materials": "DC01"})


@pytest.mark.parametrize(
    ("old", "new", "where", "fits"),
    [
        ("machine: any", "machine: long-1540", "machine", "did you mean 'long-1450'?"),
        ("machine: any", "machine: [bench-310, mid-704]", "machine", "did you mean 'mid-740'?"),
        ("handler: operator", "handler: zebra", "handler", "known are operator, operator-heavy, two-operators, robot"),
    ],
)
def test_the_defaults_name_rows_that_exist(
    folder: Path, edit: Edit, *, old: str, new: str, where: str, fits: str
) -> None:
    edit("shop.yaml", old, new)
    with pytest.raises(Unusable) as told:
        load_shop(folder)
    (fault,) = told.value.faults
    assert (fault.where, fault.fits) == (where, fits)
    lines = (folder / "shop.yaml").read_text(encoding="utf-8").splitlines()
    assert fault.line is not None and lines[fault.line - 1] == new
    assert "DC01" in load_shop(folder, {"materials"}).materials, "not told where the table is not wanted"


def test_where_measured_bends_are_kept(shop: Shop, folder: Path) -> None:
    assert shop.measured_file is None
    assert load_shop(folder, {"materials"}).measured_file == folder / "measured.csv"


def test_a_shop_goes_to_a_worker_and_comes_back(shop: Shop) -> None:
    assert pickle.loads(pickle.dumps(shop)) == shop


# --- whatever an editor leaves behind

BAD = [math.nan, "text", "", -1, 0, 1e9, True, "null", "[]", "{}", "[1, 2]", "2026-01-01", "~", "0x10", "1_000"]


def scalars(node: Node) -> list[Node]:
    """All single values of a file that were written without quotes on one line."""
    if isinstance(node.data, dict):
        return [each for below in node.data.values() for each in scalars(below)]
    if isinstance(node.data, list):
        return [each for below in node.data for each in scalars(below)]
    return [node] if node.text and "\n" not in node.text else []


@pytest.mark.parametrize("file", [*REQUIRED, "gauges", "least_radii", "tolerances"])
def test_a_spoilt_value_is_a_fault_in_its_line_or_does_no_harm(folder: Path, file: str) -> None:
    path = folder / f"{file}.yaml"
    text = path.read_text(encoding="utf-8")
    lines = text.splitlines(keepends=True)
    nodes = scalars(read_file(path))
    random = Random(f"seed 1 {file}")
    looked_at = list(random.sample(nodes, min(12, len(nodes))))
    assert looked_at
    for node in looked_at:
        line = lines[node.line - 1]
        if not line[node.column - 1 :].startswith(node.text):
            continue
        spoilt = line[: node.column - 1] + str(random.choice(BAD)) + line[node.column - 1 + len(node.text) :]
        path.write_text("".join([*lines[: node.line - 1], spoilt, *lines[node.line :]]), encoding="utf-8")
        for fault in faults_of(folder, file):
            assert fault.line is not None, fault.text
            assert "Traceback" not in fault.text and "\n" not in fault.text
            assert "pydantic" not in fault.text
            assert fault.wrong and fault.fits


def faults_of(folder: Path, file: str) -> list[Fault]:
    """The faults of one file of a folder, none where it holds."""
    try:
        load_shop(folder, {file} - {"shop"})
    except Unusable as unusable:
        return list(unusable.faults)
    return []


@pytest.mark.parametrize("text", ["-90", "operator", "[1, 2]", "true"])
def test_a_shop_file_of_one_value_is_told(folder: Path, text: str) -> None:
    (folder / "shop.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(Unusable) as told:
        load_shop(folder)
    assert [fault.wrong.split(" is ")[-1] for fault in told.value.faults] == ["no mapping"]
