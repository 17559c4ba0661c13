"""Faces of a drawn blank by name, and the sizes they come to, on blanks small enough to be seen through."""

from __future__ import annotations

from pathlib import Path

import pytest

from flangewise.drawn import DrawnWish, LineBend, read_drawing
from flangewise.geometry import Point
from flangewise.part import Drawn
from flangewise.part.drawn import names_of

from ..drawn.made import TOWARD, drawing, written

# A base of 100 x 80 with a flange of 30 on its near edge between notches, on that flange a tab at each end and a return
# of 10 on its tip; on the right edge two tabs of 15.
OUTLINE: tuple[Point, ...] = (
    *((30.0, -40.0), (70.0, -40.0), (70.0, -28.0), (82.0, -28.0), (82.0, -8.0), (70.0, -8.0), (70.0, 0.0)),
    *((100.0, 0.0), (100.0, 10.0), (115.0, 10.0), (115.0, 30.0), (100.0, 30.0), (100.0, 50.0), (115.0, 50.0)),
    *((115.0, 70.0), (100.0, 70.0), (100.0, 80.0), (0.0, 80.0), (0.0, 0.0), (30.0, 0.0)),
    *((30.0, -8.0), (18.0, -8.0), (18.0, -28.0), (30.0, -28.0)),
)
LINES = (
    ((30.0, -1.0), (70.0, -1.0), TOWARD),
    ((30.0, -30.0), (70.0, -30.0), TOWARD),
    ((72.0, -28.0), (72.0, -8.0), TOWARD),
    ((28.0, -8.0), (28.0, -28.0), TOWARD),
    ((101.0, 10.0), (101.0, 30.0), TOWARD),
    ((101.0, 50.0), (101.0, 70.0), TOWARD),
)


@pytest.fixture
def drawn(tmp_path: Path) -> Drawn:
    path = written(drawing(*LINES, outline=OUTLINE), tmp_path)
    blank = read_drawing(path, DrawnWish(bend=LineBend(90.0), base_mm=(50.0, 40.0)))
    return Drawn("blank.dxf", blank, (), names_of(blank))


def test_faces_are_named_by_their_sides_seen_from_outside(drawn: Drawn) -> None:
    """On the near flange, seen from outside with the marked face up, what lies at smaller x is left."""
    where = {}
    for name, face in zip(drawn.faces, drawn.blank.faces, strict=True):
        xs, ys = zip(*face.outline_mm, strict=True)
        where[name] = (min(xs), max(xs), min(ys), max(ys))
    assert set(where) == {"base", "near", "near.tip", "near.left", "near.right", "right.1", "right.2"}
    assert where["near.left"][0] == 18 and where["near.right"][1] == 82
    assert where["near.tip"][2] == -40
    # Two on one side count from the left: on the right edge, seen from outside, the near one.
    assert where["right.1"][2] == 10 and where["right.2"][2] == 50


def test_a_line_lies_half_the_deduction_nearer_to_the_tip_than_its_mould_line(drawn: Drawn) -> None:
    by_line = {line.face_to: line.number for line in drawn.blank.lines}
    bends = {name: by_line[number] for number, name in enumerate(drawn.faces, start=1) if name != "base"}
    deductions_mm = {bends["near"]: 4.0, bends["near.tip"]: 3.0, bends["right.1"]: 2.0, bends["right.2"]: 2.0}
    sizes = dict(zip(drawn.faces, drawn.sizes_mm(deductions_mm), strict=True))
    # From the line at -1 to the one at -30 are 29, and half of both deductions.
    assert sizes["near"] == pytest.approx((29 + 2 + 1.5,))
    assert sizes["near.tip"] == pytest.approx((10 + 1.5,))
    assert sizes["right.2"] == pytest.approx((14 + 1,))
    # The base reaches to its lines on the right and below: 101 and 81, and half their deductions.
    assert sizes["base"] == pytest.approx((101 + 1, 81 + 2))
    assert drawn.legs_mm(bends["near"], deductions_mm) == pytest.approx((81 + 2, 29 + 2 + 1.5))
