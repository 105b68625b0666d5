"""The page of hours, and the picture of the hours that matter today."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest

from calendar_core.app.first_day.commands.demo import found_demo
from calendar_core.app.shell.session import Session, open_session
from calendar_core.app.warnings.warning import judge_garden
from calendar_core.pages.views.hours import coming_hours, today_strip
from calendar_core.wording.pages.hours_text import HOURS, degrees
from tests.app.conftest import run
from tests.pages.conftest import DAY
from tests.pages.picture_boxes import check_pictures, sideways
from tests.publishing.pictures.read_back import Picture

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Page

    from tests.pages.serving import Served

COLD = date(2014, 2, 5)
SVG = re.compile(r"<svg.*?</svg>", re.DOTALL)


def warned(tmp_path: Path, today: date) -> Session:
    found_demo(tmp_path, today).store.close()
    session = open_session(str(tmp_path / "garden.db"), None, today)
    judge_garden(session, session.clock.now)
    return session


def without_hours(tmp_path: Path) -> Session:
    """A garden for which no forecast was fetched."""
    database = str(tmp_path / "new.db")
    told = run(
        "start",
        "--lat",
        "47.6",
        "--lon",
        "-122.3",
        "--trees",
        "black pine",
        "--db",
        database,
        "--today",
        str(DAY),
    )
    assert told.status == 0
    return open_session(database, None, DAY)


def test_each_spot_has_a_picture_whose_sentence_stands_beneath_it(served: Served) -> None:
    page = served.reader().get("/hours").text
    for spot in ("south bench", "under the ash"):
        assert f"<h2>{spot}</h2>" in page
    pictures = [Picture(svg) for svg in SVG.findall(page)]
    assert len(pictures) >= 2
    for picture in pictures:
        assert f"<p>{picture.said()}</p>" in page.replace("&#39;", "'")


def test_the_numbers_beside_a_picture_are_those_of_its_hours(served: Served) -> None:
    tomorrow = DAY + timedelta(days=1)
    page = served.reader().get(f"/hours?day={tomorrow}").text
    session = served.site.session()
    assert session is not None
    (day,) = (of for of in coming_hours(session).days if of.day == tomorrow)
    tables = re.findall(r"<tbody>.*?</tbody>", page, re.DOTALL)
    assert len(tables) == len(day.ahead.spots)
    for table, spot in zip(tables, day.ahead.spots, strict=True):
        rows = re.findall(r"<tr>.*?</tr>", table, re.DOTALL)
        assert len(rows) == 24
        for n, row in enumerate(rows):
            found = [re.sub("<.*?>", "", cell) for cell in re.findall(r"<t[hd].*?</t[hd]>", row)]
            values = [value for hours in spot.hazards.values() for value in (hours.likely[n], hours.bad[n])]
            assert found[0] == f"{n}:00"
            assert found[1:] == [degrees(session.style, value) for value in (spot.air_c[n], *values)]


def test_days_are_called_by_name_and_an_unknown_one_is_today(served: Served) -> None:
    reader = served.reader()
    page = reader.get("/hours").text
    days = re.findall(r'<a href="/hours\?day=([\d-]+)"[^>]*>(\w+)</a>', page)
    assert [name for _, name in days] == [
        "Today",
        "Tomorrow",
        "Saturday",
        "Sunday",
        "Monday",
        "Tuesday",
        "Wednesday",
    ]
    assert days[0][0] == DAY.isoformat()
    far = reader.get("/hours?day=2030-01-01")
    assert far.status_code == 200
    assert f'day={DAY}" aria-current' in far.text
    odd = reader.get("/hours?day=noon")
    assert odd.status_code == 422
    assert "day" in odd.text


def test_without_a_forecast_the_page_says_so(tmp_path: Path) -> None:
    session = without_hours(tmp_path)
    found = coming_hours(session)
    assert not found.days
    assert HOURS[found.why_none].startswith("There is no forecast hour by hour")
    assert today_strip(session) is None


def test_after_the_forecast_the_page_says_so(tmp_path: Path) -> None:
    found_demo(tmp_path, DAY).store.close()
    later = open_session(str(tmp_path / "garden.db"), None, DAY + timedelta(days=60))
    assert coming_hours(later).why_none == "other_days"
    assert today_strip(later) is None


def test_on_a_hot_day_the_strip_runs_from_sunrise_to_sunset(tmp_path: Path) -> None:
    strip = today_strip(warned(tmp_path, DAY))
    assert strip is not None
    picture, sentence = strip
    drawn = Picture(picture)
    assert drawn.said() == sentence
    assert "Root balls of Fig 2, up to" in sentence
    assert "beyond the line 14:00 to 17:00" in sentence
    (harm,) = (bar for bar in drawn.bars if bar.hatched)
    day_h = 21 + 10 / 60 - (5 + 13 / 60)  # sunrise 5:13, sunset 21:10
    assert harm.left == pytest.approx(346 * (14 - 5 - 13 / 60) / day_h, abs=1.0)
    assert harm.right == pytest.approx(346 * (17 - 5 - 13 / 60) / day_h, abs=1.0)
    dawn, dusk = sorted((bar for bar in drawn.bars if bar.stops), key=lambda bar: bar.left)
    assert dawn.left == 0.0
    assert dusk.right == 346.0


def test_before_a_cold_night_the_strip_is_that_night_with_the_move(tmp_path: Path) -> None:
    strip = today_strip(warned(tmp_path, COLD))
    assert strip is not None
    picture, sentence = strip
    drawn = Picture(picture)
    assert "down to" in sentence
    assert "At “porch”" in sentence
    assert any("porch" in text.words and "°" in text.words for text in drawn.texts)
    assert drawn.text("17:00").bold
    assert any(text.words.startswith("Move to") for text in drawn.texts)
    midnight = drawn.text("0:00")
    assert (midnight.left + midnight.right) / 2 == pytest.approx(173, abs=12)  # noon to noon by the sun


@pytest.mark.parametrize("width", [320, 390, 1200])
def test_pictures_are_legible_in_a_browser(phone: Page, width: int) -> None:
    phone.set_viewport_size({"width": width, "height": 800})
    phone.goto("/hours")
    least_px = 15.0 if width >= 390 else 12.0  # a narrower phone sets all smaller
    assert check_pictures(phone, least_px) >= 2
    assert sideways(phone) <= 0
