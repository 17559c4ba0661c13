"""What no plan of a panel costs less than before anything is looked at: what is dearer is passed over by it."""

from __future__ import annotations

from flangewise.panel_order.layers import Layers
from flangewise.panel_order.problem import PanelProblem
from flangewise.panel_order.stations import least_stations_s
from flangewise.panel_order.way_prices import WayPrices, graph_of

# Of so many operations at most strokes and moves are reckoned with before anything is looked at.
MOST_FLOORED = 12


def panel_floor_s(problem: PanelProblem) -> float:
    """What no plan of a problem costs less than, whatever is in the way: strokes, moves, holding, one station.

    Of more operations than `MOST_FLOORED`, whose sets are too many to look at before it is known which lead anywhere,
    each with the least hit by itself.
    """
    fixed_s = problem.costs.base + least_stations_s(problem)
    if len(problem.operations) > MOST_FLOORED:
        wishes = [
            min(way.wish_s for way in problem.ways if way.operation == number and not way.is_second)
            for number in range(len(problem.operations))
        ]
        return fixed_s + sum(problem.costs.hit + wish_s for wish_s in wishes)
    prices, layers = WayPrices(problem), Layers(len(problem.operations))
    mountings = sorted({way.mounting for way in problem.ways})
    graph = graph_of(
        problem,
        prices,
        layers,
        mountings,
        lambda way, station: prices.bare_s(way),
        moved=prices.attitudes.at_least(layers, change_s=problem.rules.change_s),
        change_s=problem.rules.change_s,
    )
    return fixed_s + graph.least_s()[1]
