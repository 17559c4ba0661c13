"""What the template is given: everything said, boxes empty, limits with the governing one first."""

import re
from dataclasses import replace

import pytest

from flangewise.findings import caution, note, place
from flangewise.punch_die import Mounting
from flangewise.setup import Load
from flangewise.sheet import Identity, Settings
from flangewise.sheet.page import page
from flangewise.sheet.render import TEMPLATES, html_of
from flangewise.words import phrase

from .demo import blanked, channel, pair, with_step, with_tools, wording

IDENTITY = Identity("a1b2c3d4e5f6", "0.1.0")
WORDING = wording()


def test_the_governing_limit_is_the_one_used_most() -> None:
    loads = (
        Load(phrase("sheet.named", words="punch p"), 100.0, 1000.0, "kn_per_m", 1),
        Load(phrase("sheet.named", words="machine m"), 200.0, 310.0, "kn", 2),
    )
    made = page(replace(channel(), loads=loads), IDENTITY, WORDING)
    assert made.governing == "governing: machine m: 200 of 310 kN (65 %), step 2"
    assert made.limits[0].startswith("machine m")


def test_limits_that_could_not_be_computed_are_said_so() -> None:
    assert page(replace(channel(), loads=()), IDENTITY, WORDING).governing == "No limit could be computed."


def test_wrong_ways_told_by_one_hole_stand_in_one_line() -> None:
    lines = page(channel(), IDENTITY, WORDING).misloads
    assert len(lines) == 3
    assert "turned 180° in its plane; turned over about the front-to-back axis" in lines[0]
    assert "hole A is 40 from the left end" in lines[0]
    assert lines[2].startswith("The outline cannot tell the two faces apart")


def looks(along_mm: float, grain: str) -> set[str]:
    """What to look at on a nearly square blank without holes, for its quarter turns."""
    sheet = channel()
    alike = replace(sheet.pattern, along_bends_mm=along_mm, developed_mm=90.0, holes=())
    plain = replace(sheet.part, grain=grain, burr="unknown", film="none")  # type: ignore[arg-type]
    lines = page(replace(sheet, pattern=alike, part=plain), IDENTITY, WORDING).misloads
    return {line.split(": ", 1)[1] for line in lines if "90°" in line}


def test_of_sides_alike_only_what_differs_is_to_be_looked_at() -> None:
    assert looks(89.97, "any") == set()
    assert looks(89.97, "along") == {"look at the grain."}
    assert looks(88.0, "any") == {"measure both sides: 88 along the bed, 90 across it."}
    assert looks(88.0, "along") == {"look at the grain; measure both sides: 88 along the bed, 90 across it."}


@pytest.mark.parametrize(("count", "listed", "more"), [(1, 1, ""), (4, 4, ""), (8, 8, ""), (11, 8, "3 more")])
def test_every_hole_is_listed_or_said_to_be_left_out(count: int, listed: int, more: str) -> None:
    sheet = channel()
    holes = tuple(replace(sheet.pattern.holes[0], number=number) for number in range(1, count + 1))
    holed = blanked(sheet, holes=holes)
    cells = {cell.label: cell.value for cell in page(holed, IDENTITY, WORDING).blank}
    told = cells["holes from datum, along; across"]
    assert re.findall(r"([A-Z]) Ø", told) == [chr(ord("A") + place) for place in range(listed)]
    assert more in told and ("more" in told) is bool(more)


def test_quantity_says_its_spares() -> None:
    cells = {cell.label: cell.value for cell in page(channel(), IDENTITY, WORDING).job}
    assert cells["quantity"] == "120 + 3 spare"


def test_what_is_not_known_makes_no_cell() -> None:
    part = replace(channel().part, drawing="", due="", quantity=None)
    labels = {cell.label for cell in page(replace(channel(), part=part), IDENTITY, WORDING).job}
    assert {"drawing", "due", "quantity"}.isdisjoint(labels)


def test_pairs_of_one_shut_height_share_a_line() -> None:
    sheet = channel()
    three = replace(sheet, steps=(*sheet.steps, sheet.steps[0]))
    tools = (Mounting(pair()), Mounting(pair(), True), Mounting(pair(name="taller", height_mm=120.0)))
    lines = page(with_tools(three, *tools), IDENTITY, WORDING).touch_off
    assert [line.split(":")[0] for line in lines] == ["Pair 1, 2", "Pair 3"]
    assert "160.00" in lines[0]
    assert "180.00" in lines[1]


def test_measures_have_nominal_allowed_and_instrument() -> None:
    rows = page(channel(), IDENTITY, WORDING).measures
    assert (rows[0].what, rows[0].nominal, rows[0].allowed) == ("bend 1", "90.0°", "± 0.50°")
    assert rows[0].expected == "–"
    scattered = replace(channel(), measures=(replace(channel().measures[0], expected=2.24),))
    assert page(scattered, IDENTITY, WORDING).measures[0].expected == "± 2.2°"
    assert (rows[2].what, rows[2].nominal, rows[2].allowed) == ("leg 1", "25", "± 0.2")


def test_a_tolerance_that_is_not_known_is_not_a_number() -> None:
    sheet = channel()
    unknown = replace(sheet, measures=(replace(sheet.measures[0], allowed=None),))
    assert page(unknown, IDENTITY, WORDING).measures[0].allowed == "not known"


def test_boxes_for_readings_are_empty() -> None:
    html = html_of(channel(), IDENTITY, Settings(html=True), record=None)
    boxes = re.findall(r"<i>(.*?)</i>", html)
    cells = re.findall(r'<td class="empty">(.*?)</td>', html)
    assert len(boxes) >= 20
    assert len(cells) >= 3 * len(channel().measures)
    assert set(boxes) == set(cells) == {""}


def test_boxes_are_large_enough_for_a_gloved_hand() -> None:
    css = (TEMPLATES / "sheet.css").read_text()
    sizes = re.findall(r"\.box i \{[^}]*width: ([\d.]+)mm; height: ([\d.]+)mm", css)
    assert sizes
    assert all(float(wide) >= 18 and float(high) >= 8 for wide, high in sizes)
    assert float(re.findall(r"td \{[^}]*height: ([\d.]+)mm", css)[0]) >= 8
    assert float(re.findall(r"td\.empty \{[^}]*width: ([\d.]+)mm", css)[0]) >= 18


def test_nothing_is_told_by_colour_or_grey() -> None:
    css = (TEMPLATES / "sheet.css").read_text()
    assert set(re.findall(r"(?:color|solid|background)[: ]+([a-z#][\w#]*)", css)) <= {"black"}
    assert not re.search(r"#[0-9a-f]{3,6}|rgb|grey|gray|opacity", css)


@pytest.mark.parametrize("name", ["sheet.html", "parts.html"])
def test_no_word_is_written_in_a_template(name: str) -> None:
    text = (TEMPLATES / name).read_text()
    text = re.sub(r"\{%.*?%\}|\{\{.*?\}\}|\{#.*?#\}", " ", text, flags=re.S)
    text = re.sub(r"<!DOCTYPE html>|<[^>]*>", " ", text)
    assert not re.findall(r"[^\W\d_]{2,}", text)


def test_what_is_said_of_several_bends_is_said_once() -> None:
    alike = [
        caution("nose-sharp", place("bend", number), nose_mm=1.0, least_mm=1.26, radius_mm=1.96) for number in (1, 2)
    ]
    other = caution("nose-sharp", place("bend", 3), nose_mm=1.0, least_mm=1.5, radius_mm=1.96)
    own = len(page(channel(), IDENTITY, WORDING).cautions)
    lines = page(replace(channel(), findings=(*alike, other)), IDENTITY, WORDING).cautions[own:]
    assert len(lines) == 2
    assert lines[0].startswith("bend 1, 2: ") and lines[1].startswith("bend 3: ")


def test_notes_stand_apart_from_cautions() -> None:
    sharp = note("nose-sharp", place("bend", 1), nose_mm=1.0, least_mm=1.3, radius_mm=2.0)
    made = page(replace(channel(), findings=(caution("tools-do-not-settle"), sharp)), IDENTITY, WORDING)
    assert [line.startswith("the tools chosen") for line in made.cautions].count(True) == 1
    assert len(made.notes_on_part) == 1 and made.notes_on_part[0].startswith("bend 1: nose")


def test_what_to_expect_of_the_first_piece_stands_where_it_is_checked() -> None:
    wide = with_step(channel(), 0, first_piece_deg=2.24, tolerance_deg=0.5, dominant="thickness")
    html = html_of(wide, IDENTITY, Settings(html=True), record=None)
    checked = html.split("Check the first piece")[1]
    assert "<strong>Expect ±2.2° on the first angle, ±0.5° is allowed: bend one spare first" in checked
