"""Keys, paths and values as a maker would write them, cut to a readable length."""

import json
import re
from collections.abc import Iterable
from difflib import get_close_matches
from unicodedata import category

_LONGEST = 60
_HUGE = 10**15
_MOST = 20

JOINERS = "\u200c\u200d"     # unseen letters that some scripts, and signs made of several, need between others
_JOINED = "\u0600"           # before this one no script has letters that need them
_CONTROLS = ("Cc", "Cf", "Cs", "Zl", "Zp")


def path_text(*steps: str | int) -> str:
    """Join `steps` to a path as a maker counts: ("wagon", 0, "wall") is wagon[1].wall."""
    path = ""
    for step in steps:
        path += f"[{step + 1}]" if isinstance(step, int) else ("." if path else "") + key_text(step)
    return path


def key_text(key: str) -> str:
    """Return `key` as it stands in TOML, in quotes where it needs them."""
    plain = re.fullmatch(r"[A-Za-z0-9_-]+", key) and len(key) <= _LONGEST
    return key if plain else _cut("".join(map(_letter, json.dumps(key[:_LONGEST], ensure_ascii=False))))


def _letter(letter: str) -> str:
    """Return a letter of any script as it is, and as TOML escapes it what would disturb a terminal."""
    if letter.isprintable():
        return letter
    return f"\\u{ord(letter):04x}" if ord(letter) < 0x10000 else f"\\U{ord(letter):08x}"


def value_text(value: object) -> str:
    """Return `value` as it stands in TOML, or in words where it is no single line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int) and abs(value) >= _HUGE:
        return f"{'-' if value < 0 else ''}1e{round(value.bit_length() * 0.30103)} or so"
    if isinstance(value, (int, float)):
        return f"{value:.10g}"
    if isinstance(value, str):
        return _cut(repr(value[:_LONGEST]))
    if isinstance(value, tuple):
        return "a list of one entry" if len(value) == 1 else f"a list of {len(value) or 'no'} entries"
    return "a table" if isinstance(value, dict) else "a date or time"


def stands(name: str, value: object) -> str:
    """Say what was found: "gauge = 3", or "gauge is a table" where the value is no single line."""
    plain = isinstance(value, (bool, int, float, str))
    return f"{name} = {value_text(value)}" if plain else f"{name} is {value_text(value)}"


def printable(text: str) -> str:
    """Return `text` with whatever would disturb a terminal shown as a question mark."""
    return "".join(letter if letter.isprintable() else "?" for letter in text)


def unseen(text: str) -> str:
    """Say which mark in `text` nobody sees and no letter needs, the first one; nothing where there is none.

    Those are control characters, marks of direction, halves of pairs and line separators (Unicode's categories Cc, Cf,
    Cs, Zl, Zp), what Unicode never makes a character, and joiners other than between two letters that may need them.
    They turn round or hide what stands beside them, or no XML file may hold them (XML 1.0, 2.2 Characters).
    """
    around = f" {text} "
    for place, letter in enumerate(text, 1):
        joins = letter in JOINERS and all(around[place + step] >= _JOINED and around[place + step] not in JOINERS
                                          for step in (-1, 1))
        if (category(letter) in _CONTROLS or _never(ord(letter))) and not joins:
            return (f"holds U+{ord(letter):04X} as letter {place}, a mark that nobody sees and no letter beside it "
                    "needs: take it out")
    return ""


def _never(code: int) -> bool:
    """Is it one of the 66 numbers that no character has or will have (Unicode Standard, 23.7 Noncharacters)?"""
    return code & 0xfffe == 0xfffe or 0xfdd0 <= code <= 0xfdef


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """Return the nearest of the `known` words as a question, or some of them in brackets when none is near."""
    known = list(known)
    near = nearest(word, known)
    some = ", ".join(known[:_MOST]) + (", ..." if len(known) > _MOST else "")
    return f"; did you mean {near}?" if near else f" (there are: {some or 'none'})"


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the one of the `known` words that `word` was meant to be, None when none is near."""
    return next(iter(get_close_matches(word[:_LONGEST], list(known), 1)), None)


def _cut(quoted: str) -> str:
    return quoted if len(quoted) <= _LONGEST else quoted[:_LONGEST - 4] + "..." + quoted[-1]
