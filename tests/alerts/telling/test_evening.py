"""The texts of the evening digest and of the notices that nothing was judged. Trees and values are invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from alerts.policy.digest import Digest, digest
from alerts.telling.evening import cannot_judge_notice, digest_notice, silence_notice, tell_digest
from alerts.telling.events import events_of, way_back
from tests.alerts.made_up import (
    DAY,
    FORECAST,
    FRAME,
    GARDEN,
    MAPLE,
    NOW,
    RULES,
    SECOND,
    ZONE,
    advice,
    raised,
    threat,
    voice,
)
from tests.wording.plain import UNITS, is_plain

if TYPE_CHECKING:
    from alerts.policy.standing import Standing
    from calendar_core.garden.model import Units


def evening(*standing: Standing, age_h: float = 2.0 + 1 / 3) -> Digest:
    ahead = [threat(day=DAY + timedelta(days=3), chances=(0.9, 0.4))]
    forecast = NOW - timedelta(hours=age_h)
    return digest(GARDEN, standing, ahead, NOW, forecast, NOW, ZONE, RULES)


def test_a_digest_reads_so() -> None:
    found = tell_digest(voice(), evening(raised(threat(), threat(SECOND)).standing), NOW)
    assert found.subject == "Tonight and tomorrow: heat"
    assert found.text == (
        "Tonight and tomorrow:\n"
        "- Danger from heat, Thursday 11:00 to 18:00: Maple 1 and Maple 2.\n\n"
        "Further ahead:\n"
        "- Sunday 28 June: danger from heat 4 times in 10, one tree.\n\n"
        "Mill yard: judged 18:00 on the forecast of 15:40. Official warnings, labels and local rules come first. "
        "Forecasts err: look at your trees too."
    )


def test_a_digest_tells_who_is_to_be_brought_back() -> None:
    (move,) = events_of(voice(), raised(), [advice()], NOW)
    back = way_back(voice(), move, {MAPLE: FRAME}, NOW)
    assert "To be brought back:\n- Back to “cold frame”: Maple 1, Thursday 18:00." in (
        tell_digest(voice(), evening(), NOW, back).text
    )


def test_no_warning_is_no_promise() -> None:
    found = tell_digest(voice("us"), evening(), NOW)
    assert found.subject == "Tonight and tomorrow: no warnings"
    assert found.text.startswith(
        "No warning stands for tonight and tomorrow. That is what the forecast shows, not a promise."
    )
    assert "Mill yard: judged 6 pm on the forecast of 3:40 pm." in found.text


def test_hours_of_which_nothing_is_known_are_told_and_never_as_no_warning() -> None:
    gaps = [
        (NOW + timedelta(hours=2), NOW + timedelta(hours=9)),
        (NOW + timedelta(hours=20), NOW + timedelta(days=9)),
    ]
    found = tell_digest(voice(), digest(GARDEN, [], [], NOW, FORECAST, NOW, ZONE, RULES, gaps), NOW)
    assert found.subject == "Tonight and tomorrow: part of the forecast is missing"
    assert found.text.startswith(
        "No warning stands for the hours of which the forecast tells.\n\n"
        "The forecast tells nothing of 20:00 to Thursday 3:00 and Thursday 14:00 to Friday 0:00: what comes then is not known "
        "here. Look at the sky and at official warnings."
    )
    assert "promise" not in found.text
    hot = [raised().standing]
    with_danger = tell_digest(voice(), digest(GARDEN, hot, [], NOW, FORECAST, NOW, ZONE, RULES, gaps), NOW)
    assert with_danger.subject == "Tonight and tomorrow: heat"
    assert "nothing of 20:00 to Thursday 3:00" in with_danger.text


def test_a_warning_that_the_newest_forecast_does_not_show_is_told_as_that() -> None:
    standing = raised().standing
    text = tell_digest(voice(), evening(replace(standing, missed=1)), NOW).text
    assert (
        "18:00: Maple 1. The newest forecast no longer shows it; the warning stands until the next ones agree."
        in text
    )
    assert "no longer" not in tell_digest(voice(), evening(standing), NOW).text


def test_an_old_forecast_is_told_first_and_never_as_no_warning() -> None:
    found = tell_digest(voice(), evening(age_h=26), NOW)
    assert found.subject == "Cannot judge: the forecast is 26 hours old"
    assert found.text.startswith("The newest forecast here is of Tuesday 16:00, 26 hours old")
    assert "No warning" not in found.text


@pytest.mark.parametrize("units", UNITS)
def test_silence_and_old_forecasts_say_how_old_and_where_to_look(units: Units) -> None:
    reader = voice(units)
    silent = silence_notice(reader, GARDEN, NOW - timedelta(hours=19), NOW)
    old = cannot_judge_notice(reader, GARDEN, NOW - timedelta(hours=19), NOW)
    assert "for 19 hours, since Tuesday " in silent.text
    assert "Tuesday" in old.text
    for notice in (silent, old):
        assert "official warnings" in notice.text
        is_plain(notice.text)
    assert "left as they are" in old.text


def test_they_are_told_once_and_a_digest_once_an_evening() -> None:
    since = NOW - timedelta(hours=19)
    first, again = (silence_notice(voice(), GARDEN, since, NOW + timedelta(hours=h)) for h in (0, 5))
    assert (first.warning_id, first.revision, first.action) == (again.warning_id, again.revision, "digest")
    assert digest_notice(voice(), evening(), NOW).revision == DAY.toordinal() - 1
    assert cannot_judge_notice(voice(), GARDEN, FORECAST, NOW).warning_id != first.warning_id
