"""Writing down: work in three taps, the same checks as the terminal's, forms that come back with what was entered."""

from __future__ import annotations

import html
import re
from typing import TYPE_CHECKING
from uuid import UUID

import pytest

from tests.pages.conftest import DAY
from tests.pages.serving import busy
from tests.pages.test_today import entries

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Page

    from calendar_core.garden.model import Tree
    from tests.pages.serving import Served

SENT = "5f0c7a52-7e0e-4b8e-9d40-3a3a5d1d2f10"  # invented


def tree_of(served: Served, label: str) -> Tree:
    session = served.site.session()
    assert session is not None
    return next(tree for tree in session.trees if tree.label == label)


def alert(text: str) -> str:
    found = re.search(r'role="alert">(.*?)</div>', text, re.DOTALL)
    assert found is not None
    return html.unescape(re.sub(r"<[^>]+>|\s+", " ", found[1])).strip()


def test_three_taps_from_today_to_cut(phone: Page, garden_file: Path) -> None:
    before = entries(garden_file)
    phone.goto("/")
    phone.get_by_role("link", name="Write down").tap()
    phone.get_by_role("link", name="Maple 2").tap()
    phone.get_by_role("button", name="Cut", exact=True).tap()
    phone.get_by_text("Cut: Maple 2, 25 June").wait_for()
    (new,) = [entry for entry in entries(garden_file) if entry not in before]
    assert (new.kind, new.data["operation"], new.happened) == ("work", "cut back", DAY)
    phone.get_by_role("button", name="Undo").tap()
    phone.get_by_text("Void").wait_for()
    assert entries(garden_file)[-1].voids == new.id


def test_work_with_a_new_part_and_measures_is_written_without_scripts(
    served: Served, garden_file: Path
) -> None:
    reader, maple = served.reader(), tree_of(served, "Maple 2")
    before = entries(garden_file)
    form: dict[str, object] = {
        "tree": str(maple.id), "operation": "structural prune", "day": "2015-06-20", "new_part": "big stub",
        "side": "left", "height": "120", "share": "30", "measure": ["width", "", ""], "value": ["17", "", ""],
        "note": "sap ran", "regret": "", "entry_id": SENT, "yes": "yes",
    }  # fmt: skip
    for _ in range(2):  # a form sent twice is stored once
        answer = reader.post("/write", form)
        assert answer.status_code == 200
    new = [entry for entry in entries(garden_file) if entry not in before]
    assert [entry.kind for entry in new] == ["part", "work", "measure"]
    assert new[0].data == {"kind": "wound", "name": "big stub", "side": "left", "height_mm": 120.0}
    assert (new[1].data["share"], new[1].data["note"], new[1].part_ids) == (0.3, "sap ran", new[0].part_ids)
    assert new[2].data["values"] == {"width": 17.0}
    again = reader.post(
        "/write", {**form, "new_part": "other stub"}
    )  # the form shown again, and filled in anew
    assert "other stub" in again.text
    assert len(entries(garden_file)) == len(before) + 6


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"day": "2015-07-20"}, "2015-07-20 lies ahead; right would be a day up to today, 2015-06-25"),
        ({"day": "soon"}, "'soon' is not a day; right would be year-month-day"),
        ({"share": "300"}, "share 300%: right would be a share of the foliage from 0 to 100 %"),
        ({"measure": ["width"], "value": ["wide"]}, "right would be width=NUMBER"),
        ({"part": "no such"}, "Maple 2 has no part 'no such'"),
        ({"operation": "fly"}, "no work is chosen"),
        ({"operation": "", "other": ""}, "no work is chosen"),
        ({"operation": "shelter in"}, "does not say where Maple 2 stands now"),
        ({"note": "n" * 2001}, "note: found 'nnn"),
        ({"operation": "structural prune", "new_part": "a\x00b"}, "name: found 'a\\x00b'"),
        ({"operation": "structural prune", "new_part": "a", "height": "high"}, "height: found 'high'; right would be"),
    ],
)  # fmt: skip
def test_what_is_wrong_comes_back_with_what_was_entered(
    served: Served, garden_file: Path, fields: dict[str, object], told: str
) -> None:
    reader, before = served.reader(), entries(garden_file)
    form = {
        "tree": str(tree_of(served, "Maple 2").id),
        "operation": "cut back",
        "regret": '"<b>kept</b>',
        **fields,
    }
    answer = reader.post("/write", form)
    assert answer.status_code == 422
    assert told in alert(answer.text)
    assert "--" not in alert(answer.text)
    assert 'value="&#34;&lt;b&gt;kept&lt;/b&gt;"' in answer.text
    assert entries(garden_file) == before


def test_a_doubt_is_answered_by_a_tick(served: Served, garden_file: Path) -> None:
    reader, before = served.reader(), entries(garden_file)
    session = served.site.session()
    assert session is not None
    tree, never = next(
        (tree, key)
        for tree in session.trees
        for key in session.knowledge.profiles[tree.species].never
        if key in session.knowledge.operations
    )
    form: dict[str, object] = {
        "tree": str(tree.id),
        "operation": never,
        "note": "found it so",
        "entry_id": SENT,
    }
    asked = reader.post("/write", form)
    assert asked.status_code == 422
    assert "is never done to" in alert(asked.text)
    assert "It is so: write it down all the same" in alert(asked.text)
    assert 'value="found it so"' in asked.text
    assert entries(garden_file) == before
    assert "Undo" in reader.post("/write", {**form, "yes": "yes"}).text
    (new,) = [entry for entry in entries(garden_file) if entry not in before]
    assert "never" in new.data["against"]


FACTS = [
    ("seen", {"stage": "leaves_hardened", "yes": "yes"}, "seen", {"stage": "leaves_hardened"}),
    ("seen", {"stage": "leaves_hardened", "not_yet": "yes"}, "seen", {"stage": "not yet leaves_hardened"}),
    ("measured", {"part": "", "measure": "height", "value": "410", "yes": "yes"}, "measure", {"values": {"height": 410.0}}),
    ("part", {"kind": "branch", "name": "first left", "side": "left", "directive": "watch"}, "part",
     {"kind": "branch", "name": "first left", "side": "left", "directive": "watch"}),
    ("wished", {"operation": "repot", "anyway": "yes"}, "wish", {"operation": "repot", "anyway": True}),
    ("changed", {"aim": "refinement", "vigour": "4", "pot_litres": "2.5"}, "state",
     {"aim": "refinement", "vigour": 4, "pot_litres": 2.5}),
    ("gone", {"why": "given away", "note": "to a friend"}, "gone", {"why": "given away", "note": "to a friend"}),
]  # fmt: skip


@pytest.mark.parametrize(("form", "fields", "kind", "data"), FACTS)
def test_each_other_form_is_written_once(
    served: Served,
    garden_file: Path,
    form: str,
    fields: dict[str, object],
    kind: str,
    data: dict[str, object],
) -> None:
    reader, before = served.reader(), entries(garden_file)
    sent = {"tree": str(tree_of(served, "Maple 2").id), "entry_id": SENT, **fields}
    assert reader.post(f"/write/{form}", sent).status_code == 200
    again = reader.post(f"/write/{form}", sent)
    assert again.status_code == (422 if form == "gone" else 200)  # what is gone is not there to be gone again
    (new,) = [entry for entry in entries(garden_file) if entry not in before]
    assert new.kind == kind
    assert data.items() <= new.data.items()


@pytest.mark.parametrize(
    ("form", "fields", "told"),
    [
        ("seen", {"stage": "flying"}, "has no stage 'flying'"),
        ("seen", {"stage": "bud_break"}, "is far from what is expected"),
        ("measured", {"measure": "height", "value": ""}, "measurements such as width=17"),
        ("part", {"kind": "wing", "name": "a"}, "'wing' is no kind of part"),
        ("part", {"kind": "branch", "name": ""}, "name"),
        ("wished", {"operation": "fly"}, "no work is chosen"),
        ("changed", {}, "nothing is changed; right would be a new value"),
        ("changed", {"vigour": "9"}, "vigour: found '9'"),
        ("changed", {"spot": "the moon"}, "the moon"),
        ("gone", {"why": "flown"}, "why: found 'flown'"),
    ],
)
def test_each_other_form_comes_back(
    served: Served, garden_file: Path, form: str, fields: dict[str, object], told: str
) -> None:
    reader, before = served.reader(), entries(garden_file)
    tree = str(tree_of(served, "Maple 2").id)
    answer = reader.post(f"/write/{form}", {"tree": tree, "day": "2015-06-21", **fields})
    assert answer.status_code == 422
    assert told in alert(answer.text)
    assert re.search(rf'<details open id="{form}"', answer.text)
    assert re.search(rf'id="{form}-day"[^>]*value="2015-06-21"', answer.text) or form == "wished"
    assert entries(garden_file) == before


def test_trees_are_found_by_name_by_species_and_by_spot(served: Served) -> None:
    reader = served.reader()
    maple = tree_of(served, "Maple 2")
    found = reader.get("/write?name=maple+2")
    assert found.url == f"{served.url}/write?tree={maple.id}"
    session = served.site.session()
    assert session is not None
    some = reader.get("/write?name=maple").text
    assert some.count('name="tree"') == sum(
        "maple" in tree.label.lower() or "maple" in session.knowledge.profiles[tree.species].common.lower()
        for tree in session.trees
    )
    assert "No tree is called “oak”" in reader.get("/write?name=oak").text
    spot = session.states[maple.id].spot
    there = [tree for tree in session.trees if session.states[tree.id].spot == spot]
    at = reader.get(f"/write?spot={spot}").text
    work = at.split('id="work"')[1].split("</form>")[0]
    assert set(re.findall(r'name="tree" value="([^"]+)"', work)) == {str(tree.id) for tree in there}


def test_work_of_several_trees_is_one_entry(served: Served, garden_file: Path) -> None:
    reader, before = served.reader(), entries(garden_file)
    trees = [str(tree_of(served, label).id) for label in ("Maple 2", "Maple 4")]
    assert reader.post("/write", {"tree": trees, "other": "turn pots", "operation": ""}).status_code == 200
    (new,) = [entry for entry in entries(garden_file) if entry not in before]
    assert set(new.tree_ids) == {UUID(tree) for tree in trees}
    part = reader.post("/write/part", {"tree": trees, "kind": "branch", "name": "a"})
    assert "a part is of one tree" in alert(part.text)


def test_a_tree_that_is_not_there_is_a_page_with_a_sentence(served: Served, garden_file: Path) -> None:
    reader, before = served.reader(), entries(garden_file)
    for tree in ("maple", SENT, "", "../../etc/passwd"):
        answer = reader.post("/write", {"tree": tree, "operation": "cut back"})
        assert answer.status_code == 422
        assert "right would be the page as it is now" in answer.text
    assert reader.get(f"/write?tree={SENT}").status_code == 422
    assert entries(garden_file) == before


def test_enter_in_a_field_writes_nothing(phone: Page, served: Served, garden_file: Path) -> None:
    before = entries(garden_file)
    phone.goto(f"/write?tree={tree_of(served, 'Maple 2').id}")
    phone.get_by_text("Another day, parts, measures, a note").tap()
    phone.get_by_label("Note").first.fill("dry")
    phone.get_by_label("Note").first.press("Enter")
    phone.wait_for_timeout(300)
    assert entries(garden_file) == before


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_nothing_is_wider_than_the_screen(phone: Page, served: Served, width: int) -> None:
    phone.set_viewport_size({"width": width, "height": 800})
    for path in ("/write", f"/write?tree={tree_of(served, 'Maple 2').id}", "/bench", "/bench/labels"):
        phone.goto(path)
        for folded in phone.locator("details").all():
            folded.evaluate("shown => { shown.open = true; }")
        assert phone.evaluate("document.documentElement.scrollWidth <= window.innerWidth"), path
        small = phone.evaluate(
            "[...document.querySelectorAll('main button, main .button, main select, main summary, main .tick')]"
            ".filter(e => e.offsetParent && e.getBoundingClientRect().height < 43.5).map(e => e.outerHTML.slice(0, 90))"
        )
        assert small == [], path


def test_many_trees_are_planned_beside_the_questions_and_nothing_entered_is_lost(
    served: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("calendar_core.pages.views.write_down.FEW", 1)
    reader, session = served.reader(), served.site.session()
    assert session is not None
    some = [str(tree.id) for tree in session.trees[:3]]
    asked = f"/write?{'&'.join(f'tree={tree}' for tree in some)}"
    reader.get()
    with busy(served.site, monkeypatch):
        assert reader.get(asked).status_code == 503
        answer = reader.post("/write", {"tree": some, "operation": "", "note": "some <b>moss"})
        assert answer.status_code == 422
        assert "some &lt;b&gt;moss" in answer.text
    assert session.trees[2].label in reader.get(asked).text


def test_what_is_to_be_known_before_a_cut_is_told_where_it_is_written_down(served: Served) -> None:
    reader, maple = served.reader(), tree_of(served, "Maple 1")
    assert "Before a cut" not in reader.get(f"/write?tree={tree_of(served, 'Maple 2').id}").text
    form = {
        "tree": str(maple.id),
        "part": "",
        "kind": "branch",
        "name": "first left",
        "directive": "keep as backup",
    }
    assert reader.post("/write/part", form).status_code == 200
    page = reader.get(f"/write?tree={maple.id}").text
    card = page.partition("<summary>Before a cut</summary>")[2].partition("</details>")[0]
    assert "Must stay" in card
    assert "first left" in card
    assert f'href="/tree/{maple.id}#thought"' in card
