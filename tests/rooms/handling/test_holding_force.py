"""Holding force, twist and peel against sums over the pads, element by element, and against worked numbers."""

from __future__ import annotations

import math
import random
import re

import numpy as np
import pytest

from flangewise.handling.gripper import GripperShape
from flangewise.handling.holding_force import HeldMass, Pads, arm_load, needed_force
from flangewise.handling.strength import strength_of
from flangewise.handling.why import holding_formulas

from .toys import GRIPPERS

G = 9.81
STEEL_KG = 250 * 120 * 2 * 7.85e-6


def _elements(pads: Pads, count: int = 60) -> np.ndarray:
    """Middles of the elements of one rectangular pad."""
    xs, ys = ((np.arange(count) + 0.5) / count - 0.5 for _ in range(2))
    return np.stack(np.meshgrid(xs * pads.across_mm, ys * pads.along_mm), axis=-1).reshape(-1, 2)


def _slides_at(pads: Pads, pull: tuple[float, float], moment: float) -> float:
    """The least normal force over friction, summed over both pads, that carries a force and a moment in the plane.

    By power: at the load that slides, some motion of the pad has friction's work equal to the load's. Of all centres of
    turning the one that asks for most force counts; friction of an element is its share of the normal force.
    """
    at = _elements(pads)
    best = math.hypot(*pull)
    far = np.concatenate([-np.geomspace(0.05, 4000, 50), [0.0], np.geomspace(0.05, 4000, 50)])
    along = np.array(pull) / max(math.hypot(*pull), 1e-12)
    across = np.array([-along[1], along[0]])
    for off in far:
        centre = across * off
        arms = at - centre
        speed = np.hypot(arms[:, 0], arms[:, 1]).mean()
        for sense in (1.0, -1.0):
            # Motion of the load's own point, turning about the centre by one rad.
            moved = sense * np.array([centre[1], -centre[0]])
            power = pull[0] * moved[0] + pull[1] * moved[1] + sense * moment
            best = max(best, power / speed)
    return best


def _jaw(side_mm: float = 30.0) -> Pads:
    return Pads("jaw", side_mm, side_mm)


def test_a_square_pads_twist_radius_is_the_mean_distance_from_its_middle() -> None:
    for pads in (_jaw(), Pads("jaw", 25, 80), Pads("jaw", 80, 25)):
        mean = np.hypot(*_elements(pads, 400).T).mean()
        assert pads.twist_radius_mm == pytest.approx(mean, rel=1e-4)
    assert _jaw(1.0).twist_radius_mm == pytest.approx((math.sqrt(2) + math.asinh(1)) / 6, rel=1e-12)


@pytest.mark.parametrize("seed", range(12))
def test_slip_and_twist_together_are_enough_and_no_more_than_142_of_a_hundred(seed: int) -> None:
    drawn = random.Random(seed)
    pads = Pads("jaw", drawn.uniform(15, 60), drawn.uniform(15, 90))
    mass, off, mu = drawn.uniform(0.2, 5), drawn.uniform(0, 150), drawn.uniform(0.1, 0.5)
    needs = needed_force(HeldMass(mass, off, 0.0, 0.0), pads, friction=mu, acceleration_m_per_s2=5, factor=2)
    weight = mass * (G + 5) * 2
    exact = _slides_at(pads, (0.0, weight), weight * off) / (2 * mu)
    assert exact <= (needs.vertical_n + needs.twist_n) * 1.01
    assert needs.vertical_n + needs.twist_n <= 1.42 * exact


def test_slip_alone_and_twist_alone_are_exact() -> None:
    pads, mu = Pads("jaw", 25, 80), 0.2
    needs = needed_force(HeldMass(1.0, 90.0, 0.0, 0.0), pads, friction=mu, acceleration_m_per_s2=5, factor=1)
    weight = G + 5
    assert needs.vertical_n == pytest.approx(_slides_at(pads, (0.0, weight), 0.0) / (2 * mu), rel=1e-6)
    assert needs.twist_n == pytest.approx(_slides_at(pads, (0.0, 1e-9), weight * 90) / (2 * mu), rel=0.01)


@pytest.mark.parametrize(("rows", "spacing"), [(2, 50.0), (3, 40.0), (4, 25.0)])
def test_peel_of_rows_is_the_pull_of_the_worst_by_even_stiffness(rows: int, spacing: float) -> None:
    """Rows as equal springs under a stiff plate: sum of pulls the weight, sum of moments W e, solved as equations."""
    pads, mass, off = Pads("cups", 20, 20, rows_across=rows, spacing_mm=spacing), 0.8, 37.0
    weight = mass * (G + 5)
    places = spacing * (np.arange(rows) - (rows - 1) / 2)
    lift, tilt = np.linalg.solve([[rows, places.sum()], [places.sum(), (places**2).sum()]], [weight, weight * off])
    worst = (lift + tilt * places).max()
    needs = needed_force(HeldMass(mass, off, 0, 0), pads, friction=0.3, acceleration_m_per_s2=5, factor=2)
    # All rows together hold enough once each could pull as the worst does.
    assert needs.level_n + needs.peel_n == pytest.approx(2 * rows * worst)


def test_a_jaw_peels_when_it_stands_on_the_edges_of_its_pads() -> None:
    """Both pads press with N; at the limit one at its front edge and the other at its back edge: a couple N d."""
    needs = needed_force(
        HeldMass(2.0, 60.0, 0, 0), Pads("jaw", 25, 80), friction=0.15, acceleration_m_per_s2=0, factor=1
    )
    assert needs.peel_n * 25 == pytest.approx(2.0 * G * 60)


def test_the_oily_upright_sheet_asks_for_fifteen_times_its_weight() -> None:
    """250 x 120 x 2 steel, a 5, S 2, mu 0.2: 69.8 N and not its weight of 4.6 N."""
    flat = HeldMass(STEEL_KG, 0, 0, 0)
    needs = needed_force(flat, Pads("cups", 30, 30), friction=0.2, acceleration_m_per_s2=5, factor=2)
    assert needs.worst_n == pytest.approx(69.8, abs=0.1)
    assert needs.governs == "vertical"


def test_pads_that_slide_hold_nothing() -> None:
    with pytest.raises(ValueError, match="without friction"):
        needed_force(HeldMass(1, 0, 0, 0), _jaw(), friction=0.0, acceleration_m_per_s2=5, factor=2)


def test_payload_is_planned_with_less_than_the_arm_is_rated_and_the_gripper_taken_off() -> None:
    """A 5 kg arm, gripper 1.2 and adapter 0.3: 80 % of 5 less 1.5 leave 2.5 kg of part."""

    def loaded(part_kg: float, most_nm: float | None = 50.0) -> bool:
        held = HeldMass(part_kg, 0, 0, 0)
        return arm_load(
            held, gripper_kg=1.5, payload_kg=5, payload_share=0.8, payload_moment_nm=most_nm, flange_mm=100
        ).is_carried

    assert loaded(2.49) and not loaded(2.51)
    assert not loaded(2.49, most_nm=1.0) and not loaded(2.49, most_nm=None)


def test_the_moment_at_the_flange_is_summed_from_both_masses() -> None:
    held = HeldMass(2.0, -150.0, 0.0, 30.0)
    load = arm_load(held, gripper_kg=3.0, payload_kg=20, payload_share=1, payload_moment_nm=40, flange_mm=180)
    assert load.moment_nm == pytest.approx((2.0 * 0.330 + 3.0 * 0.090) * G)


@pytest.mark.parametrize("name", GRIPPERS)
def test_each_formula_that_is_told_comes_to_its_figure_with_the_numbers_beside_it(name: str) -> None:
    """What a reader does with pencil and paper: the letters from the line of inputs, put into the formula."""
    shape, dice, looked_at = GripperShape(GRIPPERS[name]()), random.Random(7), 0
    for kind in {"jaw": ("edge", "end"), "slim": ("edge",), "cups": ("face",)}[name]:
        held = HeldMass(dice.uniform(0.3, 3), dice.uniform(-90, 90), dice.uniform(20, 120), dice.uniform(-30, 30))
        strength = strength_of(shape, kind, held, length_mm=300.0)  # type: ignore[arg-type]
        told = holding_formulas(strength, shape.pads(kind, 300.0), shape.row)  # type: ignore[arg-type]
        assert len(told) >= 6
        for formula, value in told[:-1]:
            letters = {part.split()[0]: float(part.split()[1]) for part in formula.inputs.split(", ")}
            # The formula stands behind the last colon; letters beside each other are multiplied.
            text = re.sub(r"(?<=[\w)]) (?=[\w(])", " * ", formula.formula.rsplit(": ", 1)[1].replace("max(", "max_("))
            text = re.sub(r"(?<=\w) \* (?=max_)|max_", lambda found: found.group().replace("max_", "max"), text)
            found = eval(text, {"__builtins__": {}, "max": max}, letters)
            assert found == pytest.approx(value, rel=2e-2, abs=0.5), (formula.key, text)
            looked_at += 1
    assert looked_at >= 5
