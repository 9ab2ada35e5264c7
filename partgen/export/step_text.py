"""What the CAD kernel writes differently from one run to the next, taken out of a STEP file's text.

That is the date, a counter that runs on through the whole process, and whatever the kernel does in the order
of its objects' addresses: adding up, so that a zero comes out as 3.9E-15 or as 4.1E-15, and listing colours.
"""

import re
from functools import lru_cache
from itertools import count

from partgen import __version__
from partgen.identity import stem

_TIME = "2000-01-01T00:00:00"   # the format wants one; a true one would change the bytes of every build
_DECIMALS = 10                  # far coarser than the kernel's noise, far finer than its tolerance of 1E-7
_HEADER = re.compile(r"FILE_NAME\(.*?\);")
_FOLD = re.compile(r"(?<!;)\n(?:    |  )?")      # a line's end within a statement
_OCCURRENCE = re.compile(r"(NEXT_ASSEMBLY_USAGE_OCCURRENCE\()'\d+'")
# Real numbers that rounding may change: of ten decimals or more, with an exponent, and a zero with a sign.
_REAL = re.compile(r"(?<=[(,])(?:-?\d++\.(?:\d{10,}+(?:E[+-]?\d+)?|\d*+E[+-]?\d+)|-0\.0*(?![\dE]))")
_NAME = re.compile(r"'@((?:[0-9a-f]{2})+)'")     # as `label` writes it
_LETTERS = re.compile(r"[^ -~]+")
_STATEMENT = re.compile(r"#(\d+) = (.*);\n")
_REFERENCE = re.compile(r"#(\d+)")
_STYLE = "MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION("


def label(name: str) -> str:
    """Return what the kernel is to call a thing of that name: it folds lines in the middle of a letter, and `steady`
    could not tell a blank of a long name from its margin."""
    return f"@{name.encode().hex()}"


def steady(text: str, name: str) -> str:
    """Return the kernel's STEP `text` so that the same solids always give the same ASCII text.

    The header gets a fixed date and `name`; occurrences are numbered from 1, numbers rounded, colours put in
    the order of their solids, and a `label` is turned back into its name. Lines are unfolded first, since
    the kernel folds them by the length of what it wrote.
    """
    number = count(1)
    text = _rounded(_FOLD.sub("", text))
    text = _OCCURRENCE.sub(lambda found: f"{found[1]}'{next(number)}'", text)
    made = f"(''),(''),'partgen {__version__}','Open CASCADE Technology',''"
    text = _HEADER.sub(lambda _: f"FILE_NAME('{stem(name, 'part')}','{_TIME}',{made});", text, count=1)
    return _NAME.sub(lambda found: f"'{_spelt(bytes.fromhex(found[1]).decode())}'", _styles_in_order(text))


def _spelt(name: str) -> str:
    """Return `name` as a string of the format. Source: ISO 10303-21, 6.4.3, from memory."""
    plain = name.replace("'", "''").replace("\\", "\\\\")
    return _LETTERS.sub(lambda found: f"\\X2\\{found[0].encode('utf-16-be').hex().upper()}\\X0\\", plain)


def _rounded(text: str) -> str:
    """Return STEP text with its real numbers rounded, those in quotes left alone."""
    pieces = text.split("'")        # every second one is quoted
    pieces[::2] = _REAL.sub(lambda found: _real(found[0]), "'".join(pieces[::2])).split("'")
    return "'".join(pieces)


@lru_cache(maxsize=1 << 17)
def _real(token: str) -> str:
    """Return a real number rounded to `_DECIMALS`, with the point that the format wants."""
    mantissa, exponent, power = f"{round(float(token), _DECIMALS) + 0.0:.13G}".partition("E")
    return f"{mantissa}{'' if '.' in mantissa else '.'}{exponent}{power}"


def _styles_in_order(text: str) -> str:
    """Number the colours' statements, which come last, in the order of the solids that they colour."""
    first = re.search(r"#(\d+) = " + re.escape(_STYLE), text)
    if first is None:
        return text
    start, end = first.start(), text.rindex("ENDSEC;")
    styles = {int(number): body for number, body in _STATEMENT.findall(text[start:end])}
    number = {old: int(first[1]) + place for place, old in enumerate(_walk(styles))}

    def renumbered(found: re.Match[str]) -> str:
        return f"#{number.get(int(found[1]), int(found[1]))}"

    lines = (f"#{new} = {_REFERENCE.sub(renumbered, styles[old])};\n" for old, new in number.items())
    return text[:start] + "".join(lines) + text[end:]


def _walk(styles: dict[int, str]) -> dict[int, None]:
    """Return the statements' old numbers as reached from the solids' styles, in the order of the solids.

    A style's last reference is the context that it shares with its solid alone, numbered long before it.
    """
    reached: dict[int, None] = {}

    def visit(old: int) -> None:
        if old in styles and old not in reached:
            reached[old] = None
            for reference in _REFERENCE.findall(styles[old]):
                visit(int(reference))

    roots = [old for old, body in styles.items() if body.startswith(_STYLE)]
    for old in sorted(roots, key=lambda old: int(_REFERENCE.findall(styles[old])[-1])):
        visit(old)
    return reached
