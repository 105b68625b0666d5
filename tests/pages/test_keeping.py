"""What takes long is worked out once, and shown as it stood while it is worked out anew."""

from __future__ import annotations

from datetime import date
from threading import Event
from types import SimpleNamespace
from typing import Any

import pytest

from calendar_core.pages.shell import keeping
from calendar_core.pages.shell.keeping import BeingWorkedOutError, Keeper


def session(day: int) -> Any:
    return SimpleNamespace(today=date(2015, 6, day), garden="a garden")


def test_it_is_worked_out_once_for_all_who_ask() -> None:
    keeper, asked = Keeper(), session(1)
    made = list[object]()

    def count(one: object) -> int:
        made.append(one)
        return len(made)

    assert {keeper.shown(asked, count).value for _ in range(5)} == {1}
    assert keeper.shown(session(1), count).value == 2


def test_what_stood_before_is_shown_until_the_new_one_is_there(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(keeping, "PATIENCE_S", 0.01)
    keeper, goes_on, first, second = Keeper(), Event(), session(1), session(1)

    def slow(one: object) -> object:
        if one is second:
            goes_on.wait(20)
        return one

    assert keeper.shown(first, slow).value is first
    while_working = keeper.shown(second, slow)
    assert (while_working.value, while_working.session, while_working.stale) == (first, first, True)
    goes_on.set()
    monkeypatch.setattr(keeping, "PATIENCE_S", 20)
    after = keeper.shown(second, slow)
    assert (after.value, after.stale) == (second, False)


def test_of_another_day_nothing_is_shown(monkeypatch: pytest.MonkeyPatch) -> None:
    """Yesterday's work is no answer to what is to be done today."""
    monkeypatch.setattr(keeping, "AT_FIRST_S", 0.01)
    keeper, goes_on, today = Keeper(), Event(), session(2)

    def slow(one: object) -> object:
        if one is today:
            goes_on.wait(20)
        return one

    keeper.shown(session(1), slow)
    with pytest.raises(BeingWorkedOutError):
        keeper.shown(today, slow)
    goes_on.set()


def test_a_fault_is_told_to_whoever_asks_and_tried_again() -> None:
    keeper, asked, tries = Keeper(), session(1), list[int]()

    def fails_once(_one: object) -> str:
        tries.append(1)
        if len(tries) == 1:
            raise ValueError("the disk is full")
        return "there"

    with pytest.raises(ValueError, match="full"):
        keeper.shown(asked, fails_once)
    assert keeper.shown(asked, fails_once).value == "there"
