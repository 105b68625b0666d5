"""The whole story in a browser, with a thumb: a garden is founded, a tree added, a cut written down, and the phone's calendar tells what follows."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest
import requests
import vobject
from ical.calendar_stream import IcsCalendarStream

from calendar_core.app.calendar.jobs import CalendarJobs
from calendar_core.app.warnings.jobs import Jobs
from calendar_core.app.warnings.mailing import carrier
from tests.pages.serving import serving

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, Page

    from tests.pages.serving import Served

pytestmark = pytest.mark.slow
DAY = date(2026, 4, 20)
WITHIN = 180  # days in which a wound is looked at again


@pytest.fixture
def empty(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Served]:
    """Serve a database that is empty, without a weather service."""
    monkeypatch.setenv("LEAFCLOCK_WEATHER", "off")
    with serving(tmp_path / "garden.db", DAY) as found:
        yield found


def open_phone(browser: Browser, served: Served) -> Page:
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True, base_url=served.url
    )
    context.set_default_timeout(30_000)
    return context.new_page()


def test_from_an_empty_database_to_the_calendar_on_the_phone(browser: Browser, empty: Served) -> None:
    page = open_phone(browser, empty)
    page.goto("/")
    assert page.url.endswith("/begin")
    page.get_by_text("Or by latitude and longitude").tap()
    page.get_by_label("Latitude").fill("47.5")
    page.get_by_label("Longitude").fill("-122.3")
    page.get_by_label("Trees").fill("2 Japanese maple")
    page.get_by_role("button", name="Founded").tap()
    page.wait_for_url(f"{empty.url}/")

    page.get_by_role("link", name="Bench").tap()
    page.locator("textarea").fill("black pine large")
    page.get_by_role("button", name="Added").tap()
    page.locator(".told").wait_for()
    assert page.locator("main").get_by_text("Japanese black pine").count() >= 1

    page.get_by_role("link", name="Japanese maple 1").first.tap()
    page.get_by_role("main").get_by_role("link", name="Write down").tap()
    page.get_by_text("Another day, parts, measures, a note").tap()
    page.locator('[name="new_part"]').fill("back stub")
    page.locator('[name="side"]').first.fill("back")
    page.locator('[name="height"]').first.fill("90")
    page.locator('[name="other"]').select_option("structural prune")
    page.get_by_role("button", name="Done").tap()
    page.locator(".told").first.wait_for()
    if page.get_by_role("button", name=re.compile("It is so|all the same")).count():
        page.get_by_role("button", name=re.compile("It is so|all the same")).first.tap()
        page.locator(".told").first.wait_for()
    assert "Pruned" in page.locator(".told").first.inner_text()

    page.get_by_role("link", name="Settings").tap()
    page.get_by_text("Another address").tap()
    page.locator('section[aria-labelledby="calendars"] select[name="kind"]').select_option("windows")
    page.locator('form[action="/settings/address"] button').tap()
    secret = page.locator(".secret code").inner_text()
    address = empty.url + secret[secret.index("/calendar/") :]
    page.context.close()

    keep_calendars(empty)
    text = requests.get(address, timeout=120).text
    told = {str(event.summary) for event in IcsCalendarStream.calendar_from_ics(text).events}
    assert told == {str(each.summary.value) for each in vobject.readOne(text).vevent_list}
    looks = [
        event.dtstart
        for event in IcsCalendarStream.calendar_from_ics(text).events
        if "wound" in str(event.summary) or "back stub" in str(event.summary)
    ]
    days = [day for day in looks if day is not None]
    assert days, told
    assert all(DAY <= day <= DAY + timedelta(days=WITHIN) for day in days)


def keep_calendars(served: Served) -> None:
    """Hold the round of the jobs that keeps the calendars."""
    session = served.site.session()
    assert session is not None
    now = session.clock.now
    jobs = CalendarJobs(Jobs(served.site.store, carrier(lambda: now, served.site.store), lambda: now, print))
    for job in jobs.lines()["keeping"]:
        job.run(now)
