"""Letters that our own typeface lacks are drawn with one that the system has; what none has is said."""

from pathlib import Path

import matplotlib
import pytest
from conftest import bare
from fontTools.ttLib import TTFont
from matplotlib import font_manager
from matplotlib.text import Text

from partgen.describe.load import loads
from partgen.report import sheet, typefaces

SHIPPED = Path(matplotlib.get_data_path(), "fonts", "ttf")
OTHER, NOWHERE = "\u29b1", "\U0001f9cb"     # a sign that STIX has; a cup that no typeface here stands for


def cmap(name):
    """Return the letters of a typeface, as an independent reader has them."""
    return TTFont(SHIPPED / name).getBestCmap()


@pytest.fixture
def system(monkeypatch):
    """A system with two typefaces of its own, one of them broken."""
    monkeypatch.setattr(font_manager, "findSystemFonts", lambda: [str(SHIPPED / "STIXGeneral.ttf"), __file__])
    typefaces.behind.cache_clear()
    yield
    typefaces.behind.cache_clear()


def test_what_is_unknown_is_what_the_typeface_lacks():
    mine = cmap("DejaVuSans.ttf")
    said = f"Tür чай שלום שלום چای 茶 चाय ชา {OTHER}{NOWHERE}"
    assert typefaces.unknown(said) == {one for one in said if ord(one) not in mine} > {"茶", OTHER, NOWHERE}
    assert not typefaces.unknown("plain words\n")


def test_another_typeface_stands_behind_ours(system, tmp_path):
    assert ord(OTHER) in cmap("STIXGeneral.ttf") and ord(OTHER) not in cmap("DejaVuSans.ttf")
    assert typefaces.behind(frozenset({OTHER, NOWHERE})) == (("STIXGeneral",), {NOWHERE})
    with sheet.sheet(50, 20) as (drawn, axes):
        text = sheet.words(axes, 5, 5, f"tea {OTHER}")
        sheet.save(drawn, tmp_path / "one.png", tmp_path / "one.pdf")
    assert text.get_fontfamily() == ["DejaVu Sans", "STIXGeneral"]
    with sheet.sheet(50, 20) as (drawn, axes):
        sheet.words(axes, 5, 5, "tea")
        sheet.save(drawn, tmp_path / "two.png")
    assert all(text.get_fontfamily() == ["DejaVu Sans"] for text in drawn.findobj(Text))


def test_letters_that_no_typeface_has_are_told_once(system):
    def told(title):
        return typefaces.boxes(loads(bare().replace('title = "Test line"', f'title = "{title}"')))
    assert told("Tea line") == told(f"чай {OTHER}") == ()
    warning, = told(f"tea {NOWHERE} {NOWHERE}")
    assert f"no typeface here has the letters {NOWHERE}:" in warning and "show boxes" in warning
