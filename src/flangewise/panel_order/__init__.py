"""Which operation of a panel when, which way round, with which rows of segments: the least handling, with its proof."""

from .solution import (
    Leaves as Leaves,
    PanelBlocker as PanelBlocker,
    PanelMove as PanelMove,
    PanelSolution as PanelSolution,
    PanelStep as PanelStep,
)
