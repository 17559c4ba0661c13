"""A plan in its JSON shape as steps the replay can walk: read strictly, since a person may have edited it."""

from collections.abc import Mapping
from typing import Any, Literal, TypeVar, cast

from flangewise.faults import Fault, Unusable
from flangewise.records import dataclass, field, replace

# The numbers of a step: where each stands in it. `finished_deg` and `bend_to_deg` are included angles.
IN_STOPS = ("x_mm", "r_mm")
IN_STEP = ("depth_mm", "open_height_mm", "slow_from_mm", "ram_speed_mm_per_s", "crowning_mm")
ANGLES = ("bend_to_deg", "finished_deg")

Value = float | tuple[float, ...] | None
T = TypeVar("T")
TiltedWay = tuple[tuple[float, float, float], ...]


@dataclass(frozen=True)
class Loading:
    """How the part lies: marked face up or down, the section's start or its end toward the backgauge."""

    marked_up: bool
    start_behind: bool


@dataclass(frozen=True)
class PlanStep:
    """One hit as the plan tells it.

    `numbers` has the figures by their key in the plan, None for one the plan leaves open; places along the bed and what
    the ram is set to are keyed in and not replayed. `leaves_along_bed` says that the part is slid off along the bed
    afterwards: by a move of this step that says so, or on to the flattener by a shift before the next hit of the same
    hem. `ways` has the places of a tilted way by its move, "tilt-in" or "tilt-out": across, up and tilt of each.
    """

    step: int
    bends: tuple[int, ...]
    marked_up: bool
    gauged_on: Literal["start", "end", "flange"]
    gauged_bend: int | None
    moves: tuple[tuple[str, str], ...]
    punch: str
    punch_turned: bool
    die: str
    numbers: Mapping[str, Value]
    leaves_along_bed: bool = False
    ways: Mapping[str, TiltedWay] = field(default_factory=dict)

    def number(self, key: str) -> float | None:
        """One of the numbers, None where the plan leaves it open."""
        value = self.numbers[key]
        return value if isinstance(value, float) else None

    @property
    def loading(self) -> Loading:
        """How the part lies: the end it is gauged on is the one behind, a flange gauged on lies behind too."""
        if self.gauged_on != "flange":
            return Loading(self.marked_up, self.gauged_on == "start")
        before = self.gauged_bend is not None and bool(self.bends) and self.gauged_bend < self.bends[0]
        return Loading(self.marked_up, before)

    @property
    def stop_mm(self) -> tuple[float, float] | None:
        """X and R of the stops; None where the plan has not both."""
        x_mm, r_mm = self.number("x_mm"), self.number("r_mm")
        return None if x_mm is None or r_mm is None else (x_mm, r_mm)

    def turn_deg(self, key: str) -> float | None:
        """The turn under load, `bend_to_deg`, or after release, `finished_deg`; the plan writes the included angle."""
        included_deg = self.number(key)
        return None if included_deg is None else 180.0 - included_deg


def read_steps(plan: Mapping[str, Any], file: str = "plan") -> tuple[PlanStep, ...]:
    """The steps of a plan. Raises Unusable with every fault of form, each with its place in the plan."""
    reader = _StepReader(file)
    steps = plan.get("steps") if isinstance(plan, Mapping) else None
    if not isinstance(steps, list) or not steps:
        reader.fault("steps", "is no list of steps", "a plan has a list `steps` with an object for each hit")
        raise Unusable(reader.faults)
    read = tuple(reader.step(index, step) for index, step in enumerate(steps))
    if reader.faults:
        raise Unusable(reader.faults)
    afters = (*read[1:], None)
    return tuple(replace(step, leaves_along_bed=_leaves(step, after)) for step, after in zip(read, afters, strict=True))


def _leaves(step: PlanStep, after: PlanStep | None) -> bool:
    if any(move == "side-exit" for move, _ in step.moves):
        return True
    return after is not None and after.bends == step.bends and any(move == "shift" for move, _ in after.moves)


class _StepReader:
    """Takes values out of the steps and collects what is wrong with them."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.faults: list[Fault] = []

    def fault(self, where: str, wrong: str, fits: str) -> None:
        self.faults.append(Fault(self.file, None, None, where, wrong, fits))

    def step(self, index: int, step: Any) -> PlanStep:
        at = f"steps[{index}]"
        is_object = isinstance(step, Mapping)
        step = self._taken(step, is_object, {}, at, "is no object", "each step is an object with the keys of a plan")
        stops, gauged = (self._mapping(step, key, at) for key in ("stops", "gauged_on"))
        bends, bend = step.get("bends"), gauged.get("bend")
        are_bends = isinstance(bends, list) and bool(bends) and all(map(_is_whole, bends))
        none, edge = "is no bend number", "a whole number, or null for an edge"
        return PlanStep(
            step=index + 1,
            bends=tuple(self._taken(bends, are_bends, [], f"{at}.bends", "is no list of bend numbers", "like [2]")),
            marked_up=self._one_of(step, "marked_face", ("up", "down"), at=at) == "up",
            gauged_on=cast(Any, self._one_of(gauged, "on", ("start", "end", "flange"), at=f"{at}.gauged_on")),
            gauged_bend=self._taken(bend, bend is None or _is_whole(bend), None, f"{at}.gauged_on.bend", none, edge),
            moves=self._moves(step, at),
            punch=self._text(step, "punch", at),
            punch_turned=step.get("punch_turned") is True,
            die=self._text(step, "die", at),
            numbers={
                **{key: self._number(stops, key, f"{at}.stops") for key in IN_STOPS},
                **{key: self._number(step, key, at) for key in IN_STEP},
                **{key: self._angle(step, key, at) for key in ANGLES},
                "retract_mm": self._number(stops, "retract_mm", f"{at}.stops") or 0.0,
                "z_mm": self._places(stops, at),
            },
            ways=self._ways(step, at),
        )

    def _taken(self, value: Any, fits: bool, otherwise: T, where: str, wrong: str, wanted: str) -> T:
        """A value of the form wanted; else it is told, and the reading goes on with another."""
        if fits:
            return cast(T, value)
        self.fault(where, wrong, wanted)
        return otherwise

    def _places(self, stops: Mapping[str, Any], at: str) -> tuple[float, ...] | None:
        places = stops.get("z_mm")
        if places is None or places == []:
            return None
        if isinstance(places, list):
            read = [self._number({"z_mm": place}, "z_mm", f"{at}.stops") for place in places]
            if None not in read:
                return tuple(place for place in read if place is not None)
        self.fault(f"{at}.stops.z_mm", "is no list of numbers", "the middle of each finger along the bed, or null")
        return None

    def _mapping(self, step: Mapping[str, Any], key: str, at: str) -> Mapping[str, Any]:
        value, wanted = step.get(key), f"`{key}` is an object as `plan` writes it"
        return self._taken(value, isinstance(value, Mapping), {}, f"{at}.{key}", "is no object", wanted)

    def _moves(self, step: Mapping[str, Any], at: str) -> tuple[tuple[str, str], ...]:
        moves, wanted = step.get("moves", []), "a list of objects with `move` and `axis`"
        fits = isinstance(moves, list) and all(isinstance(move, Mapping) and "move" in move for move in moves)
        taken: list[Any] = self._taken(moves, fits, [], f"{at}.moves", "is no list of moves", wanted)
        return tuple((str(move["move"]), str(move.get("axis") or "")) for move in taken)

    def _ways(self, step: Mapping[str, Any], at: str) -> dict[str, TiltedWay]:
        moves = step.get("moves")
        told = [move for move in moves if isinstance(move, Mapping)] if isinstance(moves, list) else []
        found: dict[str, TiltedWay] = {}
        for move in (each for each in told if "way" in each):
            places, where = move["way"], f"{at}.moves.way"
            fits = isinstance(places, list) and len(places) > 1 and all(_is_place(place) for place in places)
            taken: list[Any] = self._taken(
                places, fits, [], where, "is no list of places", "across, up and tilt of each place"
            )
            found[str(move.get("move"))] = tuple((float(x), float(y), float(turn)) for x, y, turn in taken)
        return found

    def _one_of(self, step: Mapping[str, Any], key: str, allowed: tuple[str, ...], *, at: str) -> str:
        value, wanted = step.get(key), "one of " + ", ".join(allowed)
        return self._taken(value, value in allowed, allowed[0], f"{at}.{key}", f"is {value!r}", wanted)

    def _text(self, step: Mapping[str, Any], key: str, at: str) -> str:
        value, wanted = step.get(key), "the name of a tool of the shop"
        return self._taken(value, isinstance(value, str), "", f"{at}.{key}", "is no name", wanted)

    def _angle(self, step: Mapping[str, Any], key: str, at: str) -> float | None:
        angle, wanted = self._number(step, key, at), "an included angle from 0 to under 180 degrees"
        fits = angle is None or 0.0 <= angle < 180.0
        return self._taken(angle, fits, None, f"{at}.{key}", f"is {angle or 0.0:g}", wanted)

    def _number(self, step: Mapping[str, Any], key: str, at: str) -> float | None:
        value = step.get(key)
        is_number = isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) < 1e6
        fits = value is None or is_number
        told = self._taken(value, fits, None, f"{at}.{key}", f"is {value!r}", "a plain number, or null")
        return None if told is None else float(told)


def _is_place(value: Any) -> bool:
    numbers = isinstance(value, list) and len(value) == 3
    return numbers and all(isinstance(each, (int, float)) and not isinstance(each, bool) for each in value)


def _is_whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)
