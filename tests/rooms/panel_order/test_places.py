"""Where rows can stand along a bend line: figures by hand, and against every tenth of a mm."""

from __future__ import annotations

import random
from dataclasses import replace

import numpy as np
import pytest

from flangewise.clearance import Stretches
from flangewise.panel_order.pair_table import PairTable
from flangewise.panel_order.places import BedLine
from flangewise.punch_die import Apart, Row, SegmentUse, rows_apart, rows_of
from flangewise.shop import Segment

from ...how_many import one_in
from .every_order import lacking, standing

LONG = (Row((SegmentUse(700),)),)
PAN = BedLine(0.0, 292.0, free_short_mm=0.0, beside_short_mm=4.0, near_mm=6.5)


def row(length_mm: float) -> Row:
    """A row of one segment."""
    return Row((SegmentUse(length_mm),))


def eared(middle_mm: float) -> Row:
    """An ear at each end."""
    return Row((SegmentUse(75, "left"), SegmentUse(middle_mm), SegmentUse(75, "right")), 35.0)


def placed(one: Row, line: BedLine, **runs: tuple[tuple[float, float], ...]) -> tuple[float, float]:
    """Shortfall and left end of one row over a long die."""
    free = {"punch": (), "foot": (), "die": ()} | runs
    return paired((one, row(2000)), line, **free)


def paired(pair: tuple[Row, Row], line: BedLine, **runs: tuple[tuple[float, float], ...]) -> tuple[float, float]:
    """Shortfall and left end of one row over a die; what is told to stand nowhere finds no place."""
    table, barred = PairTable((pair,)), Stretches(**runs)
    (short,), (at,) = table.places(line, barred, clear_mm=0.5, apart=bool(pair[0].gaps_mm or pair[1].gaps_mm))
    return float(short), float(at)


@pytest.mark.parametrize(("length_mm", "short_mm"), [(290, 1.0), (285, 3.5)])
def test_the_pan_of_the_worked_example(length_mm: float, short_mm: float) -> None:
    """Between short sides that leave 294.16 about a line of 292: 293.16 with 0.5 to each, so 290 and 285 fit."""
    sides = ((-60.0, -1.08), (293.08, 360.0))
    assert placed(row(length_mm), PAN, punch=sides) == (pytest.approx(short_mm), pytest.approx(short_mm))


def test_a_row_too_long_or_too_short_between_sides_has_no_place() -> None:
    sides = ((-60.0, -1.08), (293.08, 360.0))
    assert placed(row(295), PAN, punch=sides)[0] == np.inf
    assert placed(row(280), PAN, punch=sides)[0] == np.inf  # 6 uncovered at each end, 4 allowed


def test_an_end_that_is_free_must_be_covered() -> None:
    assert placed(row(290), PAN)[0] == np.inf
    assert placed(row(292), PAN) == (0.0, 0.0)
    # A side at the right end alone: what is short is short there.
    assert placed(row(290), PAN, punch=((293.08, 360.0),)) == (pytest.approx(2.0), pytest.approx(0.0))


def test_ears_reach_under_what_bars_the_whole_punch() -> None:
    """Returns of 15 turned in at each end bar the punch, not the feet: the walls stand 2 past the line's ends."""
    returns, walls = ((-2.0, 13.0), (279.0, 294.0)), ((-60.0, -2.0), (294.0, 360.0))
    assert placed(row(290), PAN, punch=(*walls, *returns))[0] == np.inf
    short, at = placed(eared(140), PAN, punch=returns, foot=walls)
    assert (short, at) == (pytest.approx(1.0), pytest.approx(1.0))
    # With a foot barred by the return itself there is no room for the ear either.
    assert placed(eared(140), PAN, punch=returns, foot=returns)[0] == np.inf


def test_a_die_stands_with_its_middle_below_the_punch() -> None:
    """A die of 300 below a punch of 290 begins 5 left of it, and keeps out of what hangs down at -4."""
    table = PairTable(((row(290), row(300)),))
    assert float(table.die_on_mm[0]) == -5.0
    sides = ((-60.0, -1.08), (293.08, 360.0))
    assert paired(table.pairs[0], PAN, punch=sides)[1] == pytest.approx(1.0)
    # The die begins at -3.5 at the earliest, so the punch at 1.5: 0.5 more than the middle.
    placed_at = paired(table.pairs[0], PAN, punch=sides, die=((-60.0, -4.0),))
    assert placed_at == (pytest.approx(1.5), pytest.approx(1.5))


def test_against_every_tenth() -> None:
    """Random stretches: no place at a whole tenth uncovers less than the one told, and that one is free."""
    draw = random.Random(7)
    kinds = {"punch": 0, "none": 0}
    for _ in range(200 // one_in(5)):
        line = BedLine(0.0, round(draw.uniform(60, 200), 1), draw.choice((0.0, 3.0)), 4.0, 6.0)
        one = draw.choice((row(round(draw.uniform(40, 220), 1)), eared(round(draw.uniform(5, 60), 1))))
        punch = tuple((a, a + draw.uniform(1, 40)) for a in (draw.uniform(-60, 220) for _ in range(draw.randint(0, 3))))
        foot = tuple((a, a + draw.uniform(1, 40)) for a in (draw.uniform(-60, 220) for _ in range(draw.randint(0, 2))))
        short, at = placed(one, line, punch=punch, foot=foot)
        tried = [x / 10 for x in range(-2500, 2500)]
        best = min((_short(one, line, x) for x in tried if _stands(one, line, x, punch, foot)), default=np.inf)
        kinds["none" if short == np.inf else "punch"] += 1
        assert short <= best + 1e-6
        assert best == np.inf or best <= short + 0.1
        if short < np.inf:
            assert _stands(one, line, at, punch, foot, more_mm=1e-6) and short == pytest.approx(_short(one, line, at))
    assert min(kinds.values()) > 30 // one_in(5)


def _short(one: Row, line: BedLine, x: float) -> float:
    return max(0.0, x - line.from_mm, line.to_mm - x - one.length_mm)


def _stands(
    one: Row, line: BedLine, x: float, punch: tuple[tuple[float, float], ...], foot: tuple[tuple[float, float], ...],
    more_mm: float = 0.0,
) -> bool:  # fmt: skip
    left, right = one.reach_mm
    clear = 0.5 - more_mm
    inner, outer = (x + left, x + one.length_mm - right), (x, x + one.length_mm)
    meets = [inner[0] < q + clear and inner[1] > p - clear and inner[0] < inner[1] for p, q in punch]
    meets += [outer[0] < q + clear and outer[1] > p - clear for p, q in foot if any(one.ears)]
    low, high = line.allowed_mm(punch, foot)
    covers = x - line.from_mm <= low + more_mm and line.to_mm - outer[1] <= high + more_mm
    return covers and not any(meets)


def test_rows_that_the_shop_makes() -> None:
    """From 110 twice, 60 and 15: every sum once, of plain ends and of ears; the fewest segments of each."""
    held = (Segment(length_mm=110, held=2), Segment(length_mm=60, held=1), Segment(length_mm=15, held=1))
    plain = rows_of(held, least_mm=60, most_mm=240)
    assert [made.length_mm for made in plain] == [60, 75, 110, 125, 170, 185, 220, 235]
    assert plain[-1].text == "15 + 110 + 110" or plain[-1].text == "110 + 110 + 15"
    ears = (Segment(length_mm=75, held=1, ear="left"), Segment(length_mm=75, held=1, ear="right"))
    made = rows_of((*held, *ears), least_mm=150, most_mm=166, ear_reach_mm=35)
    assert sorted((each.length_mm, each.ears) for each in made) == [
        (150, (False, True)),
        (150, (True, False)),
        (150, (True, True)),
        (165, (True, True)),
    ]
    assert made[-1].reach_mm == (35, 35)
    # Without a reach nothing is known of ears, and none is taken.
    assert {each.ears for each in rows_of((*held, *ears), least_mm=150, most_mm=240)} == {(False, False)}


WALLS = ((-3.9, -1.08), (293.08, 295.9))


def apart(first_mm: float, *more_mm: float) -> Row:
    """Segments with gaps between: a gap, a segment, and so on."""
    others = zip(more_mm[::2], more_mm[1::2], strict=True)
    return Row((SegmentUse(first_mm), *(SegmentUse(mm, apart_mm=gap_mm) for gap_mm, mm in others)))


def test_a_side_passes_through_a_gap() -> None:
    """The pan's short side beside a longer row: the wall of 2.82 and 0.5 to each side of it take a gap of 4."""
    pan = replace(PAN, most_gap_mm=4.0)
    long = apart(290, 4, 100)
    # Left of the gap 290 reach to 292.58 at the most, right of it begins what must be beyond 296.4.
    assert placed(long, pan, punch=WALLS) == (pytest.approx(2.4), pytest.approx(2.4))
    assert placed(apart(290, 3.5, 100), pan, punch=WALLS)[0] == np.inf
    # A longer line takes the gap into its bend, which is as much uncovered; no wider one than allowed.
    line = BedLine(0.0, 380.0, free_short_mm=0.0, beside_short_mm=4.0, near_mm=6.5, most_gap_mm=4.0)
    assert placed(long, line)[0] == pytest.approx(4.0)
    assert placed(long, replace(line, most_gap_mm=3.9))[0] == np.inf


def test_between_bends_on_one_line_a_gap_is_as_wide_as_what_stands_there_needs() -> None:
    tabs = BedLine(0.0, 130.0, 0.0, 4.0, 6.5, runs_mm=((0.0, 50.0), (90.0, 130.0)), most_gap_mm=4.0)
    between = ((60.0, 75.0),)
    assert placed(row(130), tabs, punch=between)[0] == np.inf
    assert placed(apart(60, 25, 60), tabs, punch=between) == (0.0, pytest.approx(-7.5))
    # Bends of which a gap leaves more uncovered than a row may are not served: 6 of the first one.
    assert placed(apart(44, 40, 60), tabs, punch=between)[0] == np.inf


def _lacking(pair: tuple[Row, Row], line: BedLine, x: float) -> list[tuple[float, str, float]]:
    on = x + (pair[0].length_mm - pair[1].length_mm) / 2
    return lacking(line.bends_mm, standing(pair[0], x), standing(pair[1], on))


def test_rows_with_gaps_against_every_tenth() -> None:
    """Random rows and stretches, one bend or two on a line: no place at every other tenth leaves less uncovered."""
    draw = random.Random(11)
    kinds = {"placed": 0, "none": 0}
    for _ in range(320 // one_in(4)):
        low = round(draw.uniform(30, 70), 1)
        runs = draw.choice((((0.0, 150.0),), ((0.0, low), (low + 30, 150.0))))
        line = BedLine(0.0, 150.0, draw.choice((0.0, 3.0)), 4.0, 6.0, runs, draw.choice((0.0, 4.0)))
        punch = apart(draw.randrange(45, 170, 5), draw.choice((2.0, 4.0, 25.0)), draw.randrange(60, 120, 5))
        if draw.random() < 0.4:
            gaps = draw.choice((2.0, 4.0, 25.0)), draw.choice((2.0, 4.0))
            punch = apart(draw.randrange(30, 80, 5), gaps[0], draw.randrange(30, 80, 5), gaps[1], 60.0)
        pair = draw.choice(((punch, row(400)), (punch, punch), (punch, row(punch.length_mm)), (row(155), punch)))
        wide = draw.choice((2.0, 20.0))
        barred = {
            kind: tuple(
                (a, a + wide)
                for a in (draw.choice((-22, -4, low, 151)) + draw.uniform(0, 8) for _ in range(draw.randint(0, most)))
            )
            for kind, most in (("punch", 2), ("die", 1))
        }
        short, at = paired(pair, line, **barred)
        tried = [x / 10 for x in range(-2000, 50, 2)]
        best = min((_open_mm(pair, line, x) for x in tried if _may_stand(pair, line, x, **barred)), default=np.inf)
        kinds["none" if short == np.inf else "placed"] += 1
        assert short <= best + 1e-6
        if short < np.inf:
            assert _may_stand(pair, line, at, **barred, more_mm=1e-6)
            assert short == pytest.approx(_open_mm(pair, line, at), abs=1e-6)
    assert min(kinds.values()) > 40 // one_in(4)


def _open_mm(pair: tuple[Row, Row], line: BedLine, x: float) -> float:
    every = _lacking(pair, line, x)
    within = sum(mm for mm, where, _ in every if where == "within")
    return max((mm for mm, where, _ in every if where != "within"), default=0.0) + within


def _may_stand(
    pair: tuple[Row, Row], line: BedLine, x: float, punch: tuple[tuple[float, float], ...],
    die: tuple[tuple[float, float], ...], more_mm: float = 0.0,
) -> bool:  # fmt: skip
    on = x + (pair[0].length_mm - pair[1].length_mm) / 2
    for blocks, runs in ((standing(pair[0], x), punch), (standing(pair[1], on), die)):
        if any(a < q + 0.5 - more_mm and b > p - 0.5 + more_mm for a, b in blocks for p, q in runs):
            return False
    ends = dict(zip([end for run in line.bends_mm for end in run],
                    [mm for each in line.runs_allowed_mm(punch, (), die) for mm in each], strict=True))  # fmt: skip
    return all(
        mm <= (line.most_gap_mm if where == "within" else ends[end]) + max(more_mm, 1e-9)
        for mm, where, end in _lacking(pair, line, x)
    )


def test_rows_with_a_gap_that_the_shop_makes() -> None:
    """Of 110, two of 60 and 15: by themselves 110 or 125 stand, beside them what these leave; 120 leaves nothing."""
    held = (Segment(length_mm=110, held=1), Segment(length_mm=60, held=2), Segment(length_mm=15, held=1))
    made = rows_apart(held, [Apart((4.0,), ((100, 125),), (180, 200))])
    assert {each.length_mm for each in made} == {189.0}
    assert sorted(each.gaps_mm for each in made) == [((at, at + 4),) for at in (60.0, 75.0, 110.0, 125.0)]
    assert max(made, key=lambda each: each.gaps_mm).text == "15 + 110 + gap 4 + 60"


def test_rows_with_two_gaps_that_the_shop_makes() -> None:
    """Blocks of 60 and 20 before gaps of 4 and 6, whatever stands beyond them: from the left, and from the right."""
    held = (Segment(length_mm=60, held=2), Segment(length_mm=20, held=2))
    made = rows_apart(held, [Apart((4.0, 6.0), ((60, 60), (20, 20)), (150, 165))])
    assert [each.text for each in made] == ["60 + gap 4 + 20 + gap 6 + 60", "60 + gap 6 + 20 + gap 4 + 60"]


def test_a_die_with_gaps_lets_hang_what_a_punch_without_goes_over() -> None:
    """Tabs bent up beside two that hang: of 300 with 30 at 70 and at 200 the die needs two gaps, the punch none."""
    tabs = BedLine(0.0, 300.0, 0.0, 4.0, 6.5, ((0.0, 50.0), (120.0, 180.0), (250.0, 300.0)), 4.0)
    hang = ((70.0, 100.0), (200.0, 230.0))
    die = apart(65, 33, 95, 33, 65)
    assert paired((row(295), die), tabs, die=hang)[0] == np.inf  # free ends are covered
    assert paired((row(300), apart(70, 33, 95, 33, 70)), tabs, die=hang) == (0.0, 0.0)
    assert paired((row(300), apart(70, 31, 190)), tabs, die=hang)[0] == np.inf  # one of them passes
    assert paired((row(300), row(300)), tabs, die=hang)[0] == np.inf
