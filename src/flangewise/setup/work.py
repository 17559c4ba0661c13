"""What all strokes of a part share: the piece that is bent, and what bends it."""

from dataclasses import dataclass

from flangewise.punch_die import Mounting, Station
from flangewise.shop import Handler, Machine


@dataclass(frozen=True)
class Workpiece:
    """A part as it is handled: `length_mm` along its bends, the half width within which its sheet is delivered.

    `tolerance_mm` None: no scatter is told. `zone_bends` is the bend number of each zone of the section; left out, one
    zone a bend.
    """

    length_mm: float
    thickness_mm: float
    mass_kg: float = 0.0
    tolerance_mm: float | None = None
    zone_bends: tuple[int, ...] = ()

    def bend_of(self, zone: int | None) -> int | None:
        """The number of the bend that a zone of the section belongs to; None for no zone."""
        if zone is None:
            return None
        return self.zone_bends[zone] if self.zone_bends else zone + 1


@dataclass(frozen=True)
class WorkCentre:
    """What bends the part: machine and whoever tends it, and the shop's habits there.

    `gap_mm` is kept between stations, tools may be `short_mm` shorter than the bend; `quantity` parts share a set-up.
    """

    machine: Machine
    handler: Handler
    gap_mm: float = 20.0
    quantity: int = 1
    short_mm: float = 0.0

    @property
    def shift_s(self) -> float:
        """Seconds a part to bring it to another station on the bed, besides taking it out and putting it in."""
        return (1 + self.handler.allowance_share) * self.handler.shift_s

    @property
    def anew_s(self) -> float:
        """Seconds to put a part down and fetch it again."""
        return self.handler.place_s + self.handler.pick_s + self.handler.square_s

    def has_room_beside(self, length_mm: float) -> bool:
        """Whether two stations for a part so long stand beside each other."""
        return 2 * length_mm + self.gap_mm <= self.machine.bed_length_mm

    @property
    def mount_s(self) -> float:
        """A part's share of putting one punch or die into the machine."""
        return self.machine.mount_s / self.quantity


@dataclass(frozen=True)
class Work:
    """The piece, what bends it, and where the tools stand."""

    piece: Workpiece
    centre: WorkCentre
    stations: tuple[Station, ...]

    @property
    def machine(self) -> Machine:
        """The machine that bends it."""
        return self.centre.machine

    @property
    def handler(self) -> Handler:
        """Whoever tends the machine."""
        return self.centre.handler

    def station_of(self, mounting: Mounting) -> Station:
        """Where a pair stands."""
        return next(station for station in self.stations if station.carries(mounting))
