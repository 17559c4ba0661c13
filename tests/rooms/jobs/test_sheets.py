"""One part's sheet in its folder: made, kept, made anew, replaced, withdrawn; the same inputs, the same bytes."""

from dataclasses import replace
from pathlib import Path

import pytest

from flangewise.jobs import Job
from flangewise.jobs.sheets import Order, SheetRow, Wanted, drafted, hash_of, ordered, settled, shop_inputs
from flangewise.part import Part
from flangewise.sheet import Attachment, Printing, read_record

from .worked import ANGLE, TOO_STRONG, job, part_of, shop

HTML = Printing(html=True)


def no_files(made: Job) -> tuple[Attachment, ...]:
    return ()


def told(made: Job) -> list[dict[str, object]]:
    return [{"severity": finding.severity, "code": finding.code} for finding in made.findings]


def make(part: Part, folder: Path) -> SheetRow:
    wanted = Wanted(folder, HTML)
    hashed = hash_of(part, shop_inputs(shop(), wanted))
    order = ordered(part, hashed, wanted, anew=True)
    assert isinstance(order, Order)
    return settled(drafted(order, shop(), wanted, attach=no_files, told=told), wanted)


def kept(part: Part, folder: Path, settings: Printing = HTML) -> SheetRow | None:
    wanted = Wanted(folder, settings)
    row = ordered(part, hash_of(part, shop_inputs(shop(), wanted)), wanted)
    return row if isinstance(row, SheetRow) else None


@pytest.fixture
def part(tmp_path: Path) -> Part:
    return part_of(ANGLE, tmp_path)


def test_a_sheet_is_made_and_then_kept(part: Part, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert kept(part, out) is None
    row = make(part, out)
    assert (row.status, row.sheet) == ("made", out / "plain-angle.html")
    again = kept(part, out)
    assert again is not None
    assert (again.status, again.findings) == ("kept", row.findings)


def test_where_the_part_file_lies_does_not_count(part: Part, tmp_path: Path) -> None:
    make(part, tmp_path)
    assert kept(replace(part, file="elsewhere.yaml"), tmp_path) is not None


@pytest.mark.parametrize("changed", [{"revision": "B"}, {"thickness_mm": 1.5}, {"grain": "along"}, {"quantity": 7}])
def test_any_change_of_the_part_counts(part: Part, tmp_path: Path, changed: dict[str, object]) -> None:
    make(part, tmp_path)
    assert kept(replace(part, **changed), tmp_path) is None  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "settings", [Printing("de", html=True), Printing(units="inch", html=True), Printing(paper="letter", html=True)]
)
def test_language_units_and_paper_count(part: Part, tmp_path: Path, settings: Printing) -> None:
    shared = [hash_of(part, shop_inputs(shop(), Wanted(tmp_path, each))) for each in (HTML, settings)]
    assert shared[0] != shared[1]


def test_the_shop_counts_but_not_the_name_of_its_folder(part: Part, tmp_path: Path) -> None:
    wanted = Wanted(tmp_path, HTML)
    other = replace(shop(), machines={})
    assert hash_of(part, shop_inputs(other, wanted)) != hash_of(part, shop_inputs(shop(), wanted))
    assert shop_inputs(shop(), wanted).keys() == shop_inputs(other, wanted).keys()


def test_a_changed_part_says_which_plan_it_replaces_and_stays_as_it_is_after(part: Part, tmp_path: Path) -> None:
    first = make(part, tmp_path)
    assert first.sheet is not None
    old = read_record(first.sheet)
    assert old is not None and old.replaces == ""
    second = make(replace(part, revision="B"), tmp_path)
    assert second.sheet is not None
    text = second.sheet.read_text()
    assert f"replaces plan {old.plan_hash}" in text
    again = make(replace(part, revision="B"), tmp_path)
    assert again.sheet is not None
    assert again.sheet.read_text() == text


def test_the_same_inputs_make_the_same_bytes_elsewhere(part: Part, tmp_path: Path) -> None:
    first, second = make(part, tmp_path / "a"), make(part, tmp_path / "b")
    assert first.sheet is not None and second.sheet is not None
    assert first.sheet.read_bytes() == second.sheet.read_bytes()


def test_a_part_that_is_now_refused_has_its_old_sheet_renamed(tmp_path: Path) -> None:
    if job(TOO_STRONG).feasible:
        pytest.skip("the shop's small brake can bend it")
    strong = part_of(TOO_STRONG, tmp_path)
    (tmp_path / "too-strong.html").write_text("the old one")
    row = make(strong, tmp_path)
    assert (row.status, row.sheet, row.refused) == ("failed", None, True)
    assert row.superseded == tmp_path / "too-strong.superseded.html"
    assert row.superseded.read_text() == "the old one"
    assert not (tmp_path / "too-strong.html").exists()


def test_a_sheet_that_cannot_be_written_leaves_the_old_one_and_nothing_else(
    part: Part, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "plain-angle.html").write_text("the old one")

    def full(self: Path, target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(OSError, match="No space left"):
        make(part, out)
    assert [file.name for file in out.iterdir()] == ["plain-angle.html"]
    assert (out / "plain-angle.html").read_text() == "the old one"
