"""What the rooms of alerts hand each other: a notice, the channel it takes, and how that went."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass, field, replace
from datetime import datetime, time
from typing import TYPE_CHECKING, Any, Literal
from uuid import UUID

if TYPE_CHECKING:
    from collections.abc import Mapping

Action = Literal["new", "update", "withdraw", "digest"]
Severity = Literal["Extreme", "Severe", "Moderate", "Minor", "Unknown"]
"""Source: Common Alerting Protocol 1.2 (OASIS, 2010), element ``severity``."""
MOST_SAID = 200
"""Signs that are kept of what the other side says (estimate: two lines of a terminal and the rest of a third)."""
ChannelKind = Literal["mail", "hook", "apprise", "push"]


@dataclass(frozen=True, slots=True)
class Notice:
    """What is to be told of a warning at one revision; after ``expires`` it is told no more.

    ``references`` name the notices it updates or withdraws, ``cap`` holds further fields of the Common
    Alerting Protocol by their names. A digest has an id of its own in place of a warning's, and a revision
    that grows from day to day. ``act_by`` is when the first of what it asks for must be done, where that is before
    ``onset``. An update has in ``anew_subject`` and ``anew_text`` what is told to one who has heard nothing of the
    warning before.
    """

    warning_id: UUID
    revision: int
    action: Action
    severity: Severity
    onset: datetime
    expires: datetime
    subject: str
    text: str
    references: tuple[str, ...] = ()
    cap: Mapping[str, str] = field(default_factory=dict)
    act_by: datetime | None = None
    anew_subject: str = ""
    anew_text: str = ""


@dataclass(frozen=True, slots=True)
class Channel:
    """A way to one person. ``address`` is a mail address or a URL, which may hold a secret, as ``secret`` does.

    Quiet hours are wall-clock times at the garden. ``why_off`` is "" while the channel is on.
    ``private_ok`` allows a web hook on this machine or its network, and without TLS. One for ``while_away`` reaches
    whoever looks after the trees, on days on which their grower is away.
    Since ``failing_since`` nothing was taken of what was tried, the last time because of ``why_failing``; ``refusals`` are
    the hours in which it was refused as if for good, the last at ``refused_at``. One that is ``gone`` leads nowhere any
    more: its browser has let go of the subscription that it was.
    """

    id: UUID
    garden_id: UUID
    kind: ChannelKind
    address: str = field(repr=False)
    secret: str = field(default="", repr=False)
    person: str = ""
    quiet_from: time | None = None
    quiet_to: time | None = None
    private_ok: bool = False
    why_off: str = ""
    while_away: bool = False
    failing_since: datetime | None = None
    why_failing: str = ""
    refused_at: datetime | None = None
    refusals: int = 0
    gone: bool = False


@dataclass(frozen=True, slots=True)
class Message:
    """A notice on its way over a channel.

    ``id`` is the same at every try, so that a receiver can tell a repeat. ``earlier`` are the ids of the
    messages about the same warning that this channel has had, oldest first.
    """

    id: UUID
    channel: Channel
    notice: Notice
    earlier: tuple[UUID, ...] = ()


@dataclass(frozen=True, slots=True)
class Sent:
    """The other side has taken the message; ``trouble`` is what went wrong all the same."""

    trouble: str = ""


@dataclass(frozen=True, slots=True)
class Retry:
    """It was not taken now; ``unsure`` when it may have arrived all the same. ``after_s`` is the wait asked for."""

    why: str
    after_s: float = 0.0
    unsure: bool = False


@dataclass(frozen=True, slots=True)
class Refused:
    """It was refused as if for good, which is believed once it has been said again and again.

    ``text_only`` when it may be this message alone that the other side does not want.
    """

    why: str
    text_only: bool = False


@dataclass(frozen=True, slots=True)
class Gone:
    """There is no receiver any more, and the standard it is told by makes that sure at once."""

    why: str


Result = Sent | Retry | Refused | Gone


def one_line(text: str) -> str:
    r"""Return text from outside on one short line, without signs that a terminal or a database obeys.

    >>> one_line("503 \x1b[2J busy\x00\r\nX: y")
    '503 [2J busy X: y'
    """
    shown = (" " if unicodedata.category(sign)[0] in "CZ" else sign for sign in text[: 10 * MOST_SAID])
    return " ".join("".join(shown).split())[:MOST_SAID]


def as_data(notice: Notice) -> dict[str, Any]:
    """Return a notice as JSON values, times as ISO 8601 with their offset."""
    return {
        "warning_id": str(notice.warning_id),
        "revision": notice.revision,
        "action": notice.action,
        "severity": notice.severity,
        "onset": notice.onset.isoformat(),
        "expires": notice.expires.isoformat(),
        "subject": notice.subject,
        "text": notice.text,
        "references": list(notice.references),
        "cap": dict(notice.cap),
        "act_by": None if notice.act_by is None else notice.act_by.isoformat(),
        "anew_subject": notice.anew_subject,
        "anew_text": notice.anew_text,
    }


def from_data(data: Mapping[str, Any]) -> Notice:
    """Return the notice that `as_data` wrote, also an earlier version of this program."""
    act_by = data.get("act_by")
    return replace(
        Notice(**data),
        act_by=None if act_by is None else datetime.fromisoformat(act_by),
        warning_id=UUID(data["warning_id"]),
        onset=datetime.fromisoformat(data["onset"]),
        expires=datetime.fromisoformat(data["expires"]),
        references=tuple(data["references"]),
    )
