"""Random blanks drawn and read again: the same area, the same lines, the same tree."""

from __future__ import annotations

import math
import random
from pathlib import Path

import pytest

from flangewise.drawn import DrawnLine, DrawnWish, LineBend

from ...how_many import one_in
from .made import read
from .panels import Fold, drawn, random_blank

SEEDS = range(0, 400, one_in(16))


@pytest.mark.parametrize("seed", SEEDS)
def test_a_blank_drawn_is_the_blank_read(seed: int, tmp_path: Path) -> None:
    chance = random.Random(seed)
    wanted = random_blank(chance)
    blank = read(drawn(wanted, chance), tmp_path, DrawnWish(bend=LineBend(90.0), base_mm=wanted.base_mm))
    assert blank.area_mm2 == pytest.approx(wanted.area_mm2, abs=1e-6)
    assert len(blank.lines) == len(wanted.folds) and len(blank.faces) == len(wanted.folds) + 1
    # Each fold is one of the lines, its start where the fold's is, so that what hangs on it lies on its left.
    line_of = [_line_at(fold, blank.lines) for fold in wanted.folds]
    assert sorted(line.number for line in line_of) == [line.number for line in blank.lines]
    hung_on = {line.face_to: line.number for line in blank.lines}
    assert [(line.toward, hung_on.get(line.face_from)) for line in line_of] == [
        (fold.toward, None if fold.hangs_on is None else line_of[fold.hangs_on].number) for fold in wanted.folds
    ]
    assert {line.face_from for line in blank.lines} <= {1, *hung_on}


def _line_at(fold: Fold, lines: tuple[DrawnLine, ...]) -> DrawnLine:
    near = min(lines, key=lambda line: math.dist(line.start_mm, fold.start_mm) + math.dist(line.end_mm, fold.end_mm))
    assert max(math.dist(near.start_mm, fold.start_mm), math.dist(near.end_mm, fold.end_mm)) < 1e-6
    return near


def test_the_blanks_are_of_many_kinds() -> None:
    folds = [random_blank(random.Random(seed)).folds for seed in SEEDS]
    assert {len(each) for each in folds} >= {2, 4, 6}
    assert any(fold.hangs_on is not None for each in folds for fold in each)
