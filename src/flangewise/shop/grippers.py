"""What a robot holds a part with: size and weight, its own body, how hard it holds, what it may hold, how it turns.

What decides whether a part is dropped (friction, holding force, acceleration, payload) has no default: left out, what
follows from it cannot be computed. Of the rest a default stands where a shop knows no better, and is told as one.
"""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from flangewise.shop.bodies import Body
from flangewise.shop.row import Count, Friction, Frozen, NotNegative, Positive, Share, unfit

HoldFrom = Literal["edge", "above", "below", "end"]
TurnAxis = Literal["normal", "approach"]
ArmTurn = Literal["normal", "approach", "across"]
GripperKind = Literal["jaw", "cups", "magnet"]
Supply = Literal["power", "air"]
FoundBy = Literal["stop-contacts", "arm-force", "eye"]

Factor = Annotated[float, Field(strict=True, ge=1, le=10, allow_inf_nan=False)]
HALF_TURN_DEG = 180.0


class Turning(Frozen):
    """A turn of the part made by the gripper itself, the arm standing still.

    `about` the normal of the sheet, which is a turn in the plane, or along the approach of the gripper: held from an
    edge that is a turn-over, and which sides swap follows from the edge; held from a face it is a turn in the plane.
    `step_deg` is what it indexes by; `half_turn_s` the seconds of half a turn. `room_mm` is how far from its axis the
    part may reach while it turns (left out: as far as it likes).
    """

    about: TurnAxis
    step_deg: Positive
    half_turn_s: NotNegative
    room_mm: Positive | None = None

    @property
    def makes_half_turns(self) -> bool:
        """Whether whole steps make half a turn."""
        return abs(HALF_TURN_DEG / self.step_deg - round(HALF_TURN_DEG / self.step_deg)) < 1e-9


class Gripper(Frozen):
    """A gripper on its arm.

    `payload_kg` is the arm's; `mass_kg` and `adapter_kg` are what of it the gripper and what it hangs on weigh, and
    `payload_share` how much of it is planned with; `payload_moment_nm` what the flange carries, `flange_mm` how far the
    pads are from it. Pads are `pad_across_mm` along the held flat, its depth over an edge, by `pad_along_mm` along the
    bed; cups and magnets stand in `rows_across` by `rows_along`, `spacing_mm` apart.

    `outline_mm` is the body in the cross-section, the pads' middle on the held face at the origin, the first coordinate
    along the flat toward the side from which the arm comes, the second away from the sheet; of a jaw it lies on both
    sides of the sheet. `end_outline_mm` is the same of a jaw that grips a part at its end along the bed.

    `holding_n` is the force of each of two jaws, or the pull of all cups or magnets together; `friction` that of pad on
    sheet as it comes, oily; `acceleration_m_per_s2` the worst there is, an emergency stop included.

    `arm_turns` are half turns that the arm makes with the part held: about the sheet's normal, along the approach, or
    across it, which brings a gripper from above a face to below. `turning` are those of the gripper itself.

    `release_s`: let go once the sheet is pinched, and held again before the ram opens. `follow_mm_per_s`: how fast it
    can follow the sheet; `float_mm`: by how much it gives way by itself. `regrip_in_tools_s`: another grip taken while
    the tools hold the part. `seat_push_n`: with what it pushes the part on the stops; `seat_found_by`: how it is known
    that both fingers are touched. `keeps_hold_without`: without what it still holds the part (left out: neither).
    """

    kind: GripperKind
    mass_kg: Positive
    adapter_kg: NotNegative
    payload_kg: Positive | None = None
    payload_moment_nm: Positive | None = None
    flange_mm: NotNegative | None = None
    payload_share: Share = 0.8

    pad_across_mm: Positive
    pad_along_mm: Positive
    rows_across: Count = 1
    rows_along: Count = 1
    spacing_mm: Positive | None = None
    outline_mm: Body
    end_outline_mm: Body | None = None

    holding_n: Positive | None = None
    friction: Friction | None = None
    acceleration_m_per_s2: NotNegative | None = None
    factor: Factor = 2.0

    may_hold: tuple[HoldFrom, ...]
    arm_turns: tuple[ArmTurn, ...]
    turning: tuple[Turning, ...] = ()
    regrip_station: bool
    from_below_at_station: bool = False

    release_s: NotNegative | None = None
    follow_mm_per_s: Positive | None = None
    float_mm: Positive | None = None
    regrip_in_tools_s: NotNegative | None = None

    edge_free_mm: NotNegative = 5.0
    bend_free_mm: NotNegative = 3.0
    clear_mm: NotNegative = 3.0
    fingers_clear_mm: NotNegative = 15.0
    draw_back_mm: NotNegative = 20.0

    keeps_hold_without: tuple[Supply, ...] = ()

    seat_push_n: Positive | None = None
    seat_found_by: FoundBy | None = None
    seat_retries: Count = 2

    @property
    def defaults_taken(self) -> tuple[str, ...]:
        """Keys that the row leaves out and a default stands for."""
        left_out = (name for name in type(self).model_fields if name not in self.model_fields_set)
        return tuple(name for name in left_out if getattr(self, name) not in (None, (), False))

    def turns_by_hand_s(self, about: TurnAxis) -> float | None:
        """Seconds of half a turn made by the gripper itself; None where it makes none."""
        found = [each.half_turn_s for each in self.turning if each.about == about and each.makes_half_turns]
        return min(found, default=None)

    @model_validator(mode="after")
    def _hangs_together(self) -> "Gripper":
        if not self.may_hold:
            raise unfit("holds nothing", "write one or more of edge, above, below, end", key="may_hold")
        if self.kind != "jaw" and {"edge", "end"} & set(self.may_hold):
            raise unfit("only a jaw holds an edge or an end", "leave them out, or write kind: jaw", key="may_hold")
        if self.kind == "jaw" and {"above", "below"} & set(self.may_hold):
            raise unfit("a jaw grips over an edge or an end", "leave above and below out", key="may_hold")
        if "end" in self.may_hold and self.end_outline_mm is None:
            raise unfit("end_outline_mm is missing", "draw the jaw as it is seen along the bed", key="may_hold")
        if max(self.rows_across, self.rows_along) > 1 and self.spacing_mm is None:
            raise unfit("spacing_mm is missing", "rows of cups stand some way apart", key="rows_across")
        if self.friction == 0:
            raise unfit("0 holds nothing", "measure it on the part as it comes", key="friction")
        if self.from_below_at_station and not self.regrip_station:
            raise unfit(
                "there is no station", "write regrip_station: true or leave it out", key="from_below_at_station"
            )
        for each in self.turning:
            if not each.makes_half_turns:
                raise unfit(f"steps of {each.step_deg:g} make no half turn", "180 is whole steps", key="turning")
        return self
