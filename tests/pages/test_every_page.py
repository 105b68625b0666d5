"""Every page in a real browser: at a phone and at a desk, by day and by night, to the eye and to a screen reader.

Source: axe-core (Deque, MPL 2.0), rules of WCAG 2.0 to 2.2 at levels A and AA; target size 44 CSS px is WCAG 2.5.5 (AAA).
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import pytest

from calendar_core.pages.shell.answering import CONTENTS
from tests.pages.serving import serving

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, Page

    from tests.pages.serving import Served

from tests.pages.conftest import DAY

pytestmark = pytest.mark.slow
WIDTHS = {"phone": 390, "narrow": 320, "desk": 1280}
PAGES = (*(address for _, _, address in CONTENTS), "/phone", "/bench/labels", "/tree/1", "/nowhere")
RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa")
SMALLEST_TEXT, SMALLEST_TARGET = 15, 44  # CSS px


@pytest.fixture(scope="module")
def shown(demo_database: Path) -> Iterator[Served]:
    """Serve the demo's garden, which nobody writes to here."""
    with serving(demo_database, DAY) as found:
        yield found


@pytest.fixture(scope="session")
def axe() -> str:
    """Give the checker as a script."""
    roots = [Path(os.environ[key]) for key in ("LEAFCLOCK_NODE_MODULES",) if os.environ.get(key)]
    for root in roots:
        if (root / "axe-core/axe.min.js").exists():
            return (root / "axe-core/axe.min.js").read_text(encoding="utf-8")
    pytest.skip("the npm package axe-core is not installed; set LEAFCLOCK_NODE_MODULES")


def address_of(served: Served, path: str) -> str:
    """Return a path with the first tree of the garden in the place of a number."""
    session = served.site.session()
    assert session is not None
    return path.replace("/tree/1", f"/tree/{session.trees[0].id}")


def opened(
    browser: Browser,
    served: Served,
    path: str,
    width: int,
    scheme: Literal["light", "dark"] = "light",
    **more: Any,
) -> tuple[Page, list[str]]:
    context = browser.new_context(
        viewport={"width": width, "height": 844},
        color_scheme=scheme,
        base_url=served.url,
        bypass_csp=True,
        **more,
    )
    context.set_default_timeout(60_000)
    page, complaints = context.new_page(), list[str]()
    page.on("console", lambda told: complaints.append(told.text) if told.type == "error" else None)
    page.on("pageerror", lambda fault: complaints.append(str(fault)))
    page.goto(address_of(served, path))
    return page, complaints


@pytest.mark.parametrize("path", PAGES)
def test_nothing_scrolls_sideways_and_nothing_complains(browser: Browser, shown: Served, path: str) -> None:
    for width in WIDTHS.values():
        page, complaints = opened(browser, shown, path, width, "light")
        page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
        assert page.evaluate("document.documentElement.scrollWidth") <= width, f"{path} at {width}"
        expected = ["Failed to load resource: the server responded with a status of 404 (Not Found)"]
        assert complaints == (expected if path == "/nowhere" else []), path
        page.context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("path", PAGES)
def test_the_checker_of_the_open_web_finds_nothing_serious(
    browser: Browser, shown: Served, axe: str, path: str, scheme: Literal["light", "dark"]
) -> None:
    page, _ = opened(browser, shown, path, WIDTHS["phone"], scheme)
    page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
    page.add_script_tag(content=axe)
    found = page.evaluate("(tags) => axe.run(document, {runOnly: {type: 'tag', values: tags}})", list(RULES))
    told = [
        f"{each['id']} ({each['impact']}): {each['nodes'][0]['html'][:200]}; {each['nodes'][0]['failureSummary'][:300]}"
        for each in found["violations"]
    ]
    page.context.close()
    assert told == []
    assert len(found["passes"]) > 5


@pytest.mark.parametrize("path", PAGES)
def test_it_can_be_read_and_touched_outdoors(browser: Browser, shown: Served, path: str) -> None:
    """Text and targets have their least size, on the screen as it is laid out."""
    page, _ = opened(browser, shown, path, WIDTHS["phone"], "light")
    small = page.evaluate(
        """(least) => {
        const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), out = [];
        while (walk.nextNode()) {
          const at = walk.currentNode.parentElement;
          if (!walk.currentNode.data.trim() || !at.checkVisibility() || at.closest('script, style, title, desc, option')) continue;
          let size = parseFloat(getComputedStyle(at).fontSize);
          const svg = at.closest('svg');
          if (svg) size *= svg.getScreenCTM().a;
          if (size < least - 0.05) out.push([size, walk.currentNode.data.trim().slice(0, 40)]);
        }
        return out; }""",
        SMALLEST_TEXT,
    )
    targets = page.evaluate(
        """(least) => [...document.querySelectorAll('button, input:not([type=hidden]), select, textarea, summary, a.button, nav a')]
        .filter((each) => each.checkVisibility() && !each.closest('.skip'))
        .map((each) => [each, (each.closest('label.tick') || each).getBoundingClientRect()])
        .filter(([each, box]) => box.height < least - 0.5 || box.width < 24)
        .map(([each, box]) => [each.outerHTML.slice(0, 120), box.width, box.height])""",
        SMALLEST_TARGET,
    )
    page.context.close()
    assert small == []
    assert targets == []


@pytest.mark.parametrize("path", PAGES[:-1])
def test_every_page_is_reached_and_left_by_the_keyboard(browser: Browser, shown: Served, path: str) -> None:
    """The first stop leads to the content; each stop shows where it is."""
    page, _ = opened(browser, shown, path, WIDTHS["desk"], "light")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "To the content"
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('nav') !== null")
    assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"
    page.context.close()


def test_without_scripts_everything_is_there_and_can_be_written_down(
    browser: Browser, served: Served
) -> None:
    for path in PAGES[:-1]:
        page, complaints = opened(browser, served, path, WIDTHS["phone"], "light", java_script_enabled=False)
        assert page.locator("h1").count() == 1
        assert page.locator("main").inner_text().strip()
        assert complaints == []
        page.context.close()
    page, _ = opened(browser, served, "/", WIDTHS["phone"], "light", java_script_enabled=False)
    page.locator("li.row", has_text="Put up shade: Maple 4").get_by_role("button", name="Shaded").click()
    assert page.locator(".told").inner_text().startswith("Shaded: Maple 4")
    page.get_by_role("button", name="Undo").click()
    assert "Void" in page.locator(".told").inner_text()
    page.context.close()
