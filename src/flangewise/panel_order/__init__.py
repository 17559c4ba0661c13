"""The order in which a panel is bent, and each of its hits in space.

Takes a panel's blank and the tools offered as bodies; gives what each hit forbids, and orders with their proof.
"""

from .gauging import Fingers as Fingers, PanelGauging as PanelGauging
from .hit import (
    Hit as Hit,
    SelfMeeting as SelfMeeting,
)
from .leaving import Leaving as Leaving, StandingRow as StandingRow
from .operations import PanelOperation as PanelOperation, operations_of as operations_of
from .pressed import PressedHit as PressedHit, hit_with as hit_with
from .wings import PanelShapes as PanelShapes
