"""Names that try every way of losing a file: five scripts, names that differ in case, accents, spaces or punctuation
only, names of thirty letters, and names of files that stand beside a wagon's. All invented."""

from conftest import bare

NAMES = ["вагон", "чай", "Ωμέγα", "ωμεγα", "茶", "差", "قطار", "תה", "Tür", "Tor", "Tör", "TOR", "a b", "a-b", "a_b",
         "a.b", "A b", "a  b", " a b", "train.", "track.", "step 01", "slosh-1-tea", "a-b apart", "world", "con",
         "w" * 30, "w" * 29 + "W"]
SHORTEST = 126          # mm: body of the first, every further one is 1 mm longer


def named(names=NAMES, first="", **tables):
    """Return TOML of a train of wagons of these names, no two of one length; `first` adds lines to the first wagon,
    `tables` to the others as in `bare`."""
    wagons = (f"\n[[wagon]]\nname = '{name}'\nwheelbase = 62\nlength = {SHORTEST + place}\n" + ("" if place else first)
              for place, name in enumerate(names))
    return bare(**tables).split("[[wagon]]")[0] + "".join(wagons)
