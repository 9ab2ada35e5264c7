"""Letters of every script: typefaces that the system has behind the ones that matplotlib ships."""

from functools import lru_cache
from logging import ERROR, getLogger

from partgen.describe.description import Description


def boxes(description: Description) -> tuple[str, ...]:
    """Return a warning where no typeface here has some letters of a maker's own words; nothing where all can be
    drawn."""
    track = description.track
    said = (description.title, *(wagon.name for wagon in description.wagon), *(one.name for one in track.stop),
            *(one.name for one in track.obstacle), *(one.label for one in description.module.values()),
            *(one.label for one in description.cup.values()))
    _, left = behind(unknown("".join(said)))
    return (f"no typeface here has the letters {' '.join(sorted(left)[:8])}{' ...' if len(left) > 8 else ''}: pictures "
            "and the ride card show boxes for them; install one that has (Noto, by script)",) if left else ()


def unknown(text: str) -> frozenset[str]:
    """Return the letters of `text` that the typeface of our drawings lacks."""
    if text.isascii():
        return frozenset()
    from matplotlib.font_manager import findfont, get_font
    known = get_font(findfont("DejaVu Sans")).get_charmap()
    return frozenset(one for one in text if one.isprintable() and ord(one) not in known)


@lru_cache
def behind(letters: frozenset[str]) -> tuple[tuple[str, ...], frozenset[str]]:
    """Return families of the system that have these letters, fit to stand behind ours, and the letters that none
    has."""
    from matplotlib.font_manager import findSystemFonts, fontManager
    from matplotlib.ft2font import FT2Font
    getLogger("matplotlib.font_manager").setLevel(ERROR)    # it would miss a bold one each time
    families, left = [], set(letters)
    for path in sorted(findSystemFonts() if letters else (), key=lambda path: ("Regular" not in path, path)):
        try:
            face = FT2Font(path)
            has = {one for one in left if face.get_char_index(ord(one))} if face.scalable else set()
            if has:
                fontManager.addfont(path)
        except (OSError, RuntimeError, ValueError):     # a typeface of a kind that cannot be drawn with
            continue
        if has:
            families.append(fontManager.ttflist[-1].name)
            left -= has
    return tuple(families), frozenset(left)
