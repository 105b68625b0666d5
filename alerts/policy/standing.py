"""A warning as it was last told, and its form as JSON values."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, Literal
from uuid import UUID, uuid5

if TYPE_CHECKING:
    from collections.abc import Mapping

    from alerts.notices import Severity
    from alerts.threats import Level
    from calendar_core.knowledge.words import Hazard

State = Literal["active", "withdrawn"]


@dataclass(frozen=True, slots=True)
class Standing:
    """A warning of one hazard on one local day, as it was last told.

    ``levels`` are those of the trees it named. ``missed`` counts the forecasts in a row that no longer found it,
    up to the one of ``forecast_at``; ``changes`` counts the times it was changed, ``returned`` those it came again after
    it was withdrawn. ``sent`` refers to its notices so
    far. A warning whose ``expires`` has come has passed: it stays as it is, and may only be changed.
    """

    id: UUID
    hazard: Hazard
    day: date
    state: State
    revision: int
    severity: Severity
    onset: datetime
    expires: datetime
    levels: Mapping[UUID, Level]
    forecast_at: datetime
    missed: int = 0
    changes: int = 0
    returned: int = 0
    sent: tuple[str, ...] = ()


def warning_id(garden_id: UUID, hazard: Hazard, day: date) -> UUID:
    """Return the id of a warning: the same whatever the forecast becomes.

    >>> garden = UUID(int=1)
    >>> warning_id(garden, "frost", date(2015, 5, 1)) == warning_id(garden, "frost", date(2015, 5, 1))
    True
    """
    return uuid5(garden_id, f"{hazard}|{day.isoformat()}")


def as_data(standing: Standing) -> dict[str, Any]:
    """Return a warning as JSON values, times as ISO 8601."""
    times = {key: getattr(standing, key).isoformat() for key in ("day", "onset", "expires", "forecast_at")}
    levels = {str(tree): level for tree, level in standing.levels.items()}
    plain = asdict(replace(standing, levels={}))
    return plain | times | {"id": str(standing.id), "levels": levels, "sent": list(standing.sent)}


def from_data(data: Mapping[str, Any]) -> Standing:
    """Return the warning that `as_data` wrote."""
    times = {key: datetime.fromisoformat(data[key]) for key in ("onset", "expires", "forecast_at")}
    return Standing(
        **{
            **data,
            **times,
            "id": UUID(data["id"]),
            "day": date.fromisoformat(data["day"]),
            "levels": {UUID(tree): level for tree, level in data["levels"].items()},
            "sent": tuple(data["sent"]),
        }
    )
