"""The chart: points where their numbers say, scales round, limits drawn in."""

import itertools
import math

import pytest

from flangewise.drawing import Curve, Limit, chart, svg

DEPTHS = [0.1 * step for step in range(41)]
FORCE = Curve("force", DEPTHS, [90.0 * math.sin(x / 2) for x in DEPTHS])
TURN = Curve("turn", DEPTHS, [25.0 * x for x in DEPTHS], "right")


def made(*limits: Limit) -> object:
    return chart([FORCE, TURN], limits, title="2 mm, V 12", across="depth, mm", left="force, kN/m", right="turn, °")


def test_all_words_given_are_there_and_no_others_but_numbers() -> None:
    words = {text.words for text in made(Limit("die 100", 100.0)).texts()}  # type: ignore[attr-defined]
    given_words = {"2 mm, V 12", "depth, mm", "force, kN/m", "turn, °", "force", "turn", "die 100"}
    assert given_words <= words
    for other in words - given_words:
        float(other)


def test_a_curve_passes_through_its_points_on_its_own_scale() -> None:
    drawing = made()
    curve = next(line for line in drawing.lines() if len(line.points_mm) == 41)  # type: ignore[attr-defined]
    ticks = {t.words: t.at_mm for t in drawing.texts() if t.anchor == "end"}  # type: ignore[attr-defined]
    zero, hundred = ticks["0"][1], ticks["100"][1]
    per_unit = (zero - hundred) / 100.0
    top = min(y for _, y in curve.points_mm)
    assert (zero - 0.36 * 3.5 - top) / per_unit == pytest.approx(90.0, abs=0.5)


def test_scales_take_in_all_values_in_round_steps() -> None:
    ticks = [float(t.words) for t in made().texts() if t.anchor == "end" and t.words.replace(".", "").isdigit()]  # type: ignore[attr-defined]
    steps = {round(after - before, 6) for before, after in itertools.pairwise(ticks)}
    assert len(steps) == 1
    assert max(ticks) >= 90.0


def test_curves_are_told_apart_by_weight_and_dash() -> None:
    drawing = chart([FORCE, TURN, FORCE, FORCE], [], title="", across="", left="", right="")
    pens = [line.pen for line in drawing.lines() if len(line.points_mm) == len(DEPTHS)]
    assert len(pens) == len(set(pens)) == 4


def test_a_limit_is_a_chain_line_on_its_scale_or_upright() -> None:
    level, upright = Limit("die", 100.0), Limit("release", 3.2, "across")
    drawing = made(level, upright)
    chains = [line for line in drawing.lines() if line.pen and len(line.pen.dash_mm) == 4]  # type: ignore[attr-defined]
    assert len(chains) == 2
    (a, b), (c, d) = (line.points_mm for line in chains)
    assert a[1] == b[1]
    assert c[0] == d[0]


def test_a_limit_far_beyond_does_not_flatten_the_curve() -> None:
    drawing = made(Limit("machine", 5000.0))
    ticks = [float(t.words) for t in drawing.texts() if t.words.replace(".", "").isdigit()]  # type: ignore[attr-defined]
    assert max(ticks) < 200.0
    assert any(text.words == "machine" for text in drawing.texts())  # type: ignore[attr-defined]


def test_a_flat_curve_still_gets_a_scale() -> None:
    drawing = chart([Curve("flat", [0.0, 1.0], [5.0, 5.0])], title="t", across="x", left="y")
    assert svg(drawing)


@pytest.mark.parametrize("values", [[], [0.0, math.nan], [0.0, math.inf]])
def test_numbers_that_cannot_be_drawn_are_refused(values: list[float]) -> None:
    curves = [Curve("c", values, values)] if values else []
    with pytest.raises(ValueError, match="finite"):
        chart(curves, title="t", across="x", left="y")
