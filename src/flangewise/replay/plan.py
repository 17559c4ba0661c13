"""A plan in its JSON shape as steps the replay can walk: read strictly, since a person may have edited it."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, Literal, cast

from flangewise.faults import Fault, Unusable

# The numbers of a step: where each stands in it. `finished_deg` and `bend_to_deg` are included angles.
IN_STOPS = ("x_mm", "r_mm")
IN_STEP = ("depth_mm", "open_height_mm", "slow_from_mm", "ram_speed_mm_per_s", "crowning_mm")
ANGLES = ("bend_to_deg", "finished_deg")

Value = float | tuple[float, ...] | None


@dataclass(frozen=True)
class PlanStep:
    """One hit as the plan tells it.

    `numbers` has the figures by their key in the plan, None for one the plan leaves open; places along the bed and what
    the ram is set to are keyed in and not replayed. `leaves_along_bed` says that the part is slid off along the bed
    afterwards: by a move of this step that says so, or on to the flattener by a shift before the next hit of the same
    hem.
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

    def number(self, key: str) -> float | None:
        """One of the numbers, None where the plan leaves it open."""
        value = self.numbers[key]
        return value if isinstance(value, float) else None

    @property
    def stop_mm(self) -> tuple[float, float] | None:
        """X and R of the stops; None where the plan has not both."""
        x_mm, r_mm = self.number("x_mm"), self.number("r_mm")
        return None if x_mm is None or r_mm is None else (x_mm, r_mm)

    @property
    def loaded_turn_deg(self) -> float | None:
        """The turn under load; the plan writes the included angle."""
        return self._turn_deg("bend_to_deg")

    @property
    def finished_turn_deg(self) -> float | None:
        """The turn after release."""
        return self._turn_deg("finished_deg")

    def _turn_deg(self, key: str) -> float | None:
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
    return tuple(
        replace(step, leaves_along_bed=_leaves(step, after)) for step, after in pairwise((*read, None)) if step
    )


def _leaves(step: PlanStep | None, after: PlanStep | None) -> bool:
    if step is None or any(move == "side-exit" for move, _ in step.moves):
        return step is not None
    same_hem = after is not None and after.bends == step.bends
    return same_hem and after is not None and any(move == "shift" for move, _ in after.moves)


class _StepReader:
    """Takes values out of the steps and collects what is wrong with them."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.faults: list[Fault] = []

    def fault(self, where: str, wrong: str, fits: str) -> None:
        self.faults.append(Fault(self.file, None, None, where, wrong, fits))

    def step(self, index: int, step: Any) -> PlanStep:
        at = f"steps[{index}]"
        if not isinstance(step, Mapping):
            self.fault(at, "is no object", "each step is an object with the keys of a plan")
            step = {}
        stops = self._mapping(step, "stops", at)
        gauged = self._mapping(step, "gauged_on", at)
        return PlanStep(
            step=index + 1,
            bends=self._bends(step, at),
            marked_up=self._one_of(step, "marked_face", ("up", "down"), at=at) == "up",
            gauged_on=cast(Any, self._one_of(gauged, "on", ("start", "end", "flange"), at=f"{at}.gauged_on")),
            gauged_bend=self._number_of_bend(gauged, at),
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
        )

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
        value = step.get(key)
        if isinstance(value, Mapping):
            return value
        self.fault(f"{at}.{key}", "is no object", f"`{key}` is an object as `plan` writes it")
        return {}

    def _bends(self, step: Mapping[str, Any], at: str) -> tuple[int, ...]:
        bends = step.get("bends")
        if isinstance(bends, list) and bends and all(_is_whole(bend) for bend in bends):
            return tuple(bends)
        self.fault(f"{at}.bends", "is no list of bend numbers", "like [2]")
        return ()

    def _number_of_bend(self, gauged: Mapping[str, Any], at: str) -> int | None:
        bend = gauged.get("bend")
        if bend is None or _is_whole(bend):
            return bend
        self.fault(f"{at}.gauged_on.bend", "is no bend number", "a whole number, or null for an edge")
        return None

    def _moves(self, step: Mapping[str, Any], at: str) -> tuple[tuple[str, str], ...]:
        moves = step.get("moves", [])
        if not isinstance(moves, list) or not all(isinstance(move, Mapping) and "move" in move for move in moves):
            self.fault(f"{at}.moves", "is no list of moves", "a list of objects with `move` and `axis`")
            return ()
        return tuple((str(move["move"]), str(move.get("axis") or "")) for move in moves)

    def _one_of(self, step: Mapping[str, Any], key: str, allowed: tuple[str, ...], *, at: str) -> str:
        value = step.get(key)
        if value in allowed:
            return str(value)
        self.fault(f"{at}.{key}", f"is {value!r}", "one of " + ", ".join(allowed))
        return allowed[0]

    def _text(self, step: Mapping[str, Any], key: str, at: str) -> str:
        value = step.get(key)
        if isinstance(value, str):
            return value
        self.fault(f"{at}.{key}", "is no name", "the name of a tool of the shop")
        return ""

    def _angle(self, step: Mapping[str, Any], key: str, at: str) -> float | None:
        angle = self._number(step, key, at)
        if angle is None or 0.0 <= angle < 180.0:
            return angle
        self.fault(f"{at}.{key}", f"is {angle:g}", "an included angle from 0 to under 180 degrees")
        return None

    def _number(self, step: Mapping[str, Any], key: str, at: str) -> float | None:
        value = step.get(key)
        if value is None:
            return None
        if isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) < 1e6:
            return float(value)
        self.fault(f"{at}.{key}", f"is {value!r}", "a plain number, or null")
        return None


def _is_whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)
