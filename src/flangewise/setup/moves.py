"""What is done with the part and the tools before a hit, in words."""

from __future__ import annotations

from flangewise.punch_die import Station
from flangewise.sequence import Axis, MoveKind, Step
from flangewise.setup.step import Move
from flangewise.words import phrase


def moves_before(step: Step | None, station: Station, before: Station | None) -> tuple[Move, ...]:
    """Moves before a hit: tools changed, the part handled, the part shifted along the bed; the way out last.

    `step` is None for the second hit of a hem, where the part stays as it is; `before` is None for the first hit.
    """
    moved = tuple(handled(move.move, move.axis) for move in step.moves) if step is not None else ()
    out = (side_exit(),) if step is not None and step.side_exit else ()
    return (*_tools(station, before), *moved, *_shift(station, before), *out)


def handled(move: MoveKind, axis: Axis | None) -> Move:
    """A turn of the part in words."""
    if move == "turn-in-plane":
        return Move("turn-in-plane", None, phrase("move.turn-in-plane"))
    code = "move.turn-over-bed" if axis == "the bed" else "move.turn-over-front"
    return Move("turn-over", axis, phrase(code))


def _tools(station: Station, before: Station | None) -> tuple[Move, ...]:
    if before is None or station.set_up == before.set_up:
        return ()
    code = "move.tool-change-turned" if station.turned else "move.tool-change"
    return (Move("tool-change", None, phrase(code, punch=station.punch, die=station.die)),)


def _shift(station: Station, before: Station | None) -> tuple[Move, ...]:
    if before is None or station.set_up != before.set_up or station == before:
        return ()
    way = "right" if station.centre_mm > before.centre_mm else "left"
    return (Move("shift", None, phrase(f"move.shift-{way}", from_mm=station.from_mm, to_mm=station.to_mm)),)


def side_exit() -> Move:
    """The part slid out along the bed, in words."""
    return Move("side-exit", None, phrase("move.side-exit"))
