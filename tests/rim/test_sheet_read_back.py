"""The sheet by label and heading, held to the plan, the part file and the shop; the pictures to the tools' outlines."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from xml.etree import ElementTree

import pypdf
import pytest
import yaml
from shapely.geometry import LineString, Point

from flangewise.drawing import SCALES
from flangewise.words import catalogue

from ..each import of_each
from ..sentence import FIGURE, sentences_in
from .paper import boxed, runs
from .read_back import (
    INCH_MM,
    KN_PER_TON,
    NAMES,
    PLAIN,
    WANTED,
    Record,
    cells,
    degrees,
    file_of,
    folder,
    holes_of,
    in_mm,
    listed,
    mass_kg,
    near_kg,
    number,
    numbers,
    one_cell,
    out_of,
    plans,
    rows_under,
    said,
    sheet_html,
    signed_turns_deg,
    step_pieces,
)

PAGES = [("en", "mm"), ("de", "mm"), ("en", "inch")]
NAMES_AND_PAGES = [(name, *page) for name in NAMES for page in PAGES]


def words(lang: str, key: str, units: str = "mm") -> str:
    """A word of the sheet in a language, the one for inch where it says another unit then."""
    inch = f"sheet.{key}-inch" if units == "inch" else ""
    return catalogue(lang).get(inch, catalogue(lang)[f"sheet.{key}"])


def length_mm(text: str, units: str) -> float:
    """A bare length of a sheet in mm."""
    return number(text) * (INCH_MM if units == "inch" else 1.0)


def close_mm(units: str) -> float:
    """How near a printed length is: half of the last figure and a little."""
    return 0.006 if units == "mm" else 0.0006 * INCH_MM


def step_cells(piece: str) -> dict[str, str]:
    """The numbers of a step by label."""
    found = re.findall(
        r"<div(?: class=\"(?:second|third|twin|load|end)\")?><b>([^<]*)</b><span>([^<]*)</span></div>", piece
    )
    told = dict(found)
    assert len(told) == len(found) == 7
    return told


def told_beside(page: str, piece: str, lang: str, key: str) -> str | None:
    """What a step's small line says under a label, or else the line of what is the same at every step."""
    label = re.escape(words(lang, f"step.{key}"))
    own = [said(each) for each in re.findall(r'<p class="(?:keyed|small)">.*?</p>', piece, re.DOTALL)]
    keyed = [said(each) for each in re.findall(r'<p class="keyed">.*?</p>', page, re.DOTALL)]
    common = [each for each in keyed if each.startswith(words(lang, "common"))]
    for text in (*own, *common):
        found = re.search(rf"(?:^|[:·.] )(?i:{label}) ([-\d.,]+?)°?[.]?(?= ·|\. |$)", text)
        if found:
            return found[1]
    return None


def limits_said(page: str) -> str:
    """The governing limit in front and the others on the record."""
    front, *rest = re.split(r"Governing limit: |Other limits: ", said(page))[1:]
    return " · ".join((front.split(". Ram seat")[0].split(". Pair")[0], *(each.split(" Notes:")[0] for each in rest)))


def steps_shown(name: str, lang: str, units: str) -> list[tuple[str, Record]]:
    """The rows of the step table, each with the step of the plan that it shows."""
    return list(zip(step_pieces(sheet_html(name, lang, units)), plans()[name]["steps"], strict=True))


@of_each(NAMES_AND_PAGES)
def test_each_number_of_a_step_stands_under_its_label(name: str, lang: str, units: str) -> None:
    looked_at = steps_shown(name, lang, units)
    assert looked_at
    for piece, step in looked_at:
        told = step_cells(piece)
        lengths = {
            "x": (step["stops"]["x_mm"], 0.006),
            "open": (step["open_height_mm"], 0.6),
            "depth": (step["depth_mm"], 0.006),
            "r": (step["stops"]["r_mm"], 0.006),
        }
        for key, (value, close) in lengths.items():
            shown = told[words(lang, f"step.{key}")]
            if value is None:
                assert not re.search(r"\d", shown), key
            else:
                inch = 0.009 if key in ("open", "slow") else 0.0006
                assert length_mm(shown, units) == pytest.approx(value, abs=close if units == "mm" else inch * 30), key
        plain = {
            "finished": (step["finished_deg"], 0.06),
            "force": (step["force_kn"], 0.51 if step["force_kn"] > 20 else 0.06),
        }
        for key, (value, near) in plain.items():
            shown = told[words(lang, f"step.{key}", units)]
            if value is None:
                assert not re.search(r"\d", shown), key
            else:
                # A force in ton is as fine as a tenth, or a hundredth under 20 kN.
                in_ton = key == "force" and units == "inch"
                scale, near = (KN_PER_TON, near if value > 20 else 0.051) if in_ton else (1.0, near)
                assert number(shown) * scale == pytest.approx(value, abs=near), key
                assert not in_ton or numbers(shown)[1] == pytest.approx(value, abs=near), key
        scale = INCH_MM if units == "inch" else 1.0
        page = sheet_html(name, lang, units)
        beside = {
            "speed": (step["ram_speed_mm_per_s"], 0.06),
            "slow": (step["slow_from_mm"], 0.06),
            # Rounded up to the whole mm, or a twentieth of an inch.
            "retract": (step["stops"]["retract_mm"], 1.01 if units == "mm" else 0.051),
            "crowning": (step["crowning_mm"], 0.006),
        }
        for key, (value, near) in beside.items():
            shown = told_beside(page, piece, lang, key)
            if not value:
                assert shown is None, key
            else:
                assert shown is not None, key
                per = scale / 60 if key == "speed" and units == "inch" else scale
                assert number(shown) * per == pytest.approx(value, abs=near * scale), key
        if step["bend_to_deg"] is not None:
            loaded = told_beside(page, piece, lang, "loaded")
            assert loaded is not None and number(loaded) == pytest.approx(step["bend_to_deg"], abs=0.06)
        if step["mm_per_deg"] is not None:
            rate = re.search(r"\+([\d.,]+)\.", said(piece))
            assert rate and number(rate[1]) * scale == pytest.approx(step["mm_per_deg"], abs=0.0006 * scale)
        across = [each * scale for each in numbers(told[words(lang, "step.z")])]
        # To the whole mm, or a twentieth of an inch.
        assert across == pytest.approx(step["stops"]["z_mm"], abs=0.51 if units == "mm" else 0.64)


@of_each(NAMES_AND_PAGES)
def test_a_step_says_which_bend_which_way_which_face_and_which_edge(name: str, lang: str, units: str) -> None:
    looked_at = steps_shown(name, lang, units)
    assert looked_at
    for piece, step in looked_at:
        text = said(piece)
        head = said(re.search(r"<h3>.*?</h3>", piece, re.DOTALL)[0])
        assert number(head) == step["step"]
        if step["hit"] == "bend":
            turn = signed_turns_deg(name)[step["bends"][0] - 1]
            assert numbers(head)[:2] == [step["step"], abs(turn)]
            assert said(re.search(r'<span class="bend-mark">.*?</span>', piece)[0]) == LETTERS[step["bends"][0] - 1]
            assert (words(lang, "toward") in head) == (turn > 0)
            assert (words(lang, "away") in head) == (turn < 0)
        for face in ("up", "down"):
            assert (words(lang, f"face-{face}") in text) == (step["marked_face"] == face)
        gauged = step["gauged_on"]
        if step["hit"] == "flatten":
            assert words(lang, "step.hem-by-hand") in text and step["stops"]["x_mm"] is None
            continue
        edge = words(lang, f"gauge.{gauged['on']}").replace("{bend}", LETTERS[(gauged["bend"] or 1) - 1])
        assert words(lang, "step.gauged").format(edge=edge) in text
        if lang == "en":
            why, _, hand = lettered(step["open_height_reason"]).rpartition(". ")
            assert why.split(" mm ")[-1] in text or units == "inch"
            # What all steps keep in hand is said once for the job.
            assert f"Openings: {hand}." in said(sheet_html(name, lang, units)) or units == "inch"
            assert "kept in hand" not in text
            for move in step["moves"]:
                assert MOVES[(move["move"], move["axis"])] in text
            hold = step["hold"]
            looks = {"front": FIGURE, "by": "[^.]*"}
            held = {"behind_kg": rf"{FIGURE} \w+", "moment_nm": rf"{FIGURE} (?:N m|lbf ft)"}
            little = sentences_in(text, "sheet.sign-of.hold-little-in-front", front_mm=rf"{FIGURE} (?:mm|in)")
            told = sentences_in(text, "sheet.step.hold", "sheet.step.hold-tips", "sheet.step.front", **looks, **held)
            if little:
                # The caution says it with the figure: it is not said twice.
                assert told == [] and hold["by"] != "hand"
                front_mm = length_mm(little[0]["front_mm"].split()[0], units)
                assert front_mm == pytest.approx(hold["front_mm"], abs=1.01 if units == "mm" else 1.3)
                continue
            (front,) = told
            close = 1.01 if units == "mm" else 1.3
            assert length_mm(front["front"], units) == pytest.approx(hold["front_mm"], abs=close)
            behind = front.groupdict().get("behind_kg")
            assert behind is None or mass_kg(behind) == pytest.approx(
                hold["behind_kg"], abs=0.006 + near_kg(hold["behind_kg"])
            )
            # What holds the part at every step is said once for all.
            line = said(sheet_html(name, lang, units)).partition(words(lang, "common"))[2].split(". ")[0]
            common = sentences_in(line, "sheet.every-hold", by=r"[^.·]*")
            assert ("by" in front.groupdict()) == (not common)
            by = common[0]["by"] if common else front["by"]
            assert ("by hand" in by) == (hold["by"] == "hand")
            looks, correction = {"leg": r"\d", "size": rf"{FIGURE} ±{FIGURE}", "change": "X .+?"}, step["correction"]
            told = sentences_in(text, "sheet.step.correct", **looks)
            if told and correction:
                size, change = told[0]["size"].split(" ±"), told[0]["change"]
                assert int(told[0]["leg"]) == correction["leg"]
                assert length_mm(size[0], units) == pytest.approx(correction["nominal_mm"], abs=close_mm(units))
                assert length_mm(size[1], units) == pytest.approx(correction["plus_minus_mm"], abs=0.06)
                assert change.startswith("X −") == (correction["x_per_mm"] < 0)


@of_each(NAMES_AND_PAGES)
def test_the_blank_of_the_sheet_is_the_blank(name: str, lang: str, units: str) -> None:
    page, blank = sheet_html(name, lang, units), plans()[name]["blank"]
    sides = re.split("×", one_cell(page, words(lang, "blank.size")))
    length = in_mm(name, WANTED[name]["section"]["length"])
    assert [length_mm(side, units) for side in sides] == pytest.approx(
        [length, blank["developed_mm"]], abs=close_mm(units)
    )
    diagonal = length_mm(one_cell(page, words(lang, "blank.diagonal")), units)
    assert diagonal == pytest.approx(math.hypot(length, blank["developed_mm"]), abs=0.06 if units == "mm" else 0.3)
    mass = mass_kg(one_cell(page, words(lang, "blank.mass")))
    assert mass == pytest.approx(blank["mass_kg"], abs=near_kg(blank["mass_kg"]))


@of_each([name for name in NAMES if WANTED[name]["section"].get("holes")])
def test_the_holes_are_told_from_the_datum_and_by_their_sizes(name: str) -> None:
    told = said(sheet_html(name)).split("Holes from datum, along; across:", 1)[1]
    pieces = re.findall(r"h(\d+) (Ø [\d.]+|[\d.]+ × [\d.]+): ([\d.]+); ([\d.]+)", told)
    assert len(pieces) == len(holes_of(name))
    for (_, size, along, across), place, hole in zip(
        pieces, holes_of(name), WANTED[name]["section"]["holes"], strict=True
    ):
        assert (float(along), float(across)) == pytest.approx(place, abs=0.006)
        wanted = hole.get("size") or [hole["diameter"]]
        assert numbers(size) == pytest.approx([in_mm(name, each) for each in wanted], abs=0.006)


@of_each([name for name in NAMES if WANTED[name]["section"].get("holes")])
def test_the_misload_check_names_a_hole_where_it_lies_when_the_blank_is_laid_right(name: str) -> None:
    """From the operator's left end and from the back edge, as the first step lays the blank on."""
    text = said(sheet_html(name))
    step, blank = plans()[name]["steps"][0], plans()[name]["blank"]
    looks = {"hole": r"\d+", "left": FIGURE, "back": FIGURE}
    pieces = [each.group(*looks) for each in sentences_in(text, "sheet.misload.look-hole", **looks)]
    assert pieces or name != "wind-vane-bracket"
    for hole, left, back in pieces:
        along, up = holes_of(name)[int(hole) - 1]
        start_at_back = step["gauged_on"]["on"] == "start"
        # Marked face up and the start edge at the operator, the left end is the left end: each of the two turns it.
        same = (step["marked_face"] == "up") != start_at_back
        assert float(back) == pytest.approx(up if start_at_back else blank["developed_mm"] - up, abs=0.06)
        assert float(left) == pytest.approx(along if same else blank["along_bends_mm"] - along, abs=0.06)


@of_each(NAMES_AND_PAGES)
def test_the_head_and_the_material_are_the_part_files(name: str, lang: str, units: str) -> None:
    page, part = sheet_html(name, lang, units), WANTED[name]
    told = dict(cells(page))
    assert told[words(lang, "head.drawing")] == part["drawing"]
    assert told[words(lang, "head.machine")] == plans()[name]["machine"]
    if "quantity" in part:
        assert numbers(told[words(lang, "head.quantity")]) == [part["quantity"], part["spares"]]
    else:
        assert words(lang, "head.quantity") not in told
    material = listed("materials")[str(part["material"])]
    thick = numbers(told[words(lang, "material.thickness")])
    scale = INCH_MM if units == "inch" else 1.0
    assert thick[0] * scale == pytest.approx(in_mm(name, part["thickness"]), abs=close_mm(units))
    assert 0.01 < thick[1] * scale < 0.1 * in_mm(name, part["thickness"]) + 0.05
    assert told[words(lang, "material.name")] == material["name"]
    cycle = plans()[name]["totals"]["cycle_s"]
    assert f"{cycle:.0f} s" in said(page)


@of_each(NAMES_AND_PAGES)
def test_the_tools_are_the_shops(name: str, lang: str, units: str) -> None:
    page = sheet_html(name, lang, units)
    scale = INCH_MM if units == "inch" else 1.0
    pairs = list(dict.fromkeys((s["punch"], s["die"]) for s in plans()[name]["steps"]))
    pieces = re.findall(r'<div class="pair">.*?</p></div>', page, re.DOTALL)
    for piece, names in zip(pieces, pairs, strict=True):
        groups = re.findall(r'<div class="cells">.*?</div></div>', piece, re.DOTALL)
        for kind, group, tool in zip(("punch", "die"), groups, names, strict=True):
            told = dict(cells(group))
            row = listed("punches" if kind == "punch" else "dies")[tool]
            assert told[f"{words(lang, f'tool.{kind}')} · {row['rack']}"] == tool
            assert number(told[words(lang, "tool.height")]) * scale == pytest.approx(row["height_mm"], abs=0.02)
            assert number(told.get(words(lang, "tool.angle"), "0")) == pytest.approx(
                row["included_deg"] if words(lang, "tool.angle") in told else 0, abs=0.06
            )
            for label, key in (("nose", "nose_radius_mm"), ("shoulder", "shoulder_radius_mm")):
                if words(lang, f"tool.{label}") in told:
                    assert number(told[words(lang, f"tool.{label}")]) * scale == pytest.approx(row[key], abs=0.02)
            if words(lang, "tool.opening") in told:
                assert number(told[words(lang, "tool.opening")]) * scale == pytest.approx(
                    row["named_opening_mm"], abs=0.02
                )
    if (lang, units) == ("en", "mm"):
        seats = ("sheet.touch-off.seats", "sheet.touch-off.pair")
        shut = [number(each["height"]) for each in sentences_in(said(page), *seats, height=rf"{FIGURE}[^.;:]*")]
        heights = {listed("punches")[p]["height_mm"] + listed("dies")[d]["height_mm"] for p, d in pairs}
        assert set(shut) == heights
        ends = {"start": r"\d+", "end": r"\d+"}
        spans = [each.group(*ends) for each in sentences_in(said(page), "sheet.tool.station", **ends)]
        stations = list(
            dict.fromkeys((st["from_mm"], st["to_mm"]) for s in plans()[name]["steps"] for st in s["stations"])
        )
        assert sorted((float(a), float(b)) for a, b in spans) == sorted(stations)


@of_each(NAMES)
def test_the_limits_are_the_shops_and_the_loads_the_steps(name: str) -> None:
    """Punch, die and holder by their rows; the machine by its force, off centre by the statics of two drives."""
    page, plan = sheet_html(name), plans()[name]
    text = limits_said(page)
    machine = listed("machines")[plan["machine"]]
    middle = machine["bed_length_mm"] / 2
    found = re.findall(
        r"(load on a short length|[^·%]*?): ([\d.]+) kN(?:/m)? of ([\d.]+) (kN/m|kN), (\d+) %, step (\d+)", text
    )
    assert found
    for body, *rest in found:
        load, most, unit, share, at = float(rest[0]), float(rest[1]), rest[2], int(rest[3]), int(rest[4])
        assert load / most * 100 == pytest.approx(share, abs=0.6 + 60 / load)
        step = plan["steps"][at - 1]
        if unit == "kN":
            assert load == pytest.approx(step["force_kn"], abs=0.51)
            (station,) = step["stations"]
            off = abs((station["from_mm"] + station["to_mm"]) / 2 - middle)
            assert ("off centre" in body) == (off > 1)
            assert most == pytest.approx(machine["force_kn"] / (1 + 2 * off / machine["drive_spacing_mm"]), abs=0.6)
        elif "punch holder" in body:
            assert most == machine["holder_load_kn_per_m"]
        elif "punch" in body:
            assert most == listed("punches")[step["punch"]]["load_kn_per_m"] and step["punch"] in body
        elif "die" in body:
            assert most == listed("dies")[step["die"]]["load_kn_per_m"] and step["die"] in body
    offs = {abs(sum((s["stations"][0]["from_mm"], s["stations"][0]["to_mm"])) / 2 - middle) > 1 for s in plan["steps"]}
    assert ("off centre" in text) == (True in offs)
    for tool in {s["punch"] for s in plan["steps"] if s["hit"] != "offset"} | {s["die"] for s in plan["steps"]}:
        assert tool in text


@of_each(NAMES_AND_PAGES)
def test_the_record_of_the_first_piece_asks_for_included_angles_and_the_drawings_legs(
    name: str, lang: str, units: str
) -> None:
    page, plan = sheet_html(name, lang, units), plans()[name]
    rows = rows_under(page, words(lang, "first.what"))
    legs, turns = WANTED[name]["section"]["legs"], signed_turns_deg(name)
    scale = INCH_MM if units == "inch" else 1.0
    heads = [words(lang, f"first.{key}") for key in ("nominal", "allowed", "expected", "too-long")]
    # As the part lies before the operator.
    assert list(rows[0])[-4:-1] == [words(lang, f"first.{key}") for key in ("left", "middle", "right")]
    angles, sizes = rows[: len(turns)], rows[len(turns) :]
    looked_at = list(enumerate(zip(angles, turns, strict=True)))
    assert looked_at
    for place, (row, turn) in looked_at:
        if "°" not in row[heads[0]]:
            continue
        assert number(row[heads[0]]) == pytest.approx(180 - abs(turn))
        step = next(each for each in plan["steps"] if place + 1 in each["bends"])
        assert degrees(row[heads[1]].replace("± ", "")) == pytest.approx(step["tolerance_deg"], abs=0.006)
        assert number(row[heads[2]].replace("± ", "")) == pytest.approx(step["spread_deg"], abs=0.06)
    for row, leg, error in zip(sizes, legs, plan["leg_errors"], strict=True):
        assert number(row[heads[0]]) * scale == pytest.approx(in_mm(name, leg), abs=close_mm(units))
        assert number(row[heads[1]].replace("± ", "")) * scale == pytest.approx(error["allowed_mm"], abs=0.02)
        if error["statistical_mm"] is not None:
            assert number(row[heads[2]].replace("± ", "")) * scale == pytest.approx(error["statistical_mm"], abs=0.06)
        step = [
            each["step"] for each in plan["steps"] if each["correction"] and each["correction"]["leg"] == error["leg"]
        ]
        at = re.search(r"X (.) \((\d+)\)", row[heads[3]])
        assert at is None or int(at[2]) in step


@of_each(NAMES)
def test_every_finding_of_the_plan_is_on_the_sheet(name: str) -> None:
    """In its own words, or at its step in the few words that the catalogue has for it, with a figure of its own."""
    text, short = said(sheet_html(name)), catalogue("en")
    looked_at = [each for each in plans()[name]["findings"] if each["severity"] != "refuse"]
    assert looked_at or name in ("lap-plate", "wind-vane-bracket")
    for each in looked_at:
        sign = short.get(f"sheet.sign-of.{each['code']}")
        pieces = [piece for piece in re.split(r"\{[^}]*\}", sign or "") if piece.strip()]
        whole = lettered(each["text"])[1:].rstrip(".") in text
        assert whole or (pieces and all(piece.strip() in text for piece in pieces))


def test_a_pdf_says_what_the_page_says() -> None:
    out_of("sheet", file_of("rain-gauge-foot"), "-o", str(folder() / "pdf"))
    reader = pypdf.PdfReader(folder() / "pdf" / "rain-gauge-foot.pdf")
    text = re.sub(r"\s+", " ", " ".join(page.extract_text() for page in reader.pages))
    looked_at = list(plans()["rain-gauge-foot"]["steps"])
    assert looked_at
    for step in looked_at:
        assert re.search(rf"\bX {step['stops']['x_mm']:.2f}", text)
        assert f"{step['bend_to_deg']:.1f}°" in text and f"{step['depth_mm']:.2f}" in text
    for label, value in cells(sheet_html("rain-gauge-foot"))[:12]:
        assert f"{label} {value}" in text.replace("\u00a0", " ") or value in text


def drawn(name: str, step: Record) -> ElementTree.Element:
    """The picture of a step."""
    out_of("plan", file_of(name), "--draw", str(folder() / "draw"))
    return ElementTree.parse(folder() / "draw" / f"{name}.step-{step['step']}.svg").getroot()


LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
MOVES = {
    ("turn-in-plane", None): "HALF TURN, same face up",
    ("turn-over", "the bed"): "TURN OVER front to back",
    ("turn-over", "front to back"): "TURN OVER left to right",
    ("shift", None): "SHIFT ",
    ("tool-change", None): "CHANGE TOOLS: ",
    ("side-exit", None): "SLIDE OUT along the bed",
}


def lettered(text: str) -> str:
    """A sentence of the plan with its bends by the letters of the sheet."""
    return re.sub(r"bend (\d)", lambda found: f"bend {LETTERS[int(found[1]) - 1]}", text)


NECK = {
    "part": "set-back",
    "material": "DC01",
    "thickness": 1.5,
    "section": {"length": 100, "legs": [30, 40], "bends": [{"turn": 90, "punch": "neck-shallow"}]},
}


def held_to_the_outlines(picture: ElementTree.Element, step: Record) -> float | None:
    """The scale at which the drawn punch lies on the shop's outline, its nose on the centre line; None if at none."""
    (centre,) = {run[0][0] for run in runs(picture, "0.25", dashed=True)}
    through = [run for run in runs(picture, "0.5") if min(x for x, _ in run) < centre < max(x for x, _ in run)]
    punch = min(through, key=lambda run: min(y for _, y in run))
    points = listed("punches")[step["punch"]]["outline_mm"]
    if step["punch_turned"]:
        points = [(-x, y) for x, y in points]
    tip, nose = max(y for _, y in punch), min(y for _, y in points)
    low = min(y for _, y in punch)
    # A sheet that would be drawn too thin is drawn a millimetre thick.
    for scale in (*SCALES, 1 / 1.5, 1 / 2):
        wanted = [(centre + x * scale, tip - (y - nose) * scale) for x, y in points]
        ring = LineString([*wanted, wanted[0]])
        if all(ring.distance(Point(point)) < 0.08 for point in punch if point[1] > low + 0.01):
            return scale
    return None


@of_each(PLAIN)
def test_the_punch_of_a_picture_is_the_shops_outline(name: str) -> None:
    looked_at = list(plans()[name]["steps"])
    assert looked_at
    for step in looked_at:
        assert held_to_the_outlines(drawn(name, step), step) is not None


@of_each(PLAIN)
def test_punch_die_and_stop_stand_in_a_picture_where_the_record_sets_them(name: str) -> None:
    """The nose is as far under the die's top as the depth, the finger's foot R over it and its face X behind."""
    looked_at = [step for step in plans()[name]["steps"] if step["depth_mm"] is not None]
    assert looked_at
    finger = listed("machines")[plans()[name]["machine"]]["finger_outline_mm"]
    for step in looked_at:
        picture = drawn(name, step)
        scale = held_to_the_outlines(picture, step)
        (centre,) = {run[0][0] for run in runs(picture, "0.25", dashed=True)}
        assert scale is not None
        solid = runs(picture, "0.5")
        punch = min((run for run in solid if boxed(run)[0] < centre < boxed(run)[2]), key=lambda run: boxed(run)[1])
        tip = boxed(punch)[3]
        die_top = tip - step["depth_mm"] * scale
        # Beside the opening the die's top is level on both sides, and nothing of it stands higher.
        tops = [point for run in solid if run is not punch for point in run if abs(point[1] - die_top) < 0.03]
        assert {point[0] > centre for point in tops} == {True, False}

        foot = die_top - (step["stops"]["r_mm"] + min(y for _, y in finger)) * scale
        behind = [run for run in solid if boxed(run)[2] < centre and abs(boxed(run)[3] - foot) < 0.03]
        assert behind
        face = max(boxed(run)[2] for run in behind)
        whole = abs(face - (centre - step["stops"]["x_mm"] * scale)) < 0.05
        # A stop that stands far off is drawn beyond a break.
        assert whole or (step["stops"]["x_mm"] * scale > centre - boxed(behind[0])[0])


@pytest.mark.parametrize("signs", [(1, 1), (1, -1)])
def test_a_punch_that_is_set_back_is_drawn_to_its_own_side(signs: tuple[int, int], tmp_path: Path) -> None:
    """Its outline is not the mirror of itself, so a picture that mirrors it is found out."""
    file = tmp_path / "set-back.yaml"
    part = {**NECK, "section": {**NECK["section"], "bends": [{**NECK["section"]["bends"][0], "away": signs[1] < 0}]}}
    file.write_text(yaml.safe_dump(part))
    out = out_of("plan", str(file), "--format", "json", "--draw", str(tmp_path / "draw"))
    (step,) = json.loads(out)["steps"]
    outline = listed("punches")["neck-shallow"]["outline_mm"]
    assert step["punch"] == "neck-shallow" and min(x for x, _ in outline) != -max(x for x, _ in outline)
    picture = ElementTree.parse(tmp_path / "draw" / "set-back.step-1.svg").getroot()
    assert held_to_the_outlines(picture, step) is not None
    assert None is held_to_the_outlines(picture, {**step, "punch_turned": not step["punch_turned"]})


@of_each(NAMES)
def test_a_picture_says_the_x_and_the_opening_of_its_step(name: str) -> None:
    looked_at = list(plans()[name]["steps"])
    assert looked_at
    for step in looked_at:
        texts = [each.text or "" for each in drawn(name, step).iter("{http://www.w3.org/2000/svg}text")]
        x_mm = step["stops"]["x_mm"]
        assert any(each.startswith("X ") for each in texts) == (x_mm is not None)
        assert x_mm is None or f"X {x_mm:.2f}" in texts
        assert f"{step['open_height_mm']:.0f}" in texts
        words_at = {
            each.text: float(each.get("x", "0")) for each in drawn(name, step).iter("{http://www.w3.org/2000/svg}text")
        }
        assert words_at["BACKGAUGE"] < words_at["OPERATOR"]
