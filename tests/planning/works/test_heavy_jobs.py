"""At most one heavy job for a tree and cycle."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest

from tests.planning.one_tree import (
    MAPLE,
    TODAY,
    alone,
    items,
    refused,
)
from tests.planning.spaced import spacing_of

if TYPE_CHECKING:
    from tests.planning.made_up import (
        Bench,
    )


def fed(bench: Bench, day: date = date(2015, 4, 20)) -> Bench:
    bench.did(day, "feeding", "it")
    return bench


def test_one_heavy_job_repotting_goes_before_the_yearly_programme() -> None:
    bench = alone()
    bench.did(date(2011, 3, 25), "repot", "it")
    today = date(2015, 3, 1)
    assert [i.status for i in items(bench, "repot", today, 2015)] == ["due"]
    assert refused(bench, "decandling", 2015, today) == ["one_heavy_job"]


def test_a_wish_goes_before_what_is_due() -> None:
    bench = fed(alone())
    bench.write(TODAY, "wish", "it", operation="structural prune", cycle=2015)
    assert [i.status for i in items(bench, "structural prune", cycle=2015)] == ["wished"]
    assert refused(bench, "decandling", 2015) == ["one_heavy_job"]


def test_what_is_wished_anyway_stands_beside_the_other() -> None:
    bench = fed(alone())
    bench.write(TODAY, "wish", "it", operation="structural prune", cycle=2015, anyway=True)
    assert items(bench, "structural prune", cycle=2015)
    assert items(bench, "decandling", cycle=2015)


def test_a_heavy_job_in_the_log_leaves_no_room_for_another() -> None:
    bench = fed(alone())
    bench.did(date(2015, 3, 20), "repot", "it")
    assert "heavy_done" in refused(bench, "decandling", 2015)
    bench.write(TODAY, "wish", "it", operation="structural prune", cycle=2015)
    assert "heavy_done" in refused(bench, "structural prune", 2015)
    bench.write(TODAY, "wish", "it", operation="structural prune", cycle=2015, anyway=True)
    # Half a year after repotting: the hold, not the other job, is what it waits for.
    assert "heavy_done" not in refused(bench, "structural prune", 2015)


@pytest.mark.parametrize("days", [-1, 1])
def test_a_heavy_job_after_leaf_fall_is_of_the_spring_to_come_before_the_mean_day_too(days: int) -> None:
    """Leaves fall before or after the garden's mean day: that day does not tell which winter a job was done in."""
    bench = alone(MAPLE, aim="structure")
    start = bench.garden.leaf_fall
    on = date(2014, start.month, start.day) + timedelta(days=days)
    bench.did(date(2011, 3, 25), "repot", "it")
    bench.did(on, "structural prune", "it")
    today = date(2015, 2, 1)
    assert (
        refused(bench, "structural prune", 2015, today).count("done") == 2
    )  # both its windows of that cycle
    assert refused(bench, "repot", 2015, today) == ["heavy_done"]
    found = spacing_of(bench, "it", today).warnings("repot", date(2015, 3, 20))
    assert {reason.code for reason in found} & {"heavy_done", "over_budget"}


def test_light_work_is_not_counted() -> None:
    bench = fed(alone())
    bench.write(TODAY, "wish", "it", operation="wire", cycle=2015)
    assert items(bench, "wire", cycle=2015)
    assert items(bench, "decandling", cycle=2015)


def test_next_cycle_there_is_room_again() -> None:
    bench = fed(alone())
    bench.did(date(2014, 3, 20), "repot", "it")
    assert items(bench, "decandling", cycle=2015)


def test_what_is_planned_this_year_is_not_due_again_the_next() -> None:
    bench = alone(MAPLE)
    bench.did(date(2012, 3, 20), "repot", "it")
    today = date(2015, 2, 10)
    assert [item.cycle for item in items(bench, "repot", today) if item.status == "due"] == [2015]
    assert refused(bench, "repot", 2016, today) == ["planned_before"]


def test_what_was_missed_this_year_is_due_the_next() -> None:
    bench = alone(MAPLE)
    bench.did(date(2012, 3, 20), "repot", "it")
    today = date(2015, 6, 10)
    assert refused(bench, "repot", 2015, today) == ["over", "too_late"]
    assert [(item.cycle, item.status) for item in items(bench, "repot", today)] == [(2016, "due")]


def test_what_was_pushed_out_this_year_is_due_the_next() -> None:
    bench, today = alone(), date(2015, 3, 1)
    bench.did(date(2011, 3, 25), "repot", "it")
    bench.write(today, "wish", "it", operation="structural prune", cycle=2015)
    assert refused(bench, "repot", 2015, today) == ["one_heavy_job"]
    assert [item.cycle for item in items(bench, "repot", today) if item.status == "due"] == [2016]


def test_a_wish_is_planned_once_and_the_year_of_rest_is_kept() -> None:
    """Rule of the trade: full defoliation of the maple not yearly."""
    bench = alone(MAPLE, "refinement")
    bench.write(TODAY, "wish", "it", operation="full defoliation")
    assert [item.cycle for item in items(bench, "full defoliation") if item.status == "wished"] == [2015]


def test_what_was_pruned_after_leaf_fall_is_not_pruned_again_in_that_summer() -> None:
    bench = alone(MAPLE, "structure")
    bench.did(date(2015, 12, 5), "structural prune", "it")  # the cycle of 2016 began on 21 November
    assert not items(bench, "structural prune", date(2016, 4, 10), 2016)
