"""What a season chart shows: its words, its curves and its rows, checked before anything is drawn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

    from calendar_core.planning.items import Range


@dataclass(frozen=True, slots=True)
class ChartText:
    """Every word on the chart.

    ``today``, ``heat``, ``heat_range``, ``past_heat`` and ``day_length`` stand at the mark or curve they
    name; ``months`` are twelve short names from January on; ``description`` is for those who hear the page.
    ``soft``, ``likely``, ``pale`` and ``beyond`` say how soft edges, the stroke of a stage, pale strips and arrows are
    read, each told where there is one; ``note`` follows them.
    """

    title: str
    description: str
    today: str
    heat: str
    heat_range: str
    past_heat: str
    day_length: str
    months: tuple[str, ...]
    heat_unit: str = "°C·d"
    hour_unit: str = "h"
    subtitle: str = ""
    soft: str = ""
    likely: str = ""
    pale: str = ""
    beyond: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Strip:
    """A stage (``closes`` is None) or a window of work, in the share ``chance`` of years in which it comes.

    ``caption`` stands at the strip on the desk sheet, where a row has no sentence.
    """

    opens: Range
    closes: Range | None = None
    chance: float = 1.0
    caption: str = ""

    @property
    def last(self) -> Range:
        """When it is over."""
        return self.opens if self.closes is None else self.closes


@dataclass(frozen=True, slots=True)
class StripRow:
    """Strips of one name. On the phone sheet it has a sentence, on the desk sheet each strip a caption.

    Rows that follow each other with the same ``heading`` stand under it together, or beside it on the desk sheet,
    where those of one ``part`` stand under their own months.
    """

    label: str
    heading: str
    strips: tuple[Strip, ...]
    sentence: str = ""
    part: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class SeasonChart:
    """What a season chart shows. Arrays hold one value per day from ``start`` to ``end``, both included.

    ``heat`` is this year's running sum, NaN after today; ``heat_range`` its 10, 50 and 90 % quantiles
    (3 x days), NaN before today; ``past_heat`` the sums of past years (years x days), all in the unit named
    in the text, and NaN on the last day before sums begin anew. ``day_length_h`` is in hours, NaN nowhere.

    Raises
    ------
    ValueError
        If the axis has less than two days, an array does not fit it, or there are not twelve months.
    """

    text: ChartText
    today: date
    start: date
    end: date
    day_length_h: NDArray[np.float64]
    heat: NDArray[np.float64] | None = None
    heat_range: NDArray[np.float64] | None = None
    past_heat: NDArray[np.float64] | None = None
    rows: tuple[StripRow, ...] = ()

    def __post_init__(self) -> None:
        days = (self.end - self.start).days + 1
        if days < 2:
            raise ValueError(f"end {self.end} must come after start {self.start}")
        if len(self.text.months) != 12:
            raise ValueError(f"months must be twelve names, not {len(self.text.months)}")
        years = 0 if self.past_heat is None else len(self.past_heat)
        shapes = {
            "day_length_h": (days,),
            "heat": (days,),
            "heat_range": (3, days),
            "past_heat": (years, days),
        }
        for name, shape in shapes.items():
            values = getattr(self, name)
            if values is not None and 0 not in shape and np.shape(values) != shape:
                raise ValueError(f"{name} must have shape {shape}, not {np.shape(values)}")
