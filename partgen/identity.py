"""Who is meant: what a finding is about, as a struct of named parts; and the one rule from a name to a file's name."""

import re
from collections.abc import Iterable, Sequence
from hashlib import sha256
from itertools import chain, count

from msgspec import Struct
from msgspec.structs import asdict, astuple

LOCOMOTIVE, TRACK = "locomotive", "track"


class Subject(Struct, frozen=True, tag=True):
    """What a finding is about. `str` of it is text for people, `about` its parts as data."""

    def __str__(self) -> str:
        return "/".join(str(part) for part in astuple(self) if part is not None)

    @property
    def wagons(self) -> tuple[str, ...]:
        """The names of the wagons that are meant, or a part of which is."""
        return tuple(name for part in astuple(self) if isinstance(part, Subject) for name in part.wagons)

    @property
    def about(self) -> dict[str, str | list[str]]:
        """The parts by name, as plain data for JSON; what does not apply is left out."""
        return {name: list(part) if isinstance(part, tuple) else str(part)
                for name, part in asdict(self).items() if part is not None}

    def concerns(self, wagon: str) -> bool:
        """Is it the wagon of that name, something of it, or a pair that it is in?"""
        return wagon in self.wagons


class TrainId(Subject, frozen=True):
    """The train as a whole."""

    vehicle: str = "train"


class LocomotiveId(Subject, frozen=True):
    """The locomotive."""

    vehicle: str = LOCOMOTIVE


class OfWagon(Subject, frozen=True):
    """A wagon, or something of it."""

    wagon: str

    @property
    def wagons(self) -> tuple[str, ...]:
        return (self.wagon,)


class WagonId(OfWagon, frozen=True):
    """A wagon as a whole."""


class PartId(OfWagon, frozen=True):
    """A kind of part of a wagon."""

    part: str


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


class CouplingId(Subject, frozen=True):
    """Two coupled vehicles."""

    front: LocomotiveId | WagonId
    rear: LocomotiveId | WagonId

    def __str__(self) -> str:
        return f"{self.front} + {self.rear}"


class ObstacleId(Subject, frozen=True):
    """A thing beside the track, and the vehicle that comes nearest to it, if any passes."""

    obstacle: str
    vehicle: LocomotiveId | WagonId | None = None

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


class TrackPartId(Subject, frozen=True):
    """A kind of part that is printed for the track and belongs to no wagon."""

    part: str
    of: str = TRACK

    def __str__(self) -> str:
        return f"{self.of}/{self.part}"


class RampId(Subject, frozen=True):
    """The train's ramp of speed at a "start" or a "stop"."""

    ramp: str


class CableId(Subject, frozen=True):
    """A cable, by its number in the description, counted from 1; where it is about one place, in which wagon or over
    which coupling."""

    cable: int
    wagon: WagonId | None = None
    coupling: CouplingId | None = None

    def __str__(self) -> str:
        return "/".join([f"cable {self.cable}", *(str(one) for one in (self.wagon, self.coupling) if one)])


class CouponId(Subject, frozen=True):
    """The printer's coupon."""

    part: str = "coupon"


AnySubject = (Subject | TrainId | LocomotiveId | WagonId | PartId | ModulesId | SeatId | StuckId | CouplingId
              | ObstacleId | PassingId | TrackPlanId | TrackPartId | RampId | CableId | CouponId)
"""Whoever a finding that was kept may be about."""

Vehicle = LocomotiveId | WagonId
PrintedId = PartId | TrackPartId | CouponId


# ---- from a name to a file's name

LONGEST = 60            # letters of a stem: with what is added to it, far below what any file system takes
_START = 40             # letters of a longer one that stay; the others are its last, where names mostly differ
DIGEST = 8              # hexadecimal digits of a title's digest
DEVICES = frozenset({"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))})
"""Names that no file may have on some systems, whatever its ending (from memory)."""

_PLAIN = re.compile(r"[A-Za-z0-9]+([ -][A-Za-z0-9]+)*")


def stem(name: str, otherwise: str) -> str:
    """Return `name` in lower case ASCII letters, digits and single hyphens, LONGEST at most, the middle left out of a
    longer one; letters of other scripts are spelt in Latin ones. Where nothing of it can be spelt it is called
    `otherwise`.

    Two names may give one stem: where several stand together, ask `stems`.
    """
    if not name.isascii():
        from anyascii import anyascii  # `check` of a train with plain names has no use for it
        name = anyascii(name)
    whole = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or otherwise
    if len(whole) <= LONGEST:
        return whole
    return f"{whole[:_START].rstrip('-')}-{whole[_START + 1 - LONGEST:].lstrip('-')}"


def stems(names: Iterable[str], otherwise: str, endings: Sequence[str] = ("",),
          taken: Iterable[str] = ()) -> dict[str, str]:
    """Return a stem for every one of `names`, no two alike: a name that is its own stem keeps it, of all others
    the first to come has it and further ones are numbered from 2.

    Args:
        names: any texts.
        otherwise: what a name is called of which nothing can be spelt.
        endings, taken: as for `distinct`.
    """
    wanted = {name: stem(name, otherwise) for name in names}
    first = sorted(wanted, key=lambda name: name != wanted[name])
    found = dict(zip(first, distinct([wanted[name] for name in first], endings, taken), strict=True))
    return {name: found[name] for name in wanted}


def distinct(wanted: Iterable[str], endings: Sequence[str] = ("",), taken: Iterable[str] = ()) -> list[str]:
    """Return `wanted` stems in their order, numbered from 2 where one is given away already.

    Args:
        wanted: stems.
        endings: what is put behind a stem to make the names of files: no two of those are alike either.
        taken: names of files that are given away before.
    """
    used, found = DEVICES | set(taken), []
    for one in wanted:
        tries = chain([one], (f"{one}-{number}" for number in count(2)))
        found.append(next(stem for stem in tries if used.isdisjoint(stem + end for end in endings)))
        used |= {found[-1] + end for end in endings}
    return found


def title_stem(title: str, alone: bool = True) -> str:
    """Return the name of the folder of the train of that title: the stem of a title in plain words, Latin letters and
    digits with single spaces or hyphens between; with a digest of the title behind it for any other title, and for
    one that is not `alone`.

    So titles share a folder only where they differ in capitals, or in hyphens for spaces, and are taken to be alone.
    """
    words = stem(title, "train")
    if alone and _PLAIN.fullmatch(title) and len(title) <= LONGEST and words not in DEVICES:
        return words
    return f"{words[:LONGEST - DIGEST - 1].rstrip('-')}-{sha256(title.encode()).hexdigest()[:DIGEST]}"
