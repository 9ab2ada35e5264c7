"""What a wagon carries on top: cups."""

from partgen.describe.field import SLACK, Table, choice, listing, number, text


class Cup(Table):
    """A cup as a turned shape: outer diameters at heights, and what is in it."""

    label: str = text("what it is, in a few words", default="cup", longest=40, measure="your own words")
    profile: tuple[tuple[float, float], ...] = listing(
        "outer shape: [height, diameter] pairs from the foot upwards", shortest=2, longest=24, unit="mm",
        why="two points make the simplest wall",
        measure="caliper at the foot, at the rim and wherever the wall bends")
    mass: float = number("g", 1, 2000, "empty mass", why="a cup weighs something, a jug is no cup",
                         measure="kitchen scale")
    wall: float = number("mm", 0.1, 12, "wall thickness", default=3.0, why="paper 0.3, thick glass 8",
                         measure="caliper on the rim, a little below the lip")
    fill: float = number("mm", 0, 300, "depth of the liquid", default=35.0,
                         why="an empty cup has 0, and no cup here is deeper", measure="ruler dipped in")
    density: float = number(
        "g/cm3", 0.6, 1.6, "density of the drink", default=1.0, why="spirits have 0.8, syrup 1.4",
        measure="water, tea, coffee and wine are 1.0")
    viscosity: float = number(
        "mm2/s", 0, 1000, "kinematic viscosity of the drink; 0: it swings on without end, the safe side", default=0.0,
        why="honey has more and needs no partgen", measure="keep 0; water at 20 degrees C has 1.0, at 60 degrees C 0.5")
    friction: float = number(
        "N/N", 0.02, 1.5, "friction of the cup's foot on its seat", default=0.2,
        why="wet glass on plastic has 0.1, rubber 1.5",
        measure="tilt a printed plate until the cup slides: rise over length")
    hot: bool = choice("is the drink hot", default=False, measure="hot is what nobody would gulp")
    handle: bool = choice("has it a handle", default=False, measure="look at it")

    @property
    def height(self) -> float:
        """Height over all [mm]."""
        return self.profile[-1][0]

    @property
    def widest(self) -> float:
        """Largest outer diameter [mm]."""
        return max(diameter for _, diameter in self.profile)

    def conflicts(self):
        heights = [height for height, _ in self.profile]
        if heights[0] != 0:
            yield "profile", f"profile starts at {heights[0]:g} mm: its first height must be 0, the foot"
        if any(b <= a for a, b in zip(heights, heights[1:])):
            yield "profile", "profile heights must rise from pair to pair: sort them from the foot upwards"
        if not 8 <= heights[-1] <= 250:
            yield "profile", (f"profile ends at {heights[-1]:g} mm, outside 8 to 250 mm: "
                              "the last pair is the rim")
        odd = [(height, diameter) for height, diameter in self.profile if not 8 <= diameter <= 160]
        for height, diameter in odd:
            yield "profile", (f"profile has diameter {diameter:g} mm at {height:g} mm, outside 8 to "
                              "160 mm: no cup is narrower or wider")
        if odd:
            return
        narrowest = min(diameter for _, diameter in self.profile)
        if 2 * self.wall >= narrowest:
            yield "wall", (f"wall = {self.wall:g} mm leaves no inside in a cup {narrowest:g} mm across: "
                           "measure the wall at the rim")
        if self.fill > heights[-1] - self.wall + SLACK:
            yield "fill", (f"fill = {self.fill:g} mm is over the {heights[-1] - self.wall:g} mm between the "
                           "cup's inner floor and its rim: fill less")
