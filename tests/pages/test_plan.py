"""The page of the plan: the year by week and by month, the grower's time, and what is answered from it."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING

import pytest

from tests.app.conftest import run
from tests.pages.conftest import DAY
from tests.pages.test_today import entries

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Browser

    from tests.pages.serving import Served

HEADING = re.compile(r"<h2>([^<]+)</h2>")
ROW = re.compile(r'<li class="row.*?</li>', re.DOTALL)
SAME = "00000000-0000-4000-8000-000000000001"


def rows(text: str) -> list[str]:
    """Return the lines of the page, without their tags."""
    return [" ".join(re.sub(r"<[^>]+>", " ", row).split()) for row in ROW.findall(text)]


def test_it_tells_the_plan_of_the_terminal(served: Served, garden_file: Path) -> None:
    """Each line of the year stands on the page, by week what opens within a season, by month all of it."""
    reader = served.reader()
    weeks, months = reader.get("/plan").text, reader.get("/plan?by=month").text
    for asked, page in (("12", weeks), ("52", months)):
        out = run("plan", "--weeks", asked, "--db", str(garden_file), "--today", DAY.isoformat()).out
        told = re.findall(r"^  [0-9a-f]{6}  .*?\d \w+  +([^:\n]+): (\w+ ?\d*)", out, re.MULTILINE)
        assert len(told) > 10
        shown = rows(page)
        for work, tree in told:
            assert any(row.startswith(f"{work}: ") and tree in row for row in shown), (work, tree)
    assert "July" in HEADING.findall(months)
    assert "29 June to 5 July" in HEADING.findall(weeks)


def test_each_line_that_opens_has_its_range_and_its_trees(served: Served) -> None:
    page = served.reader().get("/plan?by=month").text
    coming = [row for row in ROW.findall(page) if "<form" not in row]
    assert len(coming) > 10
    for row in coming:
        assert "/tree/" in row
        assert re.search(r"Opens about|Due|pens|Late", row)
    assert "8 times in 10" in page
    assert page.count('action="/answers"') == sum("<form" in row for row in ROW.findall(page))


def test_the_time_of_a_week_is_that_of_the_rota(served: Served, garden_file: Path) -> None:
    page = served.reader().get("/plan").text
    run("hours", "Sat 30min", "--db", str(garden_file), "--today", DAY.isoformat())
    changed = served.reader()
    again = changed.get("/plan").text
    for _ in range(20):
        if "of 30 min free" in again:
            break
        again = changed.get("/plan").text
    assert "of 30 min free" in again
    assert "of 30 min free" not in page
    assert "Without a day" in HEADING.findall(again)


def test_work_is_answered_from_the_plan(served: Served, garden_file: Path) -> None:
    reader, before = served.reader(), entries(garden_file)
    row = next(
        row for row in ROW.findall(reader.get("/plan").text) if "Put up shade" in row and "Maple 4" in row
    )
    form = {
        "item": re.findall(r'name="item" value="([^"]+)"', row),
        "back": re.search(r'name="back" value="([^"]+)"', row)[1],  # type: ignore[index]
    }
    told = reader.post("/answers", {**form, "verb": "Shaded"})
    assert told.url == f"{served.url}/plan"
    assert [entry.data["operation"] for entry in entries(garden_file)[len(before) :]] == ["shade on"]


def test_hours_are_written_down_once(served: Served, garden_file: Path) -> None:
    reader, before = served.reader(), entries(garden_file)
    form = {"day": ["", "20min", "", "", "", "9:00-12:00", "2h"], "entry_id": SAME}
    for _ in range(2):
        page = reader.post("/plan/hours", form)
    new = entries(garden_file)[len(before) :]
    assert [entry.data["weekly"] for entry in new] == [[0, 20, 0, 0, 0, 180, 120]]
    page = reader.get("/plan")
    assert "Saturday 3 h from 9:00" in page.text
    assert 'name="day" value="9:00-12:00"' in page.text


@pytest.mark.parametrize(
    ("path", "form", "entered"),
    [
        ("/plan/hours", {"day": ["", "", "a <b>while", "", "", "", ""]}, 'value="a &lt;b&gt;while"'),
        ("/plan/hours", {"day": ["25h", "", "", "", "", "", ""]}, 'value="25h"'),
        ("/plan/hours", {"day": ["1h, Tue 2h", "3h", "", "", "", "", ""]}, 'value="1h, Tue 2h"'),
        ("/plan/away", {"first": "2015-07-09", "last": "2015-07-01"}, 'value="2015-07-01"'),
        ("/plan/away", {"first": "", "last": ""}, 'name="first" value=""'),
    ],
)
def test_what_cannot_be_taken_comes_back(
    served: Served, garden_file: Path, path: str, form: dict[str, object], entered: str
) -> None:
    reader, before = served.reader(), entries(garden_file)
    answer = reader.post(path, form)
    assert answer.status_code == 422
    assert "right would be" in answer.text
    assert entered in answer.text
    assert entries(garden_file) == before


def test_days_away_are_written_down_and_taken_back(served: Served, garden_file: Path) -> None:
    reader, before = served.reader(), entries(garden_file)
    page = reader.post("/plan/away", {"first": "2015-07-01", "last": "2015-07-09", "entry_id": SAME}).text
    assert "Away: 1 July to 9 July." in page
    assert entries(garden_file)[-1].data == {"from": "2015-07-01", "until": "2015-07-09"}
    back = reader.post("/undo", {"entry": SAME, "back": "/plan"}).text
    assert "None ahead." in back
    assert len(entries(garden_file)) == len(before) + 2


def test_an_odd_choice_is_refused(served: Served) -> None:
    assert served.reader().get("/plan?by=decade").status_code == 422


def test_it_is_looked_at_and_printed(served: Served, browser: Browser) -> None:
    """Nothing scrolls sideways on a phone; on paper there is no form."""
    context = browser.new_context(viewport={"width": 320, "height": 700}, base_url=served.url)
    context.set_default_timeout(30_000)
    page = context.new_page()
    for path in ("/plan", "/plan?by=month"):
        page.goto(path)
        for width in (320, 390, 1280):
            page.set_viewport_size({"width": width, "height": 700})
            assert page.evaluate("document.documentElement.scrollWidth") <= width
        assert page.locator("main form").first.is_visible()
        page.emulate_media(media="print")
        assert page.locator("main form:visible, main button:visible, nav:visible").count() == 0
        assert page.locator("main li.row:visible").count() > 10
        page.emulate_media(media="screen")
    page.get_by_role("link", name="Your time").click()
    page.get_by_text("Other hours").click()
    page.get_by_label("Sunday").fill("3h")
    page.get_by_role("button", name="Changed").click()
    page.get_by_text("Sunday 3 h").first.wait_for()
    assert date.fromisoformat(str(entries_on(served)[-1])) == DAY
    context.close()


def entries_on(served: Served) -> list[date]:
    """Return the days of what is written."""
    session = served.site.session()
    assert session is not None
    return [entry.happened for entry in session.entries]
