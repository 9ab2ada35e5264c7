"""The order of work: what is printed when, plate by plate, so that the first wagon rolls as soon as it can.

First what tells whether printer and measurements are right; then wagon by wagon, as `sequence` has them, each with all
its small things. So many wagons as roll by any hour do.
"""

from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from partgen.describe.printer_tables import Printer
from partgen.errors import TooSoon
from partgen.finding import up
from partgen.interrupts import interrupts_held
from partgen.kept import Store
from partgen.paper.filaments import filament_for
from partgen.paper.filenames import SOME, User
from partgen.paper.plates import Batch, Plate, arrange
from partgen.paper.sequence import comes_with, wagons_in_order
from partgen.parts import PARTS, record_of
from partgen.plan.item import Beside, told
from partgen.plan.printed import set_for
from partgen.plan.train import TrainPlan
from partgen.printing.coupon import CouponPlan, resolve
from partgen.printing.estimate import NOTHING, Estimate, assumptions, estimate, estimated, kept_estimate
from partgen.solids.built import Built

COUPON_FOR, GAUGES_FOR = "all fits: measure it before anything else is printed", "the measurements: try them first"
SOME_FOR = "what was asked for"

Files = dict[str, list[User]]
"""By file stem its (wagon plan, item) users."""
Counts = tuple[tuple[str, int], ...]
"""File stems with how many pieces of each."""


class Run(Struct, frozen=True):
    """A plate in the order of work: its number from 1, the wagon that it is for, None for none; what it takes, and when
    it is done [s]; `last` where that wagon then has all its parts and rolls."""

    number: int
    wagon: str | None
    plate: Plate
    takes: Estimate
    done: float
    last: bool
    some: bool = False

    @property
    def name(self) -> str:
        """What its file is called: files in their order are plates in theirs."""
        return f"{SOME}-" * self.some + f"{self.number:02d}-{self.plate.filament}"


class PrintJob(Struct, frozen=True, eq=False, dict=True):
    """A train's print: by file stem what one piece takes, and all of them as they are laid; the coupon's own. Of `some`
    parts that were chosen it is no order of work, but plates that hold them and nothing else."""

    train: TrainPlan
    files: Files
    each: dict[str, Estimate]
    batches: dict[str, Batch]
    coupon: Estimate
    some: bool = False

    @cached_property
    def runs(self) -> tuple[Run, ...]:
        """Every plate, in the order of work."""
        runs: list[Run] = []
        done = 0.0 if self.some else self.coupon.time + self._heating
        for wagon, counts in self._lots():
            plates, left = self._laid(counts)
            for place, plate in enumerate(plates, 1):
                done += self._time(plate)
                runs.append(Run(len(runs) + 1, wagon, plate, self._takes(plate), done,
                                place == len(plates) and not left and not self.some, self.some))
        return tuple(runs)

    @property
    def rolls(self) -> dict[str, float]:
        """By wagon when it has all its parts [s], in the order of work; one with a part too large for the bed never."""
        return {run.wagon: run.done for run in self.runs if run.last and run.wagon is not None}

    @property
    def too_large(self) -> tuple[str, ...]:
        """The files that lie on no plate, however turned."""
        return tuple(stem for stem in self.files if not any(stem in run.plate.counts for run in self.runs))

    def by(self, hours: float) -> "InTime":
        """Return which wagons roll by that time. Raises TooSoon where none does."""
        rolls = self.rolls
        if any(done <= 3600 * hours for done in rolls.values()):
            return InTime(hours, rolls)
        first = min(rolls, key=rolls.__getitem__, default=None)
        raise TooSoon(f"no wagon rolls within {hours:g} h: " + (
            f"{first} is the first, after {up(rolls[first] / 3600)} h with coupon and gauges; allow that much"
            if first else "each has a part that is larger than the bed"))

    def pieces(self, stem: str) -> int:
        """Return how many to print of a file."""
        return sum(item.count for _, item in self.files[stem])

    def _lots(self) -> Iterator[tuple[str | None, Counts]]:
        """Yield what is due one after the other, and for which wagon."""
        if self.some:
            yield SOME_FOR, tuple((stem, self.pieces(stem)) for stem in self.files)
            return
        wagons = wagons_in_order(self.train)
        for place, wagon in ((0, None), *enumerate(wagons)):
            yield wagon, self._lot(wagon, wagons[:place])

    def _lot(self, wagon: str | None, before: Sequence[str]) -> Counts:
        """Return the pieces that are due with a wagon, those `before` being done; with None the gauges."""
        counts = ((stem, sum(item.count for plan, item in users if comes_with(wagon, before, plan, item)))
                  for stem, users in self.files.items())
        return tuple((stem, count) for stem, count in counts if count)

    def _laid(self, counts: Counts) -> tuple[list[Plate], tuple[str, ...]]:
        """Return the plates of a lot and the names of what lies on none: what others need lies on the first ones."""
        printer = self.train.description.printer
        lot = [replace(self.batches[stem], count=count) for stem, count in counts]
        plates, left = arrange(lot, (printer.bed_x, printer.bed_y))
        return sorted(plates, key=lambda plate: min(map(self._depth, plate.counts))), left

    def _depth(self, stem: str) -> int:
        """Return how many kinds of part must be there before it; what lies beside the track comes last."""
        plan, item = self.files[stem][0]
        return len(PARTS) if isinstance(plan, Beside) else len(_before(item.part))

    def _takes(self, plate: Plate) -> Estimate:
        return sum((self.each[stem] * count for stem, count in plate.counts.items()), NOTHING)

    def _time(self, plate: Plate) -> float:
        return self._takes(plate).time + self._heating

    @property
    def _heating(self) -> float:
        return self.train.description.printer.slicing.heating

    def order(self) -> list[dict[str, Any]]:
        """Return the order to print as data: file, pieces, plate, time when it is done [s], what for, and what else its
        plate asks for."""
        rows = [{"file": "coupon", "count": 1, "plate": None, "for": COUPON_FOR, "how": "",
                 "done_after_s": round(self.coupon.time + self._heating)}]
        return rows + [{"file": stem, "count": run.plate.counts[stem], "plate": run.number,
                        "for": run.wagon or GAUGES_FOR, "how": run.plate.how, "done_after_s": round(run.done)}
                       for run in self.runs for stem in sorted(run.plate.counts, key=self._depth)]

    def of_run(self, run: Run) -> dict[str, Any]:
        """Return a plate's place in the order and what it takes as data, the time with heating up."""
        return {"plate": run.number, "for": run.wagon or GAUGES_FOR, "how": run.plate.how,
                "rolls": run.last and run.wagon is not None,
                "done_after_s": round(run.done), **run.takes.record(), "print_time_s": round(self._time(run.plate))}

    def record(self) -> dict[str, Any]:
        """Return the whole as data; times of plates with heating up."""
        whole = sum((run.takes for run in self.runs), NOTHING).record()
        return {"assumptions": assumptions(self.train.description.printer), "coupon": self.coupon.record(),
                "all_plates": whole | {"print_time_s": round(sum(self._time(run.plate) for run in self.runs))},
                "rolls": [{"wagon": wagon, "after_s": round(done)} for wagon, done in self.rolls.items()],
                "print_order": self.order()}


class InTime(Struct, frozen=True):
    """What rolls within so many `hours`, and what is left out for want of them; `rolls` by wagon when it would [s]."""

    hours: float
    rolls: dict[str, float]

    def __str__(self) -> str:
        late = ", ".join(f"{wagon} (would roll after {up(done / 3600)} h)" for wagon, done in self._late)
        return f"built for {self.hours:g} h of printing; left out: {late or 'nothing'}"

    @property
    def wagons(self) -> tuple[str, ...]:
        """The wagons that roll by then."""
        return tuple(wagon for wagon, done in self.rolls.items() if done <= 3600 * self.hours)

    @property
    def _late(self) -> list[tuple[str, float]]:
        return [(wagon, done) for wagon, done in self.rolls.items() if wagon not in self.wagons]

    def record(self) -> dict[str, Any]:
        """Return it as data."""
        return {"within_h": self.hours, "left_out": [{"wagon": wagon, "would_roll_after_s": round(done)}
                                                     for wagon, done in self._late]}


def _before(part: str) -> set[str]:
    """Return every kind of part that must be there before `part`, and whatever those need in turn."""
    direct = record_of(part).needs
    return {*direct, *(earlier for one in direct for earlier in _before(one))}


def print_job(built: Built, files: Files, some: bool = False) -> PrintJob:
    """Estimate every file of a built train and lay it on plates; `files` by stem its (wagon plan, item) users, `some`
    where they were chosen."""
    printer, kept = built.train.description.printer, built.kept
    laid = {stem: built.laid(*users[0]) for stem, users in files.items()}
    items = {stem: users[0][1] for stem, users in files.items()}
    records = {stem: record_of(item.part) for stem, item in items.items()}
    batches = {stem: Batch(stem, mesh, 1, filament_for(records[stem].colour, printer.spools), items[stem].plan.change,
                           told(items[stem].plan)) for stem, mesh in laid.items()}
    each = {stem: estimated(mesh, set_for(items[stem].plan, printer), kept) for stem, mesh in laid.items()}
    coupon = NOTHING if some else _coupon(resolve(built.train.description), printer, kept)
    return PrintJob(built.train, files, each, batches, coupon, some)


def _coupon(plan: CouponPlan, printer: Printer, kept: Store) -> Estimate:
    """Return what the coupon takes; its mesh, which needs the kernel, is made only where that is not kept."""
    def make() -> Estimate:
        with interrupts_held():         # it may load the CAD kernel
            from partgen.printing.coupon_mesh import coupon_mesh
        return estimate(coupon_mesh(plan), printer)
    return kept_estimate((plan, printer), make, kept)
