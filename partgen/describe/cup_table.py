"""A cup as a turned shape: its outside, its inside, and what is in it."""

from collections.abc import Iterator
from itertools import pairwise
from math import floor
from typing import Any

from partgen.describe.field import SLACK, Clashes, Table, choice, listing, number, text
from partgen.describe.turned import Profile, diameter_at, filled_to, turned_moments

AGREED = 2.0        # mm of depth by which fill, volume and full mass may differ: a ruler's and a kitchen scale's error
TENTHS = 10         # of a mm: how finely a depth worked out is told
STEM = 4.0          # mm: the thinnest there is
STEM_SHARE = 0.5    # of what is wider below and above: nothing narrower is filled
SAME_WALL = 0.5     # mm that two measures of one wall may differ


class Cup(Table):
    """A cup as a turned shape: diameters at heights outside, its inside, and what is in it."""

    ALIKE = (("fill", "volume", "full_mass"), ("inner", "inner_floor"))

    label: str = text("cup", "what it is, in a few words", "your own words", longest=40)
    profile: Profile = listing(
        ..., "outer shape: [height, diameter] pairs from the foot upwards",
        why="two points make the simplest wall",
        measure="caliper at the foot, at the rim and wherever the wall bends", shortest=2, longest=24, unit="mm")
    mass: float = number(..., "g", 1, 2000, "empty mass", "a cup weighs something, a jug is no cup", "kitchen scale")
    wall: float = number(3.0, "mm", 0.1, 12, "wall thickness", "paper 0.3, glass 8", "caliper a little below the lip")
    inner_floor: float | None = number(
        None, "mm", 0.1, 200, "height of the inside's bottom over the table; left out: as the wall is thick",
        "a paper cup has 0.3, a glass on a tall stem 150",
        "height over all less the depth inside: a stick stood in it, marked at the rim")
    inner: Profile = listing(
        (), "inner shape: [height over the table, inner diameter] pairs from the inside's bottom up to the rim; empty: "
        "the outer one less the wall", "only for what has no even wall, a double-walled glass", longest=24, unit="mm",
        why="two points make the simplest wall", example="[12, 30], [70, 52]")
    fill: float = number(35.0, "mm", 0, 300, "depth of liquid; left out where volume or full mass tell it",
                         "an empty cup has 0, none is deeper", "ruler dipped in")
    volume: float | None = number(None, "ml", 0, 2000, "how much drink is poured in, another way to tell fill",
                                  "an empty cup has 0, a jug is no cup", "measuring jug")
    full_mass: float | None = number(None, "g", 1, 4000, "mass with the drink in it, another way to tell fill",
                                     "it weighs no less than empty, and a jug is no cup", "kitchen scale")
    density: float = number(1.0, "g/cm3", 0.6, 1.6, "density of the drink", "spirits have 0.8, syrup 1.4",
                            "water, tea, coffee and wine are 1.0")
    viscosity: float = number(
        0.3, "mm2/s", 0, 1000, "kinematic viscosity of the drink, which ends its swings; 0: they never end",
        "honey has more and needs no partgen",
        "keep 0.3, water just off the boil, thinner than any drink; at 60 degrees C water has 0.5, at 20 degrees C 1.0")
    friction: float = number(0.2, "N/N", 0.02, 1.5, "friction of the cup's foot on its seat",
                             "wet glass has 0.1, rubber 1.5", "tilt a print until the cup slides: rise over length")
    hot: bool = choice(False, "is the drink hot", "hot is what nobody would gulp")
    handle: bool = choice(False, "has it a handle", "look at it")
    handle_length: float = number(25.0, "mm", 3, 80, "how far the handle stands out, through a window of "
                                  "its seat, which turns it where it clears", "a knob to a jug's",
                                  "caliper from the wall outwards")

    def model_post_init(self, context: Any, /) -> None:
        """Take the depth from what tells it another way, where that alone is given."""
        if "fill" not in self.model_fields_set and not [*_outside(self)] and not [*_inside(self)]:
            for _, depth in _told(self):
                self.__dict__["fill"] = floor(TENTHS * depth + SLACK) / TENTHS
                self.model_fields_set.add("fill")

    @property
    def height(self) -> float:
        """Height over all [mm]."""
        return self.profile[-1][0]

    @property
    def widest(self) -> float:
        """Largest outer diameter [mm]."""
        return max(diameter for _, diameter in self.profile)

    @property
    def stem(self) -> float | None:
        """Diameter [mm] of its stem, narrower than half of what is below and above; None where it has none."""
        wide = [diameter for _, diameter in self.profile]
        thin = min(wide)
        at = wide.index(thin)
        return thin if thin < STEM_SHARE * min(max(wide[:at], default=0.0), max(wide[at:])) else None

    @property
    def floor(self) -> float:
        """Height of the inside's bottom over the table [mm]."""
        return self.inner[0][0] if self.inner else self.wall if self.inner_floor is None else self.inner_floor

    @property
    def inside(self) -> Profile:
        """(height over the table, inner diameter) pairs [mm] from the inside's bottom to the rim."""
        if self.inner:
            return self.inner
        heights = (self.floor, *(height for height, _ in self.profile if height > self.floor))
        return tuple((height, diameter_at(self.profile, height) - 2 * self.wall) for height in heights)

    @property
    def freeboard(self) -> float:
        """From the drink up to the rim [mm]."""
        return self.height - self.floor - self.fill

    def conflicts(self) -> Clashes:
        wrong = [*_outside(self)] or [*_inside(self)]
        yield from wrong or _filling(self)


def _outside(cup: Cup) -> Clashes:
    """Yield what is wrong with the outer shape."""
    heights = [height for height, _ in cup.profile]
    if heights[0] != 0:
        yield "profile", f"profile starts at {heights[0]:g} mm: its first height must be 0, the foot"
    if any(b <= a for a, b in pairwise(heights)):
        yield "profile", "profile heights must rise from pair to pair: sort them from the foot upwards"
    if not 8 <= heights[-1] <= 250:
        yield "profile", f"profile ends at {heights[-1]:g} mm, outside 8 to 250 mm: the last pair is the rim"
    for height, diameter in cup.profile:
        least = STEM if 0 < height < heights[-1] else 8
        if not least <= diameter <= 160:
            yield "profile", (f"profile has diameter {diameter:g} mm at {height:g} mm, outside {least:g} to "
                              "160 mm: no cup is narrower or wider")


def _inside(cup: Cup) -> Clashes:
    """Yield what is wrong with the inner shape, the outer one being sound."""
    if cup.floor >= cup.height:
        yield cup.amiss("inner_floor" if cup.inner_floor is not None else "wall",
                        f"leaves no inside in a cup {cup.height:g} mm high: measure from the table")
    elif cup.inner:
        yield from _measured_inside(cup)
    else:
        hollow = cup.profile if cup.inner_floor is None else [(h, inner + 2 * cup.wall) for h, inner in cup.inside]
        narrowest = min(diameter for _, diameter in hollow)
        if 2 * cup.wall >= narrowest:
            yield cup.amiss("wall", f"leaves no inside in a cup {narrowest:g} mm across: measure the wall at the rim, "
                                    "and inner_floor where its foot or stem is solid")
        elif cup.inner_floor is None and cup.stem:
            yield "inner_floor", (f"inner_floor is missing, but the cup has a stem of {cup.stem:g} mm: measure from "
                                  "the table up to the inside's bottom, height over all less depth")


def _measured_inside(cup: Cup) -> Clashes:
    heights = [height for height, _ in cup.inner]
    if len(heights) < 2 or any(b <= a for a, b in pairwise(heights)) or heights[0] <= 0:
        yield "inner", "inner takes two pairs at least, heights over the table rising from the inside's bottom"
    elif abs(heights[-1] - cup.height) > SLACK:
        yield "inner", f"inner ends at {heights[-1]:g} mm, but the cup at {cup.height:g} mm: the last pair is the rim"
    for height, diameter in cup.inner:
        if not 0 <= diameter < diameter_at(cup.profile, height):
            yield "inner", (f"inner has diameter {diameter:g} mm at {height:g} mm, where the cup is "
                            f"{diameter_at(cup.profile, height):.4g} mm across outside: measure both again")
    if cup.inner_floor is not None and abs(cup.inner_floor - heights[0]) > SAME_WALL:
        yield cup.amiss("inner_floor", f"and inner begins at {heights[0]:g} mm: give one of them")
    wall = (cup.profile[-1][1] - cup.inner[-1][1]) / 2
    if "wall" in cup.model_fields_set and abs(wall - cup.wall) > SAME_WALL:
        yield cup.amiss("wall", f"and inner leaves {wall:.4g} mm at the rim: give one of them")


def _filling(cup: Cup) -> Clashes:
    """Yield what is wrong with how much is in it, its shape being sound."""
    deep = cup.height - cup.floor
    if cup.full_mass is not None and cup.full_mass < cup.mass:
        yield cup.amiss("full_mass", f"is under the empty cup's {cup.mass:g} g: weigh both again")
        return
    holds = turned_moments(cup.inside)[0] / 1000
    for name, poured in _poured(cup):
        if poured > holds * (1 + SLACK):
            yield cup.amiss(name, f"is {poured:.4g} ml of drink, but the cup holds {holds:.4g} ml to the rim: measure "
                                  "again, the inside too")
            return
    if cup.fill > deep + SLACK:
        yield cup.amiss("fill", f"is over the {deep:g} mm between the cup's inner floor and its rim: fill less")
    for name, depth in _told(cup):
        if abs(depth - cup.fill) > AGREED:
            yield cup.amiss(name, f"comes to a depth of {depth:.1f} mm inside, but fill is {cup.fill:.4g} mm: give "
                                  "one of them, or measure the inside again")


def _poured(cup: Cup) -> Iterator[tuple[str, float]]:
    """Yield how much drink [ml] is in it by each way but fill that is given, by the field's name, the surest last."""
    if cup.volume is not None:
        yield "volume", cup.volume
    if cup.full_mass is not None:
        yield "full_mass", (cup.full_mass - cup.mass) / cup.density


def _told(cup: Cup) -> Iterator[tuple[str, float]]:
    """Yield how deep [mm] that is, at most to the rim."""
    return ((name, filled_to(cup.inside, 1000 * poured) - cup.floor) for name, poured in _poured(cup))
