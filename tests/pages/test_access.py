"""Who may enter, what each role may do, and what is not answered at all."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
import requests

from calendar_core.app.keys.keys import make_key, set_password, take_back
from calendar_core.app.shell.clock import utc_now
from calendar_core.app.shell.errors import Refusal
from calendar_core.knowledge.words import ROLES
from calendar_core.pages.shell.tries import WrongTries
from tests.pages.conftest import DAY
from tests.pages.serving import serving
from tests.pages.test_today import entries, form_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from tests.pages.serving import Reader, Served

PASSWORD = "four words of bark"  # noqa: S105 - invented


@pytest.fixture
def locked(garden_file: Path) -> Iterator[Served]:
    """Serve the garden as to other machines."""
    with serving(garden_file, DAY, demands_key=True) as found:
        yield found


def key_of(served: Served, role: str, label: str = "") -> str:
    garden = served.site.garden()
    assert garden is not None
    return make_key(served.site.store, garden.id, role, label or f"a {role}", utc_now())


def entered(served: Served, key: str) -> Reader:
    reader = served.reader()
    reader.line.post(f"{served.url}/enter", data={"key": key}, timeout=60)
    return reader


def test_nothing_is_shown_without_a_key(locked: Served) -> None:
    for path in ("/", "/tree/x", "/settings"):
        answer = requests.get(locked.url + path, timeout=60)
        assert "Maple" not in answer.text
    assert requests.get(f"{locked.url}/", timeout=60).url == f"{locked.url}/enter"


@pytest.mark.parametrize("role", ROLES)
def test_each_role_does_what_it_may(locked: Served, garden_file: Path, role: str) -> None:
    reader, before = entered(locked, key_of(locked, role)), entries(garden_file)
    page = reader.get()
    assert "Put up shade: Maple 4" in page.text
    assert ('action="/answers"' in page.text) is (role != "reader")
    form = (
        {"item": form_of(page.text, "Put up shade: Maple 4")["item"]} if role != "reader" else {"item": "x:y"}
    )
    answer = reader.post("/answers", {**form, "verb": "Shaded"})
    assert answer.status_code == (403 if role == "reader" else 200)
    assert (len(entries(garden_file)) > len(before)) is (role != "reader")


def test_a_key_taken_back_lets_nobody_stay(locked: Served) -> None:
    reader = entered(locked, key_of(locked, "worker", "lost phone"))
    assert "Maple" in reader.get().text
    garden = locked.site.garden()
    assert garden is not None
    take_back(locked.site.store, garden.id, "Lost Phone")
    assert "Maple" not in reader.get().text


def test_the_password_opens_and_a_new_one_closes(locked: Served) -> None:
    garden, store = locked.site.garden(), locked.site.store
    assert garden is not None
    set_password(store, garden.id, PASSWORD, utc_now())
    reader = entered(locked, PASSWORD)
    assert "Maple" in reader.get().text
    assert "Maple" not in entered(locked, PASSWORD + "s").get().text
    set_password(store, garden.id, PASSWORD + "s", utc_now())
    assert "Maple" not in reader.get().text


@pytest.mark.parametrize("password", ["short", "x" * 201])
def test_a_password_of_an_odd_length_is_refused(locked: Served, password: str) -> None:
    garden = locked.site.garden()
    assert garden is not None
    with pytest.raises(Refusal, match="right would be 12 to 200"):
        set_password(locked.site.store, garden.id, password, utc_now())


def test_wrong_keys_open_nothing_and_soon_are_not_even_looked_at(locked: Served) -> None:
    key_of(locked, "owner")
    with requests.Session() as line:
        asked = [line.post(f"{locked.url}/enter", data={"key": f"{n:032d}"}, timeout=60) for n in range(40)]
    assert [answer.status_code for answer in asked] == [403] * 10 + [429] * 30
    assert "Maple" in entered(locked, key_of(locked, "worker")).get().text  # a right key is always let in
    assert 0 < int(asked[-1].headers["Retry-After"]) <= 600


def test_of_many_passwords_at_once_no_more_are_looked_at(locked: Served) -> None:
    """Each takes 64 MB and most of a core, and the count comes after it."""
    garden = locked.site.garden()
    assert garden is not None
    set_password(locked.site.store, garden.id, PASSWORD, utc_now())

    def guess(number: int) -> int:
        return requests.post(
            f"{locked.url}/enter", data={"key": f"four wrong words {number}"}, timeout=60
        ).status_code

    with ThreadPoolExecutor(12) as guessers:
        statuses = list(guessers.map(guess, range(60)))
    assert 1 <= statuses.count(403) <= 10
    assert statuses.count(429) == 60 - statuses.count(403)


def test_a_program_that_shows_a_wrong_key_costs_nothing(locked: Served) -> None:
    """The password opens no data, so it is not even looked at: its hash would take most of a core."""
    garden = locked.site.garden()
    assert garden is not None
    set_password(locked.site.store, garden.id, PASSWORD, utc_now())
    for key in (PASSWORD, "wrong"):
        answer = requests.get(
            f"{locked.url}/data/trees", headers={"Authorization": f"Bearer {key}"}, timeout=60
        )
        assert answer.status_code == 401


@pytest.mark.parametrize("label", [" ", "x" * 61, "a\x07b"])
def test_a_key_has_a_name_that_can_be_typed_again(locked: Served, label: str) -> None:
    """One that was cut short in silence could not be taken back by the name it was given."""
    garden = locked.site.garden()
    assert garden is not None
    with pytest.raises(Refusal, match="up to 60 signs"):
        make_key(locked.site.store, garden.id, "worker", label, utc_now())


def test_a_key_is_not_called_as_the_password_is(locked: Served) -> None:
    """Else the two could not be told apart, and neither be taken back."""
    with pytest.raises(Refusal, match="right would be another name"):
        key_of(locked, "owner", "Password")


def test_of_ten_thousand_wrong_keys_a_hundred_are_looked_at_in_ten_minutes() -> None:
    """From whatever addresses they come; the counting itself stays small."""
    tries, now, looked_at = WrongTries(), utc_now(), 0
    for number in range(10_000):
        address = f"10.0.{number % 97}.{number % 89}"
        if not tries.wait_s(address, now + timedelta(milliseconds=50 * number)):
            tries.note(address, now + timedelta(milliseconds=50 * number))
            looked_at += 1
    assert looked_at == 100
    assert tries.wait_s("10.1.1.1", now + timedelta(hours=1)) == 0


def test_the_secret_before_entering_is_not_the_one_after(locked: Served) -> None:
    """Else one who knew it before could come in behind somebody (session fixation)."""
    reader = locked.reader()
    reader.line.cookies.set("leafclock", "foisted")
    reader.line.post(f"{locked.url}/enter", data={"key": key_of(locked, "owner")}, timeout=60)
    assert "foisted" not in reader.line.cookies.get_dict().values()


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "https://elsewhere.example"},
        {"Origin": "null"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
)
def test_a_form_of_another_site_is_refused(
    served: Served, garden_file: Path, headers: dict[str, str]
) -> None:
    reader, before = served.reader(), entries(garden_file)
    form = form_of(reader.get().text, "Put up shade: Maple 4")
    answer = reader.post("/answers", {**form, "verb": "Shaded"}, headers=headers)
    assert answer.status_code == 403
    assert entries(garden_file) == before


def test_a_form_without_its_mark_is_refused(served: Served, garden_file: Path) -> None:
    reader, before = served.reader(), entries(garden_file)
    form = form_of(reader.get().text, "Put up shade: Maple 4")
    for token in ("", "0" * 64, served.reader().token()):
        answer = reader.line.post(
            f"{served.url}/answers", data={**form, "verb": "Shaded", "token": token}, timeout=60
        )
        assert answer.status_code == 403
    assert entries(garden_file) == before


@pytest.mark.parametrize("host", ["elsewhere.example", "127.0.0.1.elsewhere.example", "[::2]", ""])
def test_another_name_is_not_answered_to(served: Served, host: str) -> None:
    """A name that somebody lets lead here would make its page the same origin as this one (DNS rebinding)."""
    answer = requests.get(served.url, headers={"Host": host}, timeout=60)
    assert answer.status_code in (400, 421)
    assert "Maple" not in answer.text


def test_a_form_without_end_is_not_read(served: Served, garden_file: Path) -> None:
    reader, before = served.reader(), entries(garden_file)
    answer = reader.post("/answers", {"verb": "Shaded", "note": "x" * 3_000_000})
    assert answer.status_code == 413
    assert entries(garden_file) == before


def test_every_answer_tells_the_browser_what_it_may_do(served: Served) -> None:
    """Source: OWASP Secure Headers Project, the headers for pages that are framed and scripted by nobody (from memory)."""
    for path in ("/", "/nowhere", "/static/page.css", "/openapi.json"):
        headers = served.reader().get(path).headers
        assert "default-src 'none'" in headers["Content-Security-Policy"]
        assert "unsafe" not in headers["Content-Security-Policy"]
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Referrer-Policy"] == "same-origin"


@pytest.mark.parametrize(
    "path",
    [
        "/static/../service.py",
        "/static/%2e%2e/service.py",
        "/static/..%2f..%2fservice.py",
        "/static//etc/passwd",
    ],
)
def test_no_path_leads_out_of_the_pages_own_files(served: Served, path: str) -> None:
    asked = requests.Request("GET", served.url).prepare()
    asked.url = served.url + path
    with requests.Session() as line:
        assert line.send(asked, timeout=60).status_code in (404, 405)
