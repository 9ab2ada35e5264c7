"""What is printed for a wagon: which part, by which plan, and where each piece stands."""

from typing import Any

from msgspec import Struct


class Place(Struct, frozen=True):
    """A stand in the wagon [mm], turned by `yaw` [deg] about z."""

    x: float = 0.0
    y: float = 0.0
    z: float = 0.0
    yaw: float = 0.0


class Item(Struct, frozen=True):
    """One kind of printed part of a wagon: its plan and every place it stands in.

    What is `loose` is printed too, but stands there only when it is wanted.
    """

    part: str
    name: str
    plan: Any
    places: tuple[Place, ...]
    loose: bool = False

    @property
    def count(self) -> int:
        """How many to print."""
        return len(self.places)
