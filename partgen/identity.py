"""Who is meant: what a finding is about, as a struct with named parts; text is made of it only where it is shown."""

from msgspec import Struct
from msgspec.structs import asdict

LOCOMOTIVE, TRACK = "locomotive", "track"


class Subject(Struct, frozen=True):
    """What a finding is about. `str` of it is text for people, `about` its parts as data."""

    @property
    def wagons(self) -> tuple[str, ...]:
        """The names of the wagons that are meant, or a part of which is."""
        return ()

    @property
    def about(self) -> dict[str, str | list[str]]:
        """The parts by name, as plain data for JSON; what does not apply is left out."""
        return {name: list(part) if isinstance(part, tuple) else str(part)
                for name, part in asdict(self).items() if part is not None}

    def concerns(self, wagon: str) -> bool:
        """Is it the wagon of that name, something of it, or a pair that it is in?"""
        return wagon in self.wagons


class LocomotiveId(Subject, frozen=True):
    """The locomotive."""

    vehicle: str = LOCOMOTIVE

    def __str__(self) -> str:
        return self.vehicle


class OfWagon(Subject, frozen=True):
    """A wagon, or something of it."""

    wagon: str

    @property
    def wagons(self) -> tuple[str, ...]:
        return (self.wagon,)


class WagonId(OfWagon, frozen=True):
    """A wagon as a whole."""

    def __str__(self) -> str:
        return self.wagon


class PartId(OfWagon, frozen=True):
    """A kind of part of a wagon."""

    part: str

    def __str__(self) -> str:
        return f"{self.wagon}/{self.part}"


class ModulesId(OfWagon, frozen=True):
    """Modules of a wagon, mostly one; more where they share a window."""

    modules: tuple[str, ...]

    def __str__(self) -> str:
        return f"{self.wagon}/{', '.join(self.modules)}"


class SeatId(OfWagon, frozen=True):
    """A kind of cup of a wagon; `seat` is the cup whose seat it stands in with an insert, None in its own."""

    cup: str
    seat: str | None = None

    def __str__(self) -> str:
        return f"{self.wagon}/{self.cup}" + (f" in {self.seat}" if self.seat is not None else "")


class StuckId(OfWagon, frozen=True):
    """A wagon that is stuck while the train pulls at it."""

    event: str = "break-away"

    def __str__(self) -> str:
        return f"{self.wagon}/{self.event}"


class CouplingId(Subject, frozen=True):
    """Two coupled vehicles."""

    front: LocomotiveId | WagonId
    rear: LocomotiveId | WagonId

    @property
    def wagons(self) -> tuple[str, ...]:
        return (*self.front.wagons, *self.rear.wagons)

    def __str__(self) -> str:
        return f"{self.front} + {self.rear}"


class ObstacleId(Subject, frozen=True):
    """A thing beside the track, and the vehicle that comes nearest to it, if any passes."""

    obstacle: str
    vehicle: LocomotiveId | WagonId | None = None

    @property
    def wagons(self) -> tuple[str, ...]:
        return self.vehicle.wagons if self.vehicle else ()

    def __str__(self) -> str:
        return f"{self.obstacle} + {self.vehicle}" if self.vehicle else self.obstacle


class PassingId(Subject, frozen=True):
    """The train, and the same train on the second track."""

    track: str = "second"

    def __str__(self) -> str:
        return "two trains"


class TrackPlanId(Subject, frozen=True):
    """What is asked of the plan of the track."""

    track_plan: str

    def __str__(self) -> str:
        return self.track_plan


class TrackPartId(Subject, frozen=True):
    """A kind of part that is printed for the track and belongs to no wagon."""

    part: str
    of: str = TRACK

    def __str__(self) -> str:
        return f"{self.of}/{self.part}"


class RampId(Subject, frozen=True):
    """The train's ramp of speed at a "start" or a "stop"."""

    ramp: str

    def __str__(self) -> str:
        return self.ramp


class CouponId(Subject, frozen=True):
    """The printer's coupon."""

    part: str = "coupon"

    def __str__(self) -> str:
        return self.part


Vehicle = LocomotiveId | WagonId
PrintedId = PartId | TrackPartId | CouponId
