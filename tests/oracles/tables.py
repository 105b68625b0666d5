"""Readers of the published check values beside this file; each file names its source in its head."""

from __future__ import annotations

import csv
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

FOLDER = Path(__file__).parent


def rows(name: str) -> list[dict[str, str]]:
    """Return the rows of a CSV file, without its head of '#' lines."""
    lines = (FOLDER / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def facts(name: str) -> dict[str, Any]:
    """Return the tables of a TOML file."""
    return tomllib.loads((FOLDER / name).read_text(encoding="utf-8"))


@dataclass(frozen=True)
class Winter:
    """One year of harvard-forest-daily.csv by day of the year; day length is that of the file."""

    latitude: float
    doy: NDArray[np.float64]
    t_mean_c: NDArray[np.float64]
    day_length_h: NDArray[np.float64]


@cache
def harvard_forest() -> dict[int, Winter]:
    """Return the years 1990-2001, each with the two months before it."""
    table = np.array([[float(v) for v in row.values()] for row in rows("harvard-forest-daily.csv")])
    years = {int(year): table[table[:, 0] == year, 1:].T for year in np.unique(table[:, 0])}
    return {year: Winter(42.5429, *columns) for year, columns in years.items()}
