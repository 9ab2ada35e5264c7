"""Who helps with a build: processes beside this one, where there is work and room for them."""

import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from partgen.errors import WorkersLost
from partgen.interrupts import workers
from partgen.kept import Store
from partgen.plan.item import Item

if TYPE_CHECKING:
    from concurrent.futures import Executor

CORES = "PARTGEN_CORES"     # environment: how many processes may work at once
ROOM = 1 << 30              # bytes of memory for each: the CAD kernel alone takes half of it
WORTH = 8                   # parts to shape: the kernel takes 3 s to load


@contextmanager
def helped(items: Sequence[Item], kept: Store, executor: "Executor | None") -> Iterator["Executor | None"]:
    """Give the executor that was handed in, or one of as many processes as are worth it to shape those `items`, each
    kind of part once, or None for none. Raises WorkersLost as `ensure_unforked` does."""
    ensure_unforked(executor)
    if executor or room() < 2 or not items:
        yield executor
    else:       # one draws what needs no solid; where many parts are to be shaped, all do that
        with workers(room() if many(items, kept) else 1) as pool:
            yield pool


def ensure_unforked(executor: "Executor | None") -> None:
    """Raise WorkersLost for processes that are forked from this one, as far as that can be told: once the CAD kernel
    has been at work here they hang for ever."""
    context = getattr(executor, "_mp_context", None)        # of those that the standard library has
    if context and context.get_start_method() == "fork":
        raise WorkersLost("the executor's processes are forked, and such hang once the CAD kernel has been at work: "
                          'hand in ProcessPoolExecutor(mp_context=multiprocessing.get_context("spawn"))')


def room() -> int:
    """Return how many processes may work at once, one at least: each has a core and memory."""
    return max(min(cores(), memory() // ROOM), 1)


def many(items: Sequence[Item], kept: Store) -> bool:
    """Are so many parts to be shaped that it is worth to have them shaped side by side?"""
    return sum(not kept.holds("parts", (item.part, item.plan)) for item in items) >= WORTH


def cores() -> int:
    """Return how many processes may work at once: as many as the machine has cores for this one, or as is wished."""
    wished = os.environ.get(CORES, "")
    if wished.isdigit() and int(wished):
        return int(wished)
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def memory() -> int:
    """Return how many bytes of memory are free, much where the system does not say."""
    with suppress(OSError, StopIteration):
        lines = Path("/proc/meminfo").read_text().splitlines()
        return 1024 * int(next(line.split()[1] for line in lines if line.startswith("MemAvailable:")))
    return 1 << 40
