"""What an event says of the trees it names is true of each of them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID

import pytest

from calendar_core.planning.groups import EventGroup
from calendar_core.planning.items import Item, Range, Reason, item_id
from calendar_core.wording.plan.event_text import event_of
from calendar_core.wording.style import Style
from calendar_core.wording.tree_sets import ALIKE_DAYS
from tests.planning.made_up import knowledge

if TYPE_CHECKING:
    from collections.abc import Sequence

GARDEN = UUID(int=1)
LABELS = {UUID(int=1): "Large", UUID(int=2): "Small", UUID(int=3): "Third"}
FIRST = date(2015, 6, 18)
DAY = timedelta(days=1)


def pine(tree: int, day: int = 0, *reasons: Reason, length: int = 60, **keys: Any) -> Item:
    """A made-up pine that is decandled from so many days after the first on."""
    opens, closes = FIRST + day * DAY, FIRST + (day + length) * DAY
    item = Item(
        id=item_id(GARDEN, UUID(int=tree), "decandling", 2015),
        tree_id=UUID(int=tree),
        species="pinus-thunbergii",
        operation="decandling",
        rule="decandling",
        cycle=2015,
        aim="refinement",
        opens=Range(opens, opens, opens),
        closes=Range(closes, closes, closes),
        chance=1.0,
        status="due",
        how="Cut.",
        reasons=reasons,
    )
    return replace(item, **keys)


def paragraphs(items: Sequence[Item]) -> dict[str, list[str]]:
    """Return what an event of items says, the lines of each paragraph by its first word."""
    start, end = min(i.opens.likely for i in items), min(i.closes.early for i in items)
    group = EventGroup(UUID(int=9), "decandling|", 2015, start, end, tuple(items))
    text = event_of(group, LABELS, knowledge(), Style(), FIRST, "Made up.").description
    found: dict[str, list[str]] = {}
    for part in text.split("\n\n"):
        found.setdefault(part.partition(":")[0], []).extend(part.split("\n"))
    return found


def test_each_tree_is_told_its_own_window_soonest_first() -> None:
    told = paragraphs([pine(2, 10), pine(1)])["When"]
    assert told == [
        "When:",
        "- Large: opens about 18 June; closes about 17 August. Safe in nine years of ten until 17 August.",
        "- Small: opens about 28 June; closes about 27 August. Safe in nine years of ten until 27 August.",
    ]


@pytest.mark.parametrize(("apart", "lines"), [(0, 1), (ALIKE_DAYS, 1), (ALIKE_DAYS + 1, 3)])
def test_trees_whose_windows_are_nearly_alike_are_told_one(apart: int, lines: int) -> None:
    assert len(paragraphs([pine(1), pine(2, apart)])["When"]) == lines


def test_the_soonest_speaks_for_those_nearly_alike() -> None:
    """The event begins with it, and its own lines elsewhere say the same days."""
    opening = [Reason("opens_stage", "leaves_hardened", FIRST + days * DAY) for days in (0, 2, 3)]
    late = [pine(1, 3, opening[2]), pine(2, 2, opening[1]), pine(3, 0, opening[0])]
    told = paragraphs(late)
    assert told["When"] == [
        "When: opens about 18 June; closes about 17 August. Safe in nine years of ten until 17 August."
    ]
    assert "18 June" in told["Why"][1]
    assert len(told["Why"]) == 2


def test_the_first_safe_day_of_those_nearly_alike_is_told() -> None:
    early = pine(2, 1, closes=Range(FIRST + 57 * DAY, FIRST + 60 * DAY, FIRST + 60 * DAY))
    (told,) = paragraphs([pine(1), early])["When"]
    assert told.endswith("Safe in nine years of ten until 14 August.")


def test_the_least_vigour_is_told_of_all() -> None:
    trees = [
        pine(n, 0, Reason("vigour_enough", found=found, needed=3)) for n, found in ((1, 5), (2, 4), (3, 5))
    ]
    (told,) = paragraphs(trees)["Why"][1:]
    assert told == "- Vigour 4; at least 3 is wanted."


def test_one_safe_day_that_differs_is_told() -> None:
    early = pine(2, closes=Range(FIRST + 40 * DAY, FIRST + 60 * DAY, FIRST + 60 * DAY))
    assert [line[-8:] for line in paragraphs([pine(1), early])["When"][1:]] == ["28 July.", " August."]


def test_trees_of_one_window_share_its_line() -> None:
    told = paragraphs([pine(1), pine(2, 10), pine(3)])["When"]
    assert [line.partition(":")[0] for line in told[1:]] == ["- Large and Third", "- Small"]


def test_the_chance_of_each_is_told_where_it_differs() -> None:
    (told,) = paragraphs([pine(1, chance=0.7), pine(2, chance=0.9)])["How sure"]
    assert told == "How sure: there is such a window 7 times in 10 (Large), 9 times in 10 (Small). Made up."
    (told,) = paragraphs([pine(1, chance=0.7), pine(2, chance=0.7)])["How sure"]
    assert told == "How sure: there is such a window 7 times in 10. Made up."


def test_a_reason_of_some_trees_names_them() -> None:
    fed = Reason("feeds_for", "decandling", FIRST, date(2015, 3, 1))
    told = paragraphs(
        [
            pine(
                1,
                0,
                Reason("programme", "refinement"),
                Reason("large_first"),
                fed,
            ),
            pine(
                2,
                10,
                Reason("programme", "structure"),
                Reason("small_last"),
                replace(fed, found=FIRST + 10 * DAY),
            ),
            pine(3, 1, Reason("wished"), replace(fed, found=FIRST + DAY)),
        ]
    )["Why"][1:]
    assert (
        "- Large and Small: Part of each year's work on a tree whose aim is refinement or structure." in told
    )
    assert "- Third: You asked for it." in told
    wants = [line.partition(", and")[0] for line in told if "wants it" in line]
    assert wants == [
        "- Large and Third: No fertilizer is written down since 1 March",
        "- Small: No fertilizer is written down since 1 March",
    ]
    assert any(line.startswith("- Large: Large trees take") for line in told)
    assert any(line.startswith("- Small: Small trees take") for line in told)
    assert len(told) == len(set(told)) == 6


def test_reasons_of_one_sentence_are_told_once() -> None:
    """When its stage comes is told of an opening, not of a closing."""
    closing = [Reason("closes_stage", "bud_break", FIRST + days * DAY) for days in (0, 9)]
    assert paragraphs([pine(1, 0, closing[0]), pine(2, 10, closing[1])])["Why"] == [
        "Why:",
        "- Closes with bud break.",
    ]


def test_what_is_late_is_told_of_the_tree_that_is() -> None:
    told = paragraphs([pine(1, 0, Reason("overdue", found=FIRST)), pine(2, 5)])["When"]
    assert told[1] == "- Large: Late since 18 June."
    assert told[2].startswith("- Small: opens about 23 June")


def test_the_cautions_of_all_trees_are_told() -> None:
    told = paragraphs([pine(1), pine(2, cautions=("resin",))])
    assert len(told["Caution"]) == 1
