"""Quiet hours across midnight, clock changes and a day that never was (zones of the IANA database)."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from alerts.notices import Channel
from alerts.policy.quiet import due_after_quiet, quiet_until
from tests.alerts.conftest import a_notice

BERLIN, APIA, HOWE = (ZoneInfo(name) for name in ("Europe/Berlin", "Pacific/Apia", "Australia/Lord_Howe"))
NIGHT = time(22), time(7)


def channel(quiet: tuple[time, time] | None = NIGHT) -> Channel:
    start, end = quiet or (None, None)
    return Channel(UUID(int=1), UUID(int=2), "mail", "ines@leafclock.example", quiet_from=start, quiet_to=end)


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


@pytest.mark.parametrize(
    ("zone", "now", "until"),
    [
        (BERLIN, "2015-06-24T19:59", None),  # 21:59
        (BERLIN, "2015-06-24T20:00", "2015-06-25T05:00"),
        (BERLIN, "2015-06-25T04:59", "2015-06-25T05:00"),
        (BERLIN, "2015-06-25T05:00", None),
        (BERLIN, "2015-03-28T22:00", "2015-03-29T05:00"),  # the clocks go forward in this night
        (BERLIN, "2015-10-24T21:00", "2015-10-25T06:00"),  # and back in this one
        (APIA, "2011-12-30T09:00", "2011-12-30T17:00"),  # 29 December, 23:00; the 30th is left out
        (APIA, "2011-12-30T10:30", "2011-12-30T17:00"),  # 31 December, 0:30
        (APIA, "2011-12-31T08:00", "2011-12-31T17:00"),  # 31 December, 22:00
        (HOWE, "2015-04-04T12:00", "2015-04-04T20:30"),  # clocks back by half an hour
        (HOWE, "2015-10-03T12:00", "2015-10-03T20:00"),  # and forward
    ],
)
def test_quiet_hours_end_by_the_clock_on_the_wall(zone: ZoneInfo, now: str, until: str | None) -> None:
    assert quiet_until(channel(), utc(now), zone) == (utc(until) if until else None)


def test_an_end_that_the_clocks_leave_out_comes_as_much_later() -> None:
    ends = quiet_until(channel((time(22), time(2, 30))), utc("2015-03-29T00:30"), BERLIN)
    assert ends == utc("2015-03-29T01:30")  # 3:30, as 2:30 is not there


@pytest.mark.parametrize("quiet", [None, (time(7), time(7))])
def test_without_quiet_hours_all_goes_at_once(quiet: tuple[time, time] | None) -> None:
    assert quiet_until(channel(quiet), utc("2015-06-24T23:00"), BERLIN) is None


@pytest.mark.parametrize(
    ("action", "severity", "onset", "at_once"),
    [
        ("new", "Severe", "2015-06-25T04:00", True),
        ("update", "Extreme", "2015-06-25T04:00", True),
        ("new", "Severe", "2015-06-25T05:00", False),  # begins as they end
        ("new", "Moderate", "2015-06-25T04:00", False),
        ("withdraw", "Severe", "2015-06-25T04:00", False),
        ("digest", "Minor", "2015-06-25T04:00", False),
    ],
)
def test_only_danger_that_begins_in_them_breaks_quiet_hours(
    action: str, severity: str, onset: str, *, at_once: bool
) -> None:
    now = utc("2015-06-24T23:00")
    notice = a_notice(action=action, severity=severity, onset=utc(onset))
    due = now if at_once else utc("2015-06-25T05:00")
    assert due_after_quiet(channel(), notice, now, BERLIN) == due


moments = st.integers(0, 365 * 24 * 60).map(lambda minutes: utc("2011-12-01") + timedelta(minutes=minutes))
times = st.times().map(lambda at: at.replace(second=0, microsecond=0))


@given(moments, times, times, st.sampled_from([BERLIN, APIA, HOWE]))
def test_nothing_waits_longer_than_the_quiet_hours(
    now: datetime, start: time, end: time, zone: ZoneInfo
) -> None:
    until = quiet_until(channel((start, end)), now, zone)
    if until is not None:
        assert now < until <= now + timedelta(hours=25)  # a night of 24 hours in which the clocks go back
        assert quiet_until(channel((start, end)), until, zone) is None
    else:
        wall = now.astimezone(zone).time().replace(second=0, microsecond=0, fold=0)
        quiet = start <= wall < end if start <= end else wall >= start or wall < end
        # Within an hour of a clock change the wall clock alone does not tell.
        near = {(now + timedelta(hours=h)).astimezone(zone).utcoffset() for h in (-26, 26)}
        assert not quiet or len(near) == 2


def test_danger_whose_first_move_is_due_in_the_quiet_hours_goes_at_once() -> None:
    """Seen at 23:00, harm from 10:00 as the quiet hours end, but the move by 9:00."""
    late = channel((time(22), time(10)))
    now, onset = utc("2015-06-24T21:00"), utc("2015-06-25T08:00")
    notice = a_notice(severity="Severe", onset=onset, expires=onset + timedelta(hours=9))
    assert due_after_quiet(late, notice, now, BERLIN) == onset
    by_nine = replace(notice, act_by=onset - timedelta(hours=1))
    assert due_after_quiet(late, by_nine, now, BERLIN) == now
    assert due_after_quiet(late, replace(by_nine, severity="Moderate"), now, BERLIN) == onset
    assert due_after_quiet(late, replace(notice, act_by=onset), now, BERLIN) == onset
