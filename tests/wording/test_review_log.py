"""Entries of the review in words, as the log and a tree's history tell them."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

import pytest

from calendar_core.garden.model import Entry, EntryKind
from calendar_core.wording.garden.log_text import LogSpeaker
from calendar_core.wording.style import Style
from tests.planning.made_up import knowledge

SPEAKER = LogSpeaker(Style(), knowledge().operations, knowledge().aftercare, {}, {})
LOOK = {"round": "late summer", "cycle": 2015, "depth": "full"}


@pytest.mark.parametrize(
    ("kind", "data", "told"),
    [
        ("review", LOOK, "late summer review 2015, full look"),
        (
            "review",
            {**LOOK, "answers": {"drainage": 75.0, "pot": "good"}, "minutes": 9.0, "note": "dry moss"},
            "late summer review 2015, full look: drainage 75, pot good, 9 min (dry moss)",
        ),
        ("review", {**LOOK, "depth": "glance"}, "late summer review 2015, glance"),
        (
            "review",
            {**LOOK, "answers": {"pot": "good"}, "broken_off": True},
            "late summer review 2015, broken off: pot good",
        ),
        ("walk", {"off": "2015-09-20", "on": "2015-09-26", "minutes": 60}, "walk of 2015-09-20 moved to 2015-09-26"),
        ("gone", {"why": "sold"}, "gone: sold"),
        ("state", {"vigour": 4, "asked": {"round": "late summer", "cycle": 2015, "answers": {"vigour": 4}}}, "vigour 4"),
    ],
)  # fmt: skip
def test_an_entry_of_the_review_is_told(kind: EntryKind, data: dict[str, Any], told: str) -> None:
    entry = Entry(UUID(int=1), UUID(int=2), (), date(2015, 9, 20), datetime(2015, 9, 20, tzinfo=UTC), "owner", kind, data)  # fmt: skip
    assert SPEAKER.told(entry) == told
