"""What trees, parts, spots, gardens and people may be called: what can be seen, told apart, and typed in a command.

Two names that look the same must be the same, so signs that show nothing are refused, and those that turn the direction
of what follows. Of them the zero-width joiner and non-joiner stay where scripts and emoji need them, as Persian and the
Indic scripts do: between two signs, neither of which is Latin, Greek, Cyrillic or a digit. Names that differ in them
alone are one (`plain`).
"""

from __future__ import annotations

import re
import unicodedata
from typing import Literal

Named = Literal["tree", "part", "other"]

JOINERS = "\u200c\u200d"  # zero-width non-joiner and joiner (The Unicode Standard, section 23.2)
_NOT_JOINED = ("LATIN", "GREEK", "CYRILLIC", "DIGIT")
_UNSEEN = frozenset({"Cf", "Zl", "Zp"})
_BLANK = frozenset("\u034f\u115f\u1160\u17b4\u17b5\u2800\u3164\uffa0")
"""Letters and marks that show nothing: grapheme joiner, Hangul fillers, Khmer inherent vowels, blank Braille."""
_UNTOLD = re.compile(f"[{JOINERS}\u00ad\ufe00-\ufe0f]")  # also soft hyphens and how an emoji is drawn

SPLITS: dict[Named, str] = {"tree": ",:", "part": ";=", "other": ""}
"""What parts names in commands and lines: trees by commas, a tree from what was done by a colon, what is said of a part
by semicolons and equals signs."""

ALL = "all"  # stands for every tree


def plain(name: str) -> str:
    """Return a name without the signs that do not tell it from another."""
    return _UNTOLD.sub("", name)


def unseen(name: str) -> str:
    r"""Return the first sign of a name that cannot be seen, "" where all can.

    >>> unseen("Maple\u202e1"), unseen("\u0645\u06cc\u200c\u062e\u0648\u0627\u0647\u0645"), unseen("Ma\u200cple")
    ('\u202e', '', '\u200c')
    """
    for at, sign in enumerate(name):
        if sign in JOINERS:
            if not (0 < at < len(name) - 1 and _joins(name[at - 1]) and _joins(name[at + 1])):
                return sign
        elif unicodedata.category(sign) in _UNSEEN or sign in _BLANK:
            return sign
    return ""


def _joins(sign: str) -> bool:
    """Tell whether a sign is one that joiners may stand beside."""
    return unicodedata.category(sign)[0] in "LMS" and not unicodedata.name(sign, "").startswith(_NOT_JOINED)


def right_of(name: str, of: Named) -> str:
    """Return what would be right instead of a name that cannot be used, "" where it can.

    >>> right_of("Maple 1", "tree"), right_of("all", "tree")
    ('', 'another name: all stands for every tree')
    """
    if any(unicodedata.category(sign) in {"Cc", "Cs"} for sign in name):
        return "text without control characters"
    if sign := unseen(name):
        return f"a name of signs that can be seen, without U+{ord(sign):04X}"
    if name.lstrip().startswith("-"):
        return "a name that does not begin with -, as options do"
    if of == "tree" and unicodedata.normalize("NFKC", plain(name)).strip().casefold() == ALL:
        return "another name: all stands for every tree"
    if any(sign in name for sign in SPLITS[of]):
        return f"a name without {' and '.join(SPLITS[of])}"
    return ""
