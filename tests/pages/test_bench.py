"""The bench: its register, trees that are added once, tables that are none, and codes that a camera reads."""

from __future__ import annotations

import re
from io import BytesIO
from typing import TYPE_CHECKING

import pytest
import zxingcpp
from PIL import Image

from calendar_core.app.keys.keys import make_key
from calendar_core.app.shell.clock import utc_now
from tests.pages.conftest import DAY
from tests.pages.serving import busy, serving

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Page

    from tests.pages.serving import Served

SENT = "b1a7c1de-51f5-4b13-8a1c-0f2d8f9b7a01"  # invented
HEAD = re.compile(r'<h3><a href="/tree/[0-9a-f-]+">([^<]+)</a></h3>')


def trees(served: Served) -> list[str]:
    session = served.site.session()
    assert session is not None
    return [tree.label for tree in session.trees]


def test_every_tree_has_a_line(served: Served) -> None:
    page = served.reader().get("/bench").text
    assert sorted(HEAD.findall(page)) == sorted(trees(served))


def test_it_is_narrowed(served: Served) -> None:
    reader, session = served.reader(), served.site.session()
    assert session is not None
    maples = [
        t.label for t in session.trees if session.knowledge.profiles[t.species].common == "Japanese maple"
    ]
    assert maples
    assert sorted(HEAD.findall(reader.get("/bench?species=Japanese+maple").text)) == sorted(maples)
    aims = {t.label: session.states[t.id].aim for t in session.trees}
    wanted = sorted(label for label in maples if aims[label] == "refinement")
    found = reader.get("/bench?species=Japanese+maple&aim=refinement").text
    assert sorted(HEAD.findall(found)) == wanted
    assert f"{len(wanted)} of " in found
    assert "No tree is like that." in reader.get("/bench?species=Oak").text


def test_what_concerns_a_tree_is_told(served: Served) -> None:
    reader, session = served.reader(), served.site.session()
    assert session is not None
    weak = session.trees[0]
    assert weak.label not in HEAD.findall(reader.get("/bench?concern=yes").text)
    reader.post("/write/changed", {"tree": str(weak.id), "vigour": "1"})
    page = reader.get("/bench?concern=yes").text
    while "being worked out anew" in page:  # the register of before is shown until then
        page = reader.get("/bench?concern=yes").text
    assert weak.label in HEAD.findall(page)
    assert "weak, vigour 1" in page


def test_pasted_trees_and_a_table_are_added_once(served: Served) -> None:
    reader, before = served.reader(), trees(served)
    form: dict[str, object] = {
        "trees": "2 Chinese elm small\nblack pine large refinement",
        "spot": "",
        "entry_id": SENT,
    }
    for _ in range(2):
        assert "Chinese elm" in reader.post("/bench/add", form).text
    assert len(trees(served)) == len(before) + 3
    table = {
        "table": (
            "bench.csv",
            b"species;label\nChinese elm;Elm \xe2\x80\x9cAda\xe2\x80\x9d <i>\n",
            "text/csv",
        )
    }
    told = reader.post("/bench/add", {"entry_id": SENT}, files=table)
    assert "Elm “Ada” &lt;i&gt;" in told.text
    reader.post("/bench/add", {"entry_id": SENT}, files=table)
    assert len(trees(served)) == len(before) + 4


DISGUISED = [
    ("bench.csv", b"PK\x03\x04\x14\x00\x06\x00\xff\xfe", "is not UTF-8 text"),
    ("bench.csv", b"species,label\nChinese elm,a\x00b\n", "is no text"),
    ("bench.csv", b"<html><script>alert(1)</script></html>", "has no column 'species'"),
    ("../../etc/passwd", b"root:x:0:0\n", "passwd: has no column 'species'"),
    ("<b>.csv", b"species\nOak tree of nowhere\n", "Oak tree of nowhere"),
    ("bench.csv", b"species\n" + b"Chinese elm\n" * 90_000, "is larger than 1,000,000 bytes"),
    ("bench.csv", b"species,colour\nChinese elm,red\n", "no such key"),
]


@pytest.mark.parametrize(("name", "body", "told"), DISGUISED)
def test_a_table_that_is_none_adds_nothing(served: Served, name: str, body: bytes, told: str) -> None:
    reader, before = served.reader(), trees(served)
    answer = reader.post(
        "/bench/add", {"trees": "kept in the field"}, files={"table": (name, body, "text/csv")}
    )
    assert answer.status_code == 422
    assert told in answer.text.replace("&#39;", "'")
    assert "<b>" not in answer.text
    assert "kept in the field" in answer.text
    assert trees(served) == before


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "no tree is named; right would be"),
        ("3 unheard-of tree", "unheard-of tree"),
        ("0 Chinese elm", "0 trees; right would be 1 to"),
        ("900 Chinese elm", "900 trees; right would be 1 to"),
    ],
)
def test_pasted_lines_that_are_wrong_come_back(served: Served, text: str, told: str) -> None:
    reader, before = served.reader(), trees(served)
    answer = reader.post("/bench/add", {"trees": text})
    assert answer.status_code == 422
    assert told in answer.text.replace("&#39;", "'")
    assert f">{text}</textarea>" in answer.text
    assert trees(served) == before


def test_a_worker_writes_down_but_adds_no_tree(garden_file: Path) -> None:
    with serving(garden_file, DAY, demands_key=True) as served:
        garden = served.site.garden()
        assert garden is not None
        worker, key = served.reader(), make_key(served.site.store, garden.id, "worker", "helper", utc_now())
        worker.line.post(f"{served.url}/enter", data={"key": key}, timeout=60)
        page = worker.get("/bench").text
        assert len(HEAD.findall(page)) == len(trees(served))
        assert 'id="add"' not in page
        assert worker.post("/bench/add", {"trees": "Chinese elm"}).status_code == 403


def test_a_camera_reads_the_codes(phone: Page, served: Served) -> None:
    phone.goto("/bench/labels?species=Japanese+maple")
    codes = phone.locator(".code")
    session = served.site.session()
    assert session is not None
    by_label = {tree.label: tree.id for tree in session.trees}
    assert codes.count() > 1
    for code in codes.all()[:2]:
        label = str(code.get_attribute("aria-label")).removeprefix("Code of ")
        (read,) = zxingcpp.read_barcodes(Image.open(BytesIO(code.screenshot())))
        assert read.text == f"{served.url}/tree/{by_label[label]}"
    assert "which only this machine can open" in phone.content()


def test_what_is_refused_comes_back_though_the_register_takes_long(
    served: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    reader = served.reader()
    reader.get()
    with busy(served.site, monkeypatch):
        answer = reader.post("/bench/add", {"trees": "3 no such tree\n2 Japanese maple"})
    assert answer.status_code == 422
    assert "3 no such tree\n2 Japanese maple" in answer.text
    assert "No tree was added" in answer.text
    assert not HEAD.findall(answer.text)
