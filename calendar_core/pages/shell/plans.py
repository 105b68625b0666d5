"""The plan of a whole garden, which is made beside the questions and kept for all of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from calendar_core.app.shell.session import Session
    from calendar_core.planning.items import Plan


def plan_of(session: Session) -> Plan:
    """Return the plan of a session, to be kept with it."""
    return session.plan
