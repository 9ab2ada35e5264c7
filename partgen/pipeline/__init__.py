"""The only file that knows the order: description, plan, solids, meshes, findings, files.

Heavy rooms are imported inside the functions that need them: `check` must answer before the CAD kernel
would even have loaded.
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, nullcontext
from pathlib import Path
from time import process_time
from types import ModuleType
from typing import TYPE_CHECKING, Any

from msgspec import Struct
from msgspec.structs import replace

from partgen.checks import on_plan
from partgen.checks.hangs import hanging
from partgen.describe.description import Description
from partgen.describe.load import load
from partgen.errors import MissingLibrary
from partgen.files import ensure_room, put
from partgen.finding import Finding, worst
from partgen.identity import title_stem
from partgen.interrupts import interrupts_held
from partgen.kept import Store, store
from partgen.paper.filenames import wagon_stems
from partgen.pipeline.hands import helped, room
from partgen.plan import train as trains
from partgen.plan.train import TrainPlan

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from partgen.dynamics.first_run import Corrected
    from partgen.dynamics.ride import RidePlan
    from partgen.paper.order import InTime
    from partgen.pipeline.asked import Asked
    from partgen.pipeline.places import Place
    from partgen.printing.calibration import Calibration
    from partgen.remedies.mend import Mended
    from partgen.remedies.tune import Tightest, Tuning
    from partgen.remedies.workbench import Workbench

TRYING, MENDING = 2.2, 60.0      # s for a check that fails with its remedies, and to mend a train
LEAST_TRYING = 0.3      # s for the remedies, however long the check took

Progress = Callable[[str, float], None]
"""Called with what is being done and the share of the whole done so far, 0 to 1."""


def silent(what: str, share: float) -> None:
    """Tell nobody of the progress."""


class Outcome(Struct, frozen=True):
    """What a command found of a description's `file` and wrote: `folder` is None when nothing was
    exported. With a `cut` the train is what rolls by then of a longer one. `cautions` are told of a build, which is
    `complete` but for pictures that could not be taken; `reused` and `made` count by kind what of it was kept from
    before and what was not; `changed` tells which parts are other ones than those that count as printed,
    `asked` what was asked for where not all was, and what stays of that build."""

    description: Description
    train: TrainPlan
    findings: tuple[Finding, ...]
    folder: Path | None = None
    files: tuple[dict[str, Any], ...] = ()
    warnings: tuple[str, ...] = ()
    cut: "InTime | None" = None
    ridden: "RidePlan | None" = None
    cautions: tuple[tuple[str, str], ...] = ()
    complete: bool = True
    reused: dict[str, int] = {}
    made: dict[str, int] = {}
    changed: dict[str, Any] | None = None
    asked: dict[str, Any] | None = None
    took: float = 0.0       # s of the processor, of the check
    file: Path = Path()

    @property
    def ride(self) -> "RidePlan":
        """The train's ride, as it was `ridden` where something was drawn of it."""
        from partgen.dynamics.ride import resolve
        return self.ridden or resolve(self.train)

    @property
    def refused(self) -> bool:
        """Is there a wagon that the plan refuses, so that it cannot be drawn?"""
        return any(plan.wanting for plan in self.train.wagons)

    @property
    def failed(self) -> bool:
        """Did any check fail?"""
        return worst(self.findings) == "fail"


def check(path: Path) -> Outcome:
    """Plan the description at `path` and run every check that needs no solid.

    Raises DescriptionError when the file cannot be used.
    """
    start, description = process_time(), load(path)
    train = trains.resolve(description)
    findings = tuple(hanging(on_plan.run(train), description))
    return Outcome(description, train, findings, took=process_time() - start, file=path)


def treated(path: Path, outcome: Outcome) -> Iterator[Finding]:
    """Yield the failing findings of what `check` found of the file at `path`, each with the remedies that were tried on
    it, as they are found; in what the check has left of TRYING altogether, of which each finding has its share of what
    is left."""
    from partgen.remedies.search import all_treated
    from partgen.remedies.workbench import bench_of
    bench, end = bench_of(path), process_time() + max(TRYING - outcome.took, LEAST_TRYING)
    bench.latest = end
    yield from all_treated(bench, [finding for finding in outcome.findings if finding.verdict == "fail"], end)


def mend(path: Path, *, write: bool = False, seconds: float = MENDING, progress: Progress = silent
         ) -> "tuple[Workbench, Mended]":
    """Search for edits of the description at `path` after which every check holds; with `write` they go into the file,
    comments and layout kept, but for what can only be measured.

    Returns (the workbench of the file as it was, what was found). Raises DescriptionError when the file cannot be used.
    """
    from partgen.describe.edits import write_back
    from partgen.remedies.mend import mend as mended
    from partgen.remedies.workbench import bench_of
    load(path)
    bench = bench_of(path, seconds)
    found = mended(bench, progress)
    if write and found.choices:
        write_back(path, found.choices)
    return bench, found


def tune(path: Path, *, write: bool = False,
         progress: Progress = silent) -> "tuple[Description, tuple[Tuning, ...], Tightest]":
    """Find the working interval of every wagon's wheelbase or pivot spacing, and how tight the track could be.

    With `write` the best values go into the file at `path`, comments and layout kept. Returns the
    description, a Tuning a wagon, and (smallest radius [mm] or None, what binds there).
    """
    from partgen.describe.edits import Edit, write_back
    from partgen.remedies import tune as tuning
    description = load(path)
    tuned, tightest = tuning.tune(description, progress)
    if write:
        write_back(path, [Edit(("wagon", place, one.variable), one.best)
                          for place, one in enumerate(tuned) if one.best is not None])
    return description, tuned, tightest


def ride(path: Path) -> "tuple[Description, RidePlan]":
    """Plan the ride of the train described at `path`; return (description, its RidePlan).

    Raises DescriptionError when the file cannot be used.
    """
    from partgen.dynamics import ride as rides
    description = load(path)
    return description, rides.resolve(trains.resolve(description))


def first_run(path: Path, measured: Path, *, write: bool = False) -> "Corrected":
    """Put the figures of the first run, in the form at `measured`, back into the ride of the train described at `path`;
    with `write` they go into the file, comments and layout kept.

    Raises DescriptionError, RunFormError with every figure that cannot be, or OutputError.
    """
    from partgen.describe.edits import write_back
    from partgen.describe.run_form import load_run
    from partgen.dynamics.first_run import corrected
    _, planned = ride(path)
    found = corrected(planned, load_run(measured, [marker.stop for marker in planned.markers],
                                        [cup.liquid.name for cup in planned.cups]))
    if write and found.edits:
        write_back(path, found.edits)
    return found


def draw_tuning(description: Description, tuned: "Sequence[Tuning]", folder: Path) -> None:
    """Draw the margins of every tuned wagon of a description into `folder` [mm, %]; OutputError when it cannot be
    written."""
    from partgen.remedies.tune import reserves
    from partgen.report.plots import draw_margins
    ensure_room(folder)
    stems = wagon_stems(description)
    for one in [one for one in tuned if one.low is not None]:
        draw_margins(one, reserves(one.samples), folder / f"{stems[one.wagon]}-{one.variable.replace('_', '-')}")


def draw(path: Path, out: Path, *, replace_other: bool = False, checked: Outcome | None = None) -> Outcome:
    """Draw the train described at `path`, from its plan alone, into `drawings` in a folder of its own under `out`;
    where the file was `checked` before, as it was then.

    Of what stood there only what an earlier drawing wrote gives way; a folder of another train is refused, as `build`
    does. Raises DescriptionError or OutputError; nothing is then written.
    """
    from partgen.pipeline.places import ensure_place
    description = checked.description if checked else load(path)
    place = ensure_place(description, path, out, replace_other, drawings=True)
    from partgen.pipeline import drawing_files
    train = checked.train if checked else trains.resolve(description)
    folder, files, notes = drawing_files.write(train, place)
    return Outcome(description, train, (), folder, files, notes)


def coupon(path: Path, out: Path, progress: Progress = silent) -> Outcome:
    """Draw, check and write the printer's coupon for the train described at `path` into a folder under `out`.

    A failing check stops it. Raises DescriptionError or OutputError; nothing is then written.
    """
    description = load(path)
    train = trains.resolve(description)
    ensure_room(out)
    from partgen.pipeline import coupon_files
    mesh, findings = coupon_files.draw(description, progress)
    if worst(findings) == "fail":
        return Outcome(description, train, findings)
    folder, files, notes = coupon_files.write(description, mesh, out, path.name, progress)
    return Outcome(description, train, findings, folder, files, notes)


def calibrate(path: Path, measured: Path, out: Path) -> "tuple[Calibration, Path]":
    """Fit the printer's offsets to the form at `measured` and write them as a preset under `out`.

    Returns (the Calibration, the preset's path). Raises DescriptionError, naming every figure that cannot be or
    contradicts the rest, or OutputError.
    """
    from partgen.describe.coupon_form import load_measured
    from partgen.describe.presets import written
    from partgen.printing.calibration import calibrate as fitted
    description = load(path)
    found = fitted(load_measured(measured), description.printer)
    source = f"measured on the coupon of {description.title}, {found.readings} figures"
    target = out / f"{title_stem(description.title)}-coupon" / "printer.toml"
    ensure_room(out)
    put(target, written("printer", found.printer.model_dump(), source).encode())
    return found, target


def build(path: Path, out: Path, *, anyway: bool = False, pictures: bool = True, hours: float | None = None,
          replace_other: bool = False, asked: "Asked | None" = None, executor: "Executor | None" = None,
          kept: Store | None = None, checked: Outcome | None = None, progress: Progress = silent) -> Outcome:
    """Build, check and export the train described at `path` into a folder of its own under `out`, all of it or what is
    `asked` for; where the file was `checked` before, as it was then.

    Any failing check stops the export; with `anyway` the files are written and manifest and report say
    so. A wagon that the plan refuses is never drawn, so it stops the build in either case. With `hours`
    only the wagons are kept that can be printed in that time, and the rest is left out. A folder that holds the train
    of another file with the same title is refused, unless it is wished to `replace_other`. Parts are shaped by an
    `executor` that is handed in, or by processes beside this one where the machine has room for them. What was made
    before is `kept` in the user's own store where none is handed in.
    Raises DescriptionError, UnknownName, OutputError, TooSoon, KernelError, WorkersLost or MissingLibrary; nothing is
    then written.
    """
    checked = checked or check(path)
    if checked.refused or (checked.failed and not anyway):
        return checked
    from partgen.export.manifest import earlier
    from partgen.pipeline.asked import Asked
    from partgen.pipeline.places import ensure_place
    from partgen.pipeline.repeat import again, remember, wishes
    place = ensure_place(checked.description, path, out, replace_other)
    asked = (asked or Asked()).settled(checked.train, pictures)
    kept, things = store() if kept is None else kept, wishes(checked.description, anyway, asked, hours)
    try:
        done = again(things, checked, place, kept) if asked.everything else None
        if done is None:
            with helped(asked.shaped(checked.train), kept, executor) as hands:
                done = _built(checked, place, anyway, asked, hours, kept, hands, progress)
            done = remember(things, done, asked, kept)
        told = earlier(done.folder) if done.folder else {}
        return replace(done, reused=dict(kept.reused), made=dict(kept.made), changed=told.get("changed"),
                       asked=told.get("asked"))
    finally:
        kept.tidy()


def printed(path: Path, out: Path, *, replace_other: bool = False) -> None:
    """Note in the folder under `out` of the train described at `path` that the parts as they stand there are printed
    and the controller has their constants, so that later builds are held against them.

    Raises DescriptionError, or OutputError where no parts stand there, or those of another train.
    """
    from partgen.export.reprint import tell_printed
    from partgen.pipeline.places import ensure_place
    tell_printed(ensure_place(load(path), path, out, replace_other).folder)


def made_alone(checked: Outcome, out: Path, anyway: bool, asked: "Asked", hours: float | None, kept: Store) -> None:
    """Build what was `checked` into `out` by this process alone, and remember it in what is `kept`."""
    from partgen.pipeline.places import Place, folder_of
    from partgen.pipeline.repeat import remember, wishes
    place = Place(folder_of(checked.description.title, out), checked.description, checked.file)
    remember(wishes(checked.description, anyway, asked, hours),
             _built(checked, place, anyway, asked, hours, kept, None, silent), asked, kept)


def _built(checked: Outcome, place: "Place", anyway: bool, asked: "Asked", hours: float | None, kept: Store,
           hands: "Executor | None", progress: Progress) -> Outcome:
    """Shape what is not `kept` yet, by `hands` where there are any, prove and write what is `asked` for."""
    workshop = _workshop()
    from partgen.checks import on_solids
    from partgen.pipeline.papers import drawing
    from partgen.report.album import sitting
    from partgen.report.typefaces import boxes
    if hours is not None:
        checked = workshop.in_time(checked, hours, kept, hands, progress)
        asked = asked.settled(checked.train, pictures=True)     # whose wagons may be left out now
    papers = drawing(checked.train, asked.kinds, hands)
    built, warnings = workshop.make(checked.train, kept, hands, progress, asked)
    # The pictures are drawn by a process of their own while the checks run and the files are written.
    with sitting(built, room()) if "pictures" in asked.kinds else nullcontext() as album:
        progress("checking", workshop.SOLIDS_SHARE)
        unasked = on_solids.unasked(built)
        on_paper = on_plan.run(checked.train, leave_out=() if unasked else on_solids.REPLACED)
        findings = tuple(hanging((*on_paper, *on_solids.run(built)), checked.train.description))
        said = (*checked.warnings, *boxes(checked.train.description), *warnings, *filter(None, [unasked]))
        found = replace(checked, findings=findings, warnings=said)
        if found.failed and not anyway:
            return found
        return workshop.write(built, found, place, anyway, asked, papers, album, progress)


@contextmanager
def loading() -> Iterator[None]:
    """Hold Ctrl-C while the CAD kernel loads, which it would crash; say which system package is missing where it does
    not."""
    try:
        with interrupts_held():
            yield
    except ImportError as error:
        if ".so" not in str(error):
            raise
        raise MissingLibrary(f"the CAD kernel does not load ({error}): on Debian or Ubuntu run "
                             "apt-get install -y libgl1 libegl1 libgl1-mesa-dri") from error


def _workshop() -> ModuleType:
    """Import what builds, of which some needs the CAD kernel."""
    with loading():
        from partgen.pipeline import workshop
    return workshop
