"""Forecasts as they are given, put into a garden's database; the weather is invented."""

from __future__ import annotations

from datetime import UTC, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from alerts.notices import Sent
from calendar_core.app.shell.clock import Clock
from calendar_core.app.shell.session import Session
from calendar_core.app.warnings.warning import judge_garden
from calendar_core.storage import gardens
from calendar_core.storage.services import StoredHours, put_forecast_hours
from tests.app.stage import Stage

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date, datetime

    from alerts.notices import Message, Notice, Result

HOUR = timedelta(hours=1)
SEATTLE = ZoneInfo("America/Los_Angeles")
USUAL_C = 24.0
SWING_C = 6.0  # from the middle of a day to its end


class Foretold(Stage):
    """A garden whose forecasts are given; what reached its grower is kept, the latest last."""

    def __init__(self) -> None:
        self.told: list[tuple[datetime, Notice]] = []
        super().__init__(deliver=self._take)

    def _take(self, message: Message) -> Result:
        self.told.append((self.now, message.notice))
        return Sent()

    def forecast(
        self,
        now: datetime,
        peaks: Mapping[date, float] | None = None,
        *,
        hours: int = 120,
        unknown: tuple[datetime, datetime] | None = None,
        issued: datetime | None = None,
    ) -> None:
        """Store a forecast of days that reach ``peaks`` [degC] at 15:00, from the midnight before last on.

        It ends ``hours`` from now, and tells nothing of what lies in ``unknown``.
        """
        midnight = (now.astimezone(SEATTLE) - timedelta(days=1)).replace(hour=0, minute=0, second=0)
        start = midnight.astimezone(UTC)
        n = int((now - start) / HOUR) + hours
        local = [(start + k * HOUR).astimezone(SEATTLE) for k in range(n)]
        t_c = np.array(
            [
                (peaks or {}).get(at.date(), USUAL_C)
                - SWING_C * (1.0 - np.cos((at.hour - 15) / 24 * 2 * np.pi))
                for at in local
            ]
        )
        if unknown is not None:
            t_c[[unknown[0] <= at < unknown[1] for at in local]] = np.nan
        with self.store.begin() as connection:
            garden = gardens.get_garden(connection)
            made = issued or now
            put_forecast_hours(
                connection,
                StoredHours(
                    "given", garden.latitude, garden.longitude, made, now, start, {"t_c": t_c}, "", 0.0, None
                ),
            )

    def subjects(self) -> list[str]:
        """Return what was told, from the earliest on."""
        return [notice.subject for _, notice in self.told]

    def judge(self, now: datetime, *, send: bool = True) -> None:
        """Judge at a moment whatever the hour, as the grower does by hand."""
        self.now = now
        judge_garden(self.session(now), now)
        if send:
            self.at(now, "sending")

    def session(self, now: datetime) -> Session:
        """Return the garden at a moment."""
        with self.store.read() as connection:
            garden = gardens.get_garden(connection)
        return Session(self.store, garden, Clock(now.astimezone(SEATTLE).date(), now.astimezone(UTC)))
