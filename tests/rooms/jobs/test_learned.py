"""What the shop measured, in a part's plan: blank by the deduction seen, depth by the turn seen, and both said."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from flangewise.jobs import Job, worked_out
from flangewise.jobs.machines import blanked
from flangewise.jobs.wishes import deductions_mm, learned_findings
from flangewise.part import Part
from flangewise.punch_die import Tooling
from flangewise.shop import MeasuredBends, MeasuredRow, Shop

from .made import STRAIGHT, TOWER, built_in, differences, part, steel, toy

BY_RULE_MM, SEEN_MM = 2.905, 3.1
RATE_DEG_PER_MM, SPRINGBACK_DEG = 14.9, 1.75
ONE = [40, 60]


def row(lot: int, **more: Any) -> MeasuredRow:
    """A square bend of the toy sheet in the wide die, at the depth where the bare model says 90."""
    told: dict[str, Any] = {
        "lot": f"L{lot}",
        "part": "p",
        "bend": 1,
        "piece": 1,
        "machine": "toy",
        "material": "toy",
        "thickness_mm": 1.5,
        "measured_thickness_mm": 1.5,
        "punch": "straight-84",
        "nose_radius_mm": 0.5,
        "die": "block-12",
        "wanted_turn_deg": 90.0,
        "depth_mm": 3.1,
        "measured_turn_deg": None,
        "model_turn_deg": 90.0,
        "deg_per_mm": RATE_DEG_PER_MM,
        "springback_deg": SPRINGBACK_DEG,
        "radius_mm": 1.6,
        "rule_deduction_mm": BY_RULE_MM,
        "deduction_mm": None,
        "deduction_sd_mm": None,
    }
    return MeasuredRow(**{**told, **more})


def measured(*rows: MeasuredRow) -> Shop:
    return replace(toy(), measured=MeasuredBends(rows))


@cache
def seen(lots: int = 24) -> Shop:
    """So many lots that all showed the same deduction."""
    return measured(*(row(lot, deduction_mm=SEEN_MM, deduction_sd_mm=0.02) for lot in range(lots)))


@cache
def turned_too_far(lots: int = 12, degrees: float = 1.5) -> Shop:
    """So many lots that came out turned further than the model says."""
    return measured(*(row(lot, measured_turn_deg=90.0 + degrees) for lot in range(lots)))


def said(job: Job, code: str) -> list[str]:
    return [each.text() for each in job.findings if each.code == code]


def depth(job: Job) -> float:
    assert job.setup is not None
    found = job.setup.steps[0].ram.depth_mm
    assert found is not None
    return found


def developed(job: Job) -> float:
    assert job.pattern is not None
    return job.pattern.developed_mm


def asked(wanted: Part, shop: Shop) -> dict[int, float]:
    job = blanked(wanted, shop)
    return deductions_mm(wanted, shop, job.pairs)


def test_nothing_measured_says_nothing() -> None:
    wanted = part(ONE, [90])
    assert asked(wanted, toy()) == {}
    assert not {"depth-measured", "deduction-measured"} & {each.code for each in worked_out(wanted, toy()).findings}


def test_the_blank_is_made_with_the_deduction_many_lots_showed() -> None:
    """The mean of many lots is nearly the deduction itself; legs less one of it are the blank."""
    job = worked_out(part(ONE, [90]), seen())
    assert developed(job) == pytest.approx(100 - SEEN_MM, abs=0.02)
    (text,) = said(job, "deduction-measured")
    assert text.startswith("measured, n = 24") and "3.1 mm" in text
    assert developed(worked_out(part(ONE, [90]), toy())) == pytest.approx(100 - BY_RULE_MM, abs=0.01)


def test_one_lot_is_believed_in_part() -> None:
    job = worked_out(part(ONE, [90]), seen(1))
    assert 100 - SEEN_MM < developed(job) < 100 - BY_RULE_MM


def test_stops_and_blank_follow_alike() -> None:
    """Half the deduction is taken from the leg that is gauged."""
    job = worked_out(part(ONE, [90]), seen())
    assert job.setup is not None and job.setup.steps[0].stops.x_mm is not None
    gauged = 40 if job.setup.steps[0].gauged_on == "start" else 60
    assert job.setup.steps[0].stops.x_mm == pytest.approx(gauged - SEEN_MM / 2, abs=0.01)
    assert differences(job) == []


def test_another_die_borrows_and_says_so() -> None:
    job = worked_out(part(ONE, [90], TOWER), seen())
    (text,) = said(job, "deduction-measured")
    assert "n = 24" not in text
    assert 100 - SEEN_MM - 0.05 <= developed(job) < 100 - BY_RULE_MM


def test_another_turn_is_another_key() -> None:
    assert asked(part(ONE, [90]), seen())[1] == pytest.approx(SEEN_MM, abs=0.02)
    assert asked(part(ONE, [45]), seen()).get(1) != pytest.approx(SEEN_MM, abs=0.5)


def test_a_k_factor_of_the_file_goes_before_what_was_measured() -> None:
    tools = dict(zip(("punch", "die"), STRAIGHT, strict=True))
    wanted = part(ONE, [{"turn": 90, "k_factor": 0.4, **tools}])
    assert asked(wanted, seen()) == {}
    assert said(worked_out(wanted, seen()), "deduction-measured") == []


def test_what_came_out_turned_too_far_is_set_less_deep() -> None:
    """1.5 degrees too far at 14.9 degrees a millimetre is 0.1 mm too deep; springback takes its share of the blame."""
    plain, learned = worked_out(part(ONE, [90]), toy()), worked_out(part(ONE, [90]), turned_too_far())
    assert depth(plain) - depth(learned) == pytest.approx(1.5 / RATE_DEG_PER_MM, abs=0.02)
    (text,) = said(learned, "depth-measured")
    assert text.startswith("measured, n = 12") and "depth offset" in text
    assert said(plain, "depth-measured") == []


def test_the_angle_is_told_as_better_known() -> None:
    steps = [
        job.setup.steps[0] for shop in (toy(), turned_too_far()) if (job := worked_out(part(ONE, [90]), shop)).setup
    ]
    spreads = [step.spread and step.spread.first_piece_deg for step in steps]
    assert spreads[0] is not None and spreads[1] is not None and spreads[1] <= spreads[0]


def test_a_part_of_another_thickness_is_not_told_of_this_one_s_depth_as_its_own() -> None:
    job = worked_out(part(ONE, [90], thickness=1.2), turned_too_far())
    assert all("n = 12" not in text for text in said(job, "depth-measured"))


def test_findings_are_for_the_pairs_in_use() -> None:
    wanted = part([20, 60, 20], [90, 90])
    job = blanked(wanted, seen())
    tooling = Tooling.of(seen(), job.machine)
    both = learned_findings(wanted, seen(), job.pairs, tooling=tooling)
    assert [each.place() for each in both if each.code == "deduction-measured"] == ["bend 1", "bend 2"]
    one = learned_findings(wanted, seen(), {1: job.pairs[1], 2: None}, tooling=tooling)
    assert [each.place() for each in one] == ["bend 1"]


def test_a_hem_learns_nothing_from_bends() -> None:
    """No angle is predicted of a hem and its allowance is its own; the bend beside it borrows from its material."""
    rows = tuple(row(lot, material="DC01", die="vee-8-86", deduction_mm=SEEN_MM) for lot in range(4))
    shop = replace(built_in(), measured=MeasuredBends(rows))
    assert set(asked(steel([12, 60, 30], [{"hem": "closed"}, 90], thickness=1), shop)) == {2}
