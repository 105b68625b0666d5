"""What strangers may send: scripts in every text, forms that are none, and whatever a machine makes up from the description."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest
import requests
import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.pages.conftest import DAY
from tests.pages.serving import serving
from tests.pages.test_every_page import PAGES, address_of, opened

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Browser

    from tests.pages.serving import Served

pytestmark = pytest.mark.slow
SCRIPT = "<script>document.title='taken'</script><img src=x onerror=\"document.title='taken'\">'\"&lt;"


def test_a_script_in_any_text_is_shown_as_text(browser: Browser, served: Served, garden_file: Path) -> None:
    """It is put where the log, the trees and the spots have free text, by the use cases that take it."""
    from calendar_core.app.log.entries import entry, write
    from calendar_core.app.shell.session import open_session

    session = open_session(str(garden_file), None, DAY)
    tree = session.trees[0]
    write(session, entry(session, [tree], "work", {"operation": "cut back", "note": SCRIPT}, DAY))
    write(session, entry(session, [tree], "part", {"name": f"left {SCRIPT}"[:60], "kind": "branch"}, DAY))
    session.store.close()
    for path in PAGES:
        page, _ = opened(browser, served, path, 390, "light")
        assert page.title() != "taken", path
        assert page.locator("img[src=x]").count() == 0, path
        page.context.close()
    shown = served.reader().get(address_of(served, "/tree/1")).text
    assert SCRIPT not in shown
    assert "&lt;script&gt;" in shown


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    fields=st.dictionaries(
        st.sampled_from(
            [
                "verb",
                "item",
                "move",
                "measure",
                "value",
                "to",
                "note",
                "entry_id",
                "back",
                "stage",
                "tree",
                "entry",
            ]
        ),
        st.text(max_size=60),
        max_size=6,
    ),
    path=st.sampled_from(["/answers", "/seen", "/undo", "/enter"]),
)
def test_whatever_is_sent_is_answered_in_a_sentence(
    shared: Served, fields: dict[str, str], path: str
) -> None:
    answer = shared.reader().post(path, dict(fields))
    assert answer.status_code < 500
    assert "Traceback" not in answer.text


@settings(max_examples=25)
@given(
    back=st.text(max_size=30)
    | st.sampled_from(["//evil.example", "/\\evil.example", "https://evil.example", "javascript:x"])
)
def test_one_is_led_back_to_these_pages_alone(back: str) -> None:
    from calendar_core.pages.shell.answering import inside

    found = inside(back)
    assert found.startswith("/")
    assert not re.match(r"^/[/\\]", found)


def test_what_a_machine_makes_up_from_the_description_is_never_a_fault_of_ours(demo_database: Path) -> None:
    """Source of the cases: schemathesis over our own OpenAPI description."""
    with serving(demo_database, DAY) as served:
        schema = schemathesis.openapi.from_url(f"{served.url}/openapi.json")
        tried = 0
        for operation in schema.get_all_operations():
            made = operation.ok()  # type: ignore[union-attr]  # what is no operation raises

            @settings(max_examples=8, suppress_health_check=list(HealthCheck), deadline=None)
            @given(case=made.as_strategy())
            def try_it(case: schemathesis.Case[Any]) -> None:
                nonlocal tried
                tried += 1
                answer = case.call(base_url=served.url)
                assert answer.status_code < 500, (case.path, answer.status_code)

            try_it()
        assert tried > 10


def test_two_writers_on_one_tree_lose_nothing(garden_file: Path) -> None:
    from concurrent.futures import ThreadPoolExecutor

    from tests.pages.test_today import entries

    with serving(garden_file, DAY) as served:
        tree = served.site.session().trees[0].id  # type: ignore[union-attr]
        before = len(entries(garden_file))

        def write(number: int) -> int:
            form = {
                "tree": str(tree),
                "stage": "growth stop",
                "not_yet": "yes",
                "entry_id": f"00000000-0000-4000-8000-{number:012d}",
            }
            return served.reader().post("/seen", form).status_code

        with ThreadPoolExecutor(8) as writers:
            assert set(writers.map(write, [*range(1, 13), *range(1, 13)])) == {200}
        assert len(entries(garden_file)) == before + 12


def test_a_database_that_is_gone_is_told_on_a_page(garden_file: Path) -> None:
    with serving(garden_file, DAY) as served:
        assert served.reader().get().status_code == 200
        served.site.store.engine.dispose()
        for ending in ("", "-wal", "-shm"):
            garden_file.with_name(garden_file.name + ending).unlink(missing_ok=True)
        garden_file.mkdir()
        answer = requests.get(served.url, timeout=60)
        assert answer.status_code == 503
        assert "Nothing that was stored is lost" in answer.text
