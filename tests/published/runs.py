"""How the printed figures of a run are answered: lifting, separation, packing, the seconds of a stroke."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from flangewise import handling
from flangewise.sequence import HitTime
from flangewise.shop import Lifting, load_shop

from .source import Row

# A field at 200 mm over the floor, and how far off the places of person and robot may be.
FIELD_MM, PERSON_MM, ROBOT_MM = 200.0, 100.0, 10.0
# The machine of the table of strokes.
SPEEDS = {
    "fast_mm_per_s": 150.0,
    "slow_mm_per_s": 10.0,
    "bend_mm_per_s": 10.0,
    "return_mm_per_s": 150.0,
    "acceleration_mm_per_s2": 1500.0,
    "dwell_s": 0.2,
    "change_over_mm": 6.0,
    "opening_step_mm": 1.0,
}
TRAVEL_MM = 8.0


def _recommended_kg(row: Row) -> float:
    lifting = Lifting.model_validate(
        {
            **{key: row.number(key) for key in ("hands_out_mm", "hands_high_mm", "lift_mm", "twist_deg")},
            "coupling": row.text("coupling"),
            "shift_hours": int(row.number("hours")),
        }
    )
    found = handling.recommended_kg(lifting, row.number("lifts_per_min"))
    assert found is not None
    return found


def _frequency(row: Row) -> float:
    found = handling.frequency_factor(row.number("lifts_per_min"), int(row.number("hours")))
    assert found is not None
    return found


def _intrusion_mm(height_mm: float) -> float:
    found = handling.intrusion_mm(height_mm)
    assert found is not None
    return found


def _separation_mm(row: Row) -> float:
    return handling.Approach(
        row.number("speed_mm_per_s"),
        row.number("reaction_s"),
        row.number("stop_s"),
        True,
        _intrusion_mm(FIELD_MM),
        PERSON_MM,
        ROBOT_MM,
    ).distance_mm


def _slow_zone_mm(row: Row) -> float:
    return handling.slow_zone_mm(
        row.number("stop_zone_mm"),
        row.number("full_mm"),
        sensor_s=row.number("sensor_s"),
        slow_down_s=row.number("slow_down_s"),
        margin_mm=0.0,
    )


def _pitch_mm(row: Row) -> float:
    found = handling.nesting_rule_mm(row.number("thickness_mm"), spread_deg=row.number("spread_deg"))
    assert found is not None
    return found


def _stroke_s(row: Row) -> float:
    machine = load_shop().machines["bench-310"].model_copy(update=SPEEDS)
    hit = HitTime(machine, sheet_mm=0.0, travel_mm=TRAVEL_MM, margin_mm=0.0)
    return hit.stroke_s(row.number("open_gap_mm"), 0.0, 1e6)


RUN_ANSWERS: Mapping[str, Callable[[Row], float]] = {
    "recommended_mass_kg": _recommended_kg,
    "lifting_index": lambda row: row.number("part_kg") / _recommended_kg(row),
    "frequency_factor": _frequency,
    "field_intrusion": lambda row: _intrusion_mm(row.number("field_height_mm")),
    "walking_in": lambda row: handling.walking_in_mm(
        row.number("overall_s"), intrusion_mm=_intrusion_mm(row.number("field_height_mm"))
    ),
    "lowest_field": lambda row: handling.lowest_field_mm(row.number("resolution_mm")),
    "separation": _separation_mm,
    "slow_zone": _slow_zone_mm,
    "nesting_pitch": _pitch_mm,
    "in_a_stack": lambda row: handling.in_a_stack(
        row.number("room_mm"), high_mm=row.number("high_mm"), pitch_mm=row.number("pitch_mm")
    ),
    "by_mass": lambda row: handling.by_mass(
        row.number("gross_kg"), box_kg=row.number("box_kg"), part_kg=row.number("part_kg")
    ),
    "stroke_s": _stroke_s,
}
