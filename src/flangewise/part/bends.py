"""A bend entry: a bare 90 or -90, an angle named by its kind, a hem, or an offset.

Another bare angle is read both ways on the floor, so it is a fault whose message shows both spellings.
"""

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, model_validator

from flangewise.bend import FULL_FOLD_DEG, Hem
from flangewise.part import fields, kinds
from flangewise.part.fields import WantedGauge, shown
from flangewise.records import dataclass, field
from flangewise.shop import unfit
from flangewise.units import trimmed

RIGHT_ANGLE_DEG = 90.0


BendKind = Literal["bend", "hem", "offset"]
Face = Literal["up", "down"]


@dataclass(frozen=True)
class WantedBend:
    """One bend entry of a section, numbered from 1.

    `turn_deg` is how far the sheet is turned from flat, always positive; `away` says it goes from the marked face.
    A hem has turn 180 and `gap_mm` (0: closed). An offset has `offset_mm`, the step between the same faces of its two
    legs, made of two opposite bends of `turn_deg`; its first bend goes toward the marked face unless `away`.
    `gauge` and `marked_up` are the setter's own will: what the stops touch, and whether the marked face is up;
    `punch_turned` comes with a plan edited by hand only.
    """

    number: int
    kind: BendKind = field(default="bend", kw_only=True)
    turn_deg: float
    away: bool = False
    radius_mm: float | None = None
    gap_mm: float | None = None
    offset_mm: float | None = None
    punch: str | None = None
    die: str | None = None
    k_factor: float | None = None
    tolerance_deg: float | None = None
    gauge: WantedGauge | None = None
    marked_up: bool | None = None
    punch_turned: bool | None = None

    @property
    def signed_turn_deg(self) -> float:
        """The turn, positive toward the marked face."""
        return -self.turn_deg if self.away else self.turn_deg


class BendFile(kinds.Keys):
    """The keys of a bend entry; which go together depends on whether it is a plain bend, a hem or an offset."""

    turn: kinds.Angle | None = None
    included: kinds.Angle | None = None
    away: kinds.Flag = False
    hem: Annotated[Hem | None, *kinds.choice(Hem)] = None
    gap: kinds.Length | None = None
    offset: kinds.Length | None = None
    radius: kinds.Radius | None = None
    punch: kinds.Text | None = None
    die: kinds.Text | None = None
    k_factor: kinds.KFactor | None = None
    tolerance: kinds.AngleTolerance | None = None
    gauge: kinds.Datum | None = None
    face: Annotated[Face | None, *kinds.choice(Face)] = None

    @model_validator(mode="after")
    def _check(self) -> "BendFile":
        if self.hem is not None:
            _check_hem(self)
        else:
            if self.gap is not None:
                raise unfit("a gap belongs to an open hem", "write {hem: open, gap: 1.5} or leave it out", key="gap")
            _check_angle(self)
        _check_face(self)
        return self

    def wanted(self, number: int) -> WantedBend:
        """The entry as the bend of that number."""
        kind: BendKind = "hem" if self.hem is not None else "offset" if self.offset is not None else "bend"
        return WantedBend(
            number,
            FULL_FOLD_DEG if kind == "hem" else _turn_deg(self),
            self.away,
            kind=kind,
            radius_mm=self.radius,
            gap_mm=(self.gap or 0.0) if kind == "hem" else None,
            offset_mm=self.offset,
            punch=self.punch,
            die=self.die,
            k_factor=self.k_factor,
            tolerance_deg=self.tolerance,
            gauge=self.gauge,
            marked_up=None if self.face is None else self.face == "up",
        )


def _turn_deg(entry: BendFile) -> float:
    if entry.turn is not None:
        return entry.turn
    return RIGHT_ANGLE_DEG if entry.included is None else FULL_FOLD_DEG - entry.included


def _check_hem(entry: BendFile) -> None:
    for key in ("turn", "included", "offset", "radius"):
        if getattr(entry, key) is not None:
            raise unfit("does not go with a hem, which turns 180° about its gap", f"leave `{key}` out", key=key)
    if entry.hem == "open" and entry.gap is None:
        raise unfit("an open hem has no gap", "write its gap, such as {hem: open, gap: 1.5}", key="hem")
    if entry.hem == "closed" and entry.gap is not None:
        raise unfit("a closed hem has no gap", "write {hem: open, gap: ...} or leave the gap out", key="gap")


def _check_face(entry: BendFile) -> None:
    """A bend and a hem rise toward the punch, so only one face can be up; an offset, which goes both ways, has both."""
    due = "down" if entry.away else "up"
    if entry.face is None or entry.face == due or (entry.hem is None and entry.offset is not None):
        return
    told = f"goes {'from' if entry.away else 'toward'} the marked face, and the fold rises toward the punch"
    raise unfit(told, f"so that face is {due}: write face: {due} or leave it out", key="face")


def _check_angle(entry: BendFile) -> None:
    if entry.turn is not None and entry.included is not None:
        raise unfit("turn and included are both given", "keep one of them", key="included")
    if entry.turn is None and entry.included is None and entry.offset is None:
        raise unfit("has no angle", "write a turn, an included angle, a hem or an offset")
    turn_deg = _turn_deg(entry)
    most_deg = fields.LARGEST_TURN_DEG if entry.offset is None else fields.LARGEST_OFFSET_TURN_DEG
    if fields.LEAST_TURN_DEG - fields.NOTHING_DEG <= turn_deg <= most_deg:
        return
    what = "bend" if entry.offset is None else "offset"
    if entry.included is None:
        told, fits = f"a turn of {trimmed(turn_deg, 3)}°", f"from {fields.LEAST_TURN_DEG:g} to {most_deg:g}°"
        hem = ", and a hem is written {hem: closed}" if turn_deg == FULL_FOLD_DEG and what == "bend" else ""
        raise unfit(f"{told} is no {what}", f"a turn is {fits}{hem}", key="turn")
    fits = f"an included angle is from {FULL_FOLD_DEG - most_deg:g} to {FULL_FOLD_DEG - fields.LEAST_TURN_DEG:g}°"
    raise unfit(f"an included angle of {trimmed(entry.included, 3)}° is no {what}", fits, key="included")


def bare_angle(value: Any) -> Any:
    """A bare 90 or -90 as its entry; any other bare value is a fault that shows both spellings."""
    if isinstance(value, (dict, BendFile)):
        return value
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise unfit(f"{shown(value)} is no bend", "write 90, -90, {turn: 45} or {included: 135}")
    if abs(value) == RIGHT_ANGLE_DEG:
        return {"turn": RIGHT_ANGLE_DEG, "away": value < 0}
    raise unfit(f"a bare {shown(value)} is no bend", _both_spellings(float(value)))


def _both_spellings(angle_deg: float) -> str:
    away = ", away: true" if angle_deg < 0 else ""
    turn, other = trimmed(abs(angle_deg), 3), trimmed(FULL_FOLD_DEG - abs(angle_deg), 3)
    if not 0 < abs(angle_deg) < FULL_FOLD_DEG:
        return "a bare bend is 90 or -90, another is written {turn: 45} or {included: 135}"
    return (
        f"it is read both ways; write {{turn: {turn}{away}}}, which is {{included: {other}{away}}}, "
        f"or {{included: {turn}{away}}}, which is {{turn: {other}{away}}}"
    )


Bend = Annotated[BendFile, BeforeValidator(bare_angle)]
BARE_SCHEMA: dict[str, Any] = {"enum": [90, -90], "description": "90 toward the marked face, -90 away from it"}
