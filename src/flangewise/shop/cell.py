"""What a shop has measured and decided of a robot's cell: nothing here has a value of its own, all must be entered.

A cell's distances rest on these figures, so a missing one leaves its distance uncomputed and is told by its name.
"""

from typing import Annotated, Literal

from pydantic import Field

from flangewise.shop.row import Count, Frozen, NotNegative, Positive, Share

Flag = Annotated[bool, Field(strict=True)]
Restart = Literal["automatic", "by-hand"]
Separation = Literal["fanned", "air", "peeled", "none"]
DoubleCheck = Literal["thickness", "weight", "none"]
Centring = Literal["table", "camera", "edges", "none"]


class Stopping(Frozen):
    """How soon the cell stops. `stop_time_s` and `slow_stop_time_s` are measured on site, from the stop signal until
    arm and machine stand, at the worst load and pose, at full and at slow speed.

    `sensor_s` and `control_s`: from a person seen to the stop signal. `slow_down_s`: from full to slow speed.
    `field_switch_s`: of a mobile base, until the fields of the new place watch. `stops`: whether the arm slows down
    evenly; unknown, it is reckoned as going on at its speed. `slow_speed_monitored`: by a rated function.
    """

    stop_time_s: Positive | None = None
    slow_stop_time_s: Positive | None = None
    sensor_s: NotNegative | None = None
    control_s: NotNegative | None = None
    slow_down_s: NotNegative | None = None
    field_switch_s: NotNegative | None = None
    speed_mm_per_s: Positive | None = None
    slow_speed_mm_per_s: Positive | None = None
    stops: Literal["evenly", "unknown"] | None = None
    slow_speed_monitored: Flag | None = None


class Watched(Frozen):
    """The field that sees a person: height over the floor, the smallest thing it sees, supplements of the device.

    `reach_over_mm` is the D_DS of ISO 13855:2024, from its tables. `person_place_mm` and `robot_place_mm`: how far off
    the places of person and robot may be. `between_fields_mm`: kept in hand between slow field and stop field.
    """

    field_height_mm: NotNegative | None = None
    resolution_mm: Positive | None = None
    supplement_mm: NotNegative | None = None
    reach_over_mm: NotNegative | None = None
    person_place_mm: NotNegative | None = None
    robot_place_mm: NotNegative | None = None
    between_fields_mm: NotNegative | None = None


class Entering(Frozen):
    """Who comes in and how the robot goes on. `undetected_person`: whether one can stand unseen between field and arm.

    `box_place_mm`: from where a person changes the box to the swept part. A person comes every `entry_every_min`, and
    the robot then goes slow for `slow_each_s`.
    """

    restart_from_slow: Restart | None = None
    restart_from_stop: Restart | None = None
    undetected_person: Literal["possible", "excluded"] | None = None
    box_place_mm: NotNegative | None = None
    entry_every_min: Positive | None = None
    slow_each_s: NotNegative | None = None


class Infeed(Frozen):
    """The stacks that the robot takes blanks from; what limits a stack is its height or its mass, as given."""

    stacks: Count = 1
    most_height_mm: Positive | None = None
    most_kg: Positive | None = None
    between_sheets_mm: NotNegative = 0.0
    separation: Separation | None = None
    double_check: DoubleCheck | None = None
    centring: Centring | None = None


class Running(Frozen):
    """What a run by the robot takes of people's time, and how much of the time it runs.

    `teach_s`: to teach a new part. `refill_s`, `box_change_s`: of a person, each time. `let_go_mm`: how far over its
    place a part is let go.
    """

    teach_s: NotNegative | None = None
    availability_share: Share | None = None
    scrap_share: Annotated[float, Field(strict=True, ge=0, lt=1)] | None = None
    refill_s: NotNegative | None = None
    box_change_s: NotNegative | None = None
    let_go_mm: NotNegative | None = None


class Cell(Frozen):
    """A robot's cell. `mobile`: it is docked at other machines too."""

    mobile: Flag | None = None
    stopping: Stopping = Stopping.model_construct()
    watched: Watched = Watched.model_construct()
    entering: Entering = Entering.model_construct()
    infeed: Infeed | None = None
    running: Running = Running.model_construct()


class Lifting(Frozen):
    """How a person lifts, for the NIOSH equation: where the hands are at the start, how far up or down, how far turned.

    `hands_out_mm`: from between the ankles to between the hands; `hands_high_mm`: over the floor.
    """

    hands_out_mm: Positive
    hands_high_mm: NotNegative
    lift_mm: NotNegative
    twist_deg: Annotated[float, Field(strict=True, ge=0, le=135)]
    coupling: Literal["good", "fair", "poor"]
    shift_hours: Literal[1, 2, 8]
