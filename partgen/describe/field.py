"""One declaration for a number: default, unit, range, why that range, and how to measure it.

Help, schema, fault messages, the commented starter file and the documentation all read it from here.
"""

from collections.abc import Iterator, Mapping
from typing import Annotated, Any, ClassVar, Self, get_args

from pydantic import BaseModel, ConfigDict, Field
from pydantic.fields import FieldInfo

from partgen.describe.wording import stands

CHOOSE = "choose"       # how to measure what is for the maker to say
SLACK = 1e-6    # what a sum of measured figures may be off, so that a cure taken literally is accepted
ONE_LINE = r"^[^\x00-\x1f\x7f-\x9f\u2028\u2029]*$"

Name = Annotated[str, Field(min_length=1, max_length=40)]
Clashes = Iterator[tuple[str, str]]
"""Where values clash, as a field's name or a path, and what to do about it."""

_HASH = "hash of this table"


class Table(BaseModel):
    """A table of the description: frozen, strict numbers, no unknown keys, no NaN or infinity."""

    model_config = ConfigDict(frozen=True, strict=True, extra="forbid", allow_inf_nan=False)
    ALIKE: ClassVar[tuple[tuple[str, ...], ...]] = ()
    """Fields that tell one thing in several ways: what a file gives of them stands for all that its preset gives."""

    def __hash__(self) -> int:
        # A track of a hundred pieces is asked for its hash hundreds of times while a train is tuned.
        known = self.__dict__
        if _HASH not in known:
            known[_HASH] = hash(tuple(getattr(self, name) for name in type(self).model_fields))
        return known[_HASH]

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> Self:
        """Return a copy, as pydantic does, that knows no hash yet."""
        copy = super().model_copy(update=update, deep=deep)
        copy.__dict__.pop(_HASH, None)
        return copy

    def amiss(self, name: str, message: str, path: str = "") -> tuple[str, str]:
        """Return where field `name` stands, `path` before it, and "name = value unit" with `message` behind it."""
        unit = extra(type(self).model_fields[name], "unit")
        told = f"{stands(name, getattr(self, name))} {unit}".rstrip()
        return path + name, f"{told}{'' if message[0] == ',' else ' '}{message}"

    def conflicts(self) -> Clashes:
        """Yield the name of a field and a message for every combination of values that cannot be."""
        return iter(())


def upside_down(table: Any) -> Clashes:
    """Yield what is wrong where the upper edge of something is not above its lower one."""
    if table.high <= table.low:
        yield table.amiss("high", f"is not above low = {table.low:g} mm: raise high or lower low")


# ---- declared


def number(default: Any, unit: str, low: float, high: float, what: str, why: str, measure: str = CHOOSE) -> Any:
    """Declare a number in `unit`, from `low` to `high` inclusive; the `default` is `...` where it must be given.

    `what` says what it is, `why` what goes wrong outside the range, `measure` how to take it.
    """
    return Field(default, ge=low, le=high, description=what,
                 json_schema_extra={"unit": unit, "why": why, "measure": measure})


def text(default: Any, what: str, measure: str = CHOOSE, *, shortest: int = 1, longest: int) -> Any:
    """Declare a line of text of `shortest` to `longest` characters."""
    return Field(default, description=what, min_length=shortest, max_length=longest, pattern=ONE_LINE,
                 json_schema_extra={"measure": measure})


def choice(default: Any, what: str, measure: str = CHOOSE) -> Any:
    """Declare a choice; the allowed words are the field's Literal type."""
    return Field(default, description=what, json_schema_extra={"measure": measure})


def listing(default: Any, what: str, measure: str = CHOOSE, *, shortest: int = 0, longest: int = 100,
            **told: str) -> Any:
    """Declare a list of `shortest` to `longest` entries; `told` are "unit", "why" and an "example" of the entries."""
    return Field(default, description=what, min_length=shortest, max_length=longest,
                 json_schema_extra={"measure": measure, **told})


# ---- read back


def limits(field: FieldInfo) -> tuple[Any, Any]:
    """Return the least and the greatest number that a field takes; None for both where it is no number."""
    return _mark(field, "ge"), _mark(field, "le")


def counts(field: FieldInfo) -> tuple[Any, Any]:
    """Return how many letters or entries a field takes at least and at most; None for both where it has none."""
    return _mark(field, "min_length"), _mark(field, "max_length")


def _mark(field: FieldInfo, side: str) -> Any:
    return next((getattr(mark, side) for mark in field.metadata if hasattr(mark, side)), None)


def extra(field: FieldInfo, name: str) -> str:
    """Return the field's "unit", "why", "measure" or "example", empty where it has none."""
    told = field.json_schema_extra
    return str(told.get(name, "")) if isinstance(told, dict) else ""


def words(field: FieldInfo) -> tuple[str, ...]:
    """Return the allowed words of a choice, or of a list of choices; empty for anything else."""
    return tuple(word for word in _leaves(field.annotation) if isinstance(word, str))


def inner_table(field: FieldInfo) -> type[Table] | None:
    """Return the Table that a field holds, directly or in a list; None where there is none."""
    leaves = _leaves(field.annotation)
    return next((leaf for leaf in leaves if isinstance(leaf, type) and issubclass(leaf, Table)), None)


def _leaves(annotation: Any) -> list[Any]:
    parts = get_args(annotation)
    return [leaf for part in parts for leaf in _leaves(part)] if parts else [annotation]
