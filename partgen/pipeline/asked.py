"""What of a build is asked for, by kind of file, part and wagon; and what of an earlier build stays true beside it."""

from collections.abc import Callable, Collection, Iterable
from difflib import get_close_matches
from hashlib import sha256
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from partgen.describe.load import digest_as_given
from partgen.errors import UnknownName
from partgen.export.manifest import BLANK, Record, record
from partgen.kept import code, key_of, libraries
from partgen.paper.filenames import SOME, User, part_files, wagon_stems
from partgen.plan.item import Item
from partgen.plan.train import TrainPlan

KINDS = {
    "stl": "each part to print",
    "step": "each part and wagon for a CAD program",
    "plates": "3MF plates",
    "gltf": "the train as one scene",
    "pictures": "pictures, layouts and the track's plan",
    "ride": "ride card, constants for the controller, the first run's form",
    "bill": "the bill of materials",
    "report": "the report",
}
"""Kinds of files that a build writes beside its manifest, and what they are."""

OF_PARTS = ("stl", "step", "plates")
"""Kinds that parts or wagons can be chosen for; every other shows the whole train."""

FLAT = ("ride", "bill")
"""Kinds that need no solid."""

PICKED = f"plates/{SOME}-"
MEASURED = ("path", "sha256", "bytes")      # of a record: what the file itself tells

Chosen = frozenset[tuple[str, str]]
"""Parts by (wagon name, item name)."""


class Asked(Struct, frozen=True):
    """What of a build is asked for: `parts` and `wagons` by name and `kinds` of KINDS, of each all where none is named.
    The whole train is planned and checked in any case."""

    parts: tuple[str, ...] = ()
    wagons: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()

    @property
    def some(self) -> bool:
        """Are parts or wagons chosen?"""
        return bool(self.parts or self.wagons)

    @property
    def everything(self) -> bool:
        """Is it a whole build, with or without pictures?"""
        return not self.some and set(self.kinds) >= KINDS.keys() - {"pictures"}

    def settled(self, train: TrainPlan, pictures: bool) -> "Asked":
        """Return it with its kinds spelt out, for that train. Raises UnknownName, naming the choices, for a name that
        it has nothing of, and where what is chosen cannot be had by parts."""
        _known("kind of file", self.kinds, KINDS)
        _known("wagon", self.wagons, [plan.name for plan in train.wagons])
        there = part_files(train)
        users = [(stem, item) for stem, both in there.items() for plan, item in both
                 if plan.name in (self.wagons or (plan.name,))]
        _known("part of " + ", ".join(self.wagons) if self.wagons else "part", self.parts,
               dict.fromkeys([*(item.name for _, item in users), *(stem for stem, _ in users)]))
        whole = [kind for kind in self.kinds if kind not in OF_PARTS]
        if self.some and whole:
            raise UnknownName(f"{', '.join(whole)}: made of the whole train only; leave --part and --wagon out, or ask "
                              f"for {', '.join(OF_PARTS)}")
        wished = self.kinds or (OF_PARTS if self.some else tuple(KINDS))
        kinds = tuple(one for one in KINDS if one in wished and (pictures or one != "pictures"))
        if not kinds:
            raise UnknownName("pictures alone are asked for, and none are wanted: leave --no-pictures out")
        return replace(self, kinds=kinds)

    def chosen(self, train: TrainPlan) -> Chosen:
        """Return the parts that are asked for."""
        stems = {(plan.name, item.name): stem for stem, users in part_files(train).items() for plan, item in users}
        return frozenset((plan.name, item.name) for plan in train.printed for item in plan.items
                         if (not self.parts or {stems.get((plan.name, item.name)), item.name} & set(self.parts))
                         and plan.name in (self.wagons or (plan.name,)))

    def solid(self, train: TrainPlan) -> Chosen:
        """Return the parts that have to be made for it."""
        return self.chosen(train) if self.kinds and not set(self.kinds) <= set(FLAT) else frozenset()

    def shaped(self, train: TrainPlan) -> list[Item]:
        """Return an item of every part that has to be shaped for it, each kind of part once."""
        solid = self.solid(train)
        return list({(item.part, item.plan): item for plan in train.printed for item in plan.items
                     if (plan.name, item.name) in solid}.values())

    def files(self, train: TrainPlan) -> dict[str, list[User]]:
        """Return what the files of the parts that are asked for are called, and those of their users that are asked
        for."""
        chosen = self.chosen(train)
        files = {stem: [(plan, item) for plan, item in users if (plan.name, item.name) in chosen]
                 for stem, users in part_files(train).items()}
        return {stem: users for stem, users in files.items() if users}

    def record(self, kept: Iterable[Record], removed: Collection[str]) -> Record:
        """Return it as data, with the files of an earlier build that were `kept` or `removed` beside it."""
        return {"parts": list(self.parts), "wagons": list(self.wagons), "only": list(self.kinds),
                "kept": [one["path"] for one in kept], "removed": sorted(removed)}


EVERYTHING = Asked(kinds=tuple(KINDS))


def _known(what: str, names: Iterable[str], choices: Collection[str]) -> None:
    """Raise UnknownName for the first of the names that is no choice."""
    for name in names:
        if name not in choices:
            near = get_close_matches(name, choices, 1)
            raise UnknownName(f'no {what} is called "{name}"' + (f', did you mean "{near[0]}"?' if near else "")
                              + f"; there are {', '.join(choices)}")


# ---- what stays of an earlier build

def sources(train: TrainPlan) -> Callable[[str], str]:
    """Return the function from a file's path to a key of all that it and its record hang on: of a part its users, the
    printer, whose settings its estimates hang on, and the code, of its solid the plan alone, of a wagon its plan, of
    all else the description."""
    made_by = code(), libraries()
    whole = key_of(*made_by, digest_as_given(train.description))
    files, stems = part_files(train), wagon_stems(train.origin)
    own = {f"parts/{stem}.stl": key_of(*made_by, repr(train.description.printer), [
        (plan.name, item.part, item.plan, item.count) for plan, item in users]) for stem, users in files.items()}
    own |= {f"step/parts/{stem}.step": key_of(*made_by, item.part, item.plan)
            for stem, ((_, item), *_) in files.items()}
    own |= {f"step/{stems[plan.name]}.step": key_of(*made_by, plan) for plan in train.wagons}
    return lambda path: own.get(path, whole)


def still_true(target: Path, before: Record, now: Collection[str], source: Callable[[str], str]) -> list[Record]:
    """Return the records of those files of the build `before`, in the folder `target`, that are not written `now` and
    are as they would be; and of forms that somebody has filled in. Plates of what was chosen go with the next such."""
    gone = PICKED if any(path.startswith(PICKED) for path in now) else ()
    return [record(target, target / one["path"], **{name: value for name, value in one.items() if name not in MEASURED})
            for one in before.get("files", ()) if one["path"] not in now and not one["path"].startswith(gone)
            and _still(target / one["path"], one, source)]


def _still(path: Path, one: Record, source: Callable[[str], str]) -> bool:
    if not path.is_file():
        return False
    found = sha256(path.read_bytes()).hexdigest()
    filled_in = BLANK in one and found != one[BLANK]
    return filled_in or (found == one["sha256"] and one.get("made_of") == source(one["path"]))
