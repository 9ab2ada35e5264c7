"""What a part's record is made of: how it is drawn and printed, what is bought for it, how it is mounted."""

from collections.abc import Callable, Iterable
from typing import Any

from msgspec import Struct

from partgen.identity import Subject
from partgen.plan.fasteners import Fastener

Colour = tuple[float, float, float]
Matrix = tuple[tuple[float, float, float], ...]

POSES: dict[str, Matrix] = {
    "upright": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "flipped": ((1, 0, 0), (0, -1, 0), (0, 0, -1)),
    "on-end": ((0, 1, 0), (0, 0, 1), (1, 0, 0)),
    "on-side": ((1, 0, 0), (0, 0, -1), (0, 1, 0)),
}
"""Rotation from a part's own frame into its print pose; the exporter then sets it on the bed."""


class Bought(Struct, frozen=True):
    """So many of one thing to buy, by which standard and size, and what for; `shelf` is where a shop keeps it.

    `cargo` is who rides as such a thing: a module or cups in their seats. `wagons` it is for are filled in on the bill
    of a train.
    """

    shelf: str
    count: int
    what: str
    size: str
    use: str
    standard: str = ""
    cargo: tuple[Subject, ...] = ()
    wagons: tuple[str, ...] = ()


class Step(Struct, frozen=True):
    """One step of putting a wagon together; its picture shows what is `there`, and what is `new` by name with how
    far [mm] it stands off along z; what comes from `outside` stands off along x, 0, or y, 1, away from the middle.

    Without `there` the picture goes on from the step before, less what that one `hides`; a step `aside` is done
    away from the wagon. `screws` are those put in; with `front` only the front end shows, with `whole` the whole train.
    A `shared` step is the same for all wagons of a kind; one `on_track` waits for what is laid there, and shows the
    sensor over it. What is neither new nor whole nor on the track has no picture; `tools` it takes besides keys for
    its screws. `wagons` it is for are filled in where the steps of a train are put in order; there are none for what is
    done beside the track.
    """

    title: str
    text: str
    new: dict[str, float]
    there: tuple[str, ...] | None = None
    hides: tuple[str, ...] = ()
    outside: dict[str, int] = {}
    screws: tuple[Fastener, ...] = ()
    aside: bool = False
    front: bool = False
    shared: bool = False
    on_track: bool = False
    whole: bool = False
    tools: tuple[str, ...] = ()
    wagons: tuple[str, ...] = ()


def nothing(plan: Any) -> tuple[()]:
    """Stand for no bought things or no steps of a part's own."""
    return ()


class Part(Struct, frozen=True, kw_only=True):
    """Everything that is known of one kind of printed part besides its plan and where the plan places it.

    Most parts are printed as they stand; parts without steps of their own are mounted by another's.
    """

    drawn_by: str           # file and function within this room, loaded when the part is drawn
    pose: str = "upright"   # print pose, one of POSES
    kept: str = ""          # why strength keeps it in that pose, whatever place on the bed might suit better
    needs: tuple[str, ...] = ()     # kinds of part that must be there before it finds its place in the wagon
    colour: Colour          # as sRGB shares
    apart: float = 0.0      # how high it is lifted in the picture of a wagon's parts: frame 0, body 0.75, lid 1.7
    swings: str = ""        # with what it turns in a curve, "bogie" or "drawbar"
    bought: Callable[[Any], Iterable[Bought]] = nothing     # of the wagon's plan, or of the track's
    steps: Callable[[Any], Iterable[Step]] = nothing
