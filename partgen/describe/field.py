"""One declaration for a number: default, unit, range, why that range, and how to measure it.

Help, schema, fault messages, the commented starter file and the documentation all read it from here.
"""

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

REQUIRED = ...
SLACK = 1e-6    # what a sum of measured figures may be off, so that a cure taken literally is accepted
ONE_LINE = r"^[^\x00-\x1f\x7f-\x9f\u2028\u2029]*$"

Name = Annotated[str, Field(min_length=1, max_length=40)]


_HASH = "hash of this table"


class Table(BaseModel):
    """A table of the description: frozen, strict numbers, no unknown keys, no NaN or infinity."""

    model_config = ConfigDict(frozen=True, strict=True, extra="forbid", allow_inf_nan=False)

    def __hash__(self) -> int:
        # A track of a hundred pieces is asked for its hash hundreds of times while a train is tuned.
        known = self.__dict__
        if _HASH not in known:
            known[_HASH] = hash(tuple(getattr(self, name) for name in type(self).model_fields))
        return known[_HASH]

    def model_copy(self, *, update=None, deep=False):
        """Return a copy, as pydantic does, that knows no hash yet."""
        copy = super().model_copy(update=update, deep=deep)
        copy.__dict__.pop(_HASH, None)
        return copy

    def conflicts(self):
        """Yield (field name, message) for every combination of values that cannot be."""
        return iter(())


def number(unit: str, low: float, high: float, what: str, *, why: str, measure: str = "",
           default: Any = REQUIRED) -> Any:
    """Declare a number in `unit`, from `low` to `high` inclusive.

    `what` says what it is, `why` what goes wrong outside the range, `measure` how to take it.
    """
    extra = {"unit": unit, "why": why, "measure": measure}
    return Field(default, ge=low, le=high, description=what, json_schema_extra=extra)


def text(what: str, *, default: Any = REQUIRED, measure: str = "", shortest: int = 1, longest: int = 80) -> Any:
    """Declare a line of text of `shortest` to `longest` characters."""
    return Field(default, description=what, min_length=shortest, max_length=longest, pattern=ONE_LINE,
                 json_schema_extra={"measure": measure})


def choice(what: str, *, default: Any = REQUIRED, measure: str = "") -> Any:
    """Declare a choice; the allowed words are the field's Literal type."""
    return Field(default, description=what, json_schema_extra={"measure": measure})


def listing(what: str, *, default: Any = REQUIRED, measure: str = "", shortest: int = 0,
            longest: int = 100, unit: str = "", why: str = "", example: str = "") -> Any:
    """Declare a list of `shortest` to `longest` entries; `example` shows one where the default is empty."""
    return Field(default, description=what, min_length=shortest, max_length=longest,
                 json_schema_extra={"measure": measure, "unit": unit, "why": why, "example": example})
