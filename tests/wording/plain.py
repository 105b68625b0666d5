"""A speaker, and what no sentence may show."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING

from calendar_core.wording.sentences import Speaker
from calendar_core.wording.style import Style
from tests.planning.made_up import knowledge

if TYPE_CHECKING:
    from calendar_core.garden.model import Units

TODAY = date(2015, 5, 10)
UNITS: tuple[Units, ...] = ("metric", "us")
CLOSING, OPENING, NEVER = "closes_", "opens_", "never_"


def speaker(units: Units = "metric", today: date = TODAY) -> Speaker:
    return Speaker(Style(units), today, knowledge().operations, knowledge().sources)


def is_plain(text: str) -> None:
    """A sentence of running text: nothing unfilled, no codes, no units of the inside, no gaps."""
    assert text
    assert not re.search(r"[{}_]|None|\bnan\b|\binf\b|degC|\(\)|  | [.,;:]|\.\.|\d\.\d{3}", text), text
    assert text.strip() == text
    assert text[0].isupper() or text[0].isdigit(), text
    assert text.endswith((".", "wish", "--anyway", "log")), text
