"""A picture laid out again with more room until every label has found its place."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from flangewise.drawing import Drawing, Label, place

GROWTH_MM = (0.0, 6.0, 14.0, 26.0, 44.0, 70.0)
"""How much higher the picture may become, tried in turn."""


def with_room_for_labels(build: Callable[[float], tuple[Drawing, Sequence[Label]]]) -> Drawing:
    """The picture at the first growth at which all its labels fit.

    `build` makes the lines and the labels of a picture so many mm higher than wished. If none is high enough, it is the
    least at which most fit; the labels left over are then written in smaller letters, or left out: words never cover
    lines.
    """
    best: tuple[Drawing, tuple[Label, ...]] | None = None
    for growth_mm in GROWTH_MM:
        bare, labels = build(growth_mm)
        drawing, homeless = place(bare, labels)
        if homeless:
            # Those that found no place go first: the others have more choice.
            drawing, homeless = place(bare, [*homeless, *(each for each in labels if each not in homeless)])
        if not homeless:
            return drawing
        if best is None or len(homeless) < len(best[1]):
            best = drawing, homeless
    assert best is not None
    return place(best[0], [replace(each, size_mm=each.size_mm * 0.8) for each in best[1]])[0]
