"""The form of the first run: what stopwatch and ruler told of the train, read back with every fault at once."""

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from partgen.describe.faults import judged
from partgen.describe.field import Clashes, Table, extra, listing, number, text
from partgen.describe.lines import line_of, lines_of
from partgen.describe.toml_text import comment, frozen, parsed, text_at
from partgen.describe.wording import did_you_mean, value_text
from partgen.errors import DescriptionError, Fault, RunFormError

LONGEST_LAP, LONGEST_STOP = 3600.0, 30000.0     # s, mm: beyond, the unit is another one


class Laps(Table):
    """Laps that were timed."""

    times: tuple[float, ...] = listing(
        (), "time of each lap, run at one speed without a stop", "stopwatch at one mark beside the track, ten laps",
        unit="s", longest=100)
    way: float = number(0.0, "mm", 0, 200000, "way timed, from mark to mark; on a closed plan 0: one whole lap",
                        "a plan has a length", "string laid along the track")

    def conflicts(self) -> Clashes:
        yield from _outside("times", self.times, LONGEST_LAP, "s", "write what the stopwatch says for one lap")


class StopSeen(Table):
    """How far the train ran on at a stop."""

    name: str = text("", "which stop of the plan; left out: every stop not named", "as in the description", shortest=0,
                     longest=40)
    distances: tuple[float, ...] = listing(
        (), "way from the marker's edge that the sensor meets first to where the sensor comes to stand, each time; "
        "without a sensor from where braking began to where the train stands, both at the locomotive's front",
        "ruler along the rails, from running speed, several times", unit="mm", longest=100)

    def conflicts(self) -> Clashes:
        yield from _outside("distances", self.distances, LONGEST_STOP, "mm",
                            "write how far beyond the marker's first edge the sensor stands")


class RiseSeen(Table):
    """How high a liquid climbed."""

    cup: str = text(..., "which cup", "as in the description", longest=40)
    seen: float = number(0.0, "mm", 0, 200, "how far over its level at rest the liquid wetted the wall; 0: not looked",
                         "no cup is higher", "cold water, its level marked: ruler from the mark to the highest wet "
                         "place after a few laps")


class FirstRun(Table):
    """All that was measured on the first run; anything may be left out."""

    laps: Laps = Laps()
    stop: tuple[StopSeen, ...] = listing((), "one table a stop", longest=50)
    rise: tuple[RiseSeen, ...] = listing((), "one table a cup", longest=50)

    @property
    def empty(self) -> bool:
        """Was nothing measured?"""
        return not (self.laps.times or any(one.distances for one in self.stop) or any(one.seen for one in self.rise))

    def conflicts(self) -> Clashes:
        for kind, names in (("stop", [one.name for one in self.stop]), ("rise", [one.cup for one in self.rise])):
            for place, name in enumerate(names):
                if name in names[:place]:
                    yield f"{kind}[{place + 1}]", (f"{value_text(name) if name else 'a table without a name'} stands "
                                                   f"there twice: put its figures into one [[{kind}]]")


class RunForm(Struct, frozen=True):
    """A form as read, and the `lines` of its values by path."""

    run: FirstRun
    lines: Mapping[str, int]

    def wrong(self, faults: Iterable[Fault]) -> RunFormError:
        """Return what is wrong with the form, with the line of each fault."""
        return RunFormError(replace(fault, line=line_of(self.lines, fault.path)) for fault in faults)


def load_run(path: Path, stops: Sequence[str], cups: Sequence[str]) -> RunForm:
    """Return what the form at `path` says of the `stops` and `cups` by name. Raises RunFormError with every fault and
    where it stands."""
    try:
        content = text_at(path, BEGUN)
        run, faults = judged((), FirstRun, frozen(parsed(content, path.name, BEGUN)))
    except DescriptionError as error:
        raise RunFormError(error.faults) from error
    form = RunForm(run or FirstRun(), lines_of(content))
    unknown = [*_unknown("stop", "name", [one.name for one in form.run.stop], ["", *stops]),
               *_unknown("rise", "cup", [one.cup for one in form.run.rise], cups)]
    if not faults and form.run.empty:
        unknown.append(Fault("", "nothing was measured: fill in at least one figure of the form"))
    if faults or unknown:
        raise form.wrong([*faults, *unknown])
    return form


def _outside(name: str, figures: Iterable[float], most: float, unit: str, cure: str) -> Clashes:
    """Yield every figure of a list that cannot have been measured."""
    for place, figure in enumerate(figures, 1):
        if not 0 < figure <= most:
            yield f"{name}[{place}]", f"{name}[{place}] = {figure:g} {unit} is outside 0 to {most:g} {unit}: {cure}"


def _unknown(kind: str, key: str, names: Iterable[str], known: Sequence[str]) -> Iterable[Fault]:
    return [Fault(f"{kind}[{place}].{key}", f"{key} = {value_text(name)} is no {kind if kind == 'stop' else 'cup'} of "
                  f"this train{did_you_mean(name, filter(None, known))}")
            for place, name in enumerate(names, 1) if name not in known]


BEGUN = "`partgen build FILE` writes one, first-run.toml, beside the ride card"
HEAD = """\
#
# Fill in what you measure, with cold water in the cups; leave the rest as it is. Several figures stand with commas
# between: [23.8, 24.6, 24.1].
#
# Then run, FILE being your description, with the path to this form: partgen ride FILE --measured first-run.toml
# A build leaves this form as you filled it in; delete it to get a fresh one.
"""


def form(title: str, stops: Iterable[str], cups: Iterable[str], closed: bool) -> str:
    """Return the form to fill in as TOML text, for stops and cups by name, on a `closed` plan or an open one."""
    blocks = [comment(f'What the first run of "{" ".join(title.split())}" was like.'), HEAD,
              *_blocks("[laps]", Laps, [{"times": "[]"} if closed else {"times": "[]", "way": "0.0"}]),
              *_blocks("[[stop]]", StopSeen, [{"name": _quoted(name), "distances": "[]"} for name in stops]),
              *_blocks("[[rise]]", RiseSeen, [{"cup": _quoted(name), "seen": "0.0"} for name in cups])]
    return "\n".join(blocks)


def _blocks(heading: str, table: type[Table], many: Iterable[Mapping[str, str]]) -> Iterator[str]:
    """Yield the tables of one kind; the first says how each figure is measured."""
    for place, values in enumerate(many):
        told = [comment(f"{name}, in {unit}: {field.description}. How: {extra(field, 'measure')}.")
                for name, field in table.model_fields.items() if name in values and (unit := extra(field, "unit"))]
        yield "\n".join([*([] if place else told), heading, *(f"{name} = {one}" for name, one in values.items()), ""])


def _quoted(name: str) -> str:
    """Return a name as TOML text in double quotes."""
    return json.dumps(name, ensure_ascii=False)
