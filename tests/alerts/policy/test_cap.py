"""Fields against the enumerations of the Common Alerting Protocol 1.2 (OASIS, 1 July 2010, section 3.2)."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, get_args

import pytest

from alerts.policy.cap import certainty, urgency
from calendar_core.knowledge.words import Hazard, Means
from tests.alerts.made_up import BEGINS, NOW, RULES, judged, mild, raised, threat

if TYPE_CHECKING:
    from alerts.policy.judging import WarningChange

ALLOWED = {
    "status": {"Actual", "Exercise", "System", "Test", "Draft"},
    "msgType": {"Alert", "Update", "Cancel", "Ack", "Error"},
    "scope": {"Public", "Restricted", "Private"},
    "category": {"Geo", "Met", "Safety", "Security", "Rescue", "Fire", "Health", "Env", "Transport", "Infra", "CBRNE", "Other"},
    "responseType": {"Shelter", "Evacuate", "Prepare", "Execute", "Avoid", "Monitor", "Assess", "AllClear", "None"},
    "urgency": {"Immediate", "Expected", "Future", "Past", "Unknown"},
    "certainty": {"Observed", "Likely", "Possible", "Unlikely", "Unknown"},
}  # fmt: skip
SEVERITIES = {"Extreme", "Severe", "Moderate", "Minor", "Unknown"}
DATE_TIME = r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[-+]\d\d:\d\d"  # its data type dateTime; "Z" must not be used


def all_actions() -> list[WarningChange]:
    """Return a warning raised, changed and withdrawn."""
    new = raised(mild())
    (update,) = judged([threat()], [new.standing], now=NOW + timedelta(hours=1))
    (miss,) = judged([], [update.standing], now=NOW + timedelta(hours=6))
    (withdraw,) = judged([], [miss.standing], now=NOW + timedelta(hours=12))
    return [new, update, withdraw]


def test_values_are_those_of_the_standard() -> None:
    for change in all_actions():
        assert change.cap is not None
        for key, allowed in ALLOWED.items():
            assert change.cap[key] in allowed, key
        assert change.standing.severity in SEVERITIES
        assert re.fullmatch(DATE_TIME, change.cap["sent"])
        assert not re.search(r"[ ,<&]", change.cap["sender"])


def test_every_hazard_has_severities_and_every_means_its_cautions() -> None:
    assert set(RULES.hazard) == set(get_args(Hazard))
    assert set(RULES.means) == set(get_args(Means))
    assert {one for rule in RULES.hazard.values() for one in rule.severity} <= SEVERITIES


def test_what_is_raised_changed_and_withdrawn_is_an_alert_an_update_and_a_cancel() -> None:
    types = [(change.cap or {})["msgType"] for change in all_actions()]
    assert types == ["Alert", "Update", "Cancel"]


@pytest.mark.parametrize(
    ("chance", "lead_h", "found"),
    [(0.51, 23, "Likely"), (0.5, 1, "Possible"), (0.9, 25, "Possible"), (0.04, 1, "Unlikely")],
)
def test_certainty_comes_from_the_chance_and_is_capped_by_lead(
    chance: float, lead_h: int, found: str
) -> None:
    """Likely is p above about 50 %, Possible up to it, Unlikely about 0."""
    assert certainty(chance, timedelta(hours=lead_h), timedelta(hours=RULES.likely_within_h.value)) == found


@pytest.mark.parametrize(
    ("hours", "found"), [(-5, "Future"), (-1, "Expected"), (0, "Immediate"), (2, "Immediate")]
)
def test_urgency_goes_by_the_hours_to_come(hours: int, found: str) -> None:
    """Expected is within the next hour."""
    standing = replace(raised().standing, onset=BEGINS)
    assert urgency(standing, "new", BEGINS + timedelta(hours=hours)) == found
    assert urgency(standing, "withdraw", BEGINS) == "Past"
