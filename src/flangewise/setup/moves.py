"""What is done with the part and the tools before a hit, in words."""

from flangewise.punch_die import Station
from flangewise.sequence import Axis, MoveKind, Step
from flangewise.setup.step import Instruction, SetupStep
from flangewise.words import Phrase, phrase

# Stops nearer to each other than a machine sets them stand at one place.
SAME_STOP_MM = 0.05


def moves_before(step: Step | None, station: Station, before: Station | None) -> tuple[Instruction, ...]:
    """Moves before a hit: tools changed, the part handled, the part shifted along the bed; the way out last.

    `step` is None for the second hit of a hem, where the part stays as it is; `before` is None for the first hit.
    """
    moved = tuple(handled(move.move, move.axis) for move in step.moves) if step is not None else ()
    out = (side_exit(),) if step is not None and step.side_exit else ()
    return (*_tools(station, before), *moved, *_shift(station, before), *out)


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


def handled(move: MoveKind, axis: Axis | None) -> Instruction:
    """A turn of the part in words."""
    if move == "turn-in-plane":
        return Instruction("turn-in-plane", None, phrase("move.turn-in-plane"))
    code = "move.turn-over-bed" if axis == "the bed" else "move.turn-over-front"
    return Instruction("turn-over", axis, phrase(code))


def _tools(station: Station, before: Station | None) -> tuple[Instruction, ...]:
    if before is None or station.set_up == before.set_up:
        return ()
    code = "move.tool-change-turned" if station.turned else "move.tool-change"
    return (Instruction("tool-change", None, phrase(code, punch=station.punch, die=station.die)),)


def _shift(station: Station, before: Station | None) -> tuple[Instruction, ...]:
    if before is None or station.set_up != before.set_up or station == before:
        return ()
    way = "right" if station.centre_mm > before.centre_mm else "left"
    return (Instruction("shift", None, phrase(f"move.shift-{way}", from_mm=station.from_mm, to_mm=station.to_mm)),)


def side_exit() -> Instruction:
    """The part slid out along the bed, in words."""
    return Instruction("side-exit", None, phrase("move.side-exit"))
