"""Pictures as a browser lays them out: no text is small, leaves its picture or lies on another."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Page

MEASURED = """() => [...document.querySelectorAll("svg.picture")].filter(s => s.getClientRects().length).map(s => ({
  said: s.getAttribute("aria-label"), box: s.getBoundingClientRect(),
  texts: [...s.querySelectorAll("text")].map(t => ({words: t.textContent, box: t.getBoundingClientRect(),
    px: parseFloat(getComputedStyle(t).fontSize) * s.getBoundingClientRect().width / s.viewBox.baseVal.width}))}))"""
HALO = 4.0  # px: a browser counts the edge that keeps letters off what is beneath
WHITE = 0.25  # of a line's height that is free of ink above and below (of the font that the pages bring)


def check_pictures(page: Page, least_px: float) -> int:
    """Check every picture that is seen on a page; return how many there are."""
    page.evaluate("document.fonts.ready")
    found = page.evaluate(MEASURED)
    for picture in found:
        assert picture["said"]
        outer = picture["box"]
        for text in picture["texts"]:
            assert text["px"] >= least_px, (picture["said"], text)
            assert text["box"]["left"] >= outer["left"] - HALO, (picture["said"], text)
            assert text["box"]["right"] <= outer["right"] + HALO, (picture["said"], text)
        for n, one in enumerate(picture["texts"]):
            for other in picture["texts"][n + 1 :]:
                assert not _meet(one["box"], other["box"]), (picture["said"], one["words"], other["words"])
    return len(found)


def _meet(one: dict[str, float], other: dict[str, float]) -> bool:
    white = WHITE * min(one["height"], other["height"])
    return (
        one["left"] < other["right"]
        and other["left"] < one["right"]
        and one["top"] + white < other["bottom"] - white
        and other["top"] + white < one["bottom"] - white
    )


def sideways(page: Page) -> int:
    """Return how far a page could be scrolled sideways [px]."""
    return int(page.evaluate("document.documentElement.scrollWidth - window.innerWidth"))
