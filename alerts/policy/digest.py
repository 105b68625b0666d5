"""The evening digest, and what is told when there was nothing to judge by; each has a steady id and a revision."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING
from uuid import UUID, uuid5

from alerts.policy.judging import stale

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date
    from zoneinfo import ZoneInfo

    from alerts.air.hours import Span
    from alerts.policy.standing import Standing
    from alerts.threats import Threat
    from calendar_core.knowledge.forms.warnings import WarningRules
    from calendar_core.knowledge.words import Hazard

MINUTE = timedelta(minutes=1)
EPOCH = datetime.fromisoformat("1970-01-01T00:00+00:00")


@dataclass(frozen=True, slots=True)
class DigestOutlook:
    """Danger further ahead: the highest chance of any tree, and the trees for which it is worth telling."""

    day: date
    hazard: Hazard
    chance: float
    trees: tuple[UUID, ...]


@dataclass(frozen=True, slots=True)
class Digest:
    """What stands until tomorrow night, and what may come after; ``cannot_judge`` where the forecast is too old.

    ``unseen`` are the spans until the end of tomorrow of which the forecast tells nothing.
    """

    id: UUID
    revision: int
    judged_at: datetime
    forecast_at: datetime
    standing: tuple[Standing, ...]
    outlook: tuple[DigestOutlook, ...]
    cannot_judge: bool = False
    unseen: tuple[Span, ...] = ()


def digest(
    garden_id: UUID,
    standings: Iterable[Standing],
    threats: Iterable[Threat],
    judged_at: datetime,
    forecast_at: datetime,
    now: datetime,
    zone: ZoneInfo,
    rules: WarningRules,
    unseen: Iterable[Span] = (),
) -> Digest:
    """Return the digest of an evening; of an old forecast it tells no outlook.

    ``unseen`` are spans of which the forecast tells nothing.
    """
    today = now.astimezone(zone).date()
    tomorrow = today + timedelta(days=1)
    active = sorted(
        (standing for standing in standings if standing.state == "active" and standing.expires > now),
        key=lambda standing: (standing.onset, standing.hazard),
    )
    old = stale(forecast_at, now, rules)
    told = {(standing.hazard, standing.day) for standing in active}
    outlook = () if old else _outlook(threats, tomorrow, told, rules)
    near = tuple(standing for standing in active if standing.day <= tomorrow + timedelta(days=1))
    night = datetime.combine(tomorrow + timedelta(days=1), time(), zone)
    gaps = tuple((first, min(last, night)) for first, last in unseen if first < night)
    return Digest(
        uuid5(garden_id, "digest"), today.toordinal(), judged_at, forecast_at, near, outlook, old, gaps
    )


def silence(judged_at: datetime, now: datetime, rules: WarningRules) -> bool:
    """Return whether there has been no fresh judgement for so long that it must be told."""
    return now - judged_at >= timedelta(hours=rules.silence_h.value)


def silence_key(garden_id: UUID, judged_at: datetime) -> tuple[UUID, int]:
    """Return id and revision of the notice of a silence: one for each last judgement."""
    return uuid5(garden_id, "silence"), (judged_at - EPOCH) // MINUTE


def cannot_judge_key(garden_id: UUID, forecast_at: datetime) -> tuple[UUID, int]:
    """Return id and revision of the notice that a forecast is too old: one for each forecast."""
    return uuid5(garden_id, "cannot judge"), (forecast_at - EPOCH) // MINUTE


def no_forecast_key(garden_id: UUID, evening: datetime) -> tuple[UUID, int]:
    """Return id and revision of the notice that there has never been a forecast: one from each evening on."""
    return uuid5(garden_id, "no forecast"), evening.toordinal()


def _outlook(
    threats: Iterable[Threat], tomorrow: date, told: set[tuple[Hazard, date]], rules: WarningRules
) -> tuple[DigestOutlook, ...]:
    """Return a line for each hazard and day after tomorrow that is not warned of already."""
    last = tomorrow + timedelta(days=rules.digest.days - 1)
    by_day: dict[tuple[date, Hazard], list[Threat]] = defaultdict(list)
    for threat in threats:
        if (
            tomorrow < threat.day <= last
            and (threat.hazard, threat.day) not in told
            and threat.hazard in rules.digest.hazards
            and threat.chances[1] >= rules.digest.danger_from
        ):
            by_day[threat.day, threat.hazard].append(threat)
    return tuple(
        DigestOutlook(
            *key, max(threat.chances[1] for threat in alike), tuple(threat.tree for threat in alike)
        )
        for key, alike in sorted(by_day.items())
    )
