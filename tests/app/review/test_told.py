"""What a grower is told after each tree: what to do where it is bad, what it counts as, and nothing twice."""

from __future__ import annotations

import pytest

from tests.app.review.entered import (
    MAPLE,
    WALK,
    WEEK_LATER,
    data,
    form,
    of_kind,
    on,
    part,
    walked,
    with_parts,
)

pytestmark = pytest.mark.usefixtures("walked")
__all__ = ["walked", "with_parts"]


def page(*lines: str, day: str = WALK) -> str:
    return " ".join(form(*lines, day=day).out.split())


def looks() -> list[tuple[str, str]]:
    """Return as what the looks at the maple count, those that count."""
    (state,) = (
        found["state"] for found in data("tree", "list", day=WEEK_LATER) if found["tree"]["label"] == MAPLE
    )
    return [(review["round"], review["depth"]) for review in state["reviews"]]


def test_a_bad_answer_is_answered_once_by_what_config_says() -> None:
    told = page(f"{MAPLE}: vigour=3; pot=bad; base=good; drainage=75")
    assert told.count("Clear the holes and tie the tree in anew at once") == 1  # config/review.toml
    assert "Brush moss off" not in told
    assert told.count("Drainage 75 s. More than a minute") == 1


@pytest.mark.parametrize(
    ("before", "now", "weak"), [(3, 2, True), (5, 3, True), (4, 3, False), (3, 4, False)]
)
def test_a_tree_that_is_weak_or_fell_by_two_is_answered(before: int, now: int, weak: bool) -> None:
    on(WALK, "tree", "change", MAPLE, "--vigour", str(before))
    assert ("A weak tree rests" in page(f"{MAPLE}: vigour={now}")) == weak


def test_a_pest_that_is_found_is_looked_at_again_and_says_what_to_do() -> None:
    told = page(f"{MAPLE}: vigour=4; aphids=found; scale=found")
    found = [{"operation": "pest found", "note": label} for label in ("Aphids", "Scale insects")]
    assert of_kind("work") == found
    assert "Aphids: Set the tree apart from the others" in told
    assert "Look for the pest again, 4 October" in told


@pytest.mark.parametrize("why", ["died", "sold", "given away"])
def test_of_a_tree_that_is_gone_nothing_is_planned_or_proposed(why: str) -> None:
    assert page(f"{MAPLE}: vigour=1; drainage=75; pot=bad; decide={why}") == (
        f"{MAPLE}: vigour 1; gone: {why}; late summer review 2015, full look: drainage 75, pot bad. "
        "1 tree, 3 entries written."
    )


def test_a_decision_that_replaces_another_says_so_whoever_decided_it() -> None:
    form(f"{MAPLE}: vigour=4; decide=remove first right")
    assert "first right: unwire, in place of: remove." in page(f"{MAPLE}: decide=unwire first right")
    assert "in place of" not in page(f"{MAPLE}: decide=unwire first right")
    on(WALK, "part", "change", MAPLE, "back stub", "--decide", "recut wound")
    on(WALK, "part", "change", MAPLE, "Low left", "--decide", "unwire")
    assert "low left: sever, in place of: unwire." in page(f"{MAPLE}: decide=sever low left").casefold()
    assert "in place of" not in page(f"{MAPLE}: decide=recut back stub")


def test_wire_that_was_never_written_down_is_said() -> None:
    said = "No wire was written down there."
    assert said in page(f"{MAPLE}: vigour=4; decide=unwire first right")
    assert part("first right")["decided"] == "unwire"
    assert said in page(f"{MAPLE}: decide=unwire")
    on(WALK, "log", "Japanese maple 2", "wire", "2015-07-01")
    wired = page("Japanese maple 2: vigour=4; decide=unwire")
    assert said not in wired
    assert "Wire that presses into the bark comes off today" in wired


def test_what_is_wished_or_decided_twice_is_told_once() -> None:
    told = page(
        f"{MAPLE}: vigour=4; heavy job=repot; decide=repot; first right keep=no; decide=remove first right"
    )
    assert told.count("wished for repot") == 1
    assert told.count("decided: structural prune") == 1


def test_half_a_look_is_told_as_a_fault_alone() -> None:
    answer = form(f"{MAPLE}: drainage=20")
    assert "Not a look yet" not in answer.out
    assert answer.err == (
        f"leafclock: {MAPLE}: half-filled, 1 of 21 questions are answered; "
        "right would be half of them, or its vigour for a glance\n"
    )


def test_minutes_that_are_shared_are_told_in_whole_ones() -> None:
    told = page("minutes: 31", f"{MAPLE}: vigour=4", "Japanese maple 2: vigour=4")
    assert "19 min" in told
    assert "12 min" in told
    assert sum(
        of_kind("review", tree)[0]["minutes"] for tree in (MAPLE, "Japanese maple 2")
    ) == pytest.approx(31)


def test_a_full_look_with_its_vigour_alone_counts_as_a_glance_until_half_is_there() -> None:
    told = page(f"{MAPLE}: vigour=4; drainage=20")
    assert "It counts as a glance: 2 of 21 questions are answered, a full look takes half of them." in told
    assert looks() == [("late summer", "glance")]
    rest = (
        "pot=good; base=good; wire=good; girth=90; aphids=none; scale=none; mildew=none; top=even; photo=no"
    )
    told = page(f"{MAPLE}: {rest}", day=WEEK_LATER)
    assert "counts as a glance" not in told
    assert looks() == [("late summer", "full")]
    assert "counts as a glance" not in page(f"{MAPLE}: vigour=3", day=WEEK_LATER)
    assert looks() == [("late summer", "full")]


def test_what_waits_to_be_replaced_or_to_replace_waits_on_where_it_is_kept() -> None:
    form(f"{MAPLE}: vigour=4; new right keep=yes; first right keep=yes")
    assert part("new right")["directive"] == "keep as backup"
    assert part("first right")["directive"] == "no directive"


def test_whoever_measures_more_than_is_asked_is_not_turned_away() -> None:
    """The width of a leaf is asked of trees whose twigs count, and this one's trunk is being made."""
    on(WALK, "tree", "change", "Japanese maple 2", "--aim", "trunk")
    answer = form("Japanese maple 2: vigour=4; leaf=31; height=420")
    assert answer.err == ""
    assert "leaf 31 mm" in answer.out
    assert "height 420 mm" in answer.out
