"""What the template is given: everything said, boxes empty, limits with the governing one first."""

import re
from dataclasses import replace

import pytest

from flangewise.findings import caution, note, place
from flangewise.punch_die import Mounting
from flangewise.setup import Load
from flangewise.sheet import Identity, Printing, SheetData
from flangewise.sheet.job_words import tool_cells
from flangewise.sheet.page_words import finding_lines, misload_lines, page_words, touch_off_lines
from flangewise.sheet.render import TEMPLATES, html_of
from flangewise.words import phrase

from .demo import blanked, cells, channel, pair, with_step, with_tools, wording

IDENTITY = Identity("a1b2c3d4e5f6", "0.1.0")
WORDING = wording()


def html(sheet: SheetData) -> str:
    """The sheet as it is printed."""
    return html_of(sheet, IDENTITY, Printing(html=True), record=None)


def test_the_governing_limit_is_the_one_used_most() -> None:
    loads = (
        Load(phrase("sheet.named", words="punch p"), 100.0, 1000.0, "kn_per_m", 1),
        Load(phrase("sheet.named", words="machine m"), 200.0, 310.0, "kn", 2),
    )
    sheet = replace(channel(), loads=loads)
    page = page_words(sheet, IDENTITY, WORDING)
    assert page["checked"].startswith("Governing limit: machine m: 200 kN of 310 kN, 65 %, step 2.")
    assert "punch p: 100 kN/m of 1000 kN/m" in page["told_last"] and "machine m" not in page["told_last"]


def test_a_run_takes_its_cycles_and_its_set_up() -> None:
    """40 parts of 90 s, and 20 min: 4800 s."""
    sheet = channel()
    setup = replace(sheet.setup, cycle_s=90.0, set_up_s=1200.0)
    run = page_words(replace(sheet, setup=setup, part=replace(sheet.part, quantity=40)), IDENTITY, WORDING)["run"]
    assert run == "90 s a part, set-up 20 min. 40 parts and set-up: 1.3 h."


def test_limits_that_could_not_be_computed_are_said_so() -> None:
    assert "No limit could be computed." in html(replace(channel(), loads=()))


def test_wrong_ways_told_by_one_hole_stand_in_one_line() -> None:
    lines = misload_lines(channel(), WORDING)
    assert len(lines) == 3
    assert "turned 180° in its plane; turned over, left end to the right" in lines[0]
    assert "hole h1 is 40 from the left end" in lines[0]
    assert lines[2].startswith("The outline cannot tell the two faces apart")


def looks(along_mm: float, grain: str) -> set[str]:
    """What to look at on a nearly square blank without holes, for its quarter turns."""
    sheet = channel()
    alike = replace(sheet.pattern, along_bends_mm=along_mm, developed_mm=90.0, holes=())
    plain = replace(sheet.part, grain=grain, burr="unknown", film="none")  # type: ignore[arg-type]
    lines = misload_lines(replace(sheet, pattern=alike, part=plain), WORDING)
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
    told = page_words(holed, IDENTITY, WORDING)["holes"]
    assert re.findall(r"h(\d+) Ø", told) == [str(place) for place in range(1, listed + 1)]
    assert more in told and ("more" in told) is bool(more)


def test_quantity_says_its_spares() -> None:
    assert cells(html(channel()))["quantity"] == "120 + 3 spare"


def test_what_is_not_known_makes_no_cell() -> None:
    part = replace(channel().part, drawing="", due="", quantity=None)
    assert {"drawing", "due", "quantity"} <= set(cells(html(channel())))
    assert {"drawing", "due", "quantity"}.isdisjoint(cells(html(replace(channel(), part=part))))


def test_pairs_of_one_shut_height_share_a_line() -> None:
    sheet = channel()
    three = replace(sheet, steps=(*sheet.steps, sheet.steps[0]))
    tools = (Mounting(pair()), Mounting(pair(), True), Mounting(pair(name="taller", height_mm=120.0)))
    lines = touch_off_lines(with_tools(three, *tools), WORDING)
    assert [line.split(":")[0] for line in lines] == ["Pair 1, 2", "Pair 3"]
    assert "160.00" in lines[0]
    assert "180.00" in lines[1]


def measured(sheet: SheetData) -> list[list[str]]:
    """The rows of the first-piece record: what, nominal, allowed, expected, too long, instrument."""
    rows = re.findall(r'<tr><td class="num">(.*?)</tr>', html(sheet).split("First piece")[1])
    return [re.split(r"</td><td[^>]*>", row) for row in rows]


def test_the_rack_of_a_tool_stands_behind_the_word_for_it() -> None:
    offer = pair(rack="R1/7")
    assert offer.tools.punch is not None and offer.tools.die is not None
    kept = replace(offer.tools, die=offer.tools.die.model_copy(update={"rack": None}))
    punch, die = tool_cells(Mounting(replace(offer, tools=kept)), WORDING)
    assert punch[0] == ("punch · R1/7", offer.tools.punch.name)
    assert die[0] == ("die", offer.tools.die.name)


def test_measures_have_nominal_allowed_and_instrument() -> None:
    rows = measured(channel())
    assert rows[0][:4] == ["A", "90.0°", "± 0°30′", "–"]
    scattered = replace(channel(), measures=(replace(channel().measures[0], expected=2.24),))
    assert measured(scattered)[0][3] == "± 2.2°"
    assert rows[2][:3] == ["L1", "25", "± 0.2"]


def test_a_tolerance_that_is_not_known_is_not_a_number() -> None:
    sheet = channel()
    unknown = replace(sheet, measures=(replace(sheet.measures[0], allowed=None),))
    assert measured(unknown)[0][2] == "not known"


def test_boxes_for_readings_are_empty() -> None:
    boxes = re.findall(r"<i>(.*?)</i>", html(channel()))
    empty = re.findall(r'<td class="empty">(.*?)</td>', html(channel()))
    assert len(boxes) >= 20
    assert len(empty) >= 3 * len(channel().measures)
    assert set(boxes) == set(empty) == {""}


def test_boxes_are_large_enough_for_a_gloved_hand() -> None:
    css = (TEMPLATES / "sheet.css").read_text()
    sizes = re.findall(r"\.box i \{[^}]*width: ([\d.]+)mm; height: ([\d.]+)mm", css)
    assert sizes
    assert all(float(wide) >= 18 and float(high) >= 8 for wide, high in sizes)
    assert float(re.findall(r"td \{[^}]*height: ([\d.]+)mm", css)[0]) >= 8
    assert float(re.findall(r"td\.empty \{[^}]*width: ([\d.]+)mm", css)[0]) >= 18


def test_nothing_is_told_by_colour_or_grey() -> None:
    css = (TEMPLATES / "sheet.css").read_text()
    assert set(re.findall(r"(?:color|solid|background)[: ]+([a-z#][\w#]*)", css)) <= {"black", "white"}
    assert not re.search(r"#[0-9a-f]{3,6}|rgb|grey|gray|opacity", css)


@pytest.mark.parametrize("name", ["leaf.html", "sheet.html", "panel.html", "parts.html", "tablet.html"])
def test_no_word_is_written_in_a_template(name: str) -> None:
    text = (TEMPLATES / name).read_text()
    text = re.sub(r"\{%.*?%\}|\{\{.*?\}\}|\{#.*?#\}", " ", text, flags=re.S)
    text = re.sub(r"<!DOCTYPE html>|<[^>]*>", " ", text)
    assert not re.findall(r"[^\W\d_]{2,}", text)


def test_what_is_said_of_several_bends_is_said_once() -> None:
    alike = [
        caution("nose-sharp", place("bend", number), nose_mm=1.0, least_mm=1.26, radius_mm=1.96) for number in (5, 6)
    ]
    other = caution("nose-sharp", place("bend", 3), nose_mm=1.0, least_mm=1.5, radius_mm=1.96)
    lines = finding_lines(replace(channel(), findings=(*alike, other)), "caution", WORDING)
    assert len(lines) == 2
    assert lines[0].startswith("Bend E, F: ") and lines[1].startswith("Bend C: ")


def test_notes_stand_apart_from_cautions() -> None:
    sharp = note("nose-sharp", place("bend", 3), nose_mm=1.0, least_mm=1.3, radius_mm=2.0)
    made = page_words(replace(channel(), findings=(caution("tools-do-not-settle"), sharp)), IDENTITY, WORDING)
    assert [line.startswith("The tools chosen") for line in made["cautions"]].count(True) == 1
    assert "Notes: Bend C: nose" in made["told_last"]


def test_what_to_expect_of_the_first_piece_stands_where_it_is_checked() -> None:
    wide = with_step(channel(), 0, first_piece_deg=2.24, tolerance_deg=0.5, dominant="thickness")
    checked = html(wide).split("First piece")[1]
    assert 'strong">Expect ±2.2° on the first angle, ±0°30′ is allowed. Bend a spare first' in checked


def test_where_the_tolerances_come_from_and_what_the_run_takes_are_said() -> None:
    sheet = channel()
    page = page_words(sheet, IDENTITY, WORDING)
    both = "Tolerances of angles: ISO 2768-1 class m; of legs, outside: ISO 2768-1 class m."
    assert page["tolerances"].startswith(both)
    drawn = replace(sheet, part=replace(sheet.part, tolerances=replace(sheet.part.tolerances, angle_deg=0.7)))
    assert "angles: from the drawing; of legs, outside: ISO" in page_words(drawn, IDENTITY, WORDING)["tolerances"]
    # 120 parts of 31 s and no set-up.
    assert page["run"] == "31 s a part, set-up 0 min. 120 parts and set-up: 1.0 h."


def test_a_blank_that_starts_face_down_is_told_by_what_is_seen_from_above() -> None:
    sheet = channel()
    assert page_words(sheet, IDENTITY, WORDING)["seen"].startswith("Load mark on top")
    down = with_step(sheet, 0, marked_face="down")
    seen = page_words(down, IDENTITY, WORDING)["seen"]
    assert seen.startswith("Load mark underneath")
    # At 40 along of 180, and in the middle across; turned over about the bed the left end comes to the right.
    assert "hole h1 140 from the left end, 51.5 from the back edge" in seen
    assert "BURR DOWN" in seen and "FILM UP" in seen
