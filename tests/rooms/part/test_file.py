"""Part files read whole."""

from __future__ import annotations

import pickle

import pytest

from flangewise.faults import Unusable
from flangewise.part import Section, WantedBend, WantedHole, part_of, read_part
from flangewise.part.model import DrawingTolerances
from flangewise.reading import read_yaml

from .made import PLAIN, faults, read, shop

FULL = """\
part: rain-gauge-foot
title: Foot of a rain gauge
revision: 007
drawing: TL-0412 rev B
job: 2241
due: 2031-04-30
quantity: 120
spares: 3
material: DC01
thickness: 2.0
units: mm
section:
  length: 180
  legs: [25, 60, 25]
  bends: [90, {included: 135, away: true, radius: 3, tolerance: 0.5}]
  radius: 2.0
  sizes: inside
  holes:
    - {leg: 2, at: [40, 30], diameter: 6.5}
    - {leg: 1, at: [90, 10], size: [20, 8]}
machine: mid-740
handler: robot
grain: along
good_face: marked
burr: other
film: both
tolerances: {angle: 1.0, legs: 0.3}
order: [2, 1]
notes: [Deburr., 0042]
"""


def test_everything_a_part_file_can_say() -> None:
    part = read_part(FULL, "parts/foot.yaml", shop())
    assert part.section == Section(
        length_mm=180.0,
        legs_mm=(25.0, 60.0, 25.0),
        bends=(
            WantedBend(1, 90.0, False),
            WantedBend(2, 45.0, True, radius_mm=3.0, tolerance_deg=0.5),
        ),
        radius_mm=2.0,
        sizes="inside",
        holes=(
            WantedHole(1, 2, 40.0, 30.0, diameter_mm=6.5),
            WantedHole(2, 1, 90.0, 10.0, size_mm=(20.0, 8.0)),
        ),
    )
    assert (part.name, part.file, part.material, part.thickness_mm) == (
        "rain-gauge-foot",
        "parts/foot.yaml",
        "DC01",
        2.0,
    )
    assert (part.title, part.revision, part.drawing) == ("Foot of a rain gauge", "007", "TL-0412 rev B")
    assert (part.job, part.due, part.quantity, part.spares) == ("2241", "2031-04-30", 120, 3)
    assert (part.machine, part.handler, part.units) == ("mid-740", "robot", "mm")
    assert (part.grain, part.good_face, part.burr, part.film) == ("along", "marked", "other", "both")
    assert part.tolerances == DrawingTolerances(1.0, (0.3, 0.3, 0.3))
    assert part.order == (2, 1)
    assert part.notes == ("Deburr.", "0042")


def test_what_is_left_out() -> None:
    part = read()
    assert part.section.radius_mm is None
    assert (part.section.sizes, part.section.holes) == ("outside", ())
    assert (part.units, part.grain, part.good_face, part.burr, part.film) == ("mm", "any", "none", "unknown", "none")
    assert (part.machine, part.handler, part.order, part.quantity, part.spares) == (None, None, None, None, None)
    assert (part.title, part.notes, part.tolerances) == ("", (), DrawingTolerances())


def test_texts_keep_their_zeros() -> None:
    part = read("drawing: 0012\njob: 1_000\nrevision: true\n", part="00123")
    assert (part.name, part.drawing, part.job, part.revision) == ("00123", "0012", "1_000", "true")


def test_names_that_look_like_something_else_stay_names() -> None:
    assert [read(part=name).name for name in ("1-2", "1e5", "2031-04-30", "on", "0x10")] == [
        "1-2",
        "1e5",
        "2031-04-30",
        "on",
        "0x10",
    ]


def test_an_empty_value_is_one_not_given() -> None:
    part = read("title:\nmachine: ~\ntolerances:\n")
    assert (part.title, part.machine, part.tolerances) == ("", None, DrawingTolerances())


def test_every_length_of_an_inch_file_is_in_inches() -> None:
    part = read(
        "  radius: 0.1\n  holes: [{leg: 1, at: [1, 0.5], diameter: 0.25}]\nunits: inch\ntolerances: {legs: 0.01}\n",
        thickness="0.06",
        length="4",
        legs="[1.5, 2]",
    )
    section = part.section
    assert part.thickness_mm == pytest.approx(1.524)
    assert (section.length_mm, *section.legs_mm) == pytest.approx((101.6, 38.1, 50.8))
    assert section.radius_mm == pytest.approx(2.54)
    assert (section.holes[0].along_mm, section.holes[0].across_mm, section.holes[0].diameter_mm) == pytest.approx(
        (25.4, 12.7, 6.35)
    )
    assert part.tolerances.legs_mm == pytest.approx((0.254, 0.254))


def test_a_length_with_its_own_unit_wins_over_the_file_s() -> None:
    part = read("units: inch\n", thickness="2mm", length="100mm", legs="[40mm, 2]")
    assert (part.thickness_mm, part.section.length_mm, *part.section.legs_mm) == pytest.approx((2.0, 100.0, 40.0, 50.8))


@pytest.mark.parametrize(
    ("material", "inch"),
    [("A1008-CS", 0.0598), ("DX51D", 0.0635), ("304", 0.0625), ("5052-H32", 0.0508)],
)
def test_a_gauge_is_that_of_the_material_s_family(material: str, inch: float) -> None:
    """16 gauge: steel 0.0598 in, galvanized 0.0635, stainless 0.0625 (1/16), aluminium 0.0508 (AWG)."""
    assert read(thickness="16ga", material=material).thickness_mm == pytest.approx(inch * 25.4, abs=0.005)


def test_a_tolerance_for_each_leg() -> None:
    assert read("tolerances: {legs: [0.1, 0.2]}\n").tolerances == DrawingTolerances(None, (0.1, 0.2))
    assert read("tolerances: {angle: 0.5}\n").tolerances == DrawingTolerances(0.5, None)


def test_one_note_need_not_be_a_list() -> None:
    assert read("notes: Deburr.\n").notes == ("Deburr.",)


def test_names_of_tools_are_looked_up() -> None:
    part = read(bends="[{turn: 90, punch: straight-88, die: vee-16-80}]")
    assert (part.section.bends[0].punch, part.section.bends[0].die) == ("straight-88", "vee-16-80")


def test_faults_of_all_kinds_are_told_at_once() -> None:
    told = faults("machine: mid-704\nwidth: 3\norder: [2]\n", material="DC0", thickness="-2", legs="[40, 0]")
    assert [line.split(": ")[1] for line in told] == ["material", "thickness", "leg 2", "machine", "width", "order"]


def test_a_fault_of_one_value_does_not_hide_the_sizes_once_it_is_mended() -> None:
    assert faults(legs="[1, 60]") != []
    assert faults(legs="[1, 60]", thickness="-2") != []


def test_a_panel_is_not_told_that_its_section_is_missing() -> None:
    with pytest.raises(Unusable) as unusable:
        read_part("part: p\nmaterial: DC01\nthickness: 2\npanel: {}\n", "p.yaml", shop())
    assert [fault.where for fault in unusable.value.faults] == ["base", "flanges"]


def test_faults_name_the_file_as_it_was_given() -> None:
    with pytest.raises(Unusable) as unusable:
        read_part("part: p\n", "some/folder/p.yaml", shop())
    assert all(fault.file == "some/folder/p.yaml" for fault in unusable.value.faults)


def test_from_nodes_or_from_text_is_the_same() -> None:
    assert part_of(read_yaml(PLAIN, "p.yaml"), "p.yaml", shop()) == read()


def test_a_part_can_be_kept_and_sent_to_a_worker() -> None:
    part = read_part(FULL, "p.yaml", shop())
    assert hash(part) == hash(read_part(FULL, "p.yaml", shop()))
    assert pickle.loads(pickle.dumps(part)) == part


@pytest.mark.parametrize("ending", ["\r\n", "\r"])
def test_line_ends_of_other_systems(ending: str) -> None:
    assert read_part(PLAIN.replace("\n", ending), "p.yaml", shop()) == read()


def test_json_is_yaml_too() -> None:
    told = (
        '{"part": "p", "material": "DC01", "thickness": 2, "section": {"length": 100, "legs": [40, 60], "bends": [90]}}'
    )
    assert read_part(told, "p.yaml", shop()) == read()
