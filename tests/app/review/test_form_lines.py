"""A filled form of a walk: what it makes of the log, once, and what is told of what is wrong in it."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from tests.app.review.entered import (
    MAPLE,
    WALK,
    WEEK_LATER,
    data,
    entries,
    form,
    of_kind,
    on,
    part,
    walked,
    with_parts,
)
from tests.app.test_bad_input import rows

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.usefixtures("walked")
__all__ = ["walked", "with_parts"]

FULL = (
    f"{MAPLE}: vigour=4; drainage=75 s; LOW  left entry=4; low_left exit=5; back stub width=12; back stub look=good; "
    "aphids=bad; scale=n; mildew=none; pot=good; base=good; first right keep=yes; decide=aim ramification; minutes=9; note=dry moss"
)


def test_every_answer_becomes_the_entry_that_the_program_knows() -> None:
    answer = form(FULL)
    assert (answer.status, answer.err) == (0, "")
    assert of_kind("state") == [{"vigour": 4}, {"aim": "ramification"}]
    assert of_kind("part") == [{"directive": "no directive"}]
    assert of_kind("work") == [{"operation": "pest found", "note": "Aphids"}]
    assert of_kind("measure") == [{"values": {"entry": 4.0, "exit": 5.0}}]
    (look,) = of_kind("look")
    assert (look["went"], look["values"]) == ("well", {"width": 12.0})
    assert of_kind("review") == [
        {
            "round": "late summer", "cycle": 2015, "depth": "full", "minutes": 9.0, "note": "dry moss",
            "answers": {
                "drainage": 75.0, "aphids": "found", "scale": "none", "mildew": "none", "pot": "good", "base": "good",
            },
        }
    ]  # fmt: skip


def test_measurements_of_a_part_that_is_looked_at_are_the_looks_and_count_once() -> None:
    form(FULL)
    assert [(m["what"], m["value"]) for m in part("back stub")["measures"]] == [
        ("width", 14.0),
        ("width", 12.0),
    ]


def test_the_same_form_twice_counts_once_also_a_week_later() -> None:
    first = form(FULL)
    before, written = rows(), entries()
    again, later = form(FULL), form(FULL, day=WEEK_LATER)
    assert (rows(), entries()) == (before, written)
    assert "nothing new" in again.out + later.out
    assert "12 entries" not in again.out
    assert first.status == again.status == later.status == 0


def test_two_who_send_the_same_form_write_the_same_ids(folder: Path) -> None:
    """Of ids that are there already the store keeps the first: the second device adds nothing."""
    other = folder / "other.db"
    other.write_bytes((folder / "garden.db").read_bytes())
    form(FULL)
    ids = {entry["id"] for entry in entries()}
    form(FULL, words=("--db", str(other)))
    found = json.loads(on(WEEK_LATER, "log", MAPLE, "--json", "--db", str(other)).out)
    assert {entry["id"] for entry in found if entry["happened"] >= WALK} == ids


def test_a_corrected_answer_takes_the_place_of_the_first_and_may_be_corrected_back() -> None:
    for width, drainage in ((12, 20), (11, 30), (12, 20)):
        assert form(f"{MAPLE}: vigour=4; back stub width={width}; drainage={drainage}").status == 0
        assert [m["value"] for m in part("back stub")["measures"]] == [14.0, float(width)]
        (review,) = of_kind("review")
        assert review["answers"] == {"drainage": float(drainage)}


def test_what_is_corrected_later_was_found_on_the_day_of_the_walk() -> None:
    form(f"{MAPLE}: vigour=4; back stub width=12")
    form(f"{MAPLE}: back stub width=10; vigour=3", day=WEEK_LATER)
    assert {entry["happened"] for entry in entries()} == {WALK}
    assert of_kind("state") == [{"vigour": 3}]


def test_a_form_in_two_pieces_is_one_look() -> None:
    form(f"{MAPLE}: vigour=4; drainage=20")
    form(f"{MAPLE}: pot=bad; minutes=6")
    (state,) = (found["state"] for found in data("tree", "list") if found["tree"]["label"] == MAPLE)
    (review,) = state["reviews"]
    assert review["answers"] == {"drainage": 20.0, "pot": "bad"}
    assert (review["minutes"], review["on"]) == (6.0, WALK)


BAD = [
    ("back stub width=21000", "Japanese maple 1, back stub width: found '21000'; right would be a number from 0 to 20000 mm"),
    ("drainage=nan", "Japanese maple 1, drainage: found 'nan'; right would be a number from 0 to 1800 s"),
    ("drainage=-3", "Japanese maple 1, drainage: found '-3'; right would be a number from 0 to 1800 s"),
    ("back stub width=20", "Japanese maple 1, back stub width: width 20 is more than the 14 of 2015-06-24; if that is what you measured, say so with --yes"),
    ("old one look=good", "Japanese maple 1, old one look: old one is gone since 2015-08-01; right would be to leave it out"),
    ("decide=remove old one", "Japanese maple 1, decide: old one is gone since 2015-08-01; right would be to leave it out"),
    ("drainige=3", "Japanese maple 1, drainige: no such question; right would be one such as drainage"),
    ("pot=fine", "Japanese maple 1, pot: found 'fine'; right would be one of good, bad"),
    ("vigour=6", "Japanese maple 1, vigour: found '6'; right would be one of 1, 2, 3, 4, 5"),
    ("minutes=0", "Japanese maple 1, minutes: found 0; right would be the minutes the look took, or nothing"),
    ("decide=recut low left", "Japanese maple 1, decide: Low left is a graft; right for 'recut' would be one of: wound"),
    ("decide=aim bonsai", "Japanese maple 1, decide: 'bonsai' is no aim; right would be one of: trunk, structure, ramification, refinement, recovery"),
    ("decide=move moon", "Japanese maple 1, decide: no spot 'moon': "),
    ("decide=dance", "Japanese maple 1, decide: found 'dance'; right would be one of sever PART"),
    ("decide=replace low left", "Japanese maple 1, decide: found 'replace low left'; right would be: replace PART by PART"),
    ("scale=good; scale=bad", "Japanese maple 1, scale: is answered twice; right would be one answer"),
    (f"note={'x' * 2001}", "Japanese maple 1, --note: found "),
]  # fmt: skip


@pytest.mark.parametrize(("wrong", "told"), BAD, ids=[wrong[:24] for wrong, _ in BAD])
def test_what_is_wrong_is_told_by_tree_and_question_and_the_rest_is_kept(wrong: str, told: str) -> None:
    answer = form(f"{MAPLE}: girth=90; {wrong}; drainage=20; vigour=4", "Japanese maple 2: vigour=3")
    assert answer.status == 2
    (line,) = answer.err.splitlines()
    assert line.startswith(f"leafclock: {told}")
    assert of_kind("measure") == [{"values": {"girth": 90.0}}]
    assert of_kind("state") == [{"vigour": 4}]
    assert of_kind("state", "Japanese maple 2") == [{"vigour": 3}]
    assert of_kind("look") == of_kind("part") == of_kind("gone") == []


def test_a_number_that_is_odd_is_kept_if_it_is_confirmed() -> None:
    assert form(f"{MAPLE}: vigour=4; back stub width=20", words=("--yes",)).status == 0
    assert [m["value"] for m in part("back stub")["measures"]] == [14.0, 20.0]


def test_a_girth_that_shrinks_and_a_number_many_times_the_last_are_asked_about() -> None:
    on(WALK, "measure", MAPLE, "girth=90", "height=300", "--on", "2015-07-01")
    answer = form(f"{MAPLE}: vigour=4; girth=80; height=3000")
    sure = "if that is what you measured, say so with --yes"
    assert answer.err.splitlines() == [
        f"leafclock: {MAPLE}, girth: girth 80 is less than the 90 of 2015-07-01; {sure}",
        f"leafclock: {MAPLE}, height: height 3000 is many times the 300 of 2015-07-01; {sure}",
    ]


def test_a_part_is_not_measured_and_a_tree_not_looked_at_before_it_was_there() -> None:
    on(WALK, "part", "add", MAPLE, "wound", "scar", "2015-09-19")
    early = form(f"{MAPLE}: vigour=4; scar width=9", words=("--day", "2015-09-18"))
    assert early.err == f"leafclock: {MAPLE}, scar width: scar is followed since 2015-09-19; right would be a day from then on, not 2015-09-18\n"  # fmt: skip
    assert [entry["happened"] for entry in data("log", MAPLE) if entry["kind"] == "review"] == ["2015-09-18"]
    before = rows()
    none = form(f"{MAPLE}: vigour=4", words=("--day", "2015-06-01"))
    assert none.err == f"leafclock: {MAPLE} joined on 2015-06-24; right would be a day from then on, not 2015-06-01\n"  # fmt: skip
    assert form(f"{MAPLE}: vigour=4", words=("--day", WEEK_LATER)).err.startswith(f"leafclock: {WEEK_LATER} lies ahead")  # fmt: skip
    assert rows() == before


def test_trees_that_are_not_there_or_in_no_round_are_told_and_the_others_kept() -> None:
    answer = form("Japanese maple 9: vigour=4", "Japanese black pine 1: vigour=4", f"{MAPLE}: vigour=4", "all: vigour=1", "what a day")  # fmt: skip
    told = answer.err.splitlines()
    assert answer.status == 2
    assert told[0].startswith("leafclock: no tree 'Japanese maple 9': the nearest are")
    assert told[1] == "leafclock: 'all' names 5 trees; right would be the label of one"
    assert told[2] == "leafclock: 'what a day': right would be TREE: KEY=ANSWER, such as Maple 2: vigour=4"
    assert told[3].startswith("leafclock: Japanese black pine 1 is in no round on 2015-09-20; its next round opens about 2015-1")  # fmt: skip
    assert of_kind("state") == [{"vigour": 4}]


def test_a_tree_that_died_between_rounds_is_told_and_the_others_are_kept() -> None:
    on(WALK, "tree", "gone", "Japanese maple 2", "--why", "died", "--on", "2015-08-10")
    answer = form("Japanese maple 2: vigour=1", f"{MAPLE}: vigour=4")
    assert answer.status == 2
    (line,) = answer.err.splitlines()
    assert line.startswith("leafclock: Japanese maple 2 is gone since 2015-08-10: died; right would be ")
    assert of_kind("state") == [{"vigour": 4}]


def test_a_half_filled_form_is_told_and_kept_and_its_look_does_not_count_yet() -> None:
    answer = form(f"{MAPLE}: drainage=20; back stub width=12")
    assert answer.status == 2
    assert answer.err.startswith(f"leafclock: {MAPLE}: half-filled, 2 of ")
    (state,) = (found["state"] for found in data("tree", "list") if found["tree"]["label"] == MAPLE)
    assert state["reviews"] == []
    assert [review["answers"] for review in state["broken_off"]] == [{"drainage": 20.0}]
    form(f"{MAPLE}: vigour=4")
    (state,) = (found["state"] for found in data("tree", "list") if found["tree"]["label"] == MAPLE)
    assert [review["answers"] for review in state["reviews"]] == [{"drainage": 20.0}]
    assert state["broken_off"] == []


def test_blank_lines_notes_and_open_boxes_are_skipped() -> None:
    before = rows()
    answer = form("# after the rain", "", f"{MAPLE}: vigour=; drainage=;", "Japanese maple 2:")
    assert (
        answer.err
        == "leafclock: nothing to write; right would be lines such as: Maple 2: vigour=4; drainage=25\n"
    )
    assert rows() == before


def test_another_gardens_sheet_is_refused_in_one_line() -> None:
    before = rows()
    answer = form("sheet: 00000000 2015-09-19", f"{MAPLE}: vigour=4")
    assert answer.status == 2
    assert answer.err.startswith("leafclock: sheet '00000000' is another garden's; right would be ")
    assert len(answer.err.splitlines()) == 1
    assert rows() == before


@pytest.mark.parametrize("day", ["2015-09-31", ""])
def test_a_sheet_of_no_day_is_refused(day: str) -> None:
    own = entries(day=WALK) or data("log", MAPLE)
    answer = form(f"sheet: {own[0]['garden_id'].replace('-', '')[:8]} {day}", f"{MAPLE}: vigour=4")
    assert (answer.status, len(answer.err.splitlines())) == (2, 1)
    assert answer.err.startswith("leafclock: sheet: ")


def test_a_sheet_sent_again_stays_in_its_round_though_the_next_is_on() -> None:
    garden = data("log", MAPLE)[0]["garden_id"].replace("-", "")[:8]
    lines = (f"sheet: {garden} {WALK}", f"{MAPLE}: vigour=4; drainage=20")
    form(*lines)
    assert form(*lines, day="2015-10-15").out.startswith(f"{MAPLE}: nothing new.")
    assert [review["round"] for review in of_kind("review")] == ["late summer"]


def test_the_minutes_of_a_walk_are_shared_by_what_each_tree_was_to_take() -> None:
    lines = ("minutes: 30", f"{MAPLE}: vigour=4", "Japanese maple 2: vigour=4", "Satsuki azalea 1: vigour=4; minutes=6")  # fmt: skip
    form(*lines)
    first, second, own = (of_kind("review", tree)[0]["minutes"] for tree in (MAPLE, "Japanese maple 2", "Satsuki azalea 1"))  # fmt: skip
    # by config/review.toml six minutes for a young medium tree, and one for each of the maple's four parts
    assert (first, second, own) == (15.0, 9.0, 6.0)
    before = rows()
    form(*lines)
    assert rows() == before


def test_drainage_that_is_slow_proposes_repotting_and_wishes_nothing() -> None:
    answer = form(f"{MAPLE}: vigour=4; drainage=75")
    page = " ".join(answer.out.split())
    assert (
        "Drainage 75 s. More than a minute until the water was gone speaks for repotting in spring." in page
    )
    assert "No repotting is planned; to ask for it: decide=repot." in page
    assert of_kind("wish") == []
    page = " ".join(form(f"{MAPLE}: drainage=75; decide=repot").out.split())
    assert "No repotting is planned" not in page
    assert of_kind("wish") == [{"operation": "repot", "cycle": 2016, "anyway": False}]


def test_the_heavy_job_of_next_year_is_wished_or_dropped_and_the_choice_may_change() -> None:
    def status() -> dict[str, str]:
        return {item["operation"]: item["status"] for item in data("plan", "--all") ["items"] if item["operation"] == "repot" and item["tree_id"] == tree}  # fmt: skip

    tree = data("log", MAPLE)[0]["tree_ids"][0]
    form(f"{MAPLE}: vigour=4; heavy job=repot")
    assert of_kind("wish") == [{"operation": "repot", "cycle": 2016, "anyway": False}]
    assert status() == {"repot": "wished"}
    page = form(f"{MAPLE}: heavy job=none").out
    assert of_kind("wish") == []
    assert [review["answers"] for review in of_kind("review")] == [{"heavy job": "none"}]
    assert "Not next year: repot." in " ".join(page.split())
    assert [told["answer"] for told in of_kind("answer")] == ["not this cycle"]
    assert status() == {}


def test_a_pest_that_is_not_found_answers_the_look_that_is_open() -> None:
    def looks() -> list[str]:
        return [item["rule"] for item in data("plan")["items"] if item["opens"]["likely"] <= WALK]

    assert "look for leaf gall" in looks()
    assert form("Satsuki azalea 1: vigour=4; leaf gall=good").status == 0
    assert of_kind("work", "Satsuki azalea 1") == [{"operation": "pest look"}]
    assert "look for leaf gall" not in looks()
    form("Japanese maple 2: vigour=4; aphids=good")  # in September nobody looks for aphids any more
    assert of_kind("work", "Japanese maple 2") == []


def test_a_pest_that_was_not_there_after_all_leaves_that_it_was_looked_for() -> None:
    form(f"{MAPLE}: vigour=4; aphids=bad; scale=bad")
    form(f"{MAPLE}: aphids=good")
    assert of_kind("work") == [
        {"operation": "pest found", "note": "Scale insects"},
        {"operation": "pest look"},
    ]
