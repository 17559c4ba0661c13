"""A shop whose robot has a cell: the built-in one with what a shop would enter, invented."""

from __future__ import annotations

from pathlib import Path

from flangewise.shop import copy_shop

CELL = """\
  lifting: {hands_out_mm: 400, hands_high_mm: 950, lift_mm: 250, twist_deg: 45, coupling: poor, shift_hours: 8}
  cell:
    mobile: false
    stopping:
      stop_time_s: 0.3
      slow_stop_time_s: 0.12
      sensor_s: 0.06
      control_s: 0.04
      slow_down_s: 0.4
      speed_mm_per_s: 1000
      slow_speed_mm_per_s: 250
      stops: evenly
      slow_speed_monitored: true
    watched:
      field_height_mm: 200
      resolution_mm: 60
      supplement_mm: 100
      reach_over_mm: 1200
      person_place_mm: 100
      robot_place_mm: 10
      between_fields_mm: 0
    entering:
      restart_from_slow: automatic
      restart_from_stop: by-hand
      undetected_person: excluded
      box_place_mm: 1500
      entry_every_min: 20
      slow_each_s: 30
    infeed: {stacks: 2, most_height_mm: 120, separation: fanned, double_check: thickness, centring: table}
    running: {teach_s: 2700, availability_share: 0.9, scrap_share: 0.02, refill_s: 120, box_change_s: 60, let_go_mm: 20}
"""
# Held by the jaw of no gripper: how it would hold is not asked.
RAIL = """\
part: rail
revision: B
material: DC01
thickness: 2
handler: robot
quantity: 200
programs: {brake: "0123", robot: RAIL-B}
packing: {box: box-600, count: 40}
section:
  length: 250
  legs: [26, 62, 26]
  bends: [90, 90]
"""


def cell_shop(folder: Path, *, without: str = "", entered: bool = True) -> Path:
    """The shop's folder; `without`: a line of the cell that is left out; not `entered`: all of it.

    The robot has no gripper row: how it holds is not what is asked here.
    """
    copy_shop(folder)
    file = folder / "handlers.yaml"
    text = file.read_text(encoding="utf-8")
    head, robot = text.split("\nrobot:\n")
    lines = [line for line in CELL.splitlines(keepends=True) if entered and not (without and without in line)]
    kept = robot.split("  gripper:")[0]
    file.write_text(f"{head}\nrobot:\n{''.join(lines)}{kept}", encoding="utf-8")
    return folder
