"""Every error a user can cause, on one page; the class, not the command line, owns the exit code.

PartgenError                     anything a user can cause
├── DescriptionError   exit 2    the description cannot be used; carries every fault at once
│   ├── FormError      exit 2    so it is with the form of a coupon
│   └── RunFormError   exit 2    so it is with the form of the first run
├── PresetError        exit 2    no preset is called that; names what is near
├── UnknownName        exit 2    the train has no such part or wagon, a build no such kind of file; names the choices
├── OutputError        exit 2    the output place cannot be written; what was there is untouched
├── TooSoon            exit 2    no wagon is printed in the hours allowed; says after how many the first one is
├── WorkersLost        exit 3    a process that helped ended by itself, or a script has no main guard
├── MissingLibrary     exit 3    the system lacks a library that the CAD kernel needs; names the package
└── KernelError        exit 3    the CAD kernel could not build a part; names part, feature and size
"""

from collections.abc import Iterable

from msgspec import Struct


class Fault(Struct, frozen=True):
    """One thing wrong with a description: where it stands and, in words, what to do about it; `line` of its file, 0
    where that is not known."""

    path: str
    message: str
    line: int = 0

    def __str__(self) -> str:
        where = f" (line {self.line})" if self.line else ""
        return f"{self.path}{where}: {self.message}" if self.path else self.message


class PartgenError(Exception):
    """Base of all errors that end a command with a message instead of a result."""

    exit_code = 2


class DescriptionError(PartgenError):
    """The description cannot be used; `faults` holds every reason found, the text the first `SHOWN`."""

    SHOWN = 50
    what = "the description"

    def __init__(self, faults: Iterable[Fault]):
        self.faults = tuple(faults)
        lines = [str(fault) for fault in self.faults[:self.SHOWN]]
        if len(self.faults) > self.SHOWN:
            lines.append(f"... and {len(self.faults) - self.SHOWN} more: mend these first")
        super().__init__("\n".join(lines))


class FormError(DescriptionError):
    """What was measured on a coupon cannot be used; `faults` as for a description."""

    what = "the coupon's form"


class RunFormError(DescriptionError):
    """What was measured on the first run cannot be used; `faults` as for a description."""

    what = "the first run's form"


class PresetError(PartgenError):
    """No preset is called what was asked for."""


class UnknownName(PartgenError):
    """The train has no part or wagon, or a build no kind of file, of the name that was asked for."""


class OutputError(PartgenError):
    """The output cannot be written where it was asked for."""


class TooSoon(PartgenError):
    """No wagon is printed in the hours that are left."""


class WorkersLost(PartgenError):
    """A process that was to help ended by itself."""

    exit_code = 3


class MissingLibrary(PartgenError):
    """The system lacks a shared library; the message names the packages that bring it."""

    exit_code = 3


class KernelError(PartgenError):
    """The CAD kernel could not build `part`; `feature` and `size` say where it gave up."""

    exit_code = 3

    def __init__(self, part: str, feature: str, size: str):
        self.part, self.feature, self.size = part, feature, size
        super().__init__(f"the CAD kernel could not build {part}: {feature} at {size}")

    def __reduce__(self) -> tuple[type, tuple[str, str, str]]:      # a worker sends it to the process it works for
        return KernelError, (self.part, self.feature, self.size)
