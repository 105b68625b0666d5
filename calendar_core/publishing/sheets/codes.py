"""Codes that a camera reads: QR codes (ISO/IEC 18004) as inline SVG."""

from __future__ import annotations

import segno

QUIET = 4  # modules left white around a code, as the standard asks


def qr_svg(text: str) -> str:
    """Return a text as the SVG of a QR code of error correction M (15 %): a drop of water must not spoil it.

    It has no size of its own and fills what it is put into. A text that fits no code (2331 bytes) raises
    ``segno.DataOverflowError``.
    """
    code = segno.make_qr(text, error="m", encoding="utf-8")
    return code.svg_inline(border=QUIET, omitsize=True, svgclass=None, lineclass=None)
