"""What a look asks of a tree: its own parts and looks, its species' pests, and what every tree is asked. Trees are invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid5

import pytest

from calendar_core.garden.parts import MEASURES
from calendar_core.garden.state import states
from calendar_core.knowledge.words import CHECK_PLACES
from calendar_core.planning.review.checklist import HEAVY_JOB, checklist
from calendar_core.planning.review.depth import usual_minutes, why_full
from tests.planning.made_up import bench_on_normals, knowledge

if TYPE_CHECKING:
    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.words import LookDepth, RoundName
    from calendar_core.planning.items import Item
    from calendar_core.planning.review.checklist import Question

KNOWN = knowledge()
ON, LAST_YEAR = date(2015, 9, 20), date(2014, 9, 21)
MAPLE, PINE, FIG = "acer-palmatum", "pinus-thunbergii", "ficus-microcarpa"


def planned(
    species: str, *entries: tuple[date, str, dict[str, Any], str], **state: Any
) -> tuple[UUID, TreeState, list[Item]]:
    """A tree with entries (day, kind, data, part's name or "") as the plan of the day of the round has it."""
    bench = bench_on_normals("Nagano")
    tree = bench.tree("it", species, **{"aim": "structure", "vigour": 4, **state})
    for on, kind, data, part in entries:
        bench.write(on, kind, "it", **data)  # type: ignore[arg-type]
        if part:
            bench.entries[-1] = replace(bench.entries[-1], part_ids=(uuid5(tree.id, part),))
    plan = bench.plan(ON)
    return tree.id, states([tree.id], bench.entries, ON)[tree.id], list(plan.items)


def asked(
    species: str, *entries: Any, name: RoundName = "late summer", depth: LookDepth = "full", **state: Any
) -> list[Question]:
    tree, now, items = planned(species, *entries, **state)
    return list(checklist(tree, now, KNOWN.profiles[species], items, depth, name, KNOWN, ON))


def keys(questions: list[Question]) -> list[str]:
    return [question.key for question in questions]


PARTS = (
    (date(2014, 4, 1), "part", {"kind": "graft", "name": "front graft", "height_mm": 120.0, "values": {"entry": 4.0, "exit": 5.0}}, "front graft"),
    (LAST_YEAR, "part", {"kind": "wound", "name": "back cut", "height_mm": 300.0, "values": {"width": 18.0}}, "back cut"),
    (date(2015, 5, 1), "part", {"kind": "branch", "name": "low left", "height_mm": 60.0, "directive": "undecided", "decide_by": "leaf_fall"}, "low left"),
    (date(2015, 6, 1), "part", {"kind": "apex", "name": "new leader", "height_mm": 350.0, "directive": "grow free"}, "new leader"),
    (date(2015, 7, 1), "part", {"kind": "dieback", "name": "dry tip", "height_mm": 320.0, "values": {"dry": 9.0}}, "dry tip"),
    (date(2015, 8, 1), "part", {"kind": "wire", "name": "second right", "height_mm": 140.0}, "second right"),
)  # fmt: skip


def test_each_part_is_asked_for_what_it_is_followed_for_with_last_years_value() -> None:
    found = {question.key: question for question in asked(MAPLE, *PARTS)}
    for name, wanted in (
        ("front graft", {"entry": 5 - 1.0, "exit": 5.0}), ("back cut", {"width": 18.0}), ("dry tip", {"dry": 9.0}),
    ):  # fmt: skip
        for what, last in wanted.items():
            question = found[f"{name} {what}"]
            assert (question.measure, question.last and question.last.value, question.unit) == (
                what,
                last,
                "mm",
            )
    assert "second right bite" not in found  # it is told by eye
    assert "back cut look" not in found  # it is measured
    assert "low left look" not in found  # it is decided on
    assert found["second right look"].rule == "look at the wire"
    assert found["low left keep"].answer == "yes or no"


def test_nothing_is_asked_twice_and_nothing_of_parts_that_are_gone() -> None:
    gone = (date(2015, 9, 1), "part", {"gone": True}, "back cut")
    found = keys(asked(MAPLE, *PARTS, gone))
    assert len(found) == len(set(found))
    assert not [key for key in found if key.startswith("back cut")]


def test_questions_come_as_a_hand_moves_up_the_tree() -> None:
    found = asked(MAPLE, *PARTS)
    places = [CHECK_PLACES.index(question.place) for question in found]
    assert places == sorted(places)
    heights = [q.part.height_mm for q in found if q.part is not None and q.place == "branches"]
    assert heights == sorted(heights, key=lambda height: height or 0.0)
    assert keys(found)[:1] == ["drainage"]
    assert keys(found)[-2:] == ["vigour", HEAVY_JOB]


@pytest.mark.parametrize("species", [MAPLE, PINE, FIG])
@pytest.mark.parametrize("depth", ["full", "glance"])
def test_vigour_and_drainage_are_always_asked(species: str, depth: LookDepth) -> None:
    assert {"vigour", "drainage"} <= set(keys(asked(species, depth=depth)))
    assert {"vigour", "water"} <= set(keys(asked(species, depth=depth, name="after leaf fall")))


def test_of_bare_trees_nothing_is_asked_that_lives_on_leaves() -> None:
    bare = set(keys(asked(MAPLE, name="after leaf fall")))
    assert {"scale", "buds", "dead twigs"} <= bare
    assert not {"aphids", "mildew", "spider mites", "leaf", "drainage"} & bare
    assert {"needles", "deadwood"} <= set(keys(asked(PINE, name="after leaf fall")))


def test_what_is_kept_for_a_while_is_asked_for() -> None:
    spare = (
        date(2015, 5, 1),
        "part",
        {"kind": "branch", "name": "spare", "directive": "keep as backup"},
        "spare",
    )
    assert "spare keep" in keys(asked(MAPLE, spare))


def test_wire_nobody_wrote_down_is_asked_for_once() -> None:
    assert "wire" in keys(asked(MAPLE))
    assert "wire" not in keys(asked(MAPLE, *PARTS))


def test_a_winter_place_is_asked_for_before_winter() -> None:
    assert "winter place" in keys(asked(MAPLE, name="after leaf fall"))
    assert "winter place" not in keys(asked(MAPLE))


def test_a_full_look_asks_for_the_species_pests_a_glance_for_those_of_the_season() -> None:
    pests = set(KNOWN.profiles[MAPLE].pests)
    assert pests <= set(keys(asked(MAPLE)))
    assert not pests <= set(keys(asked(MAPLE, depth="glance")))


def test_nothing_is_asked_that_does_not_apply() -> None:
    pine, maple = keys(asked(PINE, aim="refinement")), keys(asked(MAPLE, aim="refinement"))
    assert "leaf" in maple
    assert "leaf" not in pine
    assert "girth" not in maple  # its trunk is made
    assert "roots" not in maple  # they are looked at after leaf fall
    assert "roots" in keys(asked(MAPLE, name="after leaf fall"))


def test_the_one_heavy_job_is_chosen_among_those_it_may_get() -> None:
    (question,) = (question for question in asked(MAPLE) if question.key == HEAVY_JOB)
    assert question.options[-1] == "none"
    weights = [KNOWN.operations[name].weight for name in question.options[:-1]]
    assert min(weights) >= 2
    assert "decandling" not in question.options


def test_every_measure_that_is_asked_is_one_the_log_knows() -> None:
    assert {question.measure for question in asked(MAPLE, *PARTS) if question.measure} <= set(MEASURES)


# How closely


def codes(*entries: Any, **state: Any) -> list[str]:
    _, now, items = planned(MAPLE, *entries, **state)
    return [reason.code for reason in why_full(now, items, KNOWN, ON)]


def look(on: date, depth: LookDepth) -> tuple[date, str, dict[str, Any], str]:
    return on, "review", {"round": "late summer", "cycle": on.year, "depth": depth}, ""


def test_what_is_open_weak_or_not_looked_at_for_a_year_gets_a_full_look() -> None:
    assert codes(aim="refinement")[-1] == "look_first"
    assert "look_weak" in codes(vigour=2)
    assert "look_parts" in codes(*PARTS)
    assert "look_long_ago" in codes(look(date(2014, 9, 1), "full"))
    assert "look_long_ago" not in codes(look(date(2014, 10, 1), "full"))
    assert "look_first" in codes(look(date(2014, 10, 1), "glance"))


def test_who_was_looked_over_this_year_and_has_nothing_open_gets_a_glance() -> None:
    bench = bench_on_normals("Nagano")
    tree = bench.tree("it", MAPLE, aim="trunk", vigour=3)
    bench.write(date(2015, 6, 1), "review", "it", round="late summer", cycle=2015, depth="full")
    now = states([tree.id], bench.entries, ON)[tree.id]
    assert why_full(now, [], KNOWN, ON) == ()


def test_minutes_go_by_aim_size_and_parts() -> None:
    """Three to five minutes for a young tree and two to write, eight to twelve for a refined one, one to two a glance (trade)."""
    rules = KNOWN.review.minutes
    _, young, _ = planned(MAPLE, aim="trunk")
    _, refined, _ = planned(MAPLE, aim="refinement")
    _, parts, _ = planned(MAPLE, *PARTS, aim="refinement")
    assert 3 <= usual_minutes(young, "full", rules) <= 5 + 2
    assert 8 <= usual_minutes(refined, "full", rules) <= 12
    assert usual_minutes(parts, "full", rules) == usual_minutes(refined, "full", rules) + 6
    assert 1 <= usual_minutes(refined, "glance", rules) <= 2
