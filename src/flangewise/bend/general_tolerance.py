"""General tolerances where a drawing says nothing else: lengths and angles.

Source: ISO 2768-1:1989, tables 1 and 3, read in reprints. From memory: class c up to 6 mm (three reprints print the
older 0.15 and 0.2 there) and at 400 to 1000 mm, angles of class v at 50 to 120 mm. The upper limit belongs to each
range. Class m is the usual one.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

ToleranceClass = Literal["f", "m", "c", "v"]

_Row = tuple[float | None, ...]

LINEAR_LIMITS_MM = (3.0, 6.0, 30.0, 120.0, 400.0, 1000.0, 2000.0, 4000.0)
LINEAR_MM: Mapping[ToleranceClass, _Row] = MappingProxyType(
    {
        "f": (0.05, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5, None),
        "m": (0.1, 0.1, 0.2, 0.3, 0.5, 0.8, 1.2, 2.0),
        "c": (0.2, 0.3, 0.5, 0.8, 1.2, 2.0, 3.0, 4.0),
        "v": (None, 0.5, 1.0, 1.5, 2.5, 4.0, 6.0, 8.0),
    }
)

ANGLE_LIMITS_MM = (10.0, 50.0, 120.0, 400.0, float("inf"))
_FINE_ANGLES = (1.0, 30 / 60, 20 / 60, 10 / 60, 5 / 60)
ANGLE_DEG: Mapping[ToleranceClass, _Row] = MappingProxyType(
    {
        "f": _FINE_ANGLES,
        "m": _FINE_ANGLES,
        "c": (1.5, 1.0, 30 / 60, 15 / 60, 10 / 60),
        "v": (3.0, 2.0, 1.0, 30 / 60, 20 / 60),
    }
)


LEAST_SIZE_MM = 0.5


def linear_tolerance_mm(size_mm: float, tolerance_class: ToleranceClass = "m") -> float | None:
    """Plus and minus on a length; None below 0.5 mm, above the table, or where the class has no figure.

    >>> linear_tolerance_mm(35), linear_tolerance_mm(130)
    (0.3, 0.5)
    """
    return None if size_mm < LEAST_SIZE_MM else _look_up(size_mm, LINEAR_LIMITS_MM, LINEAR_MM[tolerance_class])


def angle_tolerance_deg(shorter_leg_mm: float, tolerance_class: ToleranceClass = "m") -> float | None:
    """Plus and minus on an angle, by the length of its shorter leg.

    >>> angle_tolerance_deg(30)
    0.5
    """
    return _look_up(shorter_leg_mm, ANGLE_LIMITS_MM, ANGLE_DEG[tolerance_class])


def _look_up(size_mm: float, limits_mm: tuple[float, ...], row: _Row) -> float | None:
    return next((value for limit, value in zip(limits_mm, row, strict=True) if size_mm <= limit), None)
