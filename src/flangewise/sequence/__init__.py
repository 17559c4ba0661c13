"""Which bend when, which way round, with which of the offered tools: the least handling, with its proof.

Takes a section as a chain, its operations with the tools offered, and prices, all plain numbers. Gives a plan with what
it proves, or the proof that there is none and what is in the way. Relies on geometry and clearance.
"""

from .candidates import Candidate as Candidate
from .datum import (
    Gauged as Gauged,
    SizeError as SizeError,
    Tolerances as Tolerances,
    leg_errors as leg_errors,
    leg_terms as leg_terms,
    legs_measured as legs_measured,
)
from .gauging import stop_face_mm as stop_face_mm
from .hold import (
    BREACH_S as BREACH_S,
    Hold as Hold,
    Lying as Lying,
    breaches as breaches,
    die_edges_mm as die_edges_mm,
    held as held,
    keeps as keeps,
    weights_s as weights_s,
    wishes_s as wishes_s,
)
from .holding import errors_of as errors_of, solve_within as solve_within
from .in_way import OF_ALL as OF_ALL, OF_KNOWN as OF_KNOWN
from .least_weight import (
    LeastWeight as LeastWeight,
    PoseSteps as PoseSteps,
    cheapest_of_each as cheapest_of_each,
    each_by_itself as each_by_itself,
    more_than_cheapest as more_than_cheapest,
)
from .moments import StrokeMoment as StrokeMoment, stroke_moment as stroke_moment
from .moves import Axis as Axis, Move as Move, MoveKind as MoveKind
from .placing import done_zones as done_zones, part_path as part_path, wing_paths as wing_paths
from .problem import (
    Asked as Asked,
    Backgauge as Backgauge,
    Costs as Costs,
    Datum as Datum,
    Hit as Hit,
    HoldRule as HoldRule,
    Operation as Operation,
    SearchLimits as SearchLimits,
    SectionProblem as SectionProblem,
    Slack as Slack,
    StopTravel as StopTravel,
    ToolOption as ToolOption,
)
from .proof import (
    SAME_COST as SAME_COST,
    PlanPrice as PlanPrice,
    least_priced as least_priced,
    shapes_of as shapes_of,
    solve as solve,
)
from .regions import Shapes as Shapes, stroke_of as stroke_of
from .runners import runner_ups as runner_ups
from .seconds import HitTime as HitTime, Swing as Swing, travel_s as travel_s
from .shut import InTheWay as InTheWay
from .solution import (
    Blocker as Blocker,
    FoldedSection as FoldedSection,
    Gauging as Gauging,
    MadeStep as MadeStep,
    PricedStep as PricedStep,
    Solution as Solution,
    Step as Step,
    Tilted as Tilted,
    folded_section as folded_section,
)
from .stop_effect import (
    StopEffect as StopEffect,
    changes_against as changes_against,
    effects_of as effects_of,
    gauged_by_operation as gauged_by_operation,
    stop_changes as stop_changes,
    stop_effects as stop_effects,
)
from .watch import UNLIMITED as UNLIMITED, Watch as Watch, watch_for as watch_for
from .why import MOST_REASONS as MOST_REASONS
