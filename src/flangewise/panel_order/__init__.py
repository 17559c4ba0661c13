"""The order in which a panel is bent, and each of its hits in space.

Takes a panel's blank and the tools offered as bodies; gives what each hit forbids, and orders with their proof.
"""

from .hit import (
    Fingers as Fingers,
    Hit as Hit,
    Leaving as Leaving,
    PanelGauging as PanelGauging,
    SelfMeeting as SelfMeeting,
    StandingRow as StandingRow,
)
from .moves import Lie as Lie, lie_of as lie_of
from .operations import PanelOperation as PanelOperation, operations_of as operations_of
from .problem import (
    HitAnswers as HitAnswers,
    PanelProblem as PanelProblem,
    PanelWay as PanelWay,
    RowChoice as RowChoice,
    RowRules as RowRules,
)
from .search import PanelSearch as PanelSearch
from .solution import (
    PanelBlocker as PanelBlocker,
    PanelMove as PanelMove,
    PanelSolution as PanelSolution,
    PanelStep as PanelStep,
)
