"""The sheet as a browser prints it: pages, sizes of type, and codes, read out of the PDF by others' readers."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from typing import TYPE_CHECKING

import numpy as np
import pytest

from calendar_core.publishing.sheets.content import PAPERS
from calendar_core.publishing.sheets.page import page
from tests.publishing.sheets.made_up import LONG, MARK, QUESTIONS, UNBROKEN, glance, sheet, tree
from tests.publishing.sheets.printing import printed

if TYPE_CHECKING:
    from pathlib import Path

    from calendar_core.publishing.sheets.content import Paper

LEAST_PT = 10.0
MARGIN_PT = 17.0  # 6 mm, of which no printer need print nearer to the edge (common practice)
KERNED_PT = 0.7  # signs of a word may reach into one another so far
POINTS = {"a4": (595, 842), "letter": (612, 792)}  # ISO 216 and ANSI Y14.1, in whole points
KEY = re.compile(r"t(\d\d)q\d+")


@pytest.mark.slow
@pytest.mark.parametrize(
    ("paper", "trees", "pages"),
    [("a4", 1, 1), ("a4", 12, 6), ("a4", 30, 15), ("letter", 1, 1), ("letter", 12, 6)],
)
def test_two_full_looks_go_on_a_page_and_no_tree_goes_on_two(
    paper: Paper, trees: int, pages: int, tmp_path: Path
) -> None:
    found = printed(page(sheet([tree(number) for number in range(trees)], paper)), tmp_path)
    assert [(each.width, each.height) for each in found] == [POINTS[paper]] * pages
    on = {name: place for place, each in enumerate(found) for name in re.findall(r"Maple(\d\d)", each.text)}
    assert len(on) == trees
    keys = [(key[1], key[0], place) for place, each in enumerate(found) for key in KEY.finditer(each.text)]
    assert len(keys) == len(set(keys)) == trees * QUESTIONS
    assert {(name, place) for name, _, place in keys} == set(on.items())
    assert [each.text.count(MARK) for each in found] == [2] + [1] * (pages - 1)
    for each in found:  # its code is the last of a tree
        assert [code.split("\n")[0] for code in each.codes] == re.findall(r"Maple\d\d", each.text)


@pytest.mark.slow
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("label", ["Maple 1", LONG, UNBROKEN])
def test_nothing_is_small_or_pale_or_leaves_the_page_whatever_a_tree_is_called(
    paper: Paper, label: str, tmp_path: Path
) -> None:
    blocks = [tree(1, label), tree(2)]
    found = printed(page(sheet(blocks, paper)), tmp_path)
    signs = [sign for each in found for sign in each.signs]
    assert min(round(sign.size, 1) for sign in signs) >= LEAST_PT
    assert all(sign.black for sign in signs)
    assert min(sign.left for sign in signs) >= MARGIN_PT
    assert max(sign.right for sign in signs) <= found[0].width - MARGIN_PT
    assert label.replace(" ", "") in found[0].text.replace(" ", "")
    assert [code for each in found for code in each.codes] == [block.code for block in blocks]


@pytest.mark.slow
def test_no_word_is_printed_over_another(tmp_path: Path) -> None:
    for each in printed(page(sheet([glance(1), tree(2, UNBROKEN), glance(3), tree(4)])), tmp_path):
        low = np.array([(sign.left, sign.bottom) for sign in each.signs]) + KERNED_PT
        high = np.array([(sign.right, sign.top) for sign in each.signs]) - KERNED_PT
        over = (low[:, None] < high).all(axis=2) & (low < high[:, None]).all(axis=2)
        assert not np.triu(over, k=1).any()


class Tags(HTMLParser):
    """The tags and attributes of a page."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags, self.attributes = set[str](), set[str]()
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}


def test_it_loads_and_runs_nothing_and_labels_are_no_tags() -> None:
    html = page(sheet([tree(1, "<script>alert('x')</script><img src=x> & Co.")]))
    found = Tags(html)
    assert not found.tags & {"script", "img", "link", "iframe", "object", "base", "form"}
    assert not found.attributes & {"src", "href", "action", "onload"}
    assert "url(" not in html
    assert "@import" not in html
    assert "&lt;script&gt;alert(&#39;x&#39;)&lt;/script&gt;&lt;img src=x&gt; &amp; Co." in html
