"""The pieces of a build counted where they ended up: in its files as they were written, in what tells of them."""

import json
import re
from collections import Counter
from collections.abc import Collection, Iterable, Iterator
from pathlib import Path

from partgen.checks.pieces import Tally
from partgen.identity import ModulesId, PartId, SeatId, Subject
from partgen.paper.assembly import steps
from partgen.paper.filenames import User, wagon_stems
from partgen.paper.order import PrintJob
from partgen.parts.record import Bought
from partgen.plan.train import TrainPlan

_OCCURRENCE = re.compile(rb"NEXT_ASSEMBLY_USAGE_OCCURRENCE\('\d+','([^' ]*)")
_JSON = 20              # bytes of a .glb before its JSON, whose length stands in bytes 12 to 15 (glTF 2.0, 4.4)


def tallies(folder: Path, records: Iterable[dict], job: PrintJob, bought: Iterable[Bought]) -> Iterator[Tally]:
    """Yield the pieces of a train in every place: in the `folder` that was written, of which `records` tell, in the
    print `job`, the assembly, and the bill of what is `bought`."""
    train = job.train
    there = {record["path"]: record for record in records if (folder / record["path"]).is_file()}
    listed = {"STL files": {Path(path).stem: record["count"] for path, record in there.items() if record["part"]},
              "plates": sum((Counter(record["holds"]) for record in there.values() if record.get("plate")), Counter()),
              "print order": sum((Counter({row["file"]: row["count"]}) for row in job.order()
                                  if row["file"] in job.files), Counter[str]())}
    everything = _planned((plan, item) for plan in train.printed for item in plan.items)
    users = {stem: [(plan.part_id(item.name), item.count) for plan, item in both] for stem, both in job.files.items()}
    for place, counts in listed.items():
        yield Tally(f"the {place}", everything, _shared_out((count, users[stem]) for stem, count in counts.items()))
    standing = _planned((plan, item) for plan in train.wagons for item in plan.items if not item.loose)
    yield Tally("the wagons' STEP files", standing, Counter(_in_step(folder, train)))
    yield Tally("train.glb", standing, Counter(_in_glb(folder, train)))
    shown = [(step.wagons, part) for step in steps(train) for part in (*(step.there or ()), *step.new)]
    told: set[Subject] = {PartId(name, part) for wagons, part in shown for name in wagons}
    told |= {train.trackside.part_id(part) for wagons, part in shown if not wagons}
    kinds = dict.fromkeys(everything, 1)        # these tell of each kind of part once, however many there are
    single = {who for stem, both in users.items() if f"step/parts/{stem}.step" in there for who, _ in both}
    yield Tally("the STEP files of single parts", kinds, dict.fromkeys(single, 1))
    yield Tally("the assembly's steps", kinds, dict.fromkeys(told & set(kinds), 1))
    yield Tally("the bill of materials", Counter(_cargo(train)), _shared_out(
        (line.count, Counter(line.cargo).items()) for line in bought if line.cargo))


def _planned(users: Iterable[User]) -> Counter[Subject]:
    """Return how many pieces the plan has of every kind of part."""
    return sum((Counter({plan.part_id(item.name): item.count}) for plan, item in users), Counter[Subject]())


def _shared_out(counted: Iterable[tuple[int, Collection[tuple[Subject, int]]]]) -> Counter[Subject]:
    """Share out what was counted of each kind to its (user, pieces wanted), in order; the last has what is over."""
    found: Counter[Subject] = Counter()
    for left, users in counted:
        for who, wanted in users:
            found[who] += min(left, wanted)
            left -= min(left, wanted)
        found[who] += left
    return found


def _in_step(folder: Path, train: TrainPlan) -> Iterator[PartId]:
    """Yield every printed part that stands in the wagons' assemblies; what is bought stands there as well, under names
    that no part has."""
    stems = wagon_stems(train.origin)
    for plan in train.wagons:
        path, printed = folder / "step" / f"{stems[plan.name]}.step", {item.name for item in plan.items}
        found = [part.decode() for part in _OCCURRENCE.findall(path.read_bytes())] if path.is_file() else []
        yield from (PartId(plan.name, part) for part in found if part in printed)


def _in_glb(folder: Path, train: TrainPlan) -> Iterator[PartId]:
    """Yield every part that stands in the train's scene: its nodes are called wagon/part, with a number where there
    are several."""
    names = {stem: name for name, stem in wagon_stems(train.origin).items()}
    path = folder / "train.glb"
    data = path.read_bytes() if path.is_file() else bytes(_JSON)
    length = int.from_bytes(data[12:16], "little")
    for node in json.loads(data[_JSON:_JSON + length] or b"{}").get("nodes", ()):
        if "mesh" in node:
            wagon, part = node["name"].split("/")
            yield PartId(names[wagon], part.split(" ")[0])


def _cargo(train: TrainPlan) -> Iterator[Subject]:
    """Yield every module and cup that rides, by its wagon and name."""
    for plan in train.wagons:
        yield from (ModulesId(plan.name, (name,)) for name, _ in plan.modules)
        yield from (SeatId(plan.name, seat.cup) for seat, _ in plan.cups)
