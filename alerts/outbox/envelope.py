"""What a notice says on the channel it goes over, which depends on what that channel has had."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from alerts.policy.cap import MESSAGE_TYPES

if TYPE_CHECKING:
    from collections.abc import Sequence
    from uuid import UUID

    from alerts.notices import Notice


def addressed(notice: Notice, message_id: UUID, earlier: Sequence[Notice]) -> Notice:
    """Return a notice as one message tells it.

    Parameters
    ----------
    notice : Notice
        As it was posted, the same for all channels.
    message_id : UUID
        The message's own id, which is its identifier in the Common Alerting Protocol: over another channel it may
        say something else.
    earlier : sequence of Notice
        What the channel has had about the same warning, as it was told there, oldest first. Who has had nothing
        hears of an update as of something new.
    """
    if notice.action == "update" and not earlier:
        notice = replace(
            notice,
            action="new",
            subject=notice.anew_subject or notice.subject,
            text=notice.anew_text or notice.text,
        )
    follows = notice.action in ("update", "withdraw")
    cap = dict(notice.cap)
    if cap:
        cap |= {"identifier": str(message_id), "msgType": MESSAGE_TYPES[notice.action]}
    references = tuple(_reference(each) for each in earlier if each.cap) if follows else ()
    return replace(notice, references=references, cap=cap, anew_subject="", anew_text="")


def _reference(notice: Notice) -> str:
    """Return how an earlier message is referred to. Source: Common Alerting Protocol 1.2, ``references``."""
    return ",".join(notice.cap.get(name, "") for name in ("sender", "identifier", "sent"))
