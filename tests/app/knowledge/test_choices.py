"""Where growers differ: an answer changes the plan, stands in the log, and can be taken back."""

from __future__ import annotations

import json
import sqlite3
import tomllib
from contextlib import closing
from typing import TYPE_CHECKING

import pytest

from calendar_core.knowledge.profiles.bundled import folder as bundled
from tests.app.conftest import DAY

if TYPE_CHECKING:
    from tests.app.conftest import Program

CHOICES = tomllib.loads((bundled("config") / "choices.toml").read_text(encoding="utf-8"))


def rows() -> list[str]:
    """Return everything the database holds, as SQL."""
    with closing(sqlite3.connect("garden.db")) as connection:
        return list(connection.iterdump())


def works_of(garden: Program, label: str) -> set[str]:
    """Return the operations in the plan of a tree, also those merely possible."""
    data = json.loads(garden("plan", "--all", "--json").out)
    return {item["operation"] for item in data["items"] if data["trees"][item["tree_id"]] == label}


def test_every_question_is_listed_with_its_answers(garden: Program) -> None:
    listed = garden("choices").out
    flat = " ".join(listed.split())
    for key, choice in CHOICES.items():
        assert f"\n{key}\n  {choice['question']}\n" in listed
        usual = choice["options"][choice["default"]]["text"].replace("degC", "°C")
        assert f"> {choice['default']}: {usual} The usual answer." in flat
        assert all(f" {name}: " in flat for name in choice["options"])
    assert listed.count("\n  > ") == listed.count("The usual answer.") == len(CHOICES)
    assert max(map(len, listed.splitlines())) <= 100
    assert "degC" not in listed


def test_an_answer_takes_the_work_out_of_the_plan(garden: Program) -> None:
    asked, other = "Japanese maple 1", "Japanese black pine 1"  # the pine's leaves are not thin
    before, pine = works_of(garden, asked), works_of(garden, other)
    assert "Put up shade: Japanese maple 1" in garden("plan", "--all").out
    said = garden("choices", "summer shade", "none")
    assert said.status == 0
    assert said.out.startswith("Do your thin-leaved trees get shade cloth in summer? No. Entry ")
    assert before - works_of(garden, asked) == {"shade on"}  # it is not shaded, so there is none to take off
    assert works_of(garden, other) == pine
    assert "Put up shade" not in garden("plan", "--all").out
    assert "\n  > none: No.\n" in garden("choices").out
    assert json.loads(garden("choices", "--json").out)["summer shade"] == "none"


def test_the_last_answer_counts(garden: Program) -> None:
    before = garden("plan", "--all").out
    garden("choices", "summer shade", "none")
    garden("choices", "summer shade", "cloth")
    assert garden("plan", "--all").out == before


def test_an_answer_changes_waits_too(garden: Program) -> None:
    """After repotting nothing for four weeks, or one with slow pellets: config/choices.toml says where from."""
    garden("log", "Japanese maple 1", "repotted", "2015-06-20")
    waits = garden("why", "Japanese maple 1", "fertilize").out
    garden("choices", "feeding after repotting", "slow pellets")
    assert "Waits four weeks after repot" in " ".join(waits.split())
    assert garden("why", "Japanese maple 1", "fertilize").out != waits


def test_an_answer_stands_in_the_log_and_a_void_takes_it_back(garden: Program) -> None:
    before = garden("plan", "--all").out
    garden("choices", "summer shade", "none")
    (line,) = (line for line in garden("log").out.splitlines() if "summer shade" in line)
    name, day, told = line.split("  ")
    assert (day, told) == (DAY, "summer shade: none")
    (entry,) = (e for e in json.loads(garden("log", "--json").out) if e["kind"] == "choice")
    assert entry["id"].startswith(name)
    assert entry["tree_ids"] == []
    assert entry["data"] == {"question": "summer shade", "option": "none"}
    assert garden("log", "--void", name).out == "Void: summer shade: none, 24 June.\n"
    assert "summer shade" not in garden("log").out
    assert garden("plan", "--all").out == before


def test_an_answer_is_of_its_day(garden: Program, leafclock: Program) -> None:
    garden("choices", "summer shade", "none")
    earlier = json.loads(leafclock("choices", "--json", "--today", "2015-06-23").out)
    assert earlier["summer shade"] == "cloth"


QUESTIONS = ", ".join(CHOICES)


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("winter shade", "none"), f"no question 'winter shade'; right would be one of: {QUESTIONS}"),
        (("", "none"), f"no question ''; right would be one of: {QUESTIONS}"),
        (("summer shade", "maybe"), "'maybe' is no answer to 'summer shade'; right would be one of: cloth, none"),
        (("summer shade", ""), "'' is no answer to 'summer shade'; right would be one of: cloth, none"),
        (("summer shade",), "no answer to 'summer shade'; right would be one of: cloth, none"),
        (("summer shade", "pause"), "'pause' is no answer to 'summer shade'; right would be one of: cloth, none"),
    ],
)  # fmt: skip
def test_a_wrong_question_or_answer_is_told_the_right_ones(
    garden: Program, words: tuple[str, ...], line: str
) -> None:
    before = rows()
    refused = garden("choices", *words)
    assert (refused.status, refused.out, refused.err) == (2, "", f"leafclock: {line}\n")
    assert rows() == before


# ---- what is never done to a kind ----


@pytest.mark.parametrize("verb", ["wish", "why"])
@pytest.mark.parametrize(
    ("tree", "operation", "line"),
    [
        ("Japanese black pine 1", "full defoliation", "full defoliation is never done to a Japanese black pine: a pine that loses all its needles dies."),
        ("Japanese black pine 1", "partial defoliation", "partial defoliation is never done to a Japanese black pine: needles are pulled, not cut like leaves."),
        ("Satsuki azalea 1", "full defoliation", "full defoliation is never done to a Satsuki azalea: an evergreen flowers and lives from the leaves it keeps."),
        ("Tropical fig 1", "decandling", "decandling is never done to a Tropical fig: it has no candles."),
    ],
)  # fmt: skip
def test_what_is_never_done_is_refused_with_the_reason(
    garden: Program, verb: str, tree: str, operation: str, line: str
) -> None:
    before = rows()
    refused = garden(verb, tree, operation)
    assert (refused.status, refused.out, refused.err) == (2, "", f"leafclock: {tree}: {line}\n")
    assert rows() == before


@pytest.mark.parametrize("verb", ["wish", "why"])
def test_work_a_kind_does_not_have_is_refused_with_where_to_look(garden: Program, verb: str) -> None:
    before = rows()
    refused = garden(verb, "Tropical fig 1", "root graft")
    assert (refused.status, refused.out) == (2, "")
    assert refused.err.startswith("leafclock: Tropical fig 1: root graft is not known for ")
    assert refused.err.endswith("leafclock species show 'Tropical fig'\n")
    assert rows() == before
