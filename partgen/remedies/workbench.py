"""A description under change: what the checks say of it after any edits, each asked once."""

from collections import Counter
from collections.abc import Sequence
from math import inf
from pathlib import Path
from time import process_time
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from partgen.checks import on_plan
from partgen.describe.description import Description
from partgen.describe.edits import Data, Edit, applied
from partgen.describe.lines import lines_of
from partgen.describe.load import examine
from partgen.describe.toml_text import parsed, text_at
from partgen.finding import Finding
from partgen.identity import Subject
from partgen.packing.pack import TooLate, searching_until
from partgen.plan import wagon as wagons
from partgen.plan.context import context_of
from partgen.plan.train import TrainPlan, trackside_of
from partgen.plan.wagon import WagonPlan

Fails = frozenset[tuple[str, Subject, int]]
"""(check, subject, which of those) of all that fails: a check may find several things amiss with one."""

Edits = tuple[Edit, ...]
Key = tuple[tuple[object, str], ...]


class OutOfTime(Exception):
    """The time for trying is over."""


class Workbench(Struct):
    """A description as TOML data, its own presets looked for in `folder`, the `lines` of its file by path, and what was
    found out about edits of it.

    A trial after `until`, by `time.process_time` [s], raises OutOfTime, and so does one for which modules have to be
    arranged anew and that would last beyond `latest`; `tried` counts the trials.
    """

    data: Data
    folder: Path
    lines: dict[str, int] = field(default_factory=dict)
    until: float = inf
    latest: float = inf
    tried: int = 0
    _trains: dict[Key, TrainPlan | None] = field(default_factory=dict)
    _wagons: dict[Any, WagonPlan] = field(default_factory=dict)
    _judged: dict[Key, Edits] = field(default_factory=dict)
    _found: dict[tuple[Key, str, frozenset[str]], tuple[Finding, ...]] = field(default_factory=dict)

    def train(self, edits: Edits = ()) -> TrainPlan | None:
        """Return the train after `edits`; None where they make no sound description. Raises OutOfTime."""
        key = _key(edits)
        if key not in self._trains:
            if process_time() > self.until and edits:
                raise OutOfTime
            self.tried += bool(edits)
            described, _ = examine(applied(self.data, edits), self.folder)
            with searching_until(self.latest if edits else inf):
                try:
                    self._trains[key] = self._resolved(described) if described else None
                except TooLate as late:
                    raise OutOfTime from late
        return self._trains[key]

    def found(self, edits: Edits, check: str = "", wagons: Sequence[str] = ()) -> tuple[Finding, ...] | None:
        """Return what one check, or all where none is named, finds after `edits`, asked about the `wagons` or about
        all; None where the edits make no sound description. Raises OutOfTime."""
        train, found = self.train(edits), self.every(edits, check, wagons)
        return None if train is None or found is None else on_plan.causes(train, found)

    def every(self, edits: Edits, check: str = "", wagons: Sequence[str] = ()) -> tuple[Finding, ...] | None:
        """Return the same with what follows from a wagon that cannot be as wished."""
        train = self.train(edits)
        if train is None:
            return None
        key = _key(edits), check, frozenset(wagons)
        if edits and not check:
            self._judged[key[0]] = edits
        if key not in self._found:
            asked = replace(train, only=frozenset(wagons)) if wagons else train
            self._found[key] = on_plan.every(asked, only={check} if check else None)
        return self._found[key]

    @property
    def judged(self) -> tuple[Edits, ...]:
        """The edits that all checks were asked about."""
        return tuple(self._judged.values())

    def fails(self, edits: Edits) -> Fails | None:
        """Return all that fails after `edits`; None where they make no sound description. Raises OutOfTime."""
        found = self.found(edits)
        return None if found is None else failing(found)

    def all_fails(self, edits: Edits) -> Fails | None:
        """Return the same with what follows from a wagon that cannot be as wished."""
        found = self.every(edits)
        return None if found is None else failing(found)

    def _resolved(self, described: Description) -> TrainPlan:
        """Resolve the train; a wagon of which nothing has changed is as it was."""
        by_name = {wagon.name: wagon for wagon in described.wagon}
        plans = []
        for name in described.train.order or by_name:
            wagon = by_name[name]
            used = {*wagon.modules, *wagon.cups, *wagon.inserts}
            context = context_of(wagon, described)
            key = tuple(tuple((name, part[name]) for name in sorted(used & part.keys())) if isinstance(part, dict)
                        else part for part in (getattr(context, name) for name in context.__struct_fields__))
            if key not in self._wagons:
                self._wagons[key] = wagons.resolve(wagon, described)
            plans.append(self._wagons[key])
        return TrainPlan(described, tuple(plans), trackside_of(described, tuple(plans)))


def bench_of(path: Path, seconds: float = inf) -> Workbench:
    """Return the workbench of the description in the file at `path`, with so many `seconds` for trials. Raises
    DescriptionError when it cannot be used."""
    text = text_at(path)
    return Workbench(parsed(text, path.name), path.parent, lines_of(text), process_time() + seconds)


def failing(found: Sequence[Finding]) -> Fails:
    """Return who fails what among findings, those of one check and subject counted."""
    met: Counter[tuple[str, Subject]] = Counter()
    for one in found:
        met[one.check, one.subject] += one.verdict == "fail"
    return frozenset((*key, number) for key, count in met.items() for number in range(count))


def _key(edits: Edits) -> Key:
    return tuple((one.steps, repr(one.value)) for one in edits)
