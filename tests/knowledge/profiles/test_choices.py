"""A garden's answers change which works, waits and places its profiles hold."""

from __future__ import annotations

from collections import Counter
from itertools import combinations, product
from typing import TYPE_CHECKING

import pytest

from calendar_core.app.shell.session import knowledge
from calendar_core.knowledge.profiles.answers import answered, asked_of, with_defaults

if TYPE_CHECKING:
    from calendar_core.knowledge.forms.choices import Choice
    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.knowledge.forms.species.work import Work
    from calendar_core.knowledge.profiles.knowledge import Knowledge

KNOWLEDGE = knowledge()
CHOICES = KNOWLEDGE.choices
PARTS = ("work", "shelter", "shade")
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


def test_an_answer_that_is_no_option_leaves_out_the_works_and_places_of_every_option() -> None:
    """Gardens are checked before; here it is only a name that nothing stands for."""
    assert answered(KNOWLEDGE, {"winter store": "tropical"}).profiles[MAPLE].shelter == ()
    left = works(answered(KNOWLEDGE, {"big cuts on maples": "never"}), MAPLE)
    assert not [key for key in left if key.startswith("structural prune")]


def test_places_follow_the_answer() -> None:
    usual = answered(KNOWLEDGE, {}).profiles
    cool = answered(KNOWLEDGE, {"winter store": "cool"}).profiles
    assert [
        one.into == other.into for one, other in zip(usual[MAPLE].shelter, cool[MAPLE].shelter, strict=True)
    ] == [False]
    assert len(usual[MAPLE].shade) == 1
    assert answered(KNOWLEDGE, {"summer shade": "none"}).profiles[MAPLE].shade == ()
    # Growers take figs out and in at nights of 10, 12 or 15 degC (common practice).
    lines = {}
    for option in CHOICES["tropical trees outdoors"].options:
        (shelter,) = answered(KNOWLEDGE, {"tropical trees outdoors": option}).profiles[FIG].shelter
        lines[option] = shelter.nights_c
    assert lines == {"summer": 10, "warm weeks": 15, "long": 7}


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


def test_nothing_but_works_and_places_changes_and_what_was_given_stays_as_it_was() -> None:
    before = KNOWLEDGE.profiles[FIG].model_copy(deep=True)
    got = answered(KNOWLEDGE, {"repotting and defoliating figs": "together"})
    given = {part: getattr(before, part) for part in PARTS}
    assert got.profiles[FIG].model_copy(update=given) == before == KNOWLEDGE.profiles[FIG]
    assert got.model_copy(update={"profiles": KNOWLEDGE.profiles}) == KNOWLEDGE


@pytest.mark.parametrize("key", CHOICES)
def test_every_option_changes_a_work_or_place_of_some_profile(key: str) -> None:
    for one, other in combinations(CHOICES[key].options, 2):
        left, right = answered(KNOWLEDGE, {key: one}).profiles, answered(KNOWLEDGE, {key: other}).profiles
        changed = {
            name
            for name, part in product(left, PARTS)
            if getattr(left[name], part) != getattr(right[name], part)
        }
        assert changed, (one, other)
        assert changed <= {name for name, p in KNOWLEDGE.profiles.items() if key in asked_of(p, CHOICES)}


def all_answers(profile: Profile, choices: dict[str, Choice]) -> list[dict[str, str]]:
    asked = asked_of(profile, choices)
    return [
        dict(zip(asked, given, strict=True)) for given in product(*(choices[key].options for key in asked))
    ]


@pytest.mark.parametrize("name", KNOWLEDGE.profiles)
def test_however_a_grower_answers_each_work_wait_and_place_is_there_once(name: str) -> None:
    alone = KNOWLEDGE.model_copy(update={"profiles": {name: KNOWLEDGE.profiles[name]}})
    for answers in all_answers(KNOWLEDGE.profiles[name], CHOICES):
        profile = answered(alone, answers).profiles[name]
        assert len(profile.shelter) == 1, answers
        assert len(profile.shade) == (answers.get("summer shade") != "none"), answers
        left = profile.work
        assert max(Counter(work.key for work in left).values()) == 1, answers
        for work in left:
            assert max(Counter(hold.after for hold in work.holds).values(), default=1) == 1, (
                answers,
                work.key,
            )
