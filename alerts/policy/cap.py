"""Fields of the Common Alerting Protocol 1.2 (OASIS, 1 July 2010), and what they are taken from.

=============  ==================================================================================================
identifier     the id of the message, which is another over each channel; the outbox has it
sender         "urn:uuid:" and the garden's id
status, scope  Actual, Private: to the garden's own channels, which are its addresses
msgType        Alert when raised, Update when changed, Cancel when withdrawn
category       Met, the weather
event          the hazard
responseType   Prepare before it begins, Execute once it has, AllClear when withdrawn
urgency        Immediate once it has begun, Expected in the hour before, Future earlier, Past when withdrawn
severity       by hazard and level, config/warnings.toml: Minor or Moderate at caution, Severe or Extreme at danger
certainty      Likely above one half of the courses of the weather, else Possible, Unlikely below one in twenty;
               never Likely further ahead than config/warnings.toml says
references     sender, identifier and time of each earlier message over the same channel; the outbox has them
=============  ==================================================================================================
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from uuid import UUID

    from alerts.notices import Action
    from alerts.policy.standing import Standing

MESSAGE_TYPES: dict[Action, str] = {"new": "Alert", "update": "Update", "withdraw": "Cancel"}
LIKELY_FROM, UNLIKELY_TO = 0.5, 0.05
"""The standard's "p > ~50%" and "p ~ 0"; the latter's number is an estimate."""
DANGER_SEVERITIES = ("Severe", "Extreme")


def fields(
    garden_id: UUID,
    standing: Standing,
    action: Action,
    chance: float,
    likely_within: timedelta,
    now: datetime,
) -> dict[str, str]:
    """Return the fields of a notice that it has no place of its own for; ``chance`` is that of its level."""
    return {
        "sender": f"urn:uuid:{garden_id}",
        "sent": cap_time(now),
        "status": "Actual",
        "scope": "Private",
        "msgType": MESSAGE_TYPES[action],
        "category": "Met",
        "event": standing.hazard,
        "responseType": response_type(standing, action, now),
        "urgency": urgency(standing, action, now),
        "certainty": certainty(chance, standing.onset - now, likely_within),
    }


def cap_time(moment: datetime) -> str:
    """Return a moment as the standard wants it: whole seconds, and -00:00 for UTC.

    >>> cap_time(datetime(2015, 6, 25, 1, 0, tzinfo=UTC))
    '2015-06-25T01:00:00-00:00'
    """
    return f"{moment.astimezone(UTC):%Y-%m-%dT%H:%M:%S}-00:00"


def response_type(standing: Standing, action: Action, now: datetime) -> str:
    """Return what kind of action is asked for."""
    if action == "withdraw":
        return "AllClear"
    return "Prepare" if now < standing.onset else "Execute"


def urgency(standing: Standing, action: Action, now: datetime) -> str:
    """Return how soon to act; the hour is the standard's."""
    if action == "withdraw":
        return "Past"
    if now >= standing.onset:
        return "Immediate"
    return "Expected" if standing.onset - now <= timedelta(hours=1) else "Future"


def certainty(chance: float, lead: timedelta, likely_within: timedelta) -> str:
    """Return how sure it is, by the chance and how far ahead it is."""
    if chance < UNLIKELY_TO:
        return "Unlikely"
    return "Likely" if chance > LIKELY_FROM and lead <= likely_within else "Possible"
