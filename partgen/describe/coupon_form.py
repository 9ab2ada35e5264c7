"""The form that goes with a coupon: what a maker measured on it, read back with every fault at once."""

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from partgen.describe.faults import judged
from partgen.describe.field import SLACK, Clashes, Table, listing, number
from partgen.describe.toml_text import comment, frozen, parsed, text_at
from partgen.describe.wording import path_text
from partgen.errors import DescriptionError, Fault, FormError


class MeasuredLadder(Table):
    """One ladder of the coupon: its steps as drawn, and what came out."""

    drawn: tuple[float, ...] = listing(..., "sizes of the steps as drawn and labelled", "leave as it is", unit="mm",
                                       shortest=1, longest=12)
    measured: tuple[float, ...] = listing((), "what each step came out as; 0: not measured",
                                          "caliper, twice at right angles, the mean", unit="mm", longest=12)
    gauge: float = number(0.0, "mm", 0, 60, "size of what is tried in the steps", "nothing larger goes on a coupon",
                          "caliper, if it is another one than in the description")
    fits: float = number(0.0, "mm", 0, 60, "label of the smallest step that it goes into; 0: not tried",
                         "no step is larger", "by hand, without force")

    def conflicts(self) -> Clashes:
        if self.measured and len(self.measured) != len(self.drawn):
            yield "measured", (f"measured holds {len(self.measured)} figures for {len(self.drawn)} steps: write one "
                               "for each, 0 where you did not measure")
        for place, size in enumerate(self.measured, 1):
            if size < 0:
                yield f"measured[{place}]", f"{size:g} mm is no size: write what the caliper says, or 0"
        if self.fits and not any(abs(self.fits - size) < SLACK for size in self.drawn):
            steps = ", ".join(f"{size:g}" for size in self.drawn)
            yield "fits", f"fits = {self.fits:g} is no step's label: choose one of {steps}, or 0"


Measured = Mapping[str, MeasuredLadder]
"""What was measured on one coupon, by ladder; a ladder may be left out."""


def load_measured(path: Path) -> Measured:
    """Return what the form at `path` says. Raises FormError with every fault and where it stands."""
    try:
        data = frozen(parsed(text_at(path, BEGUN), path.name, BEGUN))
    except DescriptionError as error:
        raise FormError(error.faults) from error
    faults: list[Fault] = []
    ladders: dict[str, MeasuredLadder | None] = {}
    for name, table in data.items():
        if name not in HOW:
            faults.append(Fault(path_text(name), f"{name} is no ladder of a coupon (known: {', '.join(HOW)})"))
        elif not isinstance(table, dict):
            faults.append(Fault(path_text(name), f"write [{name}] on a line of its own, its values below it"))
        else:
            ladders[name], found = judged((name,), MeasuredLadder, table)
            faults += found
    if faults:
        raise FormError(faults)
    return {name: ladder for name, ladder in ladders.items() if ladder}


HEAD = """\
# What the coupon of "{title}" came out as. Fill in what you measure; leave 0 where you do not: the more, the surer.
# Let the coupon cool on the bed, then peel it off. Do not trim the holes. All figures are in mm.
#
# measured: one figure a step, in the order of the labels.
# fits:     the label of the smallest step that `gauge` goes into by hand, without force. Either is enough.
#
# Then run, with the path to this form: partgen coupon {file} --measured measured.toml
"""

HOW = {
    "axle": "Holes for the axle. Inside jaws of the caliper, twice at right angles, the mean; or drop the axle in: the "
            "smallest hole that it falls through.",
    "tube": "Holes for the metal tube. Measured as holes for an axle are; or the smallest hole that the tube slides "
            "through.",
    "press": "Hubs of printed wheels. fits: the smallest that the rod goes into by hand. Press the rod, in a vice, "
             "into the next smaller: it must go in without a crack, and not turn in it by hand.",
    "core": "Holes that a screw cuts its thread into. Inside jaws, or a drill's shank of known size (gauge): the "
            "smallest hole that it goes through.",
    "magnet": "Pockets, labelled by how much larger than the magnet they are each way. Put the magnet in on its edge: "
              "the smallest pocket that it goes into by hand. Measured: the pocket's long side.",
    "gap": "Slots. A feeler gauge; or a bank card, 0.76 mm: the smallest slot that it passes.",
    "peg": "Round pegs. Outside jaws, half way up, twice at right angles, the mean.",
    "wall": "Walls two and four lines thick. Outside jaws, half way up, without squeezing.",
    "snap": "Clips, labelled by their opening over the {wide}. Snap the {whole} in ten times. fits: the narrowest one "
            "that neither cracks nor turns white, and still holds.",
    "length": "The plate from left to right, along the lettering. Outside jaws; it tells how much the plastic shrinks. "
              "Leave 0 if your slicing program scales for shrinkage.",
}


SNAPPED = {"axle": ("axle", "axle"), "tube": ("metal tube", "axle with its metal tube"),
           "bearing": ("ball bearing", "axle with a ball bearing on either end"), "pin": ("axle", "pointed axle")}
"""What a clip's opening is counted over and what is snapped in, by what turns in it."""


BEGUN = "`partgen coupon FILE` writes one, measured.toml, beside the coupon"
CUPS = ("Cups for an axle's points are on no coupon: print one pin-holder, the part itself, and snap a pointed axle in "
        "ten times. Its cheeks must neither crack nor turn white, and the axle must spin.")


def form(ladders: Iterable[tuple[str, Sequence[float], float]], title: str, file: str, snapped: str = "axle") -> str:
    """Return the form to fill in as TOML text; `ladders` are (name, sizes as drawn, gauge) [mm], `snapped` one of
    SNAPPED."""
    wide, whole = SNAPPED[snapped]
    lines = [HEAD.format(title=title.replace("\n", " "), file=file)]
    if snapped == "pin":
        lines += [comment(CUPS), ""]
    for name, drawn, gauge in ladders:
        lines += [comment(HOW[name].format(wide=wide, whole=whole)), f"[{name}]", f"drawn = {list(map(float, drawn))}"]
        lines += [f"measured = {[0.0] * len(drawn)}"] if name != "snap" else []
        lines += [f"gauge = {float(gauge)}"] if gauge else []
        lines += ["fits = 0.0"] if gauge or name == "snap" else []
        lines.append("")
    return "\n".join(lines)
