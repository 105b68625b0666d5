"""The evening digest, and what is told when nothing could be judged. Threats are invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from alerts.policy.digest import Digest, DigestOutlook, cannot_judge_key, digest, silence, silence_key
from tests.alerts.made_up import (
    BEGINS,
    DAY,
    ENDS,
    FORECAST,
    GARDEN,
    MAPLE,
    NOW,
    RULES,
    SECOND,
    ZONE,
    raised,
    threat,
)

THEN = DAY + timedelta(days=3)


def at(now: datetime = NOW, *, forecast_at: datetime = FORECAST) -> Digest:
    ahead = [
        threat(MAPLE, day=THEN, chances=(0.9, 0.4)),
        threat(SECOND, day=THEN, chances=(0.9, 0.5)),
        threat(day=THEN, chances=(0.9, 0.2)),
        threat(hazard="wind", day=THEN),
        threat(day=DAY + timedelta(days=20)),
        threat(),
    ]
    return digest(GARDEN, [raised().standing], ahead, now, forecast_at, now, ZONE, RULES)


def test_it_tells_what_stands_and_danger_of_heat_and_frost_further_ahead() -> None:
    assert [one.hazard for one in at().standing] == ["heat"]
    assert at().outlook == (DigestOutlook(THEN, "heat", 0.5, (MAPLE, SECOND)),)


def test_what_has_passed_or_was_withdrawn_stands_no_more() -> None:
    assert at(ENDS, forecast_at=ENDS).standing == ()
    gone = replace(raised().standing, state="withdrawn")
    assert digest(GARDEN, [gone], [], NOW, FORECAST, NOW, ZONE, RULES).standing == ()


def test_the_outlook_leaves_out_what_is_warned_of() -> None:
    night = DAY + timedelta(days=1)  # that after tomorrow, which begins within 36 hours
    frost = threat(
        hazard="frost", day=night, begins=NOW + timedelta(hours=33), ends=NOW + timedelta(hours=36)
    )
    found = digest(GARDEN, [raised(frost).standing], [frost], NOW, FORECAST, NOW, ZONE, RULES)
    assert (len(found.standing), found.outlook) == (1, ())


def test_an_old_forecast_has_no_outlook() -> None:
    old = at(forecast_at=NOW - timedelta(hours=20))
    assert (old.cannot_judge, old.outlook, len(old.standing)) == (True, (), 1)


def test_each_evening_has_a_later_revision() -> None:
    assert at(NOW + timedelta(days=1)).revision == at().revision + 1
    assert at(NOW + timedelta(hours=1)).revision == at().revision
    assert at(NOW + timedelta(days=1)).id == at().id


@pytest.mark.parametrize(("hours", "silent"), [(17.9, False), (18, True), (40, True)])
def test_eighteen_hours_without_a_judgement_are_a_silence(hours: float, *, silent: bool) -> None:
    assert silence(NOW - timedelta(hours=hours), NOW, RULES) is silent


def test_a_silence_and_an_old_forecast_are_told_once_each() -> None:
    assert silence_key(GARDEN, NOW) == silence_key(GARDEN, NOW)
    assert silence_key(GARDEN, BEGINS)[1] > silence_key(GARDEN, NOW)[1]
    assert cannot_judge_key(GARDEN, NOW) != silence_key(GARDEN, NOW)
    assert cannot_judge_key(GARDEN, NOW)[1] < 2**31  # as much as a column of whole numbers holds


def test_it_knows_of_which_hours_until_the_end_of_tomorrow_nothing_is_told() -> None:
    hour = timedelta(hours=1)
    night = NOW + 30 * hour  # Friday's midnight, as now is Wednesday 18:00
    gaps = [(NOW + 2 * hour, NOW + 9 * hour), (NOW + 29 * hour, NOW + 200 * hour), (night, night + hour)]
    found = digest(GARDEN, [], [], NOW, FORECAST, NOW, ZONE, RULES, gaps).unseen
    assert found == ((NOW + 2 * hour, NOW + 9 * hour), (NOW + 29 * hour, night))
