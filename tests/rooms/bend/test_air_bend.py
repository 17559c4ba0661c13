"""The process model: check values, finite-element bends, a printed force chart, invariances, limits, many bends."""

import csv
import math
from dataclasses import asdict, astuple, replace
from pathlib import Path

import numpy as np
import pytest

from flangewise.bend import (
    AirBend,
    BendSetup,
    Learned,
    NoBend,
    air_bends,
    bend_at_depth,
    bend_to_turn,
    swift_from_certificate,
)
from flangewise.bend.air_bend import bends_of, peak_of
from flangewise.bend.force import oehler_kn_per_m
from flangewise.bend.hand import hand_springback_deg
from flangewise.bend.records import BendBatch

from ...published.source import printed_at
from .metals import ALUMINIUM, AUSTENITIC, CERTIFICATES, METALS, SOFT, STRONG, swift_of

PUBLISHED = Path(__file__).parents[3] / "shared" / "published"
SETUP = BendSetup(2, 16, 1.5, 1)

# Metal, t, V, shoulder, nose, friction, nose corrected, finished turn -> loaded turn, depth, springback, effective
# radius, half nose contact, end force; peak and its turn. Another program, 64 quadrature points.
CHECKS = [
    ("A", 2, 16, 1.5, 1, 0.1, False, 90, 91.625, 3.8695, 1.6247, 1.9304, 6.94, 97.714, 118.26, 52),
    ("A", 2, 16, 1.5, 1, 0.1, False, 30, 31.236, -0.1388, 1.2359, 6.2856, 0, 112.172, None, None),
    ("A", 2, 16, 1.5, 1, 0.1, False, 120, 122.001, 6.8467, 2.0011, 1.7564, 14.25, 62.203, 118.26, 52),
    ("A", 2, 16, 1.5, 1, 0, False, 90, 91.613, 3.8691, 1.6131, 1.9295, 6.22, 90.338, 115.12, 48),
    ("A", 1, 8, 0.8, 0.8, 0.1, False, 90, 91.624, 1.8621, 1.6241, 1.0824, 19.90, 51.168, 59.57, 53),
    ("A", 3, 24, 2.5, 3, 0.1, False, 90, 91.629, 5.3815, 1.6292, 3.6192, 25.33, 160.967, 180.24, 57),
    ("B", 2, 16, 1.5, 1, 0.1, False, 90, 93.231, 3.5692, 3.2311, 2.8514, 0, 184.529, 209.79, 62),
    ("B", 1.5, 12, 1, 1, 0.1, False, 45, 47.494, 0.5253, 2.4945, 4.1420, 0, 151.274, None, None),
    ("C", 2, 16, 1.5, 1, 0.1, False, 90, 93.638, 4.2466, 3.6380, 1.4384, 26.67, 69.227, 88.12, 43),
    ("D", 4, 40, 4, 6, 0.1, False, 90, 95.357, 10.9189, 5.3566, 6.5168, 38.44, 416.661, 485.97, 56),
    ("A", 2, 16, 1.5, 1, 0.1, True, 90, 91.629, 3.8379, 1.6286, 2.0038, 12.77, 98.518, 118.26, 52),
    ("C", 2, 16, 1.5, 1, 0.1, True, 90, 93.665, 4.1678, 3.6646, 1.6137, 29.33, 70.815, 88.29, 46),
    ("D", 4, 40, 4, 6, 0.1, True, 90, 95.381, 10.7997, 5.3810, 6.7712, 38.94, 424.185, 489.18, 57),
]


def bent(result) -> AirBend:
    assert isinstance(result, AirBend), result
    return result


@pytest.mark.parametrize("row", CHECKS)
def test_check_values(row):
    metal, t, opening, shoulder, nose, friction, corrected, turn, *expected = row
    loaded, depth, springback, radius, contact, force, peak, peak_turn = expected
    bend = bent(
        bend_to_turn(BendSetup(t, opening, shoulder, nose, friction), METALS[metal], turn, nose_correction=corrected)
    )
    assert bend.turn_deg == pytest.approx(turn, abs=1e-9)
    assert bend.loaded_turn_deg == pytest.approx(loaded, abs=0.005)
    assert bend.springback_deg == pytest.approx(springback, abs=0.005)
    assert bend.depth_mm == pytest.approx(depth, abs=1e-3)
    assert bend.effective_radius_mm == pytest.approx(radius, abs=0.005)
    assert bend.nose_contact_deg == pytest.approx(contact, abs=0.006)
    assert bend.wrapped == bool(contact)
    assert bend.force_kn_per_m == pytest.approx(force, rel=1e-3)
    if peak is not None:
        assert bend.peak_kn_per_m == pytest.approx(peak, rel=1e-3)
        assert bend.peak_turn_deg == pytest.approx(peak_turn, abs=1)


@pytest.mark.parametrize(
    ("swift", "setup", "depth", "loaded", "turn", "force"),
    [
        (SOFT, SETUP, 3.5, 86.9113, 85.3275, 101.985),
        (AUSTENITIC, SETUP, 2.0, 69.7368, 66.9117, 208.159),
        (STRONG, BendSetup(4, 40, 4, 6), 8.0, 78.2467, 73.3555, 464.253),
    ],
)
def test_depth_to_angle(swift, setup, depth, loaded, turn, force):
    bend = bent(bend_at_depth(setup, swift, depth, nose_correction=False))
    assert bend.loaded_turn_deg == pytest.approx(loaded, abs=0.005)
    assert bend.turn_deg == pytest.approx(turn, abs=0.005)
    assert bend.force_kn_per_m == pytest.approx(force, rel=1e-3)


def published(name):
    lines = (PUBLISHED / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def metal_of(row, modulus_mpa):
    return swift_from_certificate(
        float(row["yield_mpa"]),
        float(row["tensile_mpa"]),
        uniform_elongation=float(row["uniform_elongation"]),
        modulus_mpa=modulus_mpa,
    )


def setup_of(row):
    names = ("thickness_mm", "opening_mm", "shoulder_radius_mm", "nose_radius_mm", "friction")
    return BendSetup(*(float(row[name]) for name in names))


def test_finite_element_bends():
    rows = published("finite-element-bends.csv")
    found = {"loaded": [], "springback": [], "peak": []}
    for row in rows:
        bend = bent(bend_at_depth(setup_of(row), metal_of(row, float(row["modulus_mpa"])), float(row["depth_mm"])))
        printed = float(row["printed"])
        if row["quantity"].startswith("loaded"):
            found["loaded"].append(printed - bend.loaded_turn_deg)
        elif row["quantity"].startswith("springback"):
            found["springback"].append(bend.springback_deg / printed - 1)
        else:
            found["peak"].append(bend.peak_kn_per_m / printed - 1)
    assert [len(values) for values in found.values()] == [22, 17, 22]
    assert max(map(abs, found["loaded"])) <= 1.2
    assert max(map(abs, found["springback"])) <= 0.05
    assert max(map(abs, found["peak"])) <= 0.05


def test_force_chart_within_twelve_percent():
    chart = printed_at("force-chart-metric-mild-steel-450", "peak_force_kn_per_m", "thickness_mm", "opening_mm")
    setups = [BendSetup(t, v, 0.1 * v, 0.08 * v) for t, v in chart]
    bends = air_bends(setups, swift_of("chart steel"), [90.0] * len(setups))
    ratios = [bent(bend).peak_kn_per_m / kn for bend, kn in zip(bends, chart.values(), strict=True)]
    assert len(ratios) > 60
    assert max(abs(ratio - 1) for ratio in ratios) <= 0.12
    assert np.mean(ratios) == pytest.approx(1, abs=0.03)


def test_elastic_limit_is_the_beam_of_the_handbooks():
    # Three-point bending: F/P = 48 E'I/V^3, end slope 3 P/V; P is the travel from first touch at depth -t.
    setup = BendSetup(2, 16, 1.5, 0.5, friction=0)
    bend = bent(air_bends([setup], STRONG, [0.04], target="loaded", nose_correction=False)[0])
    travel = bend.depth_mm + 2
    stiffness = 48 * STRONG.plane_modulus_mpa * (8 / 12) / 16**3
    assert bend.force_kn_per_m / travel == pytest.approx(stiffness, rel=1e-3)
    assert math.radians(bend.loaded_turn_deg / 2) / travel == pytest.approx(3 / 16, rel=1e-3)
    assert bend.turn_deg == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("scale", [0.1, 25.4])
def test_lengths_scale(scale):
    small = bent(bend_to_turn(SETUP, SOFT, 90))
    large = bent(bend_to_turn(BendSetup(2 * scale, 16 * scale, 1.5 * scale, scale), SOFT, 90))
    assert large.springback_deg == pytest.approx(small.springback_deg, rel=1e-9)
    assert large.peak_turn_deg == pytest.approx(small.peak_turn_deg, rel=1e-9)
    for name in ("depth_mm", "effective_radius_mm", "formed_radius_mm", "force_kn_per_m", "contact_length_mm"):
        assert getattr(large, name) == pytest.approx(scale * getattr(small, name), rel=1e-8), name
    assert large.deg_per_mm == pytest.approx(small.deg_per_mm / scale, rel=1e-5)


def test_stiffness_and_strength_scale_together():
    soft = bent(bend_to_turn(SETUP, SOFT, 90))
    hard = bent(bend_to_turn(SETUP, replace(SOFT, strength_mpa=541 * 3, modulus_mpa=210_000 * 3), 90))
    assert hard.force_kn_per_m == pytest.approx(3 * soft.force_kn_per_m, rel=1e-9)
    for name in ("depth_mm", "springback_deg", "effective_radius_mm"):
        assert getattr(hard, name) == pytest.approx(getattr(soft, name), rel=1e-9), name


def test_friction_fades_out_smoothly():
    none, little = (bent(bend_to_turn(replace(SETUP, friction=mu), SOFT, 90)) for mu in (0.0, 1e-7))
    assert little.depth_mm == pytest.approx(none.depth_mm, abs=1e-6)
    assert little.force_kn_per_m == pytest.approx(none.force_kn_per_m, rel=1e-6)


def test_free_and_wrapped_meet_where_the_nose_just_fits():
    noses = np.linspace(0.2, 4.0, 96)
    batch = BendBatch.of([replace(SETUP, nose_radius_mm=float(nose)) for nose in noses], [SOFT])
    found = bends_of(batch, "finished", np.full(96, 60.0), nose_correction=False)
    assert found.converged.all()
    assert 0 < int((found.nose_contact_deg > 0).sum()) < 96
    # Nothing jumps on the way from a sharp to a blunt nose: no step is much larger than its neighbours.
    steps = np.abs(np.diff(found.depth_mm))
    assert steps.max() < 0.02


@pytest.mark.parametrize("swift", METALS.values(), ids=METALS.keys())
@pytest.mark.parametrize("turn", [5, 45, 90, 120, 150])
def test_there_and_back(swift, turn):
    taught = Learned(depth_offset_mm=0.07, springback_log=0.1)
    there = bent(bend_to_turn(SETUP, swift, turn, learned=taught))
    back = bent(bend_at_depth(SETUP, swift, there.depth_mm, learned=taught))
    assert back.turn_deg == pytest.approx(turn, abs=1e-6)
    assert back.loaded_turn_deg == pytest.approx(there.loaded_turn_deg, abs=1e-6)


def test_learned_offset_and_springback():
    bare = bent(bend_to_turn(SETUP, SOFT, 90))
    deeper = bent(bend_to_turn(SETUP, SOFT, 90, learned=Learned(depth_offset_mm=0.1)))
    assert deeper.depth_mm == pytest.approx(bare.depth_mm - 0.1, abs=1e-9)
    taught = Learned(springback_log=0.2)
    springier = bent(air_bends([SETUP], SOFT, [bare.loaded_turn_deg], target="loaded", learned=taught)[0])
    assert springier.springback_deg == pytest.approx(math.exp(0.2) * bare.springback_deg, rel=1e-6)


def test_deg_per_mm_is_the_slope():
    bend = bent(bend_to_turn(SETUP, AUSTENITIC, 90))
    up, down = (bent(bend_at_depth(SETUP, AUSTENITIC, bend.depth_mm + step)) for step in (0.005, -0.005))
    assert bend.deg_per_mm == pytest.approx((up.turn_deg - down.turn_deg) / 0.01, rel=1e-4)


# Printed sensitivities at 90 degrees, t 2, V 16: degrees of finished turn per mm of depth.
@pytest.mark.parametrize(("name", "rate"), [("DC01", 12.6), ("1.4301", 13.4), ("5754-H22", 11.9)])
def test_deg_per_mm_of_common_metals(name, rate):
    assert bent(bend_to_turn(SETUP, swift_of(name), 90)).deg_per_mm == pytest.approx(rate, abs=0.06)


@pytest.mark.parametrize("ratio", [6, 8, 10, 12])
@pytest.mark.parametrize("name", ["DC01", "S235", "S355MC", "S700MC", "5754-H22"])
def test_near_the_hand_formulas(name, ratio):
    # Far from them at 90 degrees and usual openings would be a bug, not physics.
    swift, tensile = swift_of(name), CERTIFICATES[name][1]
    opening = 2.0 * ratio
    bend = bent(bend_to_turn(BendSetup(2, opening, 0.09 * opening, 1), swift, 90))
    assert 0.75 < bend.peak_kn_per_m / oehler_kn_per_m(tensile, 2, opening) < 1.15
    by_hand = hand_springback_deg(tensile, swift.plane_modulus_mpa, opening_mm=opening, thickness_mm=2, turn_deg=90)
    assert 0.8 < bend.springback_deg / by_hand < 1.25


# Finite-element bends: finished turn, deduction in the tangent form. Their K is 0.40 + 0.016 r/t within 0.015.
@pytest.mark.parametrize(
    ("name", "setup", "turn", "deduction"),
    [
        ("DC01", SETUP, 91.11, 3.71),
        ("1.4301", SETUP, 89.82, 3.93),
        ("5754-H111", SETUP, 90.84, 3.62),
        ("S355MC", BendSetup(4, 32, 3, 2), 90.79, 6.91),
        ("DC01", BendSetup(1, 8, 0.8, 0.8), 90.84, 1.87),
    ],
)
def test_the_formed_radius_makes_the_finite_element_blank(name, setup, turn, deduction):
    bend = bent(bend_to_turn(setup, swift_of(name), turn))
    r, t, angle = bend.formed_radius_mm, setup.thickness_mm, math.radians(turn)
    k = 0.40 + 0.016 * r / t
    assert 2 * (r + t) * math.tan(angle / 2) - angle * (r + k * t) == pytest.approx(deduction, abs=0.05 * t)


def test_large_turns_give_an_answer_or_a_reason():
    for turn in (150, 160, 170, 173):
        assert bent(bend_to_turn(SETUP, SOFT, turn)).turn_deg == pytest.approx(turn)
    for setup, swift, turn in [(SETUP, SOFT, 179), (SETUP, STRONG, 175), (replace(SETUP, nose_radius_mm=7), SOFT, 140)]:
        assert bend_to_turn(setup, swift, turn) == NoBend("unreachable")


@pytest.mark.parametrize("turn", [0, -5, 180, math.nan, math.inf])
def test_an_impossible_turn_has_no_bend(turn):
    assert bend_to_turn(SETUP, SOFT, turn) == NoBend("impossible-input")


@pytest.mark.parametrize(
    "field", [{"thickness_mm": 0}, {"thickness_mm": -1}, {"opening_mm": math.nan}, {"friction": -0.1}, {"friction": 1}]
)
def test_impossible_set_ups_have_no_bend(field):
    assert bend_to_turn(replace(SETUP, **field), SOFT, 90) == NoBend("impossible-input")
    assert bend_at_depth(replace(SETUP, **field), SOFT, 3) == NoBend("impossible-input")


def test_shoulders_that_meet_have_no_bend():
    assert bend_to_turn(replace(SETUP, shoulder_radius_mm=8), SOFT, 90) == NoBend("impossible-input")


def test_above_first_touch_there_is_no_bend():
    assert bend_at_depth(SETUP, SOFT, -2.1) == NoBend("unreachable")


def test_one_bad_bend_leaves_the_others_alone():
    batch = BendBatch.of([SETUP, replace(SETUP, thickness_mm=-2), SETUP], [SOFT])
    found = bends_of(batch, "finished", np.array([90.0, 90.0, 179.5]))
    assert found.converged.tolist() == [True, False, False]
    assert (found.reason(1), found.reason(2)) == ("impossible-input", "unreachable")
    assert found.depth_mm[0] == pytest.approx(bent(bend_to_turn(SETUP, SOFT, 90)).depth_mm, abs=1e-12)
    assert found.depth_mm[1] == found.depth_mm[2] == 0


def test_many_equal_each_alone():
    setups = [replace(SETUP, opening_mm=v, nose_radius_mm=n) for v in (12, 16, 24) for n in (0.5, 3)]
    together = air_bends(setups, ALUMINIUM, [70.0, 80, 90, 95, 100, 105])
    alone = [bend_to_turn(s, ALUMINIUM, turn) for s, turn in zip(setups, [70.0, 80, 90, 95, 100, 105], strict=True)]
    for one, other in zip(together, alone, strict=True):
        assert astuple(bent(one))[:-2] == pytest.approx(astuple(bent(other))[:-2], rel=1e-12)
        assert bent(one).wrapped == bent(other).wrapped
    assert air_bends([], SOFT, []) == ()


def test_the_kinds_of_target_agree():
    bend = bent(bend_to_turn(SETUP, SOFT, 90))
    for kind, value in [("finished", 90.0), ("loaded", bend.loaded_turn_deg), ("depth", bend.depth_mm)]:
        assert bent(air_bends([SETUP], SOFT, [value], target=kind)[0]).depth_mm == pytest.approx(bend.depth_mm)
    batch = BendBatch.of([SETUP], [SOFT])
    by_depth = bends_of(batch, "depth", np.array([bend.depth_mm]))
    by_load = bends_of(batch, "loaded", np.array([bend.loaded_turn_deg]))
    assert by_depth.turn_deg[0] == pytest.approx(90) == pytest.approx(by_load.turn_deg[0])


def test_peak_of_points():
    # y = 100 - (x - 47)^2/10 at uneven points: the parabola is met exactly.
    turns = np.array([30.0, 40.0, 52.0, 60.0])
    assert peak_of(turns, 100 - (turns - 47) ** 2 / 10) == (pytest.approx(100), pytest.approx(47))
    rising = np.array([1.0, 2.0, 3.0, 4.0])
    assert peak_of(turns, rising) == (4, 60)
    assert peak_of(turns, rising[::-1]) == (4, 30)


def test_two_thousand_random_bends_all_have_an_answer():
    rng = np.random.default_rng(11)
    count = 2000
    t = np.exp(rng.uniform(math.log(0.5), math.log(10), count))
    opening = t * rng.uniform(5, 16, count)
    tensile = rng.uniform(150, 1400, count)
    swifts = [
        swift_from_certificate(rm * share, rm, uniform_elongation=ag, modulus_mpa=210_000)
        for rm, share, ag in zip(tensile, rng.uniform(0.4, 0.9, count), rng.uniform(0.04, 0.45, count), strict=True)
    ]
    setups = [
        BendSetup(*values)
        for values in zip(
            t.tolist(),
            opening.tolist(),
            (0.09 * opening).tolist(),
            (opening * rng.uniform(0, 0.25, count)).tolist(),
            rng.uniform(0, 0.25, count).tolist(),
            strict=True,
        )
    ]
    batch = BendBatch.of(setups, swifts)
    found = bends_of(batch, "finished", rng.uniform(0.5, 90, count))
    assert found.converged.all()
    assert (found.springback_deg > 0).all() and (found.deg_per_mm > 0).all()
    assert all(np.isfinite(value).all() for value in asdict(found).values())
