"""In which order to print for somebody short of time: first what most other parts wait for."""

from itertools import accumulate
from typing import Any

from msgspec import Struct

from partgen.paper.filenames import User
from partgen.parts import record_of
from partgen.plan.train import TrainPlan
from partgen.printing.coupon import resolve
from partgen.printing.coupon_mesh import coupon_mesh
from partgen.printing.estimate import NOTHING, Estimate, assumptions, estimate
from partgen.solids.built import Built

Files = dict[str, list[User]]
"""By file stem its (wagon plan, item) users."""


def waiting(train: TrainPlan) -> dict[tuple[str, str], int]:
    """Return by (wagon name, item name) how many other pieces of its wagon cannot be mounted before it is there."""
    return {(plan.name, item.name): sum(other.count for other in plan.items if item.part in _before(other.part))
            for plan in train.printed for item in plan.items}


def _before(part: str) -> set[str]:
    """Return every kind of part that must be there before `part`, and whatever those need in turn."""
    direct = record_of(part).needs
    return {*direct, *(earlier for one in direct for earlier in _before(one))}


def print_order(train: TrainPlan, files: Files, seconds: dict[str, float]) -> list[tuple[str, int, int]]:
    """Return (file stem, pieces, how many pieces wait for them) in the order to print.

    What more pieces wait for comes first, but never before what it needs itself; among equals the quicker one.

    Args:
        train: the resolved train.
        files: by file stem its (wagon plan, item) users, as all that are alike share one file.
        seconds: by file stem how long all its pieces take [s].
    """
    queue = waiting(train)
    waits = {stem: sum(queue[plan.name, item.name] for plan, item in users) for stem, users in files.items()}
    depth = {stem: len(_before(users[0][1].part)) for stem, users in files.items()}
    order = sorted(files, key=lambda stem: (-waits[stem], depth[stem], seconds[stem], stem))
    return [(stem, sum(item.count for _, item in files[stem]), waits[stem]) for stem in order]


class PrintJob(Struct, frozen=True):
    """A train's print: by file stem what one piece takes and how many there are; the coupon's own."""

    train: TrainPlan
    files: Files
    each: dict[str, Estimate]
    coupon: Estimate

    @property
    def total(self) -> Estimate:
        """What all parts take, the coupon left out."""
        return sum((self.each[stem] * self.pieces(stem) for stem in self.files), NOTHING)

    def pieces(self, stem: str) -> int:
        """Return how many to print of a file."""
        return sum(item.count for _, item in self.files[stem])

    def of_plate(self, counts: dict[str, int]) -> dict[str, float]:
        """Return a plate's estimate as data, the time with heating up; `counts` by file stem."""
        whole = sum((self.each[stem] * count for stem, count in counts.items()), NOTHING).record()
        return whole | {"print_time_s": whole["print_time_s"] + round(self.train.description.printer.slicing.heating)}

    def order(self) -> list[dict[str, Any]]:
        """Return the order to print as data: file, pieces, time [s], time when they are done [s], and why there."""
        seconds = {stem: self.each[stem].time * self.pieces(stem) for stem in self.files}
        rows = [("coupon", 1, self.coupon.time, "every fit hangs on what it tells")]
        rows += [(stem, count, seconds[stem], _why(waits))
                 for stem, count, waits in print_order(self.train, self.files, seconds)]
        done = accumulate(time for _, _, time, _ in rows)
        return [{"file": stem, "count": count, "print_time_s": round(time), "done_after_s": round(after), "why": why}
                for (stem, count, time, why), after in zip(rows, done, strict=True)]

    def record(self) -> dict[str, Any]:
        """Return the whole as data."""
        return {"assumptions": assumptions(self.train.description.printer), "all_parts": self.total.record(),
                "coupon": self.coupon.record(), "print_order": self.order()}


def _why(waits: int) -> str:
    return f"{waits} pieces wait for it" if waits > 1 else "1 piece waits for it" if waits else "nothing waits"


def print_job(built: Built, files: Files) -> PrintJob:
    """Estimate every file of a built train; `files` by stem its (wagon plan, item) users."""
    printer, coupon = built.train.description.printer, coupon_mesh(resolve(built.train.description))
    each = {stem: estimate(built.laid(*users[0]), printer) for stem, users in files.items()}
    return PrintJob(built.train, files, each, estimate(coupon, printer))
