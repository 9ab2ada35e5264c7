"""The drawings of a train on disk: every sheet, all of them in one file, and the manifest that tells what was written.

Where the markers lie hangs on how fast the train goes where, which takes as long to plan as all else takes to draw:
where there is a second core a process of its own does it meanwhile.
"""

from collections.abc import Iterator
from contextlib import contextmanager, nullcontext, suppress
from functools import partial
from pathlib import Path

from partgen.describe.load import digest
from partgen.dynamics.markers import Marker
from partgen.dynamics.ride import course
from partgen.dynamics.speeds import radii_of
from partgen.export.manifest import DRAWINGS, NAME, Record, drawing_manifest, record
from partgen.files import put, replaced
from partgen.interrupts import workers
from partgen.pipeline.hands import cores
from partgen.pipeline.places import Place, seen_from
from partgen.plan.train import TrainPlan
from partgen.report.sheets.drawings import draw_all
from partgen.report.typefaces import boxes
from partgen.scratch import locked

MOST_RADII = 6          # about half a second for each


def write(train: TrainPlan, place: Place) -> tuple[Path, tuple[Record, ...], tuple[str, ...]]:
    """Write the drawings of a train into the folder of its `place`, from which the build of another train then goes;
    return the folder, what is told of each file, and warnings."""
    described = train.description
    target = place.folder / DRAWINGS
    helper = workers(1) if cores() > 1 and train.trackside.marker and soon_told(train) else nullcontext()
    out = place.folder.resolve().parent     # no build of the train moves the folder away meanwhile
    with _emptied(place.folder), helper as pool, locked(out), replaced(target, place.giving_way_to_drawings) as fresh:
        markers = pool.submit(markers_of, train).result if pool else partial(markers_of, train)
        files = tuple(record(fresh, fresh / one.pop("path"), **one) for one in draw_all(train, markers, fresh))
        put(fresh / NAME, drawing_manifest(described.title, seen_from(target, place.file), digest(described),
                                             files).encode())
    if place.others_build():
        with replaced(place.folder, place.others_build):
            pass
    return target, files, boxes(described)


@contextmanager
def _emptied(folder: Path) -> Iterator[None]:
    """Take away again, where what is done meanwhile fails, `folder` and those round it that were made for it."""
    made = [place for place in (folder, *folder.parents) if not place.exists()]
    try:
        yield
    except BaseException:
        with suppress(OSError):     # one in which something stands stays
            for place in made:
                place.rmdir()
        raise


def markers_of(train: TrainPlan) -> tuple[Marker, ...] | None:
    """Return the markers of a train's stops, none without a sensor that sees them; None where they are not soon
    told."""
    if not train.trackside.marker:
        return ()
    return course(train).markers if soon_told(train) else None


def soon_told(train: TrainPlan) -> bool:
    """Are its markers found while somebody waits who changes a number? Not where its curves have many radii, for each
    of which the speed has to be found, nor where it has a wagon that the plan refuses."""
    few = len(radii_of(train.description.track)) <= MOST_RADII
    return few and not any(plan.wanting for plan in train.wagons)
