"""What a build puts on paper that needs no solid: ride card, constants for the controller, plots, plans and layouts.

Where there are processes to help, one of them draws it while the CAD kernel shapes the parts.
"""

from collections.abc import Callable, Collection, Iterator
from concurrent.futures import Executor
from functools import cache, partial
from hashlib import sha256
from pathlib import Path
from typing import Any

from msgspec import Struct

from partgen.describe.load import digest
from partgen.describe.run_form import form
from partgen.dynamics import ride as rides
from partgen.dynamics.ride import RidePlan
from partgen.export import firmware
from partgen.export.manifest import BLANK
from partgen.paper.filenames import cup_stems, slosh_stem, wagon_stems
from partgen.plan.train import TrainPlan
from partgen.report import layout_drawing, ride_card, wiring_sheet
from partgen.report.plots import draw_swings
from partgen.report.track_map import draw_nearest, draw_track
from partgen.scratch import scratch


class Paper(Struct, frozen=True):
    """A file of the build: its path within the folder, its bytes, and what its record tells besides."""

    name: str
    data: bytes
    about: dict[str, Any]


class Drawn(Struct, frozen=True):
    """What was drawn of a train, and the ride it was drawn of."""

    ride: RidePlan
    papers: tuple[Paper, ...]


Papers = Callable[[], Drawn]
"""Waits for what is being drawn and returns it."""

Named = Iterator[tuple[str, dict[str, Any]]]


def drawing(train: TrainPlan, kinds: Collection[str], hands: Executor | None) -> Papers:
    """Have everything of those `kinds` drawn by one of the `hands` while others work, or without any when it is asked
    for.

    A hand is handed the plan: on the demo that takes 10 ms, and to resolve it once more 30.
    """
    return hands.submit(papers, train, kinds).result if hands else cache(partial(papers, train, kinds))


def papers(train: TrainPlan, kinds: Collection[str]) -> Drawn:
    """Draw what needs no solid, track plans and layouts as "pictures" and what belongs to the "ride"; return what is of
    those `kinds` in the order in which it is shown."""
    with scratch() as folder:
        (folder / "pictures").mkdir()
        ride = rides.resolve(train)
        drawn = (("pictures", _plans(folder, train)), ("ride", _ride(folder, ride)))
        return Drawn(ride, tuple(Paper(one, (folder / one).read_bytes(), {"kind": kind} | about)
                                 for kind, found in drawn if kind in kinds for one, about in found))


def _plans(folder: Path, train: TrainPlan) -> Named:
    """Draw the plan views; yield name and record of each, layouts first."""
    stems = wagon_stems(train.origin)
    for plan in [plan for plan in train.wagons if plan.layout.placed]:
        name = f"pictures/{stems[plan.name]}-layout.png"
        layout_drawing.draw(plan, train.description.printer, folder / name)
        yield name, {"caption": f"{plan.name}: where each module goes, from above and from the right"}
    draw_track(train, folder / "pictures/track.png")
    yield "pictures/track.png", {"caption": "The track from above: what the train sweeps, and where it is tightest"}
    if draw_nearest(train, folder / "pictures/nearest-pair.png"):
        yield "pictures/nearest-pair.png", {"caption": "The two neighbours that come nearest, at that place"}


def _ride(folder: Path, ride: RidePlan) -> Named:
    """Draw ride card and plots of the swinging liquids, write the constants; yield name and record of each."""
    train = ride.train
    (folder / "firmware").mkdir()
    for name, text in firmware.files(ride, digest(train.description)).items():
        (folder / "firmware" / name).write_bytes(text.encode())
        yield f"firmware/{name}", {}
    yield from _cards(folder, ride)
    if train.description.cable:
        wiring_sheet.draw(train, *(folder / f"wiring.{kind}" for kind in ("png", "svg", "pdf")))
        yield "wiring.png", {"ride": "How the train is wired: every cable, wire by wire, and its fuse"}
        yield from ((f"wiring.{kind}", {}) for kind in ("svg", "pdf"))
    blank = form(train.description.title, [marker.stop for marker in ride.markers],
                 [cup.liquid.name for cup in ride.cups], bool(ride.lap)).encode()
    (folder / "first-run.toml").write_bytes(blank)
    yield "first-run.toml", {BLANK: sha256(blank).hexdigest()}
    stems = cup_stems(train.description)
    for number, cup in enumerate(ride.cups, 1):
        stem = f"pictures/{slosh_stem(number, stems[cup.liquid.name])}"
        draw_swings(ride, cup.liquid.name, folder / f"{stem}.png", folder / f"{stem}.svg")
        yield f"{stem}.png", {"ride": f"{cup.liquid.label}: the liquid in three kinds of stop"}
        yield f"{stem}.svg", {}


def _cards(folder: Path, ride: RidePlan) -> Named:
    """Draw the ride card, of one page or two; yield name and record of each."""
    more = ride_card.draw(ride, folder / "ride-card.png", folder / "ride-card.pdf")
    yield "ride-card.png", {"ride": f"The ride card, {'first of two pages' if more else 'one page'} to hang beside the "
                                    "track"}
    yield "ride-card.pdf", {}
    yield from ((path.name, {"ride": "The ride card's second page: cautions"} if path.suffix == ".png" else {})
                for path in more)
