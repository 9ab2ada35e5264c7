"""The pieces of a build counted where they ended up: in its files as they were written, in what tells of them."""

import json
import re
from collections import Counter
from collections.abc import Collection, Iterable, Iterator
from pathlib import Path

from partgen.checks.pieces import Tally
from partgen.identity import ModulesId, PartId, SeatId, Subject
from partgen.paper.assembly import steps
from partgen.paper.filenames import User, part_files, wagon_stems
from partgen.paper.order import PrintJob
from partgen.parts.record import Bought
from partgen.pipeline.asked import EVERYTHING, Asked
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan

_OCCURRENCE = re.compile(rb"NEXT_ASSEMBLY_USAGE_OCCURRENCE\('\d+','([^' ]*)")
_JSON = 20              # bytes of a .glb before its JSON, whose length stands in bytes 12 to 15 (glTF 2.0, 4.4)


def tallies(folder: Path, records: Iterable[dict], job: PrintJob, bought: Iterable[Bought],
            asked: Asked = EVERYTHING) -> Iterator[Tally]:
    """Yield the pieces of a train in every place: in the `folder` that was written, of which `records` tell, in the
    print `job`, the assembly, and the bill of what is `bought`; of what was `asked` for only the files."""
    chosen = asked.chosen(job.train)
    there = {record["path"]: record for record in records if (folder / record["path"]).is_file()}
    planned = [(plan, item) for plan in job.train.printed for item in plan.items]
    wanted = [(plan, item) for plan, item in planned if (plan.name, item.name) in chosen]
    yield from _to_print(there, job, asked, planned, wanted)
    yield from _in_space(folder, there, job, asked, wanted)
    if asked.everything:
        yield from _told(job.train, bought, _planned(wanted))


def _to_print(there: dict[str, dict], job: PrintJob, asked: Asked, planned: list[User], wanted: list[User]
              ) -> Iterator[Tally]:
    """Yield what the files tell to print; a part's own file is of all who use it, asked for or not."""
    if "stl" in asked.kinds:
        kinds, users = {(item.name, item.plan) for _, item in wanted}, _counted(part_files(job.train))
        pieces = _planned((plan, item) for plan, item in planned if (item.name, item.plan) in kinds)
        yield Tally("the STL files", pieces, _shared_out((record["count"], users[Path(path).stem])
                                                         for path, record in there.items() if record["part"]))
    listed = {}
    if "plates" in asked.kinds:
        listed["plates"] = sum((Counter(record["holds"]) for record in there.values() if record.get("plate")),
                               Counter[str]())
    if asked.everything:
        listed["print order"] = sum((Counter({row["file"]: row["count"]}) for row in job.order()
                                     if row["file"] in job.files), Counter[str]())
    users = _counted(job.files)
    for place, counts in listed.items():
        yield Tally(f"the {place}", _planned(wanted), _shared_out((count, users[stem])
                                                                  for stem, count in counts.items()))


def _in_space(folder: Path, there: dict[str, dict], job: PrintJob, asked: Asked, wanted: list[User]
              ) -> Iterator[Tally]:
    """Yield what stands in the files for CAD programs and in the scene; a wagon's own is there where it is whole."""
    if "step" in asked.kinds:
        names = {(plan.name, item.name) for plan, item in wanted}
        whole = [plan for plan in job.train.wagons if all((plan.name, item.name) in names for item in plan.items)]
        yield Tally("the wagons' STEP files", _standing(whole), Counter(_in_step(folder, job.train)))
        single = {who for stem, both in _counted(job.files).items() if f"step/parts/{stem}.step" in there
                  for who, _ in both}
        yield Tally("the STEP files of single parts", dict.fromkeys(_planned(wanted), 1), dict.fromkeys(single, 1))
    if "gltf" in asked.kinds:
        yield Tally("train.glb", _standing(job.train.wagons), Counter(_in_glb(folder, job.train)))


def _told(train: TrainPlan, bought: Iterable[Bought], everything: Counter[Subject]) -> Iterator[Tally]:
    """Yield what assembly and bill tell of: of each kind of part once, however many there are."""
    shown = [(step.wagons, part) for step in steps(train) for part in (*(step.there or ()), *step.new)]
    told: set[Subject] = {PartId(name, part) for wagons, part in shown for name in wagons}
    told |= {beside.part_id(part) for wagons, part in shown if not wagons for beside in train.beside}
    kinds = dict.fromkeys(everything, 1)
    yield Tally("the assembly's steps", kinds, dict.fromkeys(told & set(kinds), 1))
    yield Tally("the bill of materials", Counter(_cargo(train)), _shared_out(
        (line.count, Counter(line.cargo).items()) for line in bought if line.cargo))


def _counted(files: dict[str, list[User]]) -> dict[str, list[tuple[Subject, int]]]:
    """Return by file who uses it, and how many pieces of it."""
    return {stem: [(plan.part_id(item.name), item.count) for plan, item in users] for stem, users in files.items()}


def _standing(wagons: Iterable[WagonPlan]) -> Counter[Subject]:
    """Return how many pieces stand in those wagons."""
    return _planned((plan, item) for plan in wagons for item in plan.items if not item.loose)


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
