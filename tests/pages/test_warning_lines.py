from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import UUID

from alerts.outbox.standing import StandingWarning
from calendar_core.app.shell.session import open_session
from calendar_core.pages.views.warning_lines import warning_lines
from tests.pages.conftest import DAY

if TYPE_CHECKING:
    from pathlib import Path

ICE, FUMES = "Caution: Ice underfoot.", "Caution: The fumes kill."


def warning(n: int, *cautions: str) -> StandingWarning:
    """A warning of cold that tells what harms, what to do, how sure it is, and its cautions."""
    now = datetime(2015, 12, 20, 12, tzinfo=UTC)
    text = "\n\n".join([f"What {n}.", f"Do {n}.", "How sure.", "\n".join(cautions)])
    return StandingWarning(
        UUID(int=n), UUID(int=99), "frost", "Severe", now, now + timedelta(hours=9), "active", 1,
        {"subject": f"Cold {n}", "text": text}, now,
    )  # fmt: skip


def test_a_caution_that_stood_above_is_not_said_once_more(garden_file: Path) -> None:
    session = open_session(str(garden_file), None, DAY)
    told = list(warning_lines(session, [warning(1, ICE), warning(2, ICE, FUMES), warning(3, FUMES)]))
    assert told == [
        ("Cold 1", ["Do 1.", ICE], ["What 1.", "How sure."]),
        ("Cold 2", ["Do 2.", FUMES], ["What 2.", "How sure."]),
        ("Cold 3", ["Do 3."], ["What 3.", "How sure."]),
    ]
