"""What the CAD kernel writes differently from one run to the next, taken out of a STEP file's text; names put in.

That is the date, names that it folds in the middle of a letter, and what it adds up in the order of its objects'
addresses, so that a zero comes out as 3.9E-15 or as 4.1E-15.
"""

import re
from collections.abc import Callable
from functools import lru_cache

from partgen import __version__
from partgen.identity import stem

_TIME = "2000-01-01T00:00:00"   # the format wants one; a true one would change the bytes of every build
_DECIMALS = 10                  # far coarser than the kernel's noise, far finer than its tolerance of 1E-7
_HEADER = re.compile(r"FILE_NAME\(.*?\);")
_PRODUCT = re.compile(r"(?<= = PRODUCT\()'(?:[^']|'')*','(?:[^']|'')*'")
_FOLD = re.compile(r"(?<!;)\n(?:    |  )?")      # a line's end within a statement
# Real numbers that rounding may change: of ten decimals or more, with an exponent, and a zero with a sign.
_REAL = re.compile(r"(?<=[(,])(?:-?\d++\.(?:\d{10,}+(?:E[+-]?\d+)?|\d*+E[+-]?\d+)|-0\.0*(?![\dE]))")
_LETTERS = re.compile(r"[^ -~]+")


def steady(text: str) -> str:
    """Return the kernel's STEP `text` of a solid so that the same solid always gives the same ASCII text.

    The header gets a fixed date, numbers are rounded. Lines are unfolded first, since the kernel folds them by the
    length of what it wrote.
    """
    text = unquoted(_REAL, lambda found: _again(found[0]), _FOLD.sub("", text))
    return _HEADER.sub(lambda _: file_name("part"), text, count=1)


def named(data: bytes, name: str) -> bytes:
    """Return a STEP file with the file and its first product called `name`."""
    text = _HEADER.sub(lambda _: file_name(name), data.decode("ascii"), count=1)
    return _PRODUCT.sub(lambda _: f"{spelt(name)},{spelt(name)}", text, count=1).encode("ascii")


def file_name(name: str) -> str:
    """Return the header's statement of a file called `name`."""
    return (f"FILE_NAME('{stem(name, 'part')}','{_TIME}',(''),(''),"
            f"'partgen {__version__}','Open CASCADE Technology','');")


def spelt(name: str) -> str:
    """Return `name` as a string of the format, in quotes. Source: ISO 10303-21, 6.4.3, from memory."""
    plain = name.replace("'", "''").replace("\\", "\\\\")
    return "'" + _LETTERS.sub(lambda found: f"\\X2\\{found[0].encode('utf-16-be').hex().upper()}\\X0\\", plain) + "'"


def real(value: float) -> str:
    """Return a real number rounded to `_DECIMALS`, with the point that the format wants."""
    mantissa, exponent, power = f"{round(value, _DECIMALS) + 0.0:.13G}".partition("E")
    return f"{mantissa}{'' if '.' in mantissa else '.'}{exponent}{power}"


def unquoted(pattern: re.Pattern[str], replacement: Callable[[re.Match[str]], str], text: str) -> str:
    """Return STEP text with what `pattern` finds replaced, what stands in quotes left alone."""
    pieces = text.split("'")        # every second one is quoted
    pieces[::2] = pattern.sub(replacement, "'".join(pieces[::2])).split("'")
    return "'".join(pieces)


@lru_cache(maxsize=1 << 17)
def _again(token: str) -> str:
    """Return a real number as `real` writes it."""
    return real(float(token))
