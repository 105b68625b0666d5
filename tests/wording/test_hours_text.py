from __future__ import annotations

from datetime import UTC, datetime

import pytest

from calendar_core.wording.pages.hours_text import harm_sentence
from calendar_core.wording.style import Style


@pytest.mark.parametrize(
    ("ends", "told"),
    [
        (datetime(2015, 12, 20, 18, tzinfo=UTC), "15:00 to 18:00"),
        (datetime(2015, 12, 21, tzinfo=UTC), "15:00 to midnight"),
        (datetime(2015, 12, 21, 13, tzinfo=UTC), "15:00 to 13:00 the next day"),
    ],
)
def test_hours_of_harm_say_on_which_day_they_end(ends: datetime, told: str) -> None:
    spans = [(datetime(2015, 12, 20, 15, tzinfo=UTC), ends)]
    assert harm_sentence(Style(), spans, whole=False) == f"If it does, beyond the line {told}."
