"""What a tired hand types: decisions without their key, ends exchanged, centimetres, other words for the same."""

from __future__ import annotations

from datetime import date

import pytest

from calendar_core.app.review.asked import Asked
from calendar_core.app.review.visits import Visits
from calendar_core.app.shell.session import open_session
from tests.app.review.entered import MAPLE, WALK, form, of_kind, on, part, walked, with_parts

pytestmark = pytest.mark.usefixtures("walked")
__all__ = ["walked", "with_parts"]

LOST = {
    "sever  low left": "not a decision yet; right would be decide=sever low left",
    "Sell": "not a decision yet; right would be decide=Sell",
    "sold to a friend": "not a decision yet; right would be decide=sold to a friend",
    "take the wire off": "not a decision yet; right would be decide=take the wire off",
    "structural pruning first right": "not a decision yet; right would be decide=structural pruning first right",
    "decide: repot": "not a decision yet; right would be decide=repot",
    "sever low left=": "not a decision yet; right would be decide=sever low left",
    "vigour 4": "not an answer yet; right would be vigour=4",
    "vigour:4": "not an answer yet; right would be vigour=4",
    "Low left  exit 5": "not an answer yet; right would be low left exit=5",
    "minutes: 9": "not an answer yet; right would be minutes=9",
}


@pytest.mark.parametrize(("typed", "told"), LOST.items(), ids=LOST)
def test_what_begins_as_a_decision_or_an_answer_is_no_note(typed: str, told: str) -> None:
    answer = form(f"{MAPLE}: drainage=20; {typed}; dry moss; note=top to be wired; pot-bound")
    assert answer.status == 2
    first, *_ = answer.err.splitlines()
    assert first == f"leafclock: {MAPLE}, {typed!r}: {told}, or note= before it where it is only told"
    assert [review["note"] for review in of_kind("review")] == ["dry moss; top to be wired; pot-bound"]
    assert of_kind("part") == of_kind("wish") == of_kind("gone") == []


@pytest.mark.parametrize(
    ("typed", "name", "decided"),
    [
        ("structural pruning first right", "first right", "structural prune"),
        ("Structural prune first right", "first right", "structural prune"),
        ("take the wire off first right", "first right", "unwire"),
        ("sever the graft low left", "Low left", "sever graft"),
        ("re-cut the edge of a wound back stub", "back stub", "recut wound"),
    ],
)
def test_decisions_may_be_named_as_the_work_that_they_ask_for(typed: str, name: str, decided: str) -> None:
    assert form(f"{MAPLE}: vigour=4; decide={typed}").err == ""
    assert part(name)["decided"] == decided


def test_a_part_that_is_called_as_work_is_found_by_its_name() -> None:
    on(WALK, "part", "add", MAPLE, "wound", "wound 1")
    on(WALK, "part", "add", MAPLE, "branch", "wound 1 left")
    assert form(f"{MAPLE}: vigour=4; decide=recut wound 1").err == ""
    assert part("wound 1")["decided"] == "recut wound"


@pytest.mark.parametrize(("typed", "meant"), [("s", "too strong"), ("weak", "too weak"), ("E", "even")])
def test_a_choice_is_taken_by_the_letter_that_it_alone_begins_a_word_with(typed: str, meant: str) -> None:
    assert form(f"{MAPLE}: vigour=4; top={typed}").err == ""
    assert [review["answers"]["top"] for review in of_kind("review")] == [meant]


def test_a_letter_that_several_begin_with_is_refused() -> None:
    assert (
        "top: found 't'; right would be one of too strong, even, too weak"
        in form(f"{MAPLE}: vigour=4; top=t").err
    )


@pytest.mark.parametrize("ends", ["low left entry=5; low left exit=3", "low left exit=3; low left entry=5"])
def test_the_ends_of_a_graft_that_may_be_exchanged_are_asked_about(ends: str) -> None:
    answer = form(f"{MAPLE}: vigour=4; {ends}")
    told = "exit 3 is thin beside entry 5 (swapped?); if that is what you measured, say so with --yes"
    assert sorted(answer.err.splitlines()) == [
        f"leafclock: {MAPLE}, low left entry: {told}", f"leafclock: {MAPLE}, low left exit: {told}",
    ]  # fmt: skip
    assert of_kind("measure") == []
    assert form(f"{MAPLE}: {ends}", words=("--yes",)).err == ""
    assert of_kind("measure") == [{"values": {"entry": 5.0, "exit": 3.0}}] or of_kind("measure") == [
        {"values": {"exit": 3.0, "entry": 5.0}}
    ]


def test_a_graft_that_is_a_little_thinner_behind_is_not_asked_about() -> None:
    assert form(f"{MAPLE}: vigour=4; low left entry=5; low left exit=4").err == ""


def test_a_first_measure_out_of_scale_is_asked_about_and_a_later_one_by_the_last() -> None:
    answer = form(f"{MAPLE}: vigour=4; low left entry=120; height=400; back stub width=13")
    assert answer.err == (
        f"leafclock: {MAPLE}, low left entry: entry 120 is more than 100 mm (cm?); "
        "if that is what you measured, say so with --yes\n"
    )
    assert form(f"{MAPLE}: low left entry=120", words=("--yes",)).err == ""
    assert [measure["value"] for measure in part("Low left")["measures"]] == [120.0]


def test_a_part_whose_measure_is_refused_does_not_get_its_look_from_that_line() -> None:
    answer = form(f"{MAPLE}: vigour=4; back stub look=good; back stub width=20")
    assert answer.err.splitlines()[1:] == [
        f"leafclock: {MAPLE}, back stub look: waits for what was measured there; right would be both together"
    ]
    assert of_kind("look") == of_kind("measure") == []
    form(f"{MAPLE}: back stub look=good; back stub width=13")
    assert [look["values"] for look in of_kind("look")] == [{"width": 13.0}]


def test_the_minutes_of_a_walk_say_how_they_are_typed() -> None:
    how = "right would be, above the trees: minutes: 70"
    for lines in (("minutes 70", f"{MAPLE}: vigour=4"), (f"{MAPLE}: vigour=4", "minutes=70")):
        assert form(*lines).err == f"leafclock: {lines[0 if 'min' in lines[0] else 1]!r}: {how}\n"
    assert (
        form("minutes: an hour", f"{MAPLE}: drainage=20").err
        == f"leafclock: minutes: found 'an hour'; {how}\n"
    )
    assert of_kind("state") == [{"vigour": 4}]
    assert "minutes: 70" in on(WALK, "review", "enter", "--help").out


def test_a_pest_is_none_or_found_and_good_or_bad_still() -> None:
    session = open_session("garden.db", None, date.fromisoformat(WALK))
    tree = next(tree for tree in session.trees if tree.label == MAPLE)
    asked = Asked(session, Visits(session, session.today).visit(tree))
    aphids = asked.question("aphids")
    assert {asked.value(aphids, typed) for typed in ("n", "none", "NO", "good", "g")} == {"none"}
    assert {asked.value(aphids, typed) for typed in ("f", "found", "yes", "Y", "bad", "b")} == {"found"}
