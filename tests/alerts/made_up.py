"""Threats, judgements and readers for tests of warnings; trees, spots and values are invented.

The place is Seattle-Tacoma airport on the evening before 25 June 2015.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID
from zoneinfo import ZoneInfo

from alerts.policy.judging import WarningChange, judge
from alerts.telling.voice import Voice
from alerts.threats import Advice, Threat
from calendar_core.wording.style import Style
from tests.planning.made_up import knowledge

if TYPE_CHECKING:
    from collections.abc import Iterable

    from alerts.policy.standing import Standing
    from calendar_core.garden.model import Units
    from calendar_core.knowledge.words import Hazard

GARDEN = UUID(int=1)
ZONE = ZoneInfo("America/Los_Angeles")
NOW = datetime(2015, 6, 25, 1, 0, tzinfo=UTC)  # Wednesday 18:00
DAY = date(2015, 6, 25)  # Thursday
FORECAST = NOW - timedelta(hours=2, minutes=20)
BEGINS, ENDS = datetime(2015, 6, 25, 18, 0, tzinfo=UTC), datetime(2015, 6, 26, 1, 0, tzinfo=UTC)
MAPLE, SECOND, BEECH = UUID(int=11), UUID(int=12), UUID(int=13)
ASH, FRAME = UUID(int=21), UUID(int=22)
TREES = {MAPLE: "Maple 1", SECOND: "Maple 2", BEECH: "Beech"}
SPOTS = {ASH: "under the ash", FRAME: "cold frame"}
RULES = knowledge().warnings

# typical, bad, line of caution, line of danger
VALUES: dict[Hazard, tuple[float, float, float, float]] = {
    "heat": (41.0, 44.0, 38.0, 42.0),
    "sunburn": (0.8, 1.1, 0.5, 1.0),
    "hot roots": (41.0, 43.0, 38.0, 42.0),
    "drying": (0.9, 1.1, 0.8, 1.0),
    "frost": (-2.5, -4.5, -1.0, -3.0),
    "cold roots": (-6.0, -11.0, -5.0, -10.0),
    "wind": (17.0, 22.0, 15.0, 20.0),
    "hail": (0.0, 1.0, 1.0, 1.0),
}


def threat(tree: UUID = MAPLE, hazard: Hazard = "heat", **more: Any) -> Threat:
    typical, bad, caution, danger = VALUES[hazard]
    made = Threat(tree, hazard, DAY, BEGINS, ENDS, typical, bad, caution, danger, (0.9, 0.7))
    return replace(made, **more)


def mild(tree: UUID = MAPLE, **more: Any) -> Threat:
    """Give a threat at caution only."""
    fields: dict[str, Any] = {"typical": 39.0, "bad": 41.0, "chances": (0.8, 0.05)}
    return threat(tree, **(fields | more))


def advice(*trees: UUID, **more: Any) -> Advice:
    by, until = datetime(2015, 6, 25, 16, tzinfo=UTC), ENDS
    made = Advice(trees or (MAPLE,), "heat", "move", by, until, 44.0, 36.0, ASH, 18.0, enough=True)
    return replace(made, **more)


def judged(
    threats: Iterable[Threat],
    standings: Iterable[Standing] = (),
    now: datetime = NOW,
    forecast_at: datetime | None = None,
) -> tuple[WarningChange, ...]:
    return judge(GARDEN, threats, standings, forecast_at or now - (NOW - FORECAST), now, RULES)


def raised(*threats: Threat, now: datetime = NOW) -> WarningChange:
    (change,) = judged(threats or (threat(),), now=now)
    assert change.action == "new"
    return change


def voice(units: Units = "metric", trees: dict[UUID, str] | None = None, *chilled: UUID) -> Voice:
    names = trees or TREES
    return Voice(
        Style(units), ZONE, names, SPOTS, knowledge().cautions, RULES, "Mill yard", frozenset(chilled)
    )
