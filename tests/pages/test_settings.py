"""The settings: changed, refused with what was entered, shown once, kept to the owner."""

from __future__ import annotations

import html
import re
import sqlite3
from typing import TYPE_CHECKING

import pytest
import requests
import zxingcpp
from PIL import Image

from calendar_core.app.keys.keys import list_keys
from calendar_core.app.shell.session import open_session
from calendar_core.app.warnings.channel_changes import channels_of
from calendar_core.pages.views import settings, settings_access
from tests.pages.conftest import DAY
from tests.pages.serving import serving
from tests.pages.test_access import entered, key_of

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Browser, Page

    from calendar_core.app.shell.session import Session
    from tests.pages.serving import Served

PASSWORD = "four words of bark"  # noqa: S105 - invented
SECRET = re.compile(r"<code>([^<]+)</code>")
SPOT = {
    "act": "add",
    "name": "wall",
    "sun_from": "09:00",
    "sun_to": "13:30",
    "cloth": "30",
    "profile": "open",
}


def stored(file: Path) -> Session:
    return open_session(str(file), None, DAY)


def secret_of(answer: requests.Response) -> str:
    found = SECRET.search(answer.text)
    assert found is not None, answer.text
    return html.unescape(found[1])


def key_labels(served: Served) -> list[str]:
    garden = served.site.garden()
    assert garden is not None
    return [key.label for key in list_keys(served.site.store, garden.id)]


# The garden and its spots


def test_name_units_and_height_are_changed(served: Served, garden_file: Path) -> None:
    told = served.reader().post("/settings/garden", {"name": "Yard", "units": "us", "elevation": "12,5"})
    assert "Changed: the garden Yard." in told.text
    garden = stored(garden_file).garden
    assert (garden.name, garden.units, garden.elevation_m) == ("Yard", "us", 12.5)


@pytest.mark.parametrize(
    ("form", "told"),
    [
        ({"name": "", "units": "us"}, "Name"),
        ({"name": "Yard", "units": "stone"}, "Units"),
        ({"name": "Yard", "units": "us", "elevation": "high"}, "Height"),
        ({"name": "Yard", "units": "us", "elevation": "99999"}, "Height"),
    ],
)
def test_a_garden_that_cannot_be_comes_back_as_entered(
    served: Served, garden_file: Path, form: dict[str, object], told: str
) -> None:
    before = stored(garden_file).garden
    answer = served.reader().post("/settings/garden", form)
    assert answer.status_code == 422
    assert told in answer.text
    assert f'value="{form.get("elevation", "")}"' in answer.text
    assert stored(garden_file).garden == before


def test_a_spot_is_added_changed_and_removed(served: Served, garden_file: Path) -> None:
    reader = served.reader()
    told = reader.post("/settings/spot", dict(SPOT))
    assert "Spot added: wall: open, sun 09:00 to 13:30, cloth 30 %" in told.text
    assert "<svg" in told.text.split("wall", 1)[1]
    reader.post(
        "/settings/spot",
        {**SPOT, "act": "change", "spot": "wall", "sun_from": "", "sun_to": "", "roof": "yes"},
    )
    (wall,) = (spot for spot in stored(garden_file).spots.values() if spot.name == "wall")
    assert (wall.sun_from, wall.sun_to, wall.roof, wall.cloth_percent) == (None, None, True, 30)
    reader.post("/settings/spot", {**SPOT, "act": "remove", "spot": "wall"})
    assert "wall" not in {spot.name for spot in stored(garden_file).spots.values()}


@pytest.mark.parametrize(
    "odd",
    [{"sun_to": ""}, {"sun_to": "08:00"}, {"cloth": "much"}, {"cloth": "101"}, {"profile": "moon"}, {"name": "porch"},
     {"name": ""}, {"sun_from": "noonish"}],
)  # fmt: skip
def test_a_spot_that_cannot_be_comes_back_as_entered(
    served: Served, garden_file: Path, odd: dict[str, str]
) -> None:
    before = stored(garden_file).spots
    answer = served.reader().post("/settings/spot", {**SPOT, "name": "wall & <hedge>", **odd})
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text
    if "name" not in odd:
        assert 'value="wall &amp; &lt;hedge&gt;"' in answer.text
    assert stored(garden_file).spots == before


def test_a_spot_where_trees_stood_stays(served: Served, garden_file: Path) -> None:
    answer = served.reader().post("/settings/spot", {**SPOT, "act": "remove", "spot": "south bench"})
    assert answer.status_code == 422
    assert "the log tells so" in html.unescape(answer.text)


# The grower's own


def test_days_away_and_answers_are_written_and_taken_back(served: Served, garden_file: Path) -> None:
    reader = served.reader()
    away = reader.post("/settings/away", {"begins": "2015-07-10", "ends": "2015-07-12"})
    assert "10 July to 12 July" in away.text
    assert reader.post("/settings/away", {"begins": "2015-07-10", "ends": "soon"}).status_code == 422
    form = re.search(r'name="question" value="([^"]+)".*?</form>', reader.get("/settings").text, re.DOTALL)
    assert form is not None
    other = re.findall(r'name="option" value="([^"]+)">', form[0])[0]
    answered = reader.post("/settings/question", {"question": form[1], "option": other})
    assert "Undo" in answered.text
    last = stored(garden_file).entries[-1]
    assert last.kind == "choice"
    assert reader.post("/settings/question", {"question": "odd", "option": "yes"}).status_code == 422


# Keys


def test_the_first_key_is_the_owners_and_whoever_makes_it_stays(served: Served) -> None:
    reader = served.reader()
    refused = reader.post("/settings/key", {"role": "worker", "label": "helper"})
    assert refused.status_code == 422
    assert 'value="helper"' in refused.text
    made = reader.post("/settings/key", {"role": "owner", "label": "my phone"})
    assert reader.get("/settings").status_code == 200
    other = served.reader()
    assert other.get("/settings").url.endswith("/enter")
    assert "Settings" in entered(served, secret_of(made)).get("/settings").text
    assert secret_of(made) not in reader.get("/settings").text


def test_keys_are_taken_back_but_not_the_last_of_an_owner(served: Served) -> None:
    reader = served.reader()
    reader.post("/settings/key", {"role": "owner", "label": "my phone"})
    reader.post("/settings/key", {"role": "worker", "label": "helper"})
    assert reader.post("/settings/key", {"role": "reader", "label": "Helper"}).status_code == 422
    assert reader.post("/settings/key/revoke", {"label": "my phone"}).status_code == 422
    reader.post("/settings/key/revoke", {"label": "helper"})
    assert key_labels(served) == ["my phone"]


def test_a_password_lets_its_browser_stay(served: Served) -> None:
    reader = served.reader()
    assert reader.post("/settings/password", {"password": PASSWORD, "again": "other"}).status_code == 422
    assert reader.post("/settings/password", {"password": "short", "again": "short"}).status_code == 422
    assert key_labels(served) == []
    for password in (PASSWORD, PASSWORD + "s"):
        told = reader.post("/settings/password", {"password": password, "again": password})
        assert "Set: the owner&#39;s password" in told.text
        assert password not in told.text
    assert "Settings" in entered(served, PASSWORD + "s").get("/settings").text


# Calendars


def test_an_address_is_shown_once_with_its_code(served: Served, tmp_path: Path, browser: Browser) -> None:
    reader = served.reader()
    made = reader.post("/settings/address", {"kind": "work", "label": "phone"})
    address = secret_of(made)
    assert address.startswith(f"{served.url}/calendar/")
    assert f'href="webcal{address.removeprefix("http")}"' in made.text
    assert "leads to this machine alone" in made.text
    assert requests.get(address, timeout=60).text.startswith("BEGIN:VCALENDAR")
    picture = tmp_path / "code.png"
    page = browser.new_page()
    page.set_content(re.search(r"<svg.*?</svg>", made.text, re.DOTALL)[0])  # type: ignore[index]
    page.locator("svg").screenshot(path=picture)
    page.close()
    assert [code.text for code in zxingcpp.read_barcodes(Image.open(picture))] == [address]
    listed = reader.get("/settings").text
    assert address.rpartition("/")[2] not in listed
    name = re.search(r'address/revoke">.*?name="name" value="([0-9a-f]+)"', listed, re.DOTALL)
    assert name is not None
    reader.post("/settings/address/revoke", {"name": name[1]})
    assert requests.get(address, timeout=60).status_code == 410


@pytest.mark.parametrize("form", [{"kind": "tree"}, {"kind": "odd"}, {"kind": "work", "label": "x" * 61}])
def test_an_address_that_cannot_be_is_refused(served: Served, form: dict[str, object]) -> None:
    answer = served.reader().post("/settings/address", form)
    assert answer.status_code == 422
    assert "right would be" in answer.text


# Channels


def test_a_channel_is_added_made_quiet_switched_and_removed(served: Served, garden_file: Path) -> None:
    reader = served.reader()
    form = {
        "kind": "hook",
        "address": "https://example.org/hook?key=1",
        "quiet": "22:00-07:00",
        "person": "Ada",
    }
    made = reader.post("/settings/channel", dict(form))
    (channel,) = channels_of(stored(garden_file))
    assert secret_of(made) == channel.secret
    listed = reader.get("/settings").text
    assert channel.secret not in listed
    assert "key=1" not in listed
    name = channel.id.hex[:6]
    assert (
        reader.post("/settings/channel/change", {"act": "quiet", "name": name, "quiet": "late"}).status_code
        == 422
    )
    for act, more in (("quiet", {"quiet": "21:00-06:00"}), ("off", {}), ("on", {}), ("off", {})):
        assert reader.post("/settings/channel/change", {"act": act, "name": name, **more}).status_code == 200
    (channel,) = channels_of(stored(garden_file))
    assert str(channel.quiet_from) == "21:00:00"
    assert channel.why_off
    reader.post("/settings/channel/change", {"act": "remove", "name": name})
    assert channels_of(stored(garden_file)) == ()


@pytest.mark.parametrize(
    "odd",
    [{"kind": "push"}, {"kind": "pigeon"}, {"address": "nobody"}, {"quiet": "always"},
     {"kind": "hook", "address": "file:///etc/passwd"}],
)  # fmt: skip
def test_a_channel_that_cannot_be_comes_back_as_entered(
    served: Served, garden_file: Path, odd: dict[str, str]
) -> None:
    form = {"kind": "mail", "address": "me@example.org", "quiet": "", "person": "Ada", **odd}
    answer = served.reader().post("/settings/channel", dict(form))
    assert answer.status_code == 422
    assert f'value="{form["address"]}"' in answer.text
    assert channels_of(stored(garden_file)) == ()


# A copy of all


def test_the_copy_holds_all_and_comes_by_no_link(served: Served, tmp_path: Path) -> None:
    reader = served.reader()
    assert reader.get("/settings/backup").status_code == 405
    assert reader.line.post(f"{served.url}/settings/backup", data={}, timeout=60).status_code == 403
    answer = reader.post("/settings/backup")
    assert answer.headers["Content-Disposition"] == 'attachment; filename="leafclock-2015-06-25.db"'
    assert answer.headers["Cache-Control"] == "no-store"
    copy = tmp_path / "copy.db"
    copy.write_bytes(answer.content)
    with sqlite3.connect(copy) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        (trees,) = connection.execute("SELECT count(*) FROM tree").fetchone()
    assert trees == len(stored(copy).every_tree) > 10


# Who may


WRITES = ("garden", "spot", "weather", "away", "question", "key", "key/revoke", "password", "address", "address/revoke",
          "channel", "channel/change", "backup")  # fmt: skip


@pytest.mark.parametrize("role", ["worker", "reader"])
def test_others_see_no_secret_and_change_nothing(garden_file: Path, role: str) -> None:
    with serving(garden_file, DAY, demands_key=True) as served:
        key_of(served, "owner")
        reader = entered(served, key_of(served, role))
        page = reader.get("/settings")
        assert page.status_code == 200
        for section in ("keys", "channels", "calendars", "backup"):
            assert f'id="{section}"' not in page.text
        assert 'action="/settings' not in page.text.replace('action="/settings/question"', "")
        for path in WRITES:
            form = {"act": "add", "name": "x", "spot": "x"}
            assert reader.post(f"/settings/{path}", dict(form)).status_code == 403, path
        assert sorted(key_labels(served)) == sorted(["a owner", f"a {role}"])


def test_every_form_of_the_page_is_the_owners() -> None:
    """So that a new one is not forgotten above."""
    found = {
        str(route.path).removeprefix("/settings/")  # type: ignore[attr-defined]
        for router in (settings.router, settings_access.router)
        for route in router.routes
        if "POST" in route.methods  # type: ignore[attr-defined]
    }
    assert found == set(WRITES)


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_nothing_scrolls_sideways(phone: Page, width: int) -> None:
    phone.set_viewport_size({"width": width, "height": 844})
    phone.goto("/settings")
    phone.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")
    assert phone.evaluate("document.documentElement.scrollWidth") <= width
