"""Sentences about spacing: what was borne, the order proposed, what a choice costs."""

from __future__ import annotations

from datetime import date

import pytest

from calendar_core.planning.items import Range, Reason
from calendar_core.planning.load.order import OrderChoice, Placed, Proposal
from calendar_core.planning.load.spacing import Load, LoadJob, Strain
from calendar_core.wording.plan.spacing_text import cost_line, load_line, placed_row
from tests.wording.plain import is_plain, speaker

ON, LATER = date(2015, 3, 10), date(2016, 3, 12)
REASONS = [
    Reason("apart_cycle", subject="repot", found=ON, note="A severed branch wants its sap."),
    Reason("apart_weeks", subject="repot", found=ON, needed=4.0, unit="wk", note="Roots have no hold."),
    Reason("not_recovered", subject="repot", found=ON, needed=date(2015, 6, 9)),
    Reason("not_recovered", subject="repot", found=ON),  # in a place where the heat never comes
    Reason("over_budget", found=4, needed=3),
    Reason("makes_room", subject="repot", found=LATER),
]


def work(name: str, on: date | None, waits: int = 0, *reasons: Reason) -> Placed:
    return Placed(name, on, waits, reasons)


def costs(best: tuple[Placed, ...], chosen: tuple[Placed, ...]) -> str:
    return cost_line(speaker(), OrderChoice((), Proposal(best, 0), Proposal(chosen, 0), 0))


@pytest.mark.parametrize("reason", REASONS, ids=lambda reason: reason.code)
def test_every_reason_is_a_sentence(reason: Reason) -> None:
    is_plain(speaker().reason(reason))


def test_what_was_borne_names_its_work_and_when_the_tree_recovers() -> None:
    days = Range(date(2015, 6, 1), date(2015, 6, 9), date(2015, 6, 15))
    load = Load(4, 3, (Strain(LoadJob("repot", ON, 3), 0.4, days), Strain(LoadJob("wire", ON, 1), 0.0, days)))
    assert load_line(speaker(), load) == (
        "The work of this cycle weighs 4; a tree of this vigour bears 3. Repot of 10 March weighs 3, recovered about 9 June (8 times in 10: 1 to 15 June). "
        "Wire of 10 March weighs 1."
    )


def test_a_work_stands_with_its_day_and_reasons() -> None:
    assert placed_row(speaker(), work("repot", LATER, 1, REASONS[4])) == (
        "12 March 2016",
        "Repot. With it the work of its cycle weighs 4; a tree of this vigour bears 3.",
    )
    assert placed_row(speaker(), work("wire", None, 2))[0] == "no place"


def test_a_choice_costs_what_waits_longer() -> None:
    best = work("repot", LATER), work("sever graft", ON), work("wire", ON)
    later = work("repot", date(2017, 3, 10), 1), work("sever graft", LATER, 2), work("wire", None, 3)
    assert costs(best, later) == (
        "Against this order your choice costs: repot waits a year longer, sever the graft waits two years longer "
        "and wire finds no place."
    )
    assert costs(later, best) == "Against this order your choice makes no other work wait."
