"""What hangs out in front: its weight about the bend line, its reach."""

from __future__ import annotations

import pytest

from flangewise.sequence import FoldedSection, Hold
from flangewise.setup.support import front_moment_nm, hold_findings, support_findings

from .made import BLANK, chosen, codes, hit, pair, value, work


def test_the_moment_of_a_flat_blank() -> None:
    """100 mm in all, 80 in front: 0.8 of the mass at 40 mm."""
    assert front_moment_nm(BLANK, 2.0) == pytest.approx(0.8 * 2.0 * 9.81 * 0.040)


def test_a_blank_wholly_in_front_or_behind() -> None:
    front = ((0.0, 0.0), (100.0, 0.0), (100.0, 2.0), (0.0, 2.0))
    behind = tuple((-across, up) for across, up in reversed(front))
    assert front_moment_nm(front, 1.0) == pytest.approx(9.81 * 0.05)
    assert front_moment_nm(behind, 1.0) == 0


def test_an_angle_in_front_counts_both_its_legs() -> None:
    """60 along the die and 40 up at its end, sheet of 1: strips of 60 at 30 and of 39 at 59.5."""
    angle = ((0.0, 0.0), (60.0, 0.0), (60.0, 40.0), (59.0, 40.0), (59.0, 1.0), (0.0, 1.0))
    area = 60 + 39
    expected = (60 * 30 + 39 * 59.5) / area / 1000 * 9.81 * 3.0
    assert front_moment_nm(angle, 3.0) == pytest.approx(expected)


def test_more_than_5_newton_metres_is_told_with_its_reach() -> None:
    light, heavy = (work(mass_kg=mass) for mass in (15.0, 17.0))
    assert support_findings(hit(), light) == ()
    told = support_findings(hit(), heavy)
    assert codes(told) == {"support-in-front"} and told[0].severity == "caution"
    assert value(told, "support-in-front", "reach_mm") == 80


def test_thin_sheet_reaching_half_a_metre_is_told_whatever_it_weighs() -> None:
    long = tuple((across * 7 if across > 0 else across, up) for across, up in BLANK)
    reaching = hit(chosen(before=FoldedSection(long, ())))
    assert codes(support_findings(reaching, work())) == {"support-in-front"}
    assert support_findings(reaching, work(thickness_mm=2.5)) == ()


def test_the_second_hit_of_a_hem_is_not_told_again() -> None:
    hem = pair("hem", 1.0)
    assert hem.then is not None
    both = chosen(hem)
    heavy = work(mass_kg=40.0)
    assert support_findings(hit(both, 0), heavy) != ()
    assert support_findings(hit(both, 1), heavy) == ()


@pytest.mark.parametrize(
    ("tips", "little", "code"),
    [
        (None, True, "hold-little-in-front"),
        ("front", True, "hold-little-in-front"),
        ("behind", False, "hold-behind"),
        ("behind", True, "hold-little-and-behind"),
    ],
)
def test_a_broken_hold_rule_is_a_caution_with_its_figures(tips: str | None, little: bool, code: str) -> None:
    hold = Hold(12.0, 0.5, 2.5, 4.2, tips, "support", breach=1.8, little_in_front=little)  # type: ignore[arg-type]
    (told,) = hold_findings(hit(chosen(hold=hold)))
    assert (told.code, told.severity, told.place()) == (code, "caution", "step 1")
    figures = {"hold-behind": ("2.5 kg", "4.2 N m"), "hold-little-in-front": ("12 mm",)}
    assert all(figure in told.text() for figure in figures.get(code, ("12 mm", "4.2 N m")))


@pytest.mark.parametrize(("lies_mm", "told"), [(12.9, "12 mm"), (12.0, "12 mm"), (0.4, "0 mm")])
def test_no_more_is_told_to_lie_in_front_than_does(lies_mm: float, told: str) -> None:
    hold = Hold(lies_mm, 0.5, 2.5, 4.2, None, "support", breach=1.8, little_in_front=True)
    assert told in hold_findings(hit(chosen(hold=hold)))[0].text()


def test_a_rule_that_is_kept_says_nothing_and_a_hem_says_it_once() -> None:
    kept = Hold(80.0, 2.0, 0.5, 0.0, None, "hand")
    assert hold_findings(hit(chosen(hold=kept))) == () and hold_findings(hit()) == ()
    hem = pair("hem", 1.0)
    assert hem.then is not None
    broken = chosen(hem, hold=Hold(5.0, 0.1, 2.0, 0.0, None, "support", breach=1.9, little_in_front=True))
    assert hold_findings(hit(broken, 0)) != () and hold_findings(hit(broken, 1)) == ()
