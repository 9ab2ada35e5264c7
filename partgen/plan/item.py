"""Where a part stands in the wagon, and how it is turned for printing."""

from typing import Any

from msgspec import Struct

Matrix = tuple[tuple[float, float, float], ...]

POSES: dict[str, Matrix] = {
    "upright": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "flipped": ((1, 0, 0), (0, -1, 0), (0, 0, -1)),
    "on-side": ((1, 0, 0), (0, 0, -1), (0, 1, 0)),
}
"""Rotation from a part's own frame into its print pose; the exporter then sets it on the bed."""

KEPT_POSES: dict[str, str] = {
    "axle-holder": "so that its snap arms bend along the layers and not apart between them",
    "coupler": "so that the pull runs along its layers",
    "lid-clip": "so that its arms bend along the layers and not apart between them",
    "sensor-holder": "so that its inside needs no bridge and its grooves run along the layers",
    "bogie": "so that its layers lie along the arms that carry the axles",
}
"""Parts whose print pose is given by their strength, and why: no better place on the bed outweighs that."""

NEEDS: dict[str, tuple[str, ...]] = {
    "frame": (),
    "axle-holder": ("frame",),
    "clamp-bar": ("frame", "axle-holder"),
    "bogie": ("frame",),
    "coupler": ("frame",),
    "coupler-cover": ("coupler",),
    "body": ("frame",),
    "lid": ("body",),
    "lid-clip": ("lid",),
    "cradle": ("body", "lid"),
    "insert": ("cradle",),
    "sensor-holder": ("frame", "body"),
    "marker": (),
    "track-gauge": (),
    "wheel-gauge": (),
    "radius-template": (),
}
"""What must be there before a kind of part finds its place in the wagon."""


class Place(Struct, frozen=True):
    """A stand in the wagon [mm], turned by `yaw` [deg] about z."""

    x: float = 0.0
    y: float = 0.0
    z: float = 0.0
    yaw: float = 0.0


class Item(Struct, frozen=True):
    """One kind of printed part of a wagon: its plan, its print pose and every place it stands in.

    What is `loose` is printed too, but stands there only when it is wanted.
    """

    part: str
    name: str
    plan: Any
    pose: str
    places: tuple[Place, ...]
    loose: bool = False

    @property
    def count(self) -> int:
        """How many to print."""
        return len(self.places)

    @property
    def printed_size(self) -> tuple[float, float, float]:
        """Size [mm] along the bed's x and y and upwards, in the print pose."""
        turned = [sum(abs(k) * s for k, s in zip(row, self.plan.size)) for row in POSES[self.pose]]
        return tuple(turned)
