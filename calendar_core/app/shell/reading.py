"""Files that are given to the program: only plain ones, of a size that can be, and every fault in one line.

A pipe or a device would be waited for or read without end, and a link out of a folder would show what lies elsewhere.
"""

from __future__ import annotations

import json
import stat
import tomllib
from math import isfinite
from typing import TYPE_CHECKING, Any, NoReturn

from calendar_core.app.shell.errors import Refusal

if TYPE_CHECKING:
    from pathlib import Path

MOST_BYTES = 500_000_000  # a reading of weather a minute over ten years has some 200 MB


def bytes_of(path: Path, right: str, within: Path | None = None) -> bytes:
    """Return what a plain file holds, ``within`` a folder if one is named.

    Raises
    ------
    Refusal
        Where there is no such file, or it is none that is read; ``right`` says what would be.
    """
    try:
        kept = path.stat()
        if within is not None and not path.resolve().is_relative_to(within.resolve()):
            raise Refusal(f"{path}: leads out of the folder; right would be a file in it")
        if stat.S_ISDIR(kept.st_mode):
            raise Refusal(f"{path}: cannot be read (Is a directory); right would be {right}")
        if not stat.S_ISREG(kept.st_mode):
            raise Refusal(f"{path}: is a pipe or a device, not a file; right would be {right}")
        if kept.st_size > MOST_BYTES:
            raise Refusal(
                f"{path}: has {kept.st_size / 1e6:.0f} MB; right would be at most {MOST_BYTES / 1e6:g}"
            )
        return path.read_bytes()
    except OSError as error:
        raise Refusal(f"{path}: cannot be read ({error.strerror}); right would be {right}") from None
    except ValueError:  # a name with a NUL in it
        raise Refusal(f"{path}: is no name of a file; right would be {right}") from None


def text_of(path: Path, right: str, within: Path | None = None) -> str:
    """Return the text of a plain file, as `bytes_of`. Raises Refusal, also where it is not UTF-8."""
    return decoded(bytes_of(path, right, within), path, right)


def decoded(body: bytes, path: Path, right: str, *, lines: bool = True) -> str:
    """Return bytes of a file as text; ``lines`` end as they do here, else as they are written. Raises Refusal."""
    try:
        text = body.decode("utf-8-sig")
        return text.replace("\r\n", "\n").replace("\r", "\n") if lines else text
    except UnicodeDecodeError:
        raise Refusal(f"{path}: is not UTF-8 text; right would be {right}") from None


def toml_of(path: Path, right: str) -> dict[str, Any]:
    """Return the tables of a TOML file. Raises Refusal."""
    text = text_of(path, right)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise Refusal(f"{path}: is not valid TOML: {error}") from None
    except ValueError:  # of a number: Python stops at some 4,300 digits
        raise Refusal(f"{path}: holds a number that cannot be read; right would be fewer digits") from None
    except RecursionError:
        raise Refusal(f"{path}: is nested too deep to be read; right would be {right}") from None


class NumberError(ValueError):
    """A number that JSON does not have."""


def json_of(text: str) -> Any:
    """Return what JSON says.

    Raises
    ------
    ValueError
        Where it is none, in one line; a NumberError where a number of it is none.
    """
    try:
        return json.loads(text, parse_constant=_no_number, parse_float=_finite)
    except (json.JSONDecodeError, NumberError):
        raise
    except ValueError:  # of a number: Python stops at some 4,300 digits
        raise ValueError("a number of more digits than are read") from None
    except RecursionError:
        raise ValueError("nested too deep to be read") from None


def _no_number(word: str) -> NoReturn:
    raise NumberError(f"found {word:.60}; right would be JSON of finite numbers")


def _finite(word: str) -> float:
    number = float(word)
    return number if isfinite(number) else _no_number(word)
