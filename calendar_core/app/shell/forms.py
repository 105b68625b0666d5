"""Forms that input must fit, and one clear line for each fault: where, what was found, what would be right."""

from __future__ import annotations

import re
import unicodedata
from datetime import date, time
from typing import TYPE_CHECKING, Annotated, Any, TypeVar, get_args

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationError,
    ValidationInfo,
    field_validator,
)

from calendar_core.app.shell.days import day_of
from calendar_core.app.shell.errors import Refusal
from calendar_core.garden.labels import right_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping
    from pathlib import Path

    from calendar_core.garden.labels import Named

    Form = TypeVar("Form", bound=BaseModel)

_SHORT = {
    "latitude": "lat",
    "longitude": "lon",
    "elevation_m": "elevation",
    "pot": "pot-kind",
    "pot_litres": "pot",
    "cloth_percent": "cloth",
    "height_mm": "height",
    "species": "trees",
}  # options that are not named as their keys
LONGEST_NAME, LONGEST_TEXT = 60, 2000  # signs; a calendar's title and a note that can still be read


def no_control_characters(text: str) -> str:
    """Return a text. Raises ValueError where a terminal or a file could take a sign of it for more than text."""
    if any(unicodedata.category(sign) in {"Cc", "Cs"} for sign in text):
        raise ValueError(f"found {shortened(text)}; right would be text without control characters")
    return text


Text = Annotated[str, Field(max_length=LONGEST_TEXT), AfterValidator(no_control_characters)]


def name_of(of: Named) -> Callable[[str], str]:
    """Return the check of what something is called. It raises ValueError."""

    def check(text: str) -> str:
        if right := right_of(text, of):
            raise ValueError(f"found {shortened(text)}; right would be {right}")
        return text

    return check


_Short = Annotated[str, Field(min_length=1, max_length=LONGEST_NAME)]
Label = Annotated[_Short, AfterValidator(name_of("other"))]
TreeLabel = Annotated[_Short, AfterValidator(name_of("tree"))]
PartName = Annotated[_Short, AfterValidator(name_of("part"))]
Day = Annotated[date, BeforeValidator(day_of)]


def _written(at: object) -> object:
    """Return a time as it is written. Raises ValueError for a number, which would be taken for seconds since midnight."""
    if isinstance(at, int | float):
        raise ValueError(f"found {at}; right would be hours and minutes, such as 9:30")  # noqa: TRY004 - for pydantic
    return at


def _by_the_garden(at: time) -> time:
    if at.tzinfo is not None:
        told = at.replace(tzinfo=None).isoformat()
        raise ValueError(f"found {at.isoformat()}; right would be by the garden's clock, such as {told}")
    return at


LocalTime = Annotated[time, BeforeValidator(_written), AfterValidator(_by_the_garden)]


LARGEST = 2**31 - 1  # of whole numbers: PostgreSQL's INTEGER


def no_truth(value: Any) -> Any:
    """Return what stands for a number. Raises ValueError for true and false, which would be taken for 1 and 0."""
    if isinstance(value, bool) or (isinstance(value, list | tuple) and any(map(_holds_truth, value))):
        raise ValueError(f"found {shortened(value)}; right would be a number")
    return value


def _holds_truth(value: object) -> bool:
    return isinstance(value, bool) or (isinstance(value, list | tuple) and any(map(_holds_truth, value)))


def storable(value: Any) -> Any:
    """Return a value. Raises ValueError where no database takes it: a number too large, a text with half a sign in it."""
    if type(value) is int and abs(value) > LARGEST:
        raise ValueError(f"found {shortened(value)}; right would be at most {LARGEST}")
    for text in value if isinstance(value, tuple) else (value,):
        if isinstance(text, str) and any(sign == "\0" or "\ud800" <= sign <= "\udfff" for sign in text):
            raise ValueError(f"found {shortened(text)}; right would be text without control characters")
    return value


def meant(kind: Any) -> Any:
    """Return the kind of a value, which is taken for what it is: true is no number, and all of it can be stored."""
    parts = list(_parts(kind))
    if any(part in (int, float) for part in parts) and not any(part in (bool, Any) for part in parts):
        kind = Annotated[kind, BeforeValidator(no_truth)]
    return Annotated[kind, AfterValidator(storable)] if any(part in (int, str) for part in parts) else kind


def _parts(annotation: Any) -> Iterator[Any]:
    yield annotation
    for inner in get_args(annotation):
        yield from _parts(inner)


class Strict(BaseModel):
    """A table in which an unknown key is a fault, and true is no number."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True, defer_build=True)

    @field_validator("*", mode="before")
    @classmethod
    def _number(cls, value: Any, info: ValidationInfo) -> Any:
        wanted = list(_parts(cls.model_fields[str(info.field_name)].annotation))
        return value if any(part in (bool, Any) for part in wanted) else no_truth(value)


class Remark(Strict):
    """Anything worth remembering."""

    note: Text = ""


def in_file(path: Path, line: int | None = None) -> Callable[[str], str]:
    """Return a function that names a key of a file."""
    where = f"{path}" if line is None else f"{path} line {line}"
    return lambda key: f"{where}: {key}" if key else where


def as_option(key: str) -> str:
    """Return the option of the command line that a key stands for."""
    return f"--{_SHORT.get(key, key).replace('_', '-')}" if key else ""


def checked(form: type[Form], data: Mapping[str, Any], place: Callable[[str], str]) -> Form:
    """Return data in its form, or refuse it with one line for each fault."""
    try:
        return form.model_validate(data)
    except ValidationError as error:
        raise Refusal(*fault_lines(error, form, place)) from None


def fault_lines(error: ValidationError, form: type[BaseModel], place: Callable[[str], str]) -> list[str]:
    """Return one line for each fault."""
    lines = []
    for fault in error.errors(include_url=False):
        key = "".join(
            f"[{part + 1}]" if isinstance(part, int) else f".{part}" for part in fault["loc"]
        ).lstrip(".")
        message = _message(dict(fault), form)
        lines.append(f"{place(key)}: {message}" if place(key) else message)
    return lines


def _message(fault: dict[str, Any], form: type[BaseModel]) -> str:
    kind = fault["type"]
    if kind == "missing":
        return "is missing"
    if kind == "extra_forbidden":
        return f"no such key; right would be one of {', '.join(_table(form, fault['loc']).model_fields)}"
    if kind == "value_error":
        return str(fault["ctx"]["error"])
    right = re.sub(r"^.*? should (be|have) ", "", fault["msg"])
    right = right.replace("less than or equal to", "at most").replace("greater than or equal to", "at least")
    if kind.endswith("_parsing"):
        right = right.partition(",")[0]
    found = fault["input"]
    shown = f"found {shortened(found)}; " if isinstance(found, str | int | float | bool) else ""
    return f"{shown}right would be {right}"


def shortened(found: object) -> str:
    """Return a value as it is shown in a message, in one line that can be read.

    >>> shortened("x" * 5000)
    "'xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx..."
    """
    shown = repr(found)
    return shown if len(shown) <= LONGEST_NAME + 2 else f"{shown[:LONGEST_NAME]}..."


def _table(form: type[BaseModel], keys: tuple[str | int, ...]) -> type[BaseModel]:
    """Return the form of the table that the last of the keys stands in."""
    for key in keys[:-1]:
        if isinstance(key, str):
            annotation = form.model_fields[key].annotation
            inner = (annotation, *get_args(annotation))
            form = next(kind for kind in inner if isinstance(kind, type) and issubclass(kind, BaseModel))
    return form
