"""What is decided at a look: it stands in the plan as in the log, and voiding it restores what was."""

from __future__ import annotations

import json
from typing import Any

import pytest

from tests.app.conftest import run
from tests.app.review.entered import MAPLE, WALK, data, entries, form, of_kind, on, part, walked, with_parts

pytestmark = pytest.mark.usefixtures("walked")
__all__ = ["walked", "with_parts"]

DECISIONS = {
    "sever Low left": [("Low left", "sever graft")],
    "recut back stub": [("back stub", "recut wound")],
    "remove first right": [("first right", "structural prune")],
    "take wire off First  Right": [("first right", "unwire")],
    "replace first right by new right": [("new right", ""), ("first right", "structural prune")],
}


def state(tree: str = MAPLE) -> dict[str, Any]:
    """Return the state of a tree without its looks, which no decision changes."""
    found = next(one["state"] for one in data("tree", "list") if one["tree"]["label"] == tree)
    return {key: value for key, value in found.items() if key not in ("reviews", "broken_off")}


def items(tree: str = MAPLE) -> list[Any]:
    """Return what the plan has of a tree."""
    plan = data("plan")
    ids = {label: identity for identity, label in plan["trees"].items()}
    return [item for item in plan["items"] if item["tree_id"] == ids[tree]]


def void_decisions() -> None:
    """Void all that was decided, as a grower does."""
    for entry in entries():
        if any(key.startswith("decide") for key in entry["data"].get("asked", {}).get("answers", {})):
            assert on(WALK, "log", "--void", entry["id"].replace("-", "")).status == 0


@pytest.mark.parametrize(("typed", "parts"), DECISIONS.items(), ids=DECISIONS)
def test_what_is_decided_of_a_part_is_asked_for_until_it_is_voided(
    typed: str, parts: list[tuple[str, str]]
) -> None:
    form(f"{MAPLE}: vigour=4")
    before, planned = state(), items()
    assert form(f"{MAPLE}: decide={typed}").err == ""
    for name, operation in parts:
        assert part(name)["decided"] == operation
    if "replace" in typed:
        assert part("new right")["directive"] == "no directive"
    name, operation = parts[-1]
    assert (name, operation) in {(item["part"], item["operation"]) for item in items()}
    void_decisions()
    assert (state(), items()) == (before, planned)


@pytest.mark.parametrize(
    ("typed", "key", "value"),
    [("aim refinement", "aim", "refinement"), ("repot", "wishes", "repot"), ("unwire", "wishes", "unwire")],
)
def test_what_is_decided_of_the_tree_is_its_state_or_a_wish_until_it_is_voided(
    typed: str, key: str, value: str
) -> None:
    form(f"{MAPLE}: vigour=4")
    before, planned = state(), items()
    assert form(f"{MAPLE}: decide={typed}").err == ""
    assert value in str(state()[key])
    void_decisions()
    assert (state(), items()) == (before, planned)


def test_a_move_is_where_the_tree_stands_from_then_on_and_says_so() -> None:
    assert run("spot", "add", "shade house").status == 0
    answer = form(f"{MAPLE}: vigour=4; decide=move shade house")
    assert "It stands in “shade house” from that day on." in " ".join(answer.out.split())
    spots = {spot["name"]: spot["id"] for spot in json.loads(run("spot", "list", "--json").out)}
    assert state()["spot"] == spots["shade house"]


@pytest.mark.parametrize("why", ["died", "sold", "given away"])
def test_a_tree_that_is_gone_is_gone_until_that_is_voided(why: str) -> None:
    answer = form(f"{MAPLE}: drainage=20; decide={why}", "Japanese maple 2: vigour=4")
    assert (answer.status, answer.err) == (0, "")
    assert MAPLE not in on(WALK, "tree", "list").out
    assert f"gone: {why}" in on(WALK, "history", MAPLE).out
    assert on(WALK, "review", "enter", MAPLE).err.startswith(
        f"leafclock: {MAPLE} is gone since {WALK}: {why}"
    )
    (left,) = data("tree", "list", "--gone")
    on(WALK, "log", "--void", left["gone"]["entry"])
    assert MAPLE in on(WALK, "tree", "list").out


def test_a_tree_that_was_written_of_later_cannot_have_died_before() -> None:
    on("2015-09-25", "log", MAPLE, "cut back")
    answer = on(
        "2015-09-27",
        "review",
        "enter",
        "--lines",
        "-",
        "--day",
        WALK,
        typed=f"{MAPLE}: vigour=1; decide=died",
    )
    assert answer.err == (
        f"leafclock: {MAPLE}, decide: it was still there on 2015-09-25, by its log; "
        f"right would be a day from then on, not {WALK}\n"
    )


def test_two_decisions_of_one_part_are_asked_about_and_the_later_form_counts() -> None:
    answer = form(f"{MAPLE}: vigour=4; decide=remove first right; decide=unwire first right")
    assert answer.err == f"leafclock: {MAPLE}, decide: is answered twice; right would be one answer\n"
    assert part("first right")["decided"] == "structural prune"
    form(f"{MAPLE}: decide=unwire first right")
    assert part("first right")["decided"] == "unwire"
    assert len(of_kind("part")) == 1


def test_plan_due_why_and_history_tell_the_same_of_what_was_entered() -> None:
    form(f"{MAPLE}: vigour=4; first right keep=no; drainage=20")
    (cut,) = [item for item in items() if item["part"] == "first right"]
    assert cut["operation"] == "structural prune"
    assert f"{MAPLE} (first right)" in " ".join(on(WALK, "plan", "--weeks", "12").out.split())
    assert any(cut["id"] == item["id"] for line in data("due", "--days", "60", day="2015-10-20") for item in line["items"])  # fmt: skip
    assert "Decided on 20 September" in " ".join(on(WALK, "why", MAPLE, "structural prune").out.split())
    told = on(WALK, "history", MAPLE).out
    assert "first right: decided: structural prune" in told
    assert "late summer review 2015, glance: drainage 20" in told
