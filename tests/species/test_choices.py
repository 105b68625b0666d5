"""A garden's answers change which works and waits its profiles hold."""

from __future__ import annotations

from collections import Counter
from itertools import combinations, product
from typing import TYPE_CHECKING

import pytest

from calendar_core.species.bundled import folder
from calendar_core.species.choices import answered, asked_of, with_defaults
from calendar_core.species.loading import load_knowledge

if TYPE_CHECKING:
    from calendar_core.species.schema import Choice, Knowledge, Profile, Work

KNOWLEDGE = load_knowledge(folder("config"))
CHOICES = KNOWLEDGE.choices
MAPLE, FIG, BLACK = "acer-palmatum", "ficus-microcarpa", "pinus-thunbergii"


def works(knowledge: Knowledge, name: str) -> dict[str, Work]:
    return {work.key: work for work in knowledge.profiles[name].work}


def waits(knowledge: Knowledge, name: str, work: str, after: str) -> list[float | None]:
    return [hold.weeks for hold in works(knowledge, name)[work].holds if hold.after == after]


def test_defaults_fill_what_is_not_answered() -> None:
    given = with_defaults(CHOICES, {"winter store": "cool"})
    assert given == {key: choice.default for key, choice in CHOICES.items()} | {"winter store": "cool"}


def test_an_answer_to_a_question_nobody_asks_changes_nothing() -> None:
    assert with_defaults(CHOICES, {"tea or coffee": "tea"}) == with_defaults(CHOICES, {})
    assert answered(KNOWLEDGE, {"tea or coffee": "tea"}) == answered(KNOWLEDGE, {})


def test_an_answer_that_is_no_option_leaves_out_the_works_of_every_option() -> None:
    """Gardens are checked before; here it is only a name that no work stands for."""
    assert "shelter in" not in works(answered(KNOWLEDGE, {"winter store": "tropical"}), MAPLE)


def test_works_follow_the_answer() -> None:
    usual, other = answered(KNOWLEDGE, {}), answered(KNOWLEDGE, {"big cuts on maples": "after leaf fall"})
    assert works(usual, MAPLE)["structural prune after leaf fall"].due == "wish"
    assert "structural prune" in works(usual, MAPLE)
    assert works(other, MAPLE)["structural prune after leaf fall"].due == "programme"
    assert "structural prune" not in works(other, MAPLE)


def test_holds_follow_the_answer_and_those_for_everyone_stay() -> None:
    assert waits(KNOWLEDGE, MAPLE, "feeding", "repot") == [4, 1]
    for answers, weeks in (({}, 4), ({"feeding after repotting": "slow pellets"}, 1)):
        assert waits(answered(KNOWLEDGE, answers), MAPLE, "feeding", "repot") == [weeks]
    fed_on = answered(KNOWLEDGE, {"feeding after decandling": "no pause"})
    assert waits(answered(KNOWLEDGE, {}), BLACK, "feeding", "decandling") == [5]
    assert waits(fed_on, BLACK, "feeding", "decandling") == []
    assert waits(fed_on, BLACK, "feeding", "repot") == [6]


def test_nothing_but_works_changes_and_what_was_given_stays_as_it_was() -> None:
    before = KNOWLEDGE.profiles[FIG].model_copy(deep=True)
    got = answered(KNOWLEDGE, {"repotting and defoliating figs": "together"})
    assert got.profiles[FIG].model_copy(update={"work": before.work}) == before == KNOWLEDGE.profiles[FIG]
    assert got.model_copy(update={"profiles": KNOWLEDGE.profiles}) == KNOWLEDGE


@pytest.mark.parametrize("key", CHOICES)
def test_every_option_changes_a_work_of_some_profile(key: str) -> None:
    for one, other in combinations(CHOICES[key].options, 2):
        left, right = answered(KNOWLEDGE, {key: one}).profiles, answered(KNOWLEDGE, {key: other}).profiles
        changed = {name for name in left if left[name].work != right[name].work}
        assert changed, (one, other)
        assert changed <= {name for name, p in KNOWLEDGE.profiles.items() if key in asked_of(p, CHOICES)}


def all_answers(profile: Profile, choices: dict[str, Choice]) -> list[dict[str, str]]:
    asked = asked_of(profile, choices)
    return [
        dict(zip(asked, given, strict=True)) for given in product(*(choices[key].options for key in asked))
    ]


@pytest.mark.parametrize("name", KNOWLEDGE.profiles)
def test_however_a_grower_answers_each_work_and_wait_is_there_once(name: str) -> None:
    alone = KNOWLEDGE.model_copy(update={"profiles": {name: KNOWLEDGE.profiles[name]}})
    for answers in all_answers(KNOWLEDGE.profiles[name], CHOICES):
        left = answered(alone, answers).profiles[name].work
        assert max(Counter(work.key for work in left).values()) == 1, answers
        for work in left:
            assert max(Counter(hold.after for hold in work.holds).values(), default=1) == 1, (
                answers,
                work.key,
            )
