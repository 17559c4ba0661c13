"""Drawn blanks through the commands: laid out as they are, finished sizes told, faults of file and drawing at once."""

from __future__ import annotations

import json
import math
import random
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from ...how_many import one_in
from ..drawn.made import AWAY, CUT, TOWARD, drawing, written
from ..drawn.panels import drawn, random_blank
from ..drawn.test_spoilt import spoilt

# The pan of 300 x 200 x 40, t 2, r 2, K 0.42: a deduction of 3.53894 a bend, zones 4.46106 wide.
DEDUCTION_MM, ZONE_MM = 3.53894, 4.46106
LINE_MM = 40 - DEDUCTION_MM / 2
NOTCH_MM = LINE_MM + ZONE_MM / 2
LONG_MM, WIDE_MM = 380 - 2 * DEDUCTION_MM, 280 - 2 * DEDUCTION_MM
HEAD = "part: p\nmaterial: DC01\nthickness: 2\n"
PAN = "blank:\n  file: blank.dxf\n  bend: {turn: 90, k_factor: 0.42, punch: straight-88, die: vee-16-80}\n"
SPOILT = range(0, 2_000, one_in(40))


def pan(notch_mm: float = NOTCH_MM, **more: Any) -> Any:
    """The worked pan as a drawing, its notches so deep: to where the bends begin, or otherwise."""
    a, x, y, line = notch_mm, LONG_MM, WIDE_MM, LINE_MM
    half = [(a, 0.0), (x - a, 0.0), (x - a, a), (x, a), (x, y - a), (x - a, y - a)]
    outline = [*half, *((x - u, y - v) for u, v in half)]
    lines = [
        ((a, line), (x - a, line), TOWARD),
        ((x - line, a), (x - line, y - a), TOWARD),
        ((a, y - line), (x - a, y - line), TOWARD),
        ((line, a), (line, y - a), TOWARD),
    ]
    return drawing(*lines, outline=outline, **more)


@pytest.fixture
def part(tmp_path: Path) -> Any:
    """Writes a part file beside the drawing `blank.dxf`: its path."""

    def write(text: str) -> str:
        path = tmp_path / "part.yaml"
        path.write_text(HEAD + text)
        return str(path)

    return write


def test_the_worked_pan_comes_to_its_sizes_at_the_radius_asked_for(part: Any, told: Any, tmp_path: Path) -> None:
    written(pan(), tmp_path)
    status, out, err = told(
        "flat", part(PAN + "  radius: 2\n  sizes: {near: 40, base: [300, 200]}\n"), "--format", "json"
    )
    assert (status, err) == (0, "")
    record = json.loads(out)
    assert record["blank"]["size_mm"] == pytest.approx([372.922, 272.922], abs=1e-3)
    assert record["blank"]["area_mm2"] == pytest.approx(95_230.3, abs=0.1)
    assert sorted(bend["face"] for bend in record["bends"]) == ["far", "left", "near", "right"]
    assert sorted(bend["length_mm"] for bend in record["bends"]) == pytest.approx([192, 192, 292, 292], abs=1e-3)
    asked = {each["face"]: each["asked_mm"] for each in record["finished"]}
    assert asked["base"] == pytest.approx([300, 200], abs=1e-3)
    for name in ("near", "right", "far", "left"):
        assert asked[name] == pytest.approx([40], abs=1e-3)
    # The die's own radius is another, and the zone about the same line with it: half the change of 2 s - w a flange.
    radius_mm = record["bends"][0]["inside_radius_mm"]
    less_mm = (2 * (2 + 2) - 1.5707963 * (2 + 0.84)) - (2 * (radius_mm + 2) - 1.5707963 * (radius_mm + 0.84))
    made = {each["face"]: each["size_mm"] for each in record["finished"]}
    assert made["near"] == pytest.approx([40 - less_mm / 2], abs=1e-3)
    assert made["base"] == pytest.approx([300 - less_mm, 200 - less_mm], abs=1e-3)
    assert next(each for each in record["finished"] if each["face"] == "near")["wanted_mm"] == [40]


def test_a_notch_drawn_to_the_lines_is_told_and_the_bends_begin_where_they_would(
    part: Any, told: Any, tmp_path: Path
) -> None:
    """The two zones would share a square of half a zone at each corner: both are cut back to where the other begins."""
    written(pan(LINE_MM), tmp_path)
    status, out, _ = told("flat", part(PAN + "  radius: 2\n"), "--format", "json")
    record = json.loads(out)
    shared = [each for each in record["findings"] if each["code"] == "drawn-corner-shared"]
    # The flanges end where their neighbours' lines are: at 90 degrees some tenths of a mm within the neighbours' walls.
    refused = {each["code"] for each in record["findings"] if each["severity"] == "refuse"}
    assert (status, refused, len(shared)) == (1, {"part-crosses-itself"}, 4)
    half_mm = record["bends"][0]["allowance_mm"] / 2
    assert f"shares {half_mm:.2f}".rstrip("0") in shared[0]["text"]
    lengths = sorted(bend["length_mm"] for bend in record["bends"])
    long_mm, wide_mm = LONG_MM - 2 * LINE_MM - 2 * half_mm, WIDE_MM - 2 * LINE_MM - 2 * half_mm
    assert lengths == pytest.approx([wide_mm, wide_mm, long_mm, long_mm], abs=1e-3)


def test_a_slot_drawn_to_the_line_is_told_and_one_that_reaches_past_the_bend_is_not(
    part: Any, told: Any, tmp_path: Path
) -> None:
    codes = {}
    for past_mm in (0.0, 3.0):
        # A tab 30 wide on the near edge of a plate of 120 x 80, slots of 2 beside it that reach so far past the line.
        up = 20.0 + past_mm
        outline = [(0.0, 20.0), (38.0, 20.0), (38.0, up), (40.0, up), (40.0, 0.0), (70.0, 0.0)]
        outline += [(70.0, up), (72.0, up), (72.0, 20.0), (120.0, 20.0), (120.0, 80.0), (0.0, 80.0)]
        outline = [each for at, each in enumerate(outline) if each != outline[at - 1]]
        written(drawing(((40.0, 20.0), (70.0, 20.0), TOWARD), outline=outline), tmp_path)
        status, out, _ = told("check", part("blank: {file: blank.dxf, bend: 90, base: [60, 60]}\n"), "--format", "json")
        codes[past_mm] = status, {each["code"] for each in json.loads(out)["findings"] if each["severity"] != "note"}
    assert codes[0.0] == (0, {"drawn-relief-short"})
    assert codes[3.0] == (0, set())


def test_the_text_tells_sizes_with_these_tools_and_as_asked(part: Any, told: Any, tmp_path: Path) -> None:
    written(pan(), tmp_path)
    out = told("--quiet", "flat", part(PAN + "  radius: 3\n  sizes: {near: 40}\n"))[1]
    rows = [line.split() for line in out.splitlines()]
    near = next(row for row in rows if row[0:1] == ["near"])
    # At radius 3 a bend of 90 deducts 2 (3 + 2) - (pi/2)(3 + 0.84) = 3.968: half of what is more than 3.539 a flange.
    assert near[2:] == ["40.21", "40"]


@pytest.mark.parametrize(("wanted", "allowed", "status"), [("40.4", "", 1), ("40.2", "", 0), ("40.4", "0.5", 0)])
def test_a_size_off_by_more_than_is_allowed_is_refused(
    wanted: str, allowed: str, status: int, part: Any, told: Any, tmp_path: Path
) -> None:
    written(pan(), tmp_path)
    more = f"tolerances: {{legs: {{near: {allowed}}}}}\n" if allowed else ""
    found, out, _ = told("check", part(f"{PAN}  radius: 2\n  sizes: {{near: {wanted}}}\n{more}"), "--format", "json")
    codes = [each["code"] for each in json.loads(out)["findings"]]
    assert (found, "drawn-size-off" in codes) == (status, status == 1)


def _with_a_bare_angle(space: Any) -> None:
    space.add_text("45", dxfattribs={"layer": TOWARD, "insert": (42, 30)})


def test_faults_of_the_file_and_of_the_drawing_come_at_once(part: Any, told: Any, tmp_path: Path) -> None:
    written(drawing(((40.0, 0.0), (40.0, 50.0), TOWARD), more=_with_a_bare_angle), tmp_path)
    text = "quantity: -3\nblank:\n  file: blank.dxf\n  bend: 90\n"
    status, out, err = told("--quiet", "flat", part(text))
    assert (status, out) == (2, "")
    lines = err.splitlines()
    assert "part.yaml:4:11: quantity: -3 is negative" in lines[0]
    assert lines[1:] == [
        "blank.dxf: (42 mm, 30 mm): '45' is read both ways, write turn 45 or included 45",
        "blank.dxf: bend line 1: it ends inside the sheet at (40 mm, 50 mm), 30 mm from its edge, "
        "draw it from edge to edge, or cut a relief at its end",
    ]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("blank: {file: ../b.dxf, bend: 90}", "file: '../b.dxf' lies elsewhere, put the drawing beside"),
        ("blank: {file: /b.dxf, bend: 90}", "file: '/b.dxf' lies elsewhere, put the drawing beside"),
        ("blank: {file: b.dxf, bend: 90}", "b.dxf: the drawing does not exist or cannot be opened"),
        ("blank: {file: blank.dxf, bend: -90}", "bend: names a direction, the layer of a line says which"),
        ("blank: {file: blank.dxf, bend: {hem: closed}}", "bend: hem is not read of a drawn bend line"),
        ("blank: {file: blank.dxf, bend: 45}", "bend: a bare 45 is no bend, it is read both ways"),
        ("blank: {file: blank.dxf, bends: [{near: [1, 2], trun: 4}]}", "trun: is no key of this place, did you mean"),
        ("blank: {file: blank.dxf, bends: [{near: [1, 2], turn: 178}]}", "a turn of 178° is no bend, a turn is"),
        ("blank: {file: blank.dxf, bend: 90, sizes: {naer: 40}}", "there is no face 'naer', did you mean 'near'?"),
        ("blank: {file: blank.dxf, bend: 90, sizes: {base: 40}}", "base: has one figure, give it along and"),
        ("blank: {file: blank.dxf, bend: 90, bends: [{near: [9, 9], die: x}]}", "die: 'x' is not in the shop's dies"),
        ("blank: {bend: 90}", "file: is missing"),
        ("blank: {file: blank.dxf, bend: 90}\ntolerances: {legs: {top: 1}}", "there is no face 'top', faces are base,"),
        ("blank: {file: blank.dxf, bend: 90}\norder: [1, 2]", "order: leaves a bend out"),
        ("units: inch\nblank: {file: blank.dxf, bend: 90}", "the drawing's header says mm, the part file says inch"),
        ("blank: {file: blank.dxf, bend: 90}\npanel: {base: [9, 9], flanges: {}}", "blank: stands beside a panel"),
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_told_with_its_place(text: str, said: str, part: Any, told: Any, tmp_path: Path) -> None:
    written(pan(), tmp_path)
    status, out, err = told("flat", part(text + "\n"))
    assert (status, out) == (2, "")
    assert said in err, err


def test_a_drawing_that_names_no_unit_is_read_in_those_of_the_file(part: Any, told: Any, tmp_path: Path) -> None:
    """Old versions name none; what the library would take in its place is told nowhere."""
    bare = "0\nSECTION\n2\nENTITIES\n"
    for (x, y), (u, v), layer in (
        ((0, 0), (4, 0), CUT),
        ((4, 0), (4, 3), CUT),
        ((4, 3), (0, 3), CUT),
        ((0, 3), (0, 0), CUT),
        ((2, 0), (2, 3), AWAY),
    ):
        bare += f"0\nLINE\n8\n{layer}\n10\n{x}\n20\n{y}\n11\n{u}\n21\n{v}\n"
    (tmp_path / "blank.dxf").write_text(bare + "0\nENDSEC\n0\nEOF\n")
    text = "units: inch\nblank: {file: blank.dxf, bend: 90}\n".replace("thickness: 2", "thickness: 2mm")
    path = part(text)
    Path(path).write_text(Path(path).read_text().replace("thickness: 2", "thickness: 2mm"))
    record = json.loads(told("flat", path, "--format", "json")[1])
    assert record["blank"]["size_mm"] == pytest.approx([101.6, 76.2])
    assert [each["code"] for each in record["findings"] if each["code"] == "drawn-no-unit"] == ["drawn-no-unit"]


@pytest.mark.parametrize("seed", range(0, 60, one_in(10)))
def test_what_is_written_out_is_read_in_again_alike(seed: int, part: Any, told: Any, tmp_path: Path) -> None:
    chance = random.Random(seed)
    wanted = random_blank(chance)
    written(drawn(wanted, chance), tmp_path)
    base = f"  base: [{wanted.base_mm[0]}, {wanted.base_mm[1]}]\n"
    text = f"blank:\n  file: blank.dxf\n  bend: 90\n{base}"
    first = json.loads(told("flat", part(text), "--format", "json", "--dxf", str(tmp_path / "out"))[1])
    (tmp_path / "again.dxf").write_bytes((tmp_path / "out" / "p.dxf").read_bytes())
    again = json.loads(told("flat", part(text.replace("blank.dxf", "again.dxf")), "--format", "json")[1])
    assert first["bends"] and len(first["bends"]) == len(again["bends"])
    # Of lines turned anyhow the numbers may differ by what rounding does to their order, nothing else.
    for bend in first["bends"]:
        (same,) = [
            each for each in again["bends"] if math.dist(each["line_ends_mm"][0], bend["line_ends_mm"][0]) < 1e-3
        ]
        assert same["line_ends_mm"][1] == pytest.approx(bend["line_ends_mm"][1], abs=1e-3)
        for key in ("turn_deg", "toward", "allowance_mm", "die"):
            assert same[key] == bend[key]
    sizes = [sorted(each["size_mm"] for each in record["finished"]) for record in (first, again)]
    assert [len(each) for each in sizes[0]] == [len(each) for each in sizes[1]]
    for mine, its in zip(*sizes, strict=True):
        assert mine == pytest.approx(its, abs=1e-3)
    assert first["blank"]["area_mm2"] == pytest.approx(again["blank"]["area_mm2"], abs=0.01)


def test_a_spoilt_drawing_is_told_of_and_never_ends_in_a_traceback(part: Any, told: Any, tmp_path: Path) -> None:
    file = part("blank: {file: blank.dxf, bend: 90}\n")
    ended: Counter[int] = Counter()
    for number in SPOILT:
        (tmp_path / "blank.dxf").write_bytes(spoilt(random.Random(number)))
        status, out, err = told("--quiet", "flat", file)
        ended[status] += 1
        assert "Traceback" not in err and status in (0, 1, 2), (number, err)
        assert (status == 2) == (out == "") and (status == 0 or err), number
    assert ended[0] + ended[1] > len(SPOILT) // 10 and ended[2] > len(SPOILT) // 10
