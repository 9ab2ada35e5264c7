"""Files that are no description: refused in words, read whole or not at all."""

from pathlib import Path

import pytest
from conftest import DEMO

from partgen.describe.load import digest, load, loads
from partgen.describe.toml_text import LARGEST
from partgen.errors import DescriptionError

TEXT = DEMO.read_text(encoding="utf-8")


BAD_FILES = [
    (b"", "is empty"),
    (b" \n\n", "is empty"),
    (b"\x7fELF\x02\x01\xff\xfe", "is not UTF-8 text at byte 7, line 1"),
    ("title = \"x\"".encode("utf-16"), "is not UTF-8 text at byte 1, line 1"),
    (b"\n\n# caf\xe9\n", "is not UTF-8 text at byte 8, line 3"),
    (b"title = \n", "line 1, column 9: invalid value in 'title =': write a value after the equals sign"),
    (b"[track]\ngauge = 37,5\n", "line 2, column 11: .*: write a decimal point, not a comma"),
    (b"[track]\ngauge = 37.5 mm\n", "line 2, column 14: .*: leave the unit out"),
    (b"[wagon]\nhot = yes\n", "line 2, column 7: .*: write true or false"),
    (b"title = tea\n", "line 1, column 9: .*: put text in double quotes"),
    (b"title: tea\n", "line 1, column 6: .*: write name = value"),
    (b"[track\n", "line 1, column 7: "),
    (b"title = \"tea", "quotation mark still open"),
    (b"[track]\n[track]\n", "line 2, column 7: cannot declare"),
    (b"a = " + b"[" * 1500, "nested too deeply|invalid value"),
    (b"a = [\n" + b"[\n" * 3000, "nested too deeply|still open"),
    (b".".join([b"a"] * 400) + b" = 1", "nested too deeply"),
    (b"[" + b".".join([b"track"] * 50) + b"]", "nested too deeply"),
    (b"a = \"" + b"x" * 5000 + b"\"", "line 1 has 5006 letters"),
    (b"a = 1\0", "line 1"),
    ("[cup.咖啡]\n".encode(), "line 1, column 6: .*: put the name in straight quotes"),
    ("[cup.café]\n".encode(), "line 1, column 9: .*: put the name in straight quotes"),
    ("größe = 3\n".encode(), "line 1, column 3: .*: put the name in straight quotes"),
    (b"[track]\rgauge = 37.5\r" * 99, "ends its lines with CR alone"),
]


@pytest.mark.parametrize("content, words", BAD_FILES, ids=[words[:30] for _, words in BAD_FILES])
def test_unusable_file_says_what_and_where(tmp_path, content, words):
    path = tmp_path / "bad.toml"
    path.write_bytes(content)
    with pytest.raises(DescriptionError, match=words) as caught:
        load(path)
    assert caught.value.exit_code == 2 and str(caught.value).isprintable()


def test_a_byte_order_mark_and_windows_line_ends_are_fine(tmp_path):
    path = tmp_path / "windows.toml"
    path.write_bytes(b"\xef\xbb\xbf" + TEXT.replace("\n", "\r\n").encode())
    assert digest(load(path)) == digest(load(DEMO))


def test_huge_file_is_refused_before_it_is_read(tmp_path):
    path = tmp_path / "huge.toml"
    with path.open("wb") as file:
        file.truncate(100_000_000)      # a hole: no disk is used
    with pytest.raises(DescriptionError, match="has 100 MB, a description at most 1 MB"):
        load(path)
    with pytest.raises(DescriptionError, match="is over 1 MB"):
        loads("#\n" * LARGEST)


def test_folders_devices_and_missing_files_are_refused(tmp_path):
    for path, words in ((tmp_path, "is a folder"), (tmp_path / "none.toml", "no such file"),
                        (Path("/dev/null"), "not an ordinary file"), ("a\0b", "cannot be read"),
                        ("x" * 5000, "cannot be read"), (DEMO / "inside", "cannot be read")):
        with pytest.raises(DescriptionError, match=words):
            load(path)


def test_unreadable_file_is_refused(tmp_path, monkeypatch):
    path = tmp_path / "locked.toml"
    path.write_text(TEXT)

    def locked(*_):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", locked)
    with pytest.raises(DescriptionError, match="cannot be read: Permission denied"):
        load(path)
