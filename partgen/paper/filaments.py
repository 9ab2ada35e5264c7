"""The few filaments that a train is printed in, and which of them a part takes."""

Colour = tuple[float, float, float]

FILAMENTS: dict[str, Colour] = {
    "dark-grey": (0.30, 0.31, 0.33),
    "wood": (0.73, 0.59, 0.37),
    "cream": (0.93, 0.87, 0.75),
    "green": (0.15, 0.36, 0.29),
}
"""The few colours to have at hand, as sRGB shares, in the order of printing: what runs on rails is first. Who has fewer
spools does without the last ones."""


def filament_for(colour: Colour, spools: int = len(FILAMENTS)) -> str:
    """Return the filament of the first `spools` whose colour is nearest to a part's; both as sRGB shares."""
    return min(list(FILAMENTS)[:spools],
               key=lambda name: sum((a - b) ** 2 for a, b in zip(FILAMENTS[name], colour, strict=True)))
