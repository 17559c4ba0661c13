"""Limits in one list, the figures by hand."""

import pytest

from flangewise.jobs.printed import printed

from .worked import ANGLE, HEM, job


def shares(text: str) -> dict[str, float]:
    return {load.body.code.rsplit(".", 1)[-1]: load.share for load in printed(job(text)).loads}


def test_tool_loads_are_force_per_metre_over_the_rating() -> None:
    worked = job(ANGLE)
    assert worked.setup is not None
    step = worked.setup.steps[0]
    per_m = step.pair.limit_force_kn_per_m
    assert per_m is not None and step.pair.tools.punch is not None and step.pair.tools.die is not None
    found = shares(ANGLE)
    assert found["punch"] == pytest.approx(per_m / step.pair.tools.punch.load_kn_per_m)
    assert found["die"] == pytest.approx(per_m / step.pair.tools.die.load_kn_per_m)
    assert found["holder"] == pytest.approx(per_m / worked.machine.holder_load_kn_per_m)


def test_the_machine_carries_force_per_metre_times_length() -> None:
    worked = job(ANGLE)
    assert worked.setup is not None
    per_m = worked.setup.steps[0].pair.limit_force_kn_per_m
    assert per_m is not None
    machine = next(share for name, share in shares(ANGLE).items() if name.startswith("machine"))
    assert machine == pytest.approx(per_m * 0.120 / worked.machine.force_kn, rel=1e-6)


def test_of_several_steps_the_heaviest_counts() -> None:
    worked = job(HEM)
    assert worked.setup is not None
    found = printed(worked).loads
    heaviest = max(step.pair.limit_force_kn_per_m or 0.0 for step in worked.setup.steps)
    holder = next(load for load in found if load.body.code.endswith("holder"))
    assert holder.load == pytest.approx(heaviest)
