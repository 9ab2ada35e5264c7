"""All drawings of a train, sheet by sheet: every wagon with its dimensions, where modules lie, the train on its plan.

They are drawn from the plan alone. Each is an SVG, and all together are one PDF; the bytes of both repeat.
"""

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from partgen.dynamics.markers import Marker
from partgen.paper.filenames import wagon_stems
from partgen.paper.sizes import Sizes, sizes
from partgen.plan.train import TrainPlan
from partgen.plan.wagon import WagonPlan
from partgen.report import layout_drawing, wiring_sheet
from partgen.report.sheet import METADATA, save
from partgen.report.sheets import plan_drawing, wagon_drawing
from partgen.report.sheets.drafting import SMALL, Format, Titles, drawn_sheet, letters

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

TOGETHER = "drawings.pdf"
REFUSED, INVENTED = "cannot be built so: see partgen check", "all figures invented"
WITHOUT = " Markers are left out: partgen ride tells where they lie."
MANY = 8                # cables, for the larger paper
LETTERS_A_LINE, LINE = 78, 3.4      # of what is said beside a title block; mm


Markers = Sequence[Marker] | None
"""Markers on a plan; None where they are left out."""


class Sheet(Struct, frozen=True):
    """A sheet: its file's stem, what it shows, paper and scale, what draws it, and whether the plan refuses it."""

    stem: str
    name: str
    form: Format
    draw: "Callable[[Figure, Axes], None]"
    refused: bool = False
    folded: bool = True

    @property
    def record(self) -> dict[str, Any]:
        """What is told of its file."""
        return {"path": f"{self.stem}.svg", "shows": self.name, "paper": self.form.paper, "scale": self.form.ratio}


def draw_all(train: TrainPlan, markers: Callable[[], Markers], folder: Path) -> tuple[dict[str, Any], ...]:
    """Draw every sheet into `folder`; return what is told of each file. `markers` is asked last, for the plan."""
    from matplotlib.backends.backend_pdf import PdfPages
    count = sum(2 if plan.layout.placed else 1 for plan in train.wagons) + 1
    count += bool(train.description.cable)
    told = []
    with PdfPages(folder / TOGETHER, metadata=METADATA[".pdf"]) as book:
        for number, one in enumerate(sheets(train, markers), 1):
            remark = [REFUSED] * one.refused + [INVENTED] * train.description.invented
            titles = Titles(train.description.title, one.name, number, count, "; ".join(remark), one.folded)
            with drawn_sheet(one.form, titles) as (figure, axes):
                one.draw(figure, axes)
                save(figure, folder / f"{one.stem}.svg")
                book.savefig(figure)
            told.append(one.record)
    return (*told, {"path": TOGETHER, "shows": f"all {count} sheets"})


def sheets(train: TrainPlan, markers: Callable[[], Markers]) -> Iterator[Sheet]:
    """Yield every sheet of a train: each wagon's, then the layout of each that has modules, then the plan."""
    stems = wagon_stems(train.origin)
    for plan, size in zip(train.wagons, sizes(train), strict=True):
        yield _wagon(train, stems[plan.name], plan, size)
    for plan in [plan for plan in train.wagons if plan.layout.placed]:
        form = layout_drawing.format_for(plan)
        yield Sheet(f"{stems[plan.name]}-layout", f"{plan.name}: where each module goes", form,
                    partial(layout_drawing.draw_on, form=form, plan=plan, printer=train.description.printer),
                    bool(plan.wanting))
    if train.description.cable:
        form = Format("A3" if len(train.description.cable) > MANY else "A4", 1.0)
        yield Sheet("wiring", "how it is wired; not to scale", form,
                    lambda _, axes: wiring_sheet.draw_on(axes, train, form.areas[0]), folded=False)
    found = markers()
    there = found or ()
    planned = plan_drawing.laid_out(train, there)

    def draw(_: "Figure", axes: "Axes") -> None:
        plan_drawing.draw_plan(axes, planned, train, there)
        left, low = planned.form.areas[1][:2]
        note = wrap(plan_drawing.note(planned, train) + WITHOUT * (found is None), LETTERS_A_LINE)
        for number, text in enumerate(reversed(note)):
            letters(axes, (left, low + LINE * number), text, SMALL)
    yield Sheet("track", "the train on its plan", planned.form, draw, folded=False)


def _wagon(train: TrainPlan, stem: str, plan: WagonPlan, size: Sizes) -> Sheet:
    track = train.description.track
    form = wagon_drawing.format_for(plan, size, track)

    def draw(_: "Figure", axes: "Axes") -> None:
        wagon_drawing.draw_wagon(axes, form, plan, size, track)
    return Sheet(stem, f"{plan.name}: from the side, from behind and from above", form, draw, bool(plan.wanting))
