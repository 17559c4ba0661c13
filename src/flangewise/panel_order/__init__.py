"""The order in which a panel is bent, and each of its hits in space.

Takes a panel's blank and the tools offered as bodies; gives what each hit forbids, and orders with their proof.
"""

from .datum import (
    Source as Source,
    SourceTerms as SourceTerms,
    cut_edge as cut_edge,
    line_terms as line_terms,
    offset_mm as offset_mm,
    summed as summed,
)
from .floor import panel_floor_s as panel_floor_s
from .forward import Between as Between, PlanPath as PlanPath
from .gauging import Fingers as Fingers, PanelGauging as PanelGauging
from .hit import (
    SelfMeeting as SelfMeeting,
    SpaceHit as SpaceHit,
)
from .holding import Holding as Holding, with_any_rows as with_any_rows
from .layers import Graph as Graph, Taken as Taken
from .leaving import Leaving as Leaving, StandingRow as StandingRow, standing as standing
from .lying import bend_mass as bend_mass, face_mass as face_mass, lies as lies
from .moves import Lie as Lie, lie_of as lie_of, stood as stood
from .operations import PanelOperation as PanelOperation, operations_of as operations_of
from .order import HoldingOf as HoldingOf, find_panel_order as find_panel_order, hit_at as hit_at
from .pressed import PressedHit as PressedHit
from .problem import (
    HitAnswers as HitAnswers,
    PanelProblem as PanelProblem,
    PanelRows as PanelRows,
    PanelWay as PanelWay,
    RowRules as RowRules,
)
from .search import PanelSearch as PanelSearch
from .side import Side as Side, SidePlate as SidePlate, SideTouch as SideTouch
from .solution import (
    PanelBlocker as PanelBlocker,
    PanelMove as PanelMove,
    PanelSolution as PanelSolution,
    PanelStep as PanelStep,
)
from .stations import RowPair as RowPair, row_price_s as row_price_s
from .stepped import SteppedHit as SteppedHit, step_fits as step_fits
from .wings import PanelShapes as PanelShapes, Wing as Wing
