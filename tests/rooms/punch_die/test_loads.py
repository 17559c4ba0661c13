"""The force of a hit against punch, die, holder and machine, with the worked figures of the trade."""

from __future__ import annotations

import pytest

from flangewise.punch_die import BendWish, PunchDie, off_centre_force_kn
from flangewise.punch_die.limits import concentrated_kn_per_m

from ...published.source import printed_at
from .made import codes, machine, offers, stock, tooling, value


def only(wish: BendWish, sheet, tools) -> PunchDie:  # type: ignore[no-untyped-def]
    (made,) = offers(wish, sheet, tools)
    return made


NAMED = {"punch": "straight-80-nose-2", "die": "vee-16-80"}


def test_400_kn_on_frames_1250_apart_carries_533_kn_per_m_on_a_short_bend() -> None:
    brake = machine(force_kn=400.0, frames_mm=1250.0, concentrated_kn_per_m=None)
    assert concentrated_kn_per_m(brake, 0.6) == pytest.approx(533.3, abs=0.1)
    # ... so that 200 mm may take 107 kN.
    assert concentrated_kn_per_m(brake, 0.6) * 0.2 == pytest.approx(107, abs=0.5)


def test_the_makers_own_figure_replaces_the_rule() -> None:
    assert concentrated_kn_per_m(machine(concentrated_kn_per_m=321.0), 0.6) == 321


def test_400_kn_with_drives_800_apart_gives_229_kn_at_300_off_the_middle() -> None:
    brake = machine(force_kn=400.0, drive_spacing_mm=800.0)
    assert off_centre_force_kn(brake, 300) == pytest.approx(228.6, abs=0.1)
    assert off_centre_force_kn(brake, -300) == off_centre_force_kn(brake, 300)
    assert off_centre_force_kn(brake, 0) == 400


def test_an_easy_bend_has_nothing_against_it() -> None:
    made = only(BendWish(1, 90, length_mm=500, **NAMED), stock(), tooling())
    assert not any("load" in code or "force" in code for code in codes(made))


def test_force_is_the_limit_force_times_the_length() -> None:
    made = only(BendWish(1, 90, length_mm=500, **NAMED), stock(), tooling())
    assert made.limit_force_kn_per_m is not None
    assert made.force_kn(500) == pytest.approx(made.limit_force_kn_per_m / 2)


def test_without_a_length_no_force_in_all_and_none_of_the_machine_checked() -> None:
    made = only(BendWish(1, 90, **NAMED), stock(), tooling(force_kn=1.0))
    assert made.force_kn(None) is None
    assert "over-machine-force" not in codes(made)


def test_more_than_the_machine_has_is_refused_with_both_figures() -> None:
    made = only(BendWish(1, 90, length_mm=1000, **NAMED), stock(), tooling(force_kn=100.0))
    # A tool maker's chart for Rm 450 at t 2, V 16; 320/450 of it is more than the 100 kN there are.
    chart = printed_at("force-chart-metric-mild-steel-450", "force_kn_per_m", "thickness_mm", "opening_mm")
    assert value(made, "over-machine-force", "force_kn") == pytest.approx(chart[2, 16] * 320 / 450, rel=0.12)
    assert value(made, "over-machine-force", "most_kn") == 100


def test_off_centre_the_machine_has_less() -> None:
    wish = BendWish(1, 90, length_mm=500, bed_offset_mm=300, **NAMED)
    made = only(wish, stock(), tooling(force_kn=100.0, drive_spacing_mm=800.0))
    assert value(made, "over-off-centre-force", "most_kn") == pytest.approx(100 / 1.75)


@pytest.mark.parametrize(("share", "code"), [(0.9, "over"), (1.1, "near"), (1.3, None)])
@pytest.mark.parametrize("body", ["punch", "die", "holder"])
def test_over_a_rating_is_refused_and_over_four_fifths_told(body: str, share: float, code: str | None) -> None:
    force = only(BendWish(1, 90, **NAMED), stock(), tooling()).limit_force_kn_per_m
    assert force is not None
    made = only(BendWish(1, 90, **NAMED), stock(), rated(body, share * force))
    told = {each for each in codes(made) if each.endswith(f"{body}-load")}
    assert told == ({f"{code}-{body}-load"} if code else set())


def rated(body: str, load: float):  # type: ignore[no-untyped-def]
    """The example tooling with the rating of one body changed."""
    tools = tooling(**({"holder_load_kn_per_m": load} if body == "holder" else {}))
    if body == "holder":
        return tools
    rows = {"punch": tools.punches, "die": tools.dies}[body]
    changed = tuple(row.model_copy(update={"load_kn_per_m": load}) for row in rows)
    return type(tools)(
        changed if body == "punch" else tools.punches, changed if body == "die" else tools.dies, tools.machine
    )


def test_the_rule_of_thumb_cautions_and_the_makers_figure_refuses() -> None:
    by_rule = only(BendWish(1, 90, **NAMED), stock(), tooling(force_kn=100.0))
    by_maker = only(BendWish(1, 90, **NAMED), stock(), tooling(concentrated_kn_per_m=100.0))
    assert "over-concentrated-rule" in codes(by_rule) and not by_rule.refused
    assert "over-concentrated-load" in codes(by_maker) and by_maker.refused


def test_a_bend_longer_than_the_bed_is_refused() -> None:
    made = only(BendWish(1, 90, length_mm=3000, **NAMED), stock(), tooling())
    assert "longer-than-bed" in codes(made)


def test_austenitic_stainless_is_checked_with_no_less_than_the_chart() -> None:
    made = only(BendWish(1, 90, **NAMED), stock("1.4301"), tooling())
    # 1.43 Rm t2/V, a tool maker's chart; the model gives less at V = 8 t.
    assert made.limit_force_kn_per_m == pytest.approx(1.43 * 640 * 4 / 16, rel=1e-3)
    assert made.force_from == "1.43-austenitic"
    assert made.air.peak_kn_per_m < made.limit_force_kn_per_m
