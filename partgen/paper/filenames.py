"""What a train's files are called: every place that writes one asks here, so that no two are called alike."""

from partgen.describe.description import Description
from partgen.identity import LONGEST, distinct, stems
from partgen.plan.item import Beside, Item
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

User = tuple[WagonPlan | Beside, Item]

OF_A_WAGON = ("", "-apart", "-inside", "-layout")
"""What is put behind a wagon's stem to make the names of its pictures."""

OF_THE_TRAIN = ("train", "track", "nearest-pair", "print-poses", "world")
"""What pictures of the whole train, and the root of its nodes, are called."""

SOME = "asked"          # what the names of plates begin with that hold nothing but parts that were chosen
STEPS_A_WAGON = 20      # pictures of its assembly, at most


def cup_stems(description: Description) -> dict[str, str]:
    """Return by a cup's name what it is called in a file's name."""
    return stems(description.cup, "cup")


def wagon_stems(description: Description) -> dict[str, str]:
    """Return by a wagon's name what its files begin with: what stands beside them is called otherwise."""
    wagons = description.wagon
    served = dict.fromkeys(name for wagon in wagons for name in (*wagon.cups, *wagon.inserts))
    cups = {name: stem for name, stem in cup_stems(description).items() if name in served}
    beside = (*OF_THE_TRAIN, *(slosh_stem(place, cup) for place in range(1, len(cups) + 1) for cup in cups.values()),
              *(step_stem(number) for number in range(1, STEPS_A_WAGON * (len(wagons) + 1))))
    return stems((wagon.name for wagon in wagons), "wagon", OF_A_WAGON, beside)


def slosh_stem(place: int, cup: str) -> str:
    """Return what the plot of a cup's liquid is called: its place among the plots from 1, its cup's stem."""
    return f"slosh-{place}-{cup}"


def step_stem(number: int) -> str:
    """Return what the picture of a step of the assembly is called, counted from 1."""
    return f"step-{number:02d}"


def part_files(train: TrainPlan) -> dict[str, list[User]]:
    """Return what the file of every kind of part is called, and its users: one file for all wagons where the part
    is the same, called after them where other wagons have another one of that name; names are those of the whole train
    where this one is cut short."""
    kinds: dict[str, dict[object, list[User]]] = {}
    for plan in (train.whole or train).printed:
        for item in plan.items:
            kinds.setdefault(item.name, {}).setdefault(item.plan, []).append((plan, item))
    wagons = wagon_stems(train.origin)
    here = {(plan.name, item.name) for plan in train.printed for item in plan.items}
    named = [(name if len(plans) == 1 else f"{_whose(users, wagons)}-{name}", users)
             for name, plans in kinds.items() for users in plans.values()]
    files = zip(distinct(stem for stem, _ in named), ([one for one in users if (one[0].name, one[1].name) in here]
                                                      for _, users in named), strict=True)
    return {stem: users for stem, users in files if users}


def _whose(users: list[User], wagons: dict[str, str]) -> str:
    """Return the users' stems in a row, or how many more there are where that is long."""
    first, *others = (wagons.get(plan.name, plan.name) for plan, _ in users)
    row = "-".join((first, *others))
    return row if len(row) <= LONGEST or not others else f"{first}-and-{len(others)}-more"
