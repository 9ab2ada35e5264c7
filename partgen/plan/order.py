"""In which order to print for somebody short of time: first what most other parts wait for."""

from partgen.plan.placement import NEEDS
from partgen.plan.train import TrainPlan


def waiting(train: TrainPlan) -> dict[tuple[str, str], int]:
    """Return by (wagon name, item name) how many other pieces of its wagon cannot be mounted before it is there."""
    found = {}
    for plan in train.printed:
        for item in plan.items:
            found[plan.name, item.name] = sum(other.count for other in plan.items if item.part in _before(other.part))
    return found


def _before(part: str) -> set[str]:
    """Return every kind of part that must be there before `part`, and whatever those need in turn."""
    direct = NEEDS[part]
    return {*direct, *(earlier for one in direct for earlier in _before(one))}


def print_order(train: TrainPlan, files: dict, seconds: dict) -> list[tuple[str, int, int]]:
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
