"""Marks that nobody sees: none gets into a description, and none reaches a terminal."""

from unicodedata import category
from xml.etree import ElementTree
from xml.sax.saxutils import escape

import pytest
from conftest import bare
from test_description import changed

from partgen.describe.load import loads
from partgen.describe.wording import unseen
from partgen.errors import DescriptionError

# ---- marks that nobody sees

def test_no_mark_that_nobody_sees_gets_in():
    """Every mark of the Unicode Character Database's PropList that is White_Space (but spaces), Bidi_Control or
    Join_Control, as of 15.0 (from memory), and tags of its block E0000."""
    marks = (*range(0x09, 0x0e), *range(0x1c, 0x20), 0x1b, 0x7f, 0x85, 0xad, 0x61c, *range(0x200b, 0x2010),
             0x2028, 0x2029, *range(0x202a, 0x202f), *range(0x2066, 0x206a), 0xfeff, 0xe0001, *range(0xe0020, 0xe0080))
    for mark in marks:
        assert f"U+{mark:04X} as letter 2, a mark" in unseen(f"t{chr(mark)}ea")


def test_whatever_may_stand_in_a_text_may_stand_in_xml():
    """Drawings and plates are XML: its parser judges every letter there is. (Unicode keeps 66 noncharacters.)"""
    sound = "".join(letter for letter in map(chr, range(0x110000)) if not unseen(letter))
    assert ElementTree.fromstring(f"<a>{escape(sound)}</a>").text == sound
    assert len([code for code in range(0x110000) if category(chr(code)) == "Cn" and unseen(chr(code))]) == 66
    with pytest.raises(DescriptionError, match=r"title .*U\+FFFF as letter 4"):
        loads(bare().replace("Test line", "Tea\\uffff line"))


@pytest.mark.parametrize("text", [
    "\u0686\u0627\u06cc\u200c\u062e\u0627\u0646\u0647",     # a tea house in Persian: the two words do not join
    "\u0915\u094d\u200d\u0937",                           # half a letter in Devanagari (Unicode Standard, 12.1)
    "\U0001f469\U0001f3fd\u200d\U0001f373", "\u2764\ufe0f\u200d\U0001f525",   # signs of several (UTS 51)
    "plain", "\u05ea\u05d4", "a\u00a0b", "e\u0301", ""])
def test_joiners_between_letters_that_need_them_may_stay(text):
    assert not unseen(text)
    assert "as letter 1," in unseen(f"\u200d{text}") and f"as letter {len(text) + 1}," in unseen(f"{text}\u200c")


@pytest.mark.parametrize("path, change", [
    ("title", ('title = "', 'title = "\u202e')), ("wagon[2].name", ('name = "cups"', 'name = "cu\u2067ps"')),
    ("module.controller.label", ("[module.controller]\n", '[module.controller]\nlabel = "a\u200fb"\n')),
    ("cup.espresso.label", ("[cup.espresso]\n", '[cup.espresso]\nlabel = "a\u200db"\n')),
    ("track.stop[1].name", ('{ name = "', '{ name = "\u061c')),
    ("train.maker_note", ('maker_note = "', 'maker_note = "\ufeff'))])
def test_marks_of_direction_reach_no_terminal(tmp_path, run, path, change):
    (file := tmp_path / "train.toml").write_text(changed(change), encoding="utf-8")
    for words in (["check", file], ["check", file, "--json"], ["build", file, "--json"]):
        done = run(*words)
        assert done.exit_code == 2 and done.stderr.count(f"{path} (line ") == 1 and "take it out" in done.stderr
        assert not {category(letter) for letter in done.output.replace("\n", "")} & {"Cc", "Cf"}
