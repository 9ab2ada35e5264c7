"""Is every piece of the plan wherever it has to be, as often as it is needed."""

from collections.abc import Iterable, Iterator, Mapping

from msgspec import Struct

from partgen.finding import Finding, judge
from partgen.identity import Subject, TrainId


class Tally(Struct, frozen=True):
    """What was counted in one place of what leaves the house, and what the plan wants there: pieces by who is meant."""

    place: str
    wanted: Mapping[Subject, int]
    found: Mapping[Subject, int]


def piece_count(tallies: Iterable[Tally]) -> Iterator[Finding]:
    """Hold the pieces found in every place against those that the plan wants there: none missing, none too many.

    Yields a failing finding for every kind of piece and place where they differ, one that holds where none do.
    """
    breaches = [_breach(who, tally) for tally in tallies for who in {**tally.wanted, **tally.found}
                if tally.found.get(who, 0) != tally.wanted.get(who, 0)]
    yield from breaches or [judge("piece-count", TrainId(), 0, 0, "max", "1", "")]


def _breach(who: Subject, tally: Tally) -> Finding:
    found, wanted = tally.found.get(who, 0), tally.wanted.get(who, 0)
    said = f"{wanted - found} of {wanted} missing from" if found < wanted else f"{found - wanted} too many in"
    return judge("piece-count", who, found, wanted, "min" if found < wanted else "max", "1",
                 f"{said} {tally.place}: build once more, and if it stays report it with the description")
