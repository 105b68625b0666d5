"""Entries from elsewhere: whether this program can read a log that holds them.

The log is never altered, so what could not be read would stand in it for good.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import ValidationError

from calendar_core.app.garden.garden_file import TreePart
from calendar_core.app.shell.days import LAST
from calendar_core.app.shell.forms import fault_lines
from calendar_core.garden.departures import departures
from calendar_core.garden.hours import absences, begins, weekly
from calendar_core.garden.state import chosen, states
from calendar_core.knowledge.words import DEPARTURES

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence
    from uuid import UUID

    from calendar_core.garden.model import Entry
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.storage.whole import Whole

_FAULTS = (ArithmeticError, AttributeError, LookupError, TypeError, ValueError)


def unreadable(whole: Whole) -> set[UUID]:
    """Return the entries over which reading the log would stumble."""
    trees = [tree.id for tree in whole.trees]
    if _reads(trees, whole.entries):
        return set()
    return {entry.id for entry in whole.entries if not _reads(trees, [entry])}


def _reads(trees: Sequence[UUID], entries: Sequence[Entry]) -> bool:
    try:
        states(trees, entries, LAST)
        chosen(entries, LAST)
        weekly(entries, LAST)
        begins(entries, LAST)
        absences(entries, LAST)
        departures(entries, LAST)
    except _FAULTS:
        return False
    return True


def faults_of_entry(entry: Entry, spots: Collection[UUID], knowledge: Knowledge) -> list[str]:
    """Return a line for each key of an entry's data whose value this program does not know."""
    operation, faults = entry.data.get("operation"), []
    if operation is not None and operation not in knowledge.operations:
        faults.append(f"data.operation: found {operation!r}; right would be an operation of this program")
    why = entry.data.get("why")
    if entry.kind == "gone" and entry.voids is None and why not in DEPARTURES:
        faults.append(f"data.why: found {why!r}; right would be one of: {', '.join(DEPARTURES)}")
    faults += _faults_of_decision(entry, knowledge) if entry.kind == "part" else []
    return faults + (_faults_of_state(entry, spots) if entry.kind == "state" else [])


def _faults_of_decision(entry: Entry, knowledge: Knowledge) -> list[str]:
    fit = [key for key, form in knowledge.operations.items() if form.of_part is not None]
    decided = entry.data.get("decided", "")
    if decided in ("", *fit):
        return []
    return [f"data.decided: found {decided!r}; right would be one of: {', '.join(fit)}"]


def _faults_of_state(entry: Entry, spots: Collection[UUID]) -> list[str]:
    known = TreePart.model_fields
    state = {key: value for key, value in entry.data.items() if key in known and key != "spot"}
    faults = []
    try:
        TreePart.model_validate({"species": "", **state})
    except ValidationError as error:
        faults = fault_lines(error, TreePart, lambda key: f"data.{key}")
    spot = entry.data.get("spot")
    if spot is not None and str(spot) not in map(str, spots):
        faults.append(f"data.spot: found '{spot}'; right would be the id of a spot of the garden")
    return faults
