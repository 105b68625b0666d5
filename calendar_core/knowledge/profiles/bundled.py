"""Where the files that come with the program are."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

_PACKAGE = Path(__file__).parents[2]


def folder(name: Literal["config", "demo"]) -> Path:
    """Return the folder ``name``, from inside the installed package or from the checkout around it.

    Raises
    ------
    FileNotFoundError
        If neither is there.

    Examples
    --------
    >>> (folder("config") / "operations.toml").is_file()
    True
    """
    places = (_PACKAGE / f"_{name}", _PACKAGE.parent / name)
    for place in places:
        if place.is_dir():
            return place
    raise FileNotFoundError(f"{name}: found neither {places[0]} nor {places[1]}; install the program again")
