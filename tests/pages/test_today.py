"""The page of today: what it tells, and answers that are written down and taken back."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from calendar_core.storage import gardens, log
from calendar_core.storage.engine import open_store
from tests.app.conftest import run
from tests.pages.conftest import DAY

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Page

    from calendar_core.garden.model import Entry
    from tests.pages.serving import Served

ROW = re.compile(r'<li class="row.*?</li>', re.DOTALL)


def entries(file: Path) -> tuple[Entry, ...]:
    store = open_store(file)
    with store.read() as connection:
        found = log.entries(connection, gardens.get_garden(connection).id)
    store.close()
    return found


def form_of(text: str, head: str) -> dict[str, object]:
    """Return the fields of the row that begins with a head."""
    row = next(row for row in ROW.findall(text) if head in row)
    return {"item": re.findall(r'name="item" value="([^"]+)"', row)}


def test_it_tells_the_work_of_the_terminal(served: Served, garden_file: Path) -> None:
    """The two are made from the same values; the names of trees and work must be on both."""
    page = served.reader().get().text
    told = run("today", "--db", str(garden_file), "--today", DAY.isoformat()).out
    heads = re.findall(r"^  [0-9a-f]{6}  ([^:]+: [^,;]+)", told, re.MULTILINE)
    assert len(heads) > 4
    for head in heads:
        work, _, tree = head.partition(": ")
        if not work.startswith("By "):
            assert f"<h3>{work}: {tree}" in page


def test_work_is_answered_and_taken_back(served: Served, garden_file: Path) -> None:
    reader, before = served.reader(), entries(garden_file)
    form = form_of(reader.get().text, "Put up shade: Maple 4")
    told = reader.post("/answers", {**form, "verb": "Shaded"})
    assert told.url == f"{served.url}/"
    assert "Put up shade: Maple 4" not in told.text.split("<main", 1)[1].split("Undo")[1]
    new = [entry for entry in entries(garden_file) if entry not in before]
    assert [entry.data["operation"] for entry in new] == ["shade on"]
    assert "Undo" in told.text
    back = reader.post("/undo", {"entry": str(new[0].id)})
    assert back.status_code == 200
    assert "Put up shade: Maple 4" in reader.settled()
    assert entries(garden_file)[-1].voids == new[0].id


def test_a_form_sent_twice_is_written_once(served: Served, garden_file: Path) -> None:
    reader, before = served.reader(), entries(garden_file)
    form = form_of(reader.get().text, "Look for tip blight: Pine 1")
    assert len(form["item"]) > 2  # type: ignore[arg-type]
    for _ in range(2):
        reader.post(
            "/answers", {**form, "verb": "Looked over", "entry_id": "00000000-0000-4000-8000-000000000001"}
        )
    assert len(entries(garden_file)) == len(before) + 1


def test_what_does_not_stand_any_more_is_refused_in_a_sentence(served: Served, garden_file: Path) -> None:
    reader, before = served.reader(), entries(garden_file)
    tree = served.site.session().trees[0].id  # type: ignore[union-attr]
    for item in (f"{tree}:{tree}", f"{tree}:", "maple", f"00000000-0000-4000-8000-000000000001:{tree}"):
        answer = reader.post("/answers", {"item": item, "verb": "Cut"})
        assert answer.status_code == 422
        assert "right would be" in answer.text
    assert entries(garden_file) == before


def test_with_a_thumb(phone: Page, garden_file: Path) -> None:
    """One tap answers a line in its place, one more takes it back."""
    before = entries(garden_file)
    phone.goto("/")
    row = phone.locator("li.row", has_text="Put up shade: Maple 4")
    row.get_by_role("button", name="Shaded").tap()
    row = phone.locator("li.row", has_text="Undo")
    row.wait_for()
    assert len(entries(garden_file)) == len(before) + 1
    row.get_by_role("button", name="Undo").tap()
    phone.get_by_text("Void:").wait_for()
    assert entries(garden_file)[-1].voids is not None
