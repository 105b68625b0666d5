"""The page of a tree: how it is, its measures, its work with reasons, work thought through, its history."""

from __future__ import annotations

import re
from html import unescape
from typing import TYPE_CHECKING

import pytest

from calendar_core.storage import gardens, log
from calendar_core.storage.engine import open_store
from tests.app.conftest import run
from tests.pages.conftest import DAY
from tests.pages.picture_boxes import check_pictures, sideways
from tests.pages.test_today import entries
from tests.publishing.pictures.read_back import Picture

if TYPE_CHECKING:
    from pathlib import Path
    from uuid import UUID

    from playwright.sync_api import Page

    from tests.pages.serving import Served

SVG = re.compile(r"<svg.*?</svg>", re.DOTALL)


def tree_id(served: Served, label: str) -> UUID:
    session = served.site.session()
    assert session is not None
    return next(tree.id for tree in session.every_tree if tree.label == label)


def write(garden_file: Path, *words: str) -> None:
    told = run(*words, "--db", str(garden_file), "--today", str(DAY))
    assert told.status == 0, told.err


def text_of(page: str) -> str:
    return " ".join(unescape(re.sub("<[^>]+>", " ", SVG.sub("", page))).split())


@pytest.fixture
def measured(garden_file: Path, served: Served) -> Served:
    """A maple with a wound, a graft and its height, as they were measured."""
    write(garden_file, "part", "add", "Maple 1", "wound", "first cut", "--on", "2014-03-01")
    write(garden_file, "part", "add", "Maple 1", "graft", "left", "--on", "2014-05-01")
    for day, width in (("2014-03-01", 24), ("2014-09-20", 20), ("2015-05-20", 17)):
        write(garden_file, "measure", "Maple 1", "first cut", f"width={width}", "--on", day)
    for day, entry, leaves in (("2014-06-01", 2.2, 1.2), ("2015-06-10", 3.1, 3.4)):
        write(garden_file, "measure", "Maple 1", "left", f"entry={entry}", f"exit={leaves}", "--on", day)
    write(garden_file, "measure", "Maple 1", "height=460", "--on", "2015-06-01")
    return served


def test_parts_are_pictures_with_their_measures_in_words(measured: Served) -> None:
    page = measured.reader().get(f"/tree/{tree_id(measured, 'Maple 1')}").text
    pictures = {picture.said(): picture for picture in map(Picture, SVG.findall(page))}
    width = pictures["Width of first cut: 24 mm (1 March 2014), 20 mm (20 September 2014), 17 mm (20 May)."]
    assert width.text("17 mm").bold
    assert any(stroke.dashes == "5 3" for stroke in width.strokes)  # the forecast: it is not closed yet
    graft = next(said for said in pictures if said.startswith("Entry of left: 2.2 mm"))
    assert [t.words for t in pictures[graft].texts if "," in t.words] == ["entry, 3.1 mm", "exit, 3.4 mm"]
    assert "Height of the tree: 460 mm (1 June)." in pictures
    told = text_of(page)
    for said in pictures:
        if "mm (" in said:
            assert said in told
    assert "At its pace the wound takes about" in told
    assert "Behind the trunk it is 1.1 times as thick as before it" in told


def test_work_is_told_with_its_reasons(served: Served, garden_file: Path) -> None:
    told = text_of(served.reader().get(f"/tree/{tree_id(served, 'Maple 1')}").text)
    why = run("why", "Maple 1", "cut back", "--db", str(garden_file), "--today", str(DAY)).out
    reasons = [" ".join(line.split()) for line in re.findall(r"^  - (.+(?:\n    .+)*)", why, re.MULTILINE)]
    assert len(reasons) > 2
    for reason in reasons:
        assert reason in told
    assert "Why, in full" in told
    assert "Not this season, and why not" in told


def test_work_thought_through_tells_what_the_terminal_tells(served: Served, garden_file: Path) -> None:
    page = served.reader().get(f"/tree/{tree_id(served, 'Maple 1')}?work=repot&on=2015-07-01").text
    told = text_of(page)
    options = ("--db", str(garden_file), "--today", str(DAY))
    imagined = run("what-if", "--tree", "Maple 1", "--do", "repot", "--on", "2015-07-01", *options).out
    against = [
        " ".join(line.split()) for line in re.findall(r"Against it, Maple 1: (.+(?:\n    .+)*)", imagined)
    ]
    assert against
    for line in against:
        assert line in told
    assert "If on 1 July: repot, Maple 1." in told
    assert "Looks that would follow: 2 July, Look at the repotted tree: Maple 1." in told
    assert "Last done on 2 March 2013." in told
    assert "Not planned. " in told
    assert '<option value="repot" selected>' in page
    assert 'value="2015-07-01"' in page


@pytest.mark.parametrize(
    ("asked", "right"),
    [
        ("work=repot&on=2015-06-01", "right would be one from today on"),
        ("work=repot&on=soon", "right would be one from today on"),
        ("work=repot&share=much", "right would be a share of the foliage"),
        ("work=juggle", "right would be one such as"),
    ],
)
def test_what_cannot_be_understood_comes_back_with_a_sentence(served: Served, asked: str, right: str) -> None:
    answer = served.reader().get(f"/tree/{tree_id(served, 'Maple 1')}?{asked}")
    assert answer.status_code == 200
    assert right in answer.text
    for entered in ("on", "share"):
        value = re.search(rf"{entered}=(\w+)", asked)
        assert value is None or f'value="{value[1]}' in answer.text
    assert "If on" not in answer.text


def test_what_was_learned_of_its_dates_is_told(served: Served) -> None:
    reader = served.reader()
    assert "days earlier than usual for its kind" in (
        told := text_of(reader.get(f"/tree/{tree_id(served, 'Maple 1')}").text)
    ) or ("days later than usual for its kind" in told)
    assert (
        "Nothing was learned of its own dates yet" in reader.get(f"/tree/{tree_id(served, 'Maple 3')}").text
    )


def test_an_entry_of_the_history_is_taken_back(served: Served, garden_file: Path) -> None:
    write(garden_file, "measure", "Maple 3", "height=410", "--on", "2015-06-01")
    reader, tree = served.reader(), tree_id(served, "Maple 3")
    page = reader.get(f"/tree/{tree}").text
    assert "Height of the tree: 410 mm" in page
    newest = re.search(r'name="entry" value="([^"]+)"', page.partition("<h2>History</h2>")[2])
    assert newest is not None
    back = reader.post("/undo", {"entry": newest[1], "back": f"/tree/{tree}"})
    assert back.url == f"{served.url}/tree/{tree}"
    assert "Void" in back.text
    assert "Height of the tree" not in back.text
    store = open_store(garden_file)
    with store.read() as connection:
        entries = log.entries(connection, gardens.get_garden(connection).id)
    store.close()
    assert str(entries[-1].voids) == newest[1]


def test_undo_says_of_which_trees_it_takes_back(served: Served, garden_file: Path) -> None:
    write(garden_file, "tree", "change", "Maple 1, Maple 3", "--vigour", "4")
    reader, tree = served.reader(), tree_id(served, "Maple 1")
    row, *_ = reader.get(f"/tree/{tree}").text.partition("<h2>History</h2>")[2].split("</li>")
    assert "vigour 4" in row
    assert "Written of Maple 1 and Maple 3 at once: Undo takes it back of all 2." in text_of(row)
    entry = re.search(r'name="entry" value="([^"]+)"', row)
    assert entry is not None
    told = text_of(reader.post("/undo", {"entry": entry[1], "back": f"/tree/{tree}"}).text)
    assert "Void: vigour 4: Maple 1 and Maple 3, 25 June." in told


def test_the_entry_with_which_a_tree_joined_has_no_undo(served: Served, garden_file: Path) -> None:
    reader, tree = served.reader(), tree_id(served, "Maple 1")
    joined = next(each for each in entries(garden_file) if each.kind == "state" and tree in each.tree_ids)
    page = reader.get(f"/tree/{tree}").text
    assert 'action="/undo"' in page
    assert str(joined.id) not in page
    answer = reader.post("/undo", {"entry": str(joined.id), "back": f"/tree/{tree}"})
    assert (answer.status_code, "joined the garden" in answer.text) == (422, True)


def test_a_tree_that_is_gone_keeps_its_history(served: Served, garden_file: Path) -> None:
    write(garden_file, "tree", "gone", "Maple 3", "--why", "sold")
    page = served.reader().get(f"/tree/{tree_id(served, 'Maple 3')}").text
    assert "Gone since 25 June: sold." in page
    assert "<h2>History</h2>" in page
    assert "Think work through" not in page


def test_no_tree_of_another_name_is_shown(served: Served) -> None:
    reader = served.reader()
    assert reader.get("/tree/00000000-0000-4000-8000-000000000001").status_code == 404
    assert reader.get("/tree/maple").status_code == 422


@pytest.mark.parametrize("width", [320, 390, 1200])
def test_the_page_is_legible_in_a_browser(measured: Served, phone: Page, width: int) -> None:
    phone.set_viewport_size({"width": width, "height": 800})
    phone.goto(f"/tree/{tree_id(measured, 'Maple 1')}?work=repot&share=60")
    assert check_pictures(phone, 15.0 if width >= 390 else 12.0) > 5
    assert sideways(phone) <= 0
    for button in phone.get_by_role("button").all():
        if button.is_visible():
            box = button.bounding_box()
            assert box is not None
            assert box["height"] >= 44
