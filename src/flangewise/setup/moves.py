"""What is done with the part and the tools before a hit, in words."""

from __future__ import annotations

from flangewise.punch_die import Station
from flangewise.sequence import Move as Handling
from flangewise.sequence import Step
from flangewise.setup.step import Move
from flangewise.words import phrase


def moves_before(step: Step | None, station: Station, before: Station | None) -> tuple[Move, ...]:
    """Moves before a hit: tools changed, the part handled, the part shifted along the bed; the way out last.

    `step` is None for the second hit of a hem, where the part stays as it is; `before` is None for the first hit.
    """
    handled = tuple(_handled(move) for move in step.moves) if step is not None else ()
    return (*_tools(station, before), *handled, *_shift(station, before), *_side_exit(step))


def _handled(move: Handling) -> Move:
    if move.move == "turn-in-plane":
        return Move("turn-in-plane", None, phrase("move.turn-in-plane"))
    code = "move.turn-over-bed" if move.axis == "the bed" else "move.turn-over-front"
    return Move("turn-over", move.axis, phrase(code))


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


def _side_exit(step: Step | None) -> tuple[Move, ...]:
    if step is None or not step.side_exit:
        return ()
    return (Move("side-exit", None, phrase("move.side-exit")),)
