"""The verdict that every check gives: what was found, what it is held to, and what to change."""

from collections.abc import Callable, Iterable
from math import ceil, floor
from typing import Any, Literal

from msgspec import Struct
from msgspec.structs import asdict

from partgen.identity import AnySubject

Verdict = Literal["pass", "warn", "fail"]
Sense = Literal["max", "min"]
_SLACK = 1e-9
PLAIN = 10.0            # what a margin is measured by where the limit itself is 0


class Costs(Struct, frozen=True):
    """What a remedy costs: by how much the train gets longer [mm], what is printed more [g], and for how much
    longer [h], below 0 where it is less; `sizes` says in words which wagons change."""

    length: float = 0.0
    filament: float = 0.0
    hours: float = 0.0
    sizes: tuple[str, ...] = ()

    @property
    def cells(self) -> list[str]:
        """Length, filament and hours in words, "" where nothing changes."""
        return [f"{value:+.{places}f} {unit}" if abs(value) >= 0.5 * 10**-places else ""
                for value, places, unit in ((self.length, 1, "mm"), (self.filament, 0, "g"), (self.hours, 1, "h"))]

    @property
    def words(self) -> str:
        """What a maker would notice, in words; "" where nothing does."""
        more = [f"{cell.lstrip('+-')} {'less' if cell[0] == '-' else 'more'}" for cell in self.cells[1:] if cell]
        return ", ".join((*self.sizes, *([" and ".join(more) + " to print"] if more else [])))

    def record(self) -> dict[str, float]:
        """Return plain data for JSON."""
        return {"length_mm": self.length, "filament_g": self.filament, "print_time_h": self.hours}


class Remedy(Struct, frozen=True):
    """Edits of the description that have been tried: they clear a finding and fail nothing that held. `edits` are paths
    with values, None to take one out; `said` says them to people, and `costs` what else changes."""

    edits: tuple[tuple[str, Any], ...]
    said: str
    costs: Costs = Costs()

    @property
    def text(self) -> str:
        """The edits in words, with what they cost."""
        words = self.costs.words
        return f"{self.said}: {words}" if words else self.said

    def record(self) -> dict[str, Any]:
        """Return plain data for JSON."""
        return {"edits": [{"path": path, "value": value} for path, value in self.edits], "clears": True, "breaks": [],
                "costs": self.costs.record(), "text": self.text}


class Finding(Struct, frozen=True):
    """One verdict with its reason.

    `value` [unit] must stay at or below `limit` [unit] when `sense` is "max", at or above when it is
    "min". `reason` says in words what was found; on a pass it is empty. `remedies` are what was tried and clears it,
    best first; `nearest` says how near it came where nothing tried does. `note` tells of what the value is made, on a
    pass too; `defaults` are the paths of measured fields that the value hangs on and nobody gave.
    """

    check: str
    subject: AnySubject
    verdict: Verdict
    value: float
    limit: float
    sense: Sense
    unit: str
    reason: str = ""
    remedies: tuple[Remedy, ...] = ()
    nearest: str = ""
    unlimited: bool = False     # nothing binds: `limit` is only how far there is anything to hold
    note: str = ""
    defaults: tuple[str, ...] = ()

    @property
    def remedy(self) -> str:
        """What to change, in words: the first remedy that was tried; "" where none was."""
        return self.remedies[0].text if self.remedies else ""

    @property
    def margin(self) -> float:
        """Distance to the limit [unit], positive on the good side."""
        return self.limit - self.value if self.sense == "max" else self.value - self.limit

    @property
    def share(self) -> float:
        """The margin as a share of the limit, so that margins of all units can be compared."""
        return self.margin / (abs(self.limit) or PLAIN)

    def record(self) -> dict:
        """Return the finding as plain data for JSON: its subject as text, the subject's parts as "about" beside it."""
        plain = asdict(self)
        subject = plain.pop("subject")
        remedies = [one.record() for one in plain.pop("remedies")]
        return {"check": plain.pop("check"), "subject": str(subject), "about": subject.about, **plain,
                "remedy": self.remedy, "remedies": remedies}


def judge(check: str, subject: AnySubject, value: float, limit: float, sense: Sense, unit: str,
          reason: str | Callable[[], str], warn_within: float = 0.0, note: str = "") -> Finding:
    """Hold `value` against `limit` [unit] and return the finding.

    Within `warn_within` [unit] of the limit, but still on the good side, the verdict is "warn". The
    reason is kept only where there is something to do; one that takes work to find is asked only there.
    """
    value, limit = float(value), float(limit)
    margin = limit - value if sense == "max" else value - limit
    close = 0 < warn_within and margin < warn_within
    verdict: Verdict = "fail" if not margin >= -_SLACK else "warn" if close else "pass"
    said = "" if verdict == "pass" else reason if isinstance(reason, str) else reason()
    return Finding(check, subject, verdict, value, limit, sense, unit, said, note=note)


def figure(value: float) -> str:
    """Return a number short enough to read, on the terminal and in the report: whole where it is, else two places."""
    if float(value).is_integer() or abs(value) < 1e-6:
        return f"{round(value)}"
    return f"{value:.2f}" if abs(value) >= 0.01 else f"{value:.4f}"


def apart(value: float, limit: float, places: int = 1, spec: str = "f") -> tuple[str, str]:
    """Return both with as many decimals, from `places` on, as tell them apart."""
    for more in range(places, 7):
        said = f"{value:.{more}{spec}}", f"{limit:.{more}{spec}}"
        if said[0] != said[1]:
            break
    return said


def counted(count: int, what: str) -> str:
    """Return so many of a thing in words, of one as of several."""
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def up(value: float, places: int = 1) -> str:
    """Return `value` rounded up, so that a remedy that names a least size passes when it is applied."""
    return f"{ceil(value * 10**places - 1e-6) / 10**places:.{places}f}"


def down(value: float, places: int = 1) -> str:
    """Return `value` rounded down, so that a remedy that names a largest size passes when it is applied."""
    return f"{floor(value * 10**places + 1e-6) / 10**places:.{places}f}"


def worst(findings: Iterable[Finding]) -> Verdict:
    """Return the gravest verdict among `findings`; "pass" when there are none."""
    verdicts = {finding.verdict for finding in findings}
    return "fail" if "fail" in verdicts else "warn" if "warn" in verdicts else "pass"
