"""What ``why`` tells of an item: its window or why it has none, and each of its reasons; and why work is not planned."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.planning.items import Item, NotPlanned
from calendar_core.wording.plan.feeding_text import strengths
from calendar_core.wording.plan.plan_text import WHY, why_lines

if TYPE_CHECKING:
    from uuid import UUID

    from calendar_core.app.shell.session import Session

MADE = {"moved", "done", "looked"}  # of what was done before, beside what is due


def explained(session: Session, line: Item | NotPlanned) -> list[str]:
    """Return paragraphs: of an item its window, how strong it is fertilized, and its reasons; else that it is not planned."""
    speaker = session.speaker
    if isinstance(line, Item):
        told = [f"{speaker.style.say(WHY[line.status])} {speaker.window(line)}"]
        given = strengths(speaker, [line], session.labels)
        told += [given] if given else []
    else:
        made = {reason.code for reason in line.reasons} <= MADE
        told = [speaker.style.say(WHY["before" if made else "not_planned"])]
    return told + why_lines(speaker, line)


def why_not(session: Session, tree_id: UUID, operation: str) -> list[str]:
    """Return why an operation is planned in no cycle for a tree; nothing where it is, or is possible."""
    if any(i.tree_id == tree_id and i.operation == operation for i in session.plan.items):
        return []
    reasons = [
        session.speaker.reason(reason)
        for absent in session.plan.not_planned
        if absent.tree_id == tree_id and absent.operation == operation
        for reason in absent.reasons
    ]
    return list(dict.fromkeys(reasons))
