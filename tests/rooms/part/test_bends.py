"""Bend entries: what each spelling means."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import TypeAdapter, ValidationError

from flangewise.part import WantedBend, WantedGauge
from flangewise.part.bends import Bend, bare_angle

ENTRY: TypeAdapter[Any] = TypeAdapter(Bend)


def wanted(value: Any, number: int = 1) -> WantedBend:
    bend: WantedBend = ENTRY.validate_python(value, context={"units": "mm"}).wanted(number)
    return bend


@pytest.mark.parametrize(
    ("value", "signed_turn_deg"),
    [
        (90, 90.0),
        (-90, -90.0),
        (90.0, 90.0),
        ({"turn": 45}, 45.0),
        ({"included": 135}, 45.0),
        ({"included": 45}, 135.0),
        ({"turn": 45, "away": True}, -45.0),
        ({"included": 135, "away": True}, -45.0),
        ({"turn": 175}, 175.0),
        ({"included": 5}, 175.0),
        ({"turn": 90, "away": False}, 90.0),
    ],
)
def test_the_turn_a_spelling_means(value: Any, signed_turn_deg: float) -> None:
    assert wanted(value).signed_turn_deg == signed_turn_deg
    assert wanted(value).kind == "bend"


@pytest.mark.parametrize("value", [45, 135, -45, -135, 60, 1, 179, 89.5, 0, 180, -180, 360, "90", True, None, [90]])
def test_a_bare_value_may_only_be_90_or_minus_90(value: Any) -> None:
    with pytest.raises(ValidationError):
        wanted(value)


@pytest.mark.parametrize("value", [45, 135, -45, -135])
def test_the_message_shows_both_spellings_of_both_readings(value: int) -> None:
    with pytest.raises(ValidationError) as error:
        wanted(value)
    fits = error.value.errors()[0]["ctx"]["fits"]
    away = ", away: true" if value < 0 else ""
    for angle_deg in (45, 135):
        assert f"{{turn: {angle_deg}{away}}}" in fits
        assert f"{{included: {angle_deg}{away}}}" in fits


def test_a_bend_s_own_values() -> None:
    entry = {"turn": 60, "radius": "0.25in", "punch": "a", "die": "b", "k_factor": 0.4, "tolerance": 0.5}
    assert wanted(entry, 3) == WantedBend(
        number=3,
        kind="bend",
        turn_deg=60.0,
        away=False,
        radius_mm=pytest.approx(6.35),
        punch="a",
        die="b",
        k_factor=0.4,
        tolerance_deg=0.5,
    )


@pytest.mark.parametrize(("value", "gap_mm"), [({"hem": "closed"}, 0.0), ({"hem": "open", "gap": 1.5}, 1.5)])
def test_a_hem_turns_180(value: Any, gap_mm: float) -> None:
    bend = wanted({**value, "away": True, "k_factor": 0.4})
    assert (bend.kind, bend.signed_turn_deg, bend.gap_mm, bend.k_factor) == ("hem", -180.0, gap_mm, 0.4)


@pytest.mark.parametrize(
    ("value", "turn_deg"),
    [({"offset": 4}, 90.0), ({"offset": 4, "turn": 60}, 60.0), ({"offset": 4, "included": 120}, 60.0)],
)
def test_an_offset_turns_90_unless_told(value: Any, turn_deg: float) -> None:
    bend = wanted(value)
    assert (bend.kind, bend.turn_deg, bend.offset_mm) == ("offset", turn_deg, 4.0)


@pytest.mark.parametrize(
    ("value", "key"),
    [
        ({"turn": 45, "included": 135}, "included"),
        ({"hem": "closed", "turn": 180}, "turn"),
        ({"hem": "closed", "offset": 4}, "offset"),
        ({"hem": "closed", "radius": 2}, "radius"),
        ({"hem": "closed", "gap": 2}, "gap"),
        ({"hem": "open"}, "hem"),
        ({"turn": 90, "gap": 1}, "gap"),
        ({"turn": 176}, "turn"),
        ({"turn": 0}, "turn"),
        ({"included": 4}, "included"),
        ({"included": 180}, "included"),
        ({"offset": 4, "turn": 91}, "turn"),
        ({"offset": 4, "included": 89}, "included"),
        ({"radius": 2}, None),
        ({"away": True}, None),
    ],
)
def test_entries_that_do_not_agree_with_themselves(value: Any, key: str | None) -> None:
    with pytest.raises(ValidationError) as error:
        wanted(value)
    assert error.value.errors()[0]["ctx"]["key"] == key


def test_a_mapping_passes_the_bare_check_untouched() -> None:
    entry = {"turn": 45}
    assert bare_angle(entry) is entry
    assert bare_angle(-90) == {"turn": 90.0, "away": True}


@pytest.mark.parametrize(
    ("given", "meant"),
    [
        ("start", WantedGauge("start")),
        ("end", WantedGauge("end")),
        ({"flange": 3}, WantedGauge("flange", 3)),
        (None, None),
    ],
)
def test_what_a_bend_is_to_be_gauged_on(given: Any, meant: WantedGauge | None) -> None:
    entry = {"turn": 90} if given is None else {"turn": 90, "gauge": given}
    assert wanted(entry).gauge == meant


@pytest.mark.parametrize("value", ["start ", "END", 1, True, 2.5, ["start"], {}, {"flange": True}, {"flange": 1.5}])
def test_nothing_else_can_be_gauged_on(value: Any) -> None:
    with pytest.raises(ValidationError):
        wanted({"turn": 90, "gauge": value})


@pytest.mark.parametrize(
    ("entry", "up"),
    [
        ({"turn": 90, "face": "up"}, True),
        ({"turn": 90, "away": True, "face": "down"}, False),
        ({"hem": "closed", "away": True, "face": "down"}, False),
        ({"offset": 4, "face": "up"}, True),
        ({"offset": 4, "face": "down"}, False),
        ({"offset": 4, "away": True, "face": "up"}, True),
        ({"turn": 90}, None),
    ],
)
def test_which_face_is_to_be_up(entry: dict[str, Any], up: bool | None) -> None:
    """Of a bend and a hem it can only be the one it goes toward; an offset goes both ways at once."""
    assert wanted(entry).marked_up is up


@pytest.mark.parametrize(
    "entry",
    [
        {"turn": 90, "face": "down"},
        {"turn": 90, "away": True, "face": "up"},
        {"hem": "open", "gap": 2, "face": "down"},
        {"hem": "closed", "away": True, "face": "up"},
    ],
)
def test_a_fold_rises_toward_the_punch(entry: dict[str, Any]) -> None:
    with pytest.raises(ValidationError, match="wrong"):
        wanted(entry)
