"""The only file that knows the order: description, plan, solids, meshes, findings, files.

Heavy rooms are imported inside the functions that need them: `check` must answer before the CAD kernel
would even have loaded.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from partgen.checks import paper
from partgen.describe.description import Description
from partgen.describe.load import load
from partgen.errors import MissingLibrary
from partgen.export.folder import ensure_room
from partgen.finding import Finding, worst
from partgen.plan import train as trains
from partgen.plan.train import TrainPlan

Progress = Callable[[str, float], None]
"""Called with what is being done and the share of the whole done so far, 0 to 1."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a command found and wrote: `folder` is None when nothing was exported."""

    description: Description
    train: TrainPlan
    findings: tuple[Finding, ...]
    folder: Path | None = None
    files: tuple[dict, ...] = ()
    warnings: tuple[str, ...] = ()

    @property
    def failed(self) -> bool:
        """Did any check fail?"""
        return worst(self.findings) == "fail"


def check(path: Path) -> Outcome:
    """Plan the description at `path` and run every check that needs no solid.

    Raises DescriptionError when the file cannot be used.
    """
    description = load(path)
    train = trains.resolve(description)
    return Outcome(description, train, paper.run(train))


def build(path: Path, out: Path, *, anyway: bool = False, pictures: bool = True,
          progress: Progress = lambda what, share: None) -> Outcome:
    """Build, check and export the train described at `path` into a folder of its own under `out`.

    Any failing check stops the export; with `anyway` the files are written and manifest and report say
    so. A wagon that the plan refuses is never drawn, so it stops the build in either case. Raises
    DescriptionError, OutputError, KernelError or MissingLibrary; nothing is then written.
    """
    checked = check(path)
    refused = any(plan.refusals for plan in checked.train.wagons)
    if refused or (checked.failed and not anyway):
        return checked
    ensure_room(out)
    workshop = _workshop()
    built, warnings = workshop.make(checked.train, progress)
    findings = (*paper.run(checked.train, leave_out=workshop.solid.REPLACED), *workshop.solid.run(built))
    if worst(findings) == "fail" and not anyway:
        return Outcome(checked.description, checked.train, findings, warnings=warnings)
    folder, files, missing = workshop.write(checked.description, built, findings, out, anyway, pictures, progress)
    return Outcome(checked.description, checked.train, findings, folder, files, (*warnings, *missing))


def _workshop():
    """Import everything that needs the CAD kernel, or say which system package is missing."""
    try:
        from partgen import workshop
    except ImportError as error:
        if ".so" not in str(error):
            raise
        raise MissingLibrary(f"the CAD kernel does not load ({error}): on Debian or Ubuntu run "
                             "apt-get install -y libgl1 libegl1 libgl1-mesa-dri") from error
    return workshop
