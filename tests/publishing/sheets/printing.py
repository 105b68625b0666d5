"""Printing by a real browser: HTML in, printed pages out, as PDFium reads them and ZXing their codes."""

from __future__ import annotations

import shutil
import subprocess
from ctypes import byref, c_uint
from dataclasses import dataclass
from math import hypot
from typing import TYPE_CHECKING, Any

import pypdfium2
import pytest
import zxingcpp
from pypdfium2 import raw

if TYPE_CHECKING:
    from pathlib import Path

BROWSERS = ("chromium", "chromium-browser", "google-chrome")
DOTS_PER_POINT = 200 / 72


@dataclass(frozen=True)
class Sign:
    """One printed sign: its size of type, its ink from the page's lower left, in points, and whether it is black."""

    size: float
    left: float
    bottom: float
    right: float
    top: float
    black: bool


@dataclass(frozen=True)
class PrintedPage:
    """One page, its size in whole points."""

    width: int
    height: int
    text: str
    signs: tuple[Sign, ...]
    codes: tuple[str, ...]


def printed(html: str, folder: Path) -> list[PrintedPage]:
    """Print a page as its own style says, without a network; skip where there is no browser."""
    browser = next(filter(None, map(shutil.which, BROWSERS)), None)
    if browser is None:
        pytest.skip("Chromium is not installed (apt-get install chromium)")
    page, out = folder / "page.html", folder / "page.pdf"
    page.write_text(html, encoding="utf-8")
    words = [
        browser, "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={folder / 'profile'}",
        "--host-resolver-rules=MAP * ~NOTFOUND", "--no-pdf-header-footer", f"--print-to-pdf={out}", page.as_uri(),
    ]  # fmt: skip
    subprocess.run(words, check=True, capture_output=True, timeout=120)
    with pypdfium2.PdfDocument(out) as pdf:
        return [_page(found) for found in pdf]


def _page(found: Any) -> PrintedPage:
    width, height = (round(size) for size in found.get_size())
    text = found.get_textpage()
    signs = [_sign(text, place) for place in range(text.count_chars()) if _is_drawn(text, place)]
    image = found.render(scale=DOTS_PER_POINT, grayscale=True).to_numpy()
    codes = tuple(code.text for code in zxingcpp.read_barcodes(image))
    return PrintedPage(width, height, " ".join(text.get_text_range().split()), tuple(signs), codes)


def _is_drawn(text: Any, place: int) -> bool:
    """Tell whether a sign is ink: the reader makes up spaces and ends of lines."""
    return not chr(raw.FPDFText_GetUnicode(text, place)).isspace()


def _sign(text: Any, place: int) -> Sign:
    matrix, colour = raw.FS_MATRIX(), [c_uint() for _ in range(4)]
    raw.FPDFText_GetMatrix(text, place, matrix)
    raw.FPDFText_GetFillColor(text, place, *map(byref, colour))
    size = raw.FPDFText_GetFontSize(text, place) * hypot(matrix.c, matrix.d)
    left, bottom, right, top = text.get_charbox(place)
    return Sign(size, left, bottom, right, top, [part.value for part in colour] == [0, 0, 0, 255])
