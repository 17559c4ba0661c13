"""What is done with the part and the tools before a hit, in words."""

from __future__ import annotations

from flangewise.punch_die import Station
from flangewise.sequence import Move as Handling
from flangewise.sequence import Step
from flangewise.setup.step import Move, SetupStep
from flangewise.words import Phrase, phrase

# Stops nearer to each other than a machine sets them stand at one place.
SAME_STOP_MM = 0.05


def moves_before(step: Step | None, station: Station, before: Station | None) -> tuple[Move, ...]:
    """Moves before a hit: tools changed, the part handled, the part shifted along the bed; the way out last.

    `step` is None for the second hit of a hem, where the part stays as it is; `before` is None for the first hit.
    """
    handled = tuple(_handled(move) for move in step.moves) if step is not None else ()
    return (*_tools(station, before), *handled, *_shift(station, before), *_side_exit(step))


def words_before(step: SetupStep, before: SetupStep | None) -> tuple[Phrase, ...]:
    """What is done before a hit, to be read: its moves, and how the part comes to its stops where nothing turns it.

    A stop set nearer wants the part drawn forward to it, one set further back wants it pushed on. That is no move of
    the plan: the part stays in the hands as it is. `before` is None for the first hit.
    """
    words = [move.words for move in step.moves if move.move != "side-exit"]
    words += _to_the_stop(step, before)
    return (*words, *(move.words for move in step.moves if move.move == "side-exit"))


def _to_the_stop(step: SetupStep, before: SetupStep | None) -> list[Phrase]:
    if before is None or any(move.move in ("turn-in-plane", "turn-over") for move in step.moves):
        return []
    now_mm, then_mm = step.stops.x_mm, before.stops.x_mm
    if now_mm is None or then_mm is None or abs(now_mm - then_mm) < SAME_STOP_MM:
        return []
    return [phrase("move.to-stop-nearer" if now_mm < then_mm else "move.to-stop-further")]


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
