"""How wide text is, without a font at hand: no narrower than the common serifs set it."""

from __future__ import annotations

SIZE = 15.0  # of type: the least that is read on a phone at arm's length; a unit is a pixel there
CAP, DROP = (
    0.76,
    0.24,
)  # how far letters reach above and below their baseline, in sizes (DejaVu Serif, the tallest)
BOLD = 1.12  # how much wider bold letters are (estimate from Liberation Serif, 1.07, and Georgia from memory)

# In sizes: estimates from Georgia (from memory), the widest of the serifs that systems bring but DejaVu's.
_GROUPS = {
    " .,:;'|ijl!()[]/": 0.33,
    "°-ftrs–": 0.45,
    "mwMW%@": 0.95,
    "ABCDEFGHKLNOPQRTUVXYZ": 0.76,
}
_EACH = {letter: wide for letters, wide in _GROUPS.items() for letter in letters}
_OTHER, _FAR = 0.6, 1.0  # letters and figures; capitals and signs of other kinds are as wide as high


def width_of(text: str, *, bold: bool = False, size: float = SIZE) -> float:
    """Return how wide a line of text may be.

    >>> width_of("full sun") < width_of("full sun", bold=True) < 8 * 15
    True
    """
    ems = sum(_EACH.get(letter) or (_OTHER if _is_common(letter) else _FAR) for letter in text)
    return ems * size * (BOLD if bold else 1.0)


def _is_common(letter: str) -> bool:
    """Tell whether something is a small letter of the Latin alphabet or a figure."""
    return letter < "\u0250" and (letter.islower() or letter in "0123456789")


def wrapped(text: str, width: float, *, bold: bool = False) -> list[str]:
    """Return text in lines no wider than ``width``; a word that is wider is broken.

    >>> wrapped("line of tender leaves", 110)
    ['line of tender', 'leaves']
    """
    lines: list[str] = []
    for word in text.split():
        if lines and width_of(f"{lines[-1]} {word}", bold=bold) <= width:
            lines[-1] += f" {word}"
            continue
        rest = word
        while width_of(rest, bold=bold) > width and len(rest) > 1:
            fits = max(n for n in range(1, len(rest)) if n == 1 or width_of(rest[:n], bold=bold) <= width)
            lines.append(rest[:fits])
            rest = rest[fits:]
        lines.append(rest)
    return lines
