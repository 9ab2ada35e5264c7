"""What a module that looks out takes of its wall: a hole, and the thinned wall round it.

All in mm.
"""

from msgspec import Struct

from partgen.describe.printer_tables import LONGEST_BRIDGE, Printer
from partgen.plan.fits import slot

EASE = 0.4              # of an opening beyond what is seen through it, both sides together
POCKET = 3.0            # of thinned wall round a hole: clips or a nut bear on it (common practice, no source)
PAST = 0.2              # a pocket's tool reaches so far into the body: less than what stands on its walls
THINNED = 0.1           # less is not thinned
SPARE = 0.4             # a level top is so much shorter than what the printer bridges


class WallCut(Struct, frozen=True):
    """The hole for what is seen, `width` by `height`; the longest `level` top it may have; how much of the wall is
    taken off from inside round it."""

    width: float
    height: float
    level: float
    thinned: float

    @property
    def gable(self) -> float:
        """Height of the slopes over a hole that is wider than its longest level top."""
        return max(0.0, (self.width - self.level) / 2)

    @property
    def deep(self) -> float:
        """How far the thinned wall's edges slope outward, to where the tool begins inside."""
        return self.thinned + PAST

    @property
    def beyond(self) -> float:
        """How far beyond the hole its wall is cut, where nothing cuts that short."""
        return POCKET + self.deep if self.thinned else 0.0


def wall_cut(size: tuple[float, float], shape: str, panel: float, wall: float, printer: Printer) -> WallCut:
    """Return what is cut into a `wall` for what is seen through it, `size` wide and high, of a `shape`, that snaps into
    a `panel` so thick; 0 for any."""
    width, height = (slot(side, "snug", printer) if panel else side + EASE for side in size)
    taken = wall - max(panel, printer.thinnest_wall)
    return WallCut(width, height, LONGEST_BRIDGE if panel or shape != "rectangle" else printer.bridge - SPARE,
                   taken if panel and taken > THINNED else 0.0)
