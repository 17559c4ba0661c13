"""What spoilt inputs have shown: each is a fault at its place, and the least that is none is laid out."""

from pathlib import Path

import pytest

from flangewise.faults import Unusable
from flangewise.jobs import worked_out
from flangewise.part import Part, read_part, read_parts
from flangewise.shop import load_shop

PANELS = Path(__file__).parents[3] / "examples" / "panels"
PLAIN = "part: p\nmaterial: {material}\nthickness: 3\nsection:\n  length: 140\n  legs: [50, 70]\n  bends: [{bend}]\n"


def told(bend: str, material: str = "DC01") -> str:
    with pytest.raises(Unusable) as caught:
        read_part(PLAIN.format(bend=bend, material=material), "p.yaml", load_shop())
    (fault,) = caught.value.faults
    return fault.text


@pytest.mark.parametrize("bend", ["{turn: 1e-320, radius: 11}", "{turn: 0.0999}"])
def test_a_turn_that_no_brake_makes_is_a_fault(bend: str) -> None:
    assert "is no bend, a turn is from 0.1 to 175°" in told(bend)


def test_an_included_angle_of_all_but_a_half_circle_is_a_fault() -> None:
    assert "is no bend, an included angle is from 5 to 179.9°" in told("{included: 179.999999}")


@pytest.mark.parametrize("bend", ["{turn: 0.1}", "{included: 179.9, away: true}"])
def test_the_least_turn_is_laid_out(bend: str) -> None:
    shop = load_shop()
    part = read_part(PLAIN.format(bend=bend, material="DC01"), "p.yaml", shop)
    pattern = worked_out(part, shop).pattern
    # So small a bend takes next to nothing: the blank is as long as both legs.
    assert pattern is not None and pattern.developed_mm == pytest.approx(120.0, abs=0.01)


def test_a_material_without_a_name_is_a_fault(tmp_path: Path) -> None:
    assert told("90", '""').startswith("p.yaml:2:11: material: '' is not in the shop's materials")
    text = (PANELS / "filter-tray.yaml").read_text(encoding="utf-8")
    file = tmp_path / "tray.yaml"
    file.write_text("\n".join('material: ""' if line.startswith("material") else line for line in text.splitlines()))
    (found,) = read_parts([str(file)], load_shop())
    assert not isinstance(found.part, Part) and found.panel is None
    assert "material: '' is not in the shop's materials" in found.faults[0].text
