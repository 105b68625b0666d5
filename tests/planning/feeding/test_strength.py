"""Fertilizing of single trees in Nagano: how strong, when, and each thing that stops it. The trees are invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from itertools import pairwise
from typing import TYPE_CHECKING, Any, get_args
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.garden.parts import Look
from calendar_core.garden.state import Done, states
from calendar_core.knowledge.words import Aim
from calendar_core.planning.feeding.dose import Product, dose
from calendar_core.planning.feeding.holds import FeedingCase, expected_on, is_expected
from calendar_core.planning.feeding.strength import Feeding, feeding, outlook
from calendar_core.planning.items import Range
from calendar_core.science.tree.nutrients import ProductLabel
from tests.planning.made_up import bench_on_normals, knowledge
from tests.planning.one_tree import AZALEA, FIG, MAPLE, PINE, TODAY

if TYPE_CHECKING:
    from calendar_core.planning.items import Item, Reason

pytestmark = pytest.mark.slow

KNOWN = knowledge()
WHITE_PINE, JADE, HAWTHORN, JUNIPER = (
    "pinus-parviflora",
    "crassula-ovata",
    "crataegus-monogyna",
    "juniperus-chinensis",
)
NEEDLE_JUNIPER = "juniperus-rigida"
SPECIES = (MAPLE, PINE, AZALEA, FIG, WHITE_PINE, JADE, HAWTHORN, JUNIPER)
AIMS = get_args(Aim)
SUMMER, LATE, AUTUMN, WINTER = date(2015, 6, 24), date(2015, 8, 28), date(2015, 10, 5), date(2015, 12, 20)
DAYS = (TODAY, SUMMER, LATE, AUTUMN, WINTER)
WARM, HOT = (33.0,) * 10, (36.0,) * 10


@cache
def garden(today: date, aim: str) -> dict[str, FeedingCase]:
    """A strong tree of each species with one aim, as the plan of a day sees it."""
    bench = bench_on_normals("Nagano")
    for species in SPECIES:
        bench.tree(species, species, aim=aim, vigour=4)
    plan, now = bench.plan(today), states([tree.id for tree in bench.trees], bench.entries, today)
    return {
        tree.label: FeedingCase(
            KNOWN.profiles[tree.species],
            now[tree.id],
            plan.stages[tree.id],
            [item for item in plan.items if item.tree_id == tree.id],
            [one for one in plan.not_planned if one.tree_id == tree.id],
            today,
        )
        for tree in bench.trees
    }


def worked_on(species: str, today: date, aim: str, *work: tuple[str, date], **state: Any) -> FeedingCase:
    """A tree on which work was done, planned with it."""
    bench = bench_on_normals("Nagano")
    tree = bench.tree("it", species, **{"aim": aim, "vigour": 4, **state})
    for operation, day in work:
        bench.did(day, operation, "it")
    plan, now = bench.plan(today), states([tree.id], bench.entries, today)
    profile, stages = KNOWN.profiles[species], plan.stages[tree.id]
    return FeedingCase(profile, now[tree.id], stages, plan.items, plan.not_planned, today)


def advice(case: FeedingCase, day: date | None = None) -> Feeding:
    return feeding(case, KNOWN.feeding, KNOWN.operations, day or case.today)


def done(operation: str, on: date, share: float | None = None) -> Done:
    return Done(operation, on, UUID(int=1), share=share)


def with_state(case: FeedingCase, **changes: Any) -> FeedingCase:
    return replace(case, state=replace(case.state, **changes))


def codes(reasons: tuple[Reason, ...]) -> list[str]:
    return [reason.code for reason in reasons]


# Strength


@pytest.mark.parametrize(
    ("species", "aim", "today", "percent"),
    [
        (MAPLE, "trunk", TODAY, (100, 100)),
        (MAPLE, "structure", TODAY, (75, 75)),
        (MAPLE, "refinement", SUMMER, (50, 50)),
        (MAPLE, "ramification", LATE, (75, 75)),
        (MAPLE, "structure", AUTUMN, (25, 25)),
        (PINE, "refinement", TODAY, (100, 100)),
        (JUNIPER, "refinement", SUMMER, (50, 50)),
        (FIG, "refinement", LATE, (50, 50)),
    ],
)
def test_strength_goes_by_aim_and_the_point_of_the_year(
    species: str, aim: str, today: date, percent: tuple[float, float]
) -> None:
    found = advice(garden(today, aim)[species])
    assert (found.hold, found.percent) == ((), percent)
    assert found.reasons[0].found == aim


@pytest.mark.parametrize("species", [MAPLE, AZALEA])
def test_autumn_is_low_in_nitrogen(species: str) -> None:
    found = advice(garden(AUTUMN, "structure")[species])
    assert found.low_nitrogen
    assert "feeding_low_nitrogen" in codes(found.reasons)
    assert found.n_mg_l[1] <= 50


def test_strong_nitrogen_ends_four_weeks_before_the_first_frost() -> None:
    case = garden(LATE, "structure")[MAPLE]
    assert not advice(case).low_nitrogen
    for days, low in ((28, True), (27, True), (29, False), (-3, True)):
        assert advice(replace(case, frosts={2015: LATE + timedelta(days=days)})).low_nitrogen == low
    fig = replace(garden(LATE, "structure")[FIG], frosts={2015: LATE})
    assert not advice(fig).low_nitrogen  # it stands warm


def test_a_tree_of_little_thirst_gets_it_once_a_month() -> None:
    summer = garden(LATE, "structure")
    assert (advice(summer[JADE]).every_weeks, advice(summer[FIG]).every_weeks) == (4, 2)


# What stops it


@pytest.mark.parametrize("species", SPECIES)
@pytest.mark.parametrize(
    ("aim", "vigour"), [("recovery", 1), ("recovery", 2), ("structure", 2), ("recovery", 4)]
)
def test_a_tree_that_recovers_gets_a_quarter_to_half_once_it_grows(
    species: str, aim: str, vigour: int
) -> None:
    """A weak tree is brought back in small steps (Bonsai Bark, 2009): 25 to 50 % of the label, custom."""
    today = LATE if species == AZALEA else SUMMER
    found = advice(worked_on(species, today, aim, vigour=vigour))
    assert found.hold == ()
    assert 25 <= found.percent[0] <= found.percent[1] <= 50
    assert found.next_on == today
    assert advice(worked_on(species, WINTER, aim, vigour=vigour)).hold


@pytest.mark.parametrize(
    ("species", "aim", "weeks"),
    [(MAPLE, "structure", 4), (MAPLE, "recovery", 6), (JUNIPER, "structure", 6), (FIG, "structure", 4)],
)
def test_a_repotted_tree_waits(species: str, aim: str, weeks: int) -> None:
    done = SUMMER - timedelta(days=20)
    found = advice(worked_on(species, SUMMER, aim, ("repot", done)))
    assert codes(found.hold) == ["hold"]
    assert (found.hold[0].subject, found.hold[0].needed) == ("repot", weeks)
    assert found.not_before == done + timedelta(weeks=weeks)
    assert found.cakes.number == (0, 0)


def test_the_wait_after_repotting_ends_to_the_day() -> None:
    for days, waits in ((27, True), (28, False)):
        case = with_state(garden(LATE, "structure")[MAPLE], done=[done("repot", LATE - timedelta(days=days))])
        assert bool(advice(case).hold) == waits


def test_pellets_may_lie_where_the_grower_lets_them_but_nothing_dissolved() -> None:
    # With "slow pellets" the plan's window is open a week after repotting: the rule for what is dissolved remains.
    case = with_state(garden(LATE, "structure")[MAPLE], done=[done("repot", LATE - timedelta(days=8))])
    found = advice(case)
    assert codes(found.hold) == ["hold"]
    assert found.cakes.number[1] > 0


def test_a_wait_that_ends_in_another_goes_on_through_it() -> None:
    """Six weeks from 8 August end where a recovering maple gets nothing any more: it is not asked for in autumn."""
    case = worked_on(MAPLE, LATE, "recovery", ("repot", LATE - timedelta(days=20)))
    for day in (LATE, LATE + timedelta(weeks=3, days=1)):
        found = advice(case, day)
        assert found.hold
        assert found.not_before is not None
        assert found.not_before.year == 2016
    asked = [
        one for one in case.items if one.operation.startswith("feeding") and one.opens.likely.year == 2015
    ]
    assert asked == []


# Planned repotting


def to_be_repotted(species: str, today: date, **answer: str) -> tuple[FeedingCase, Item]:
    """A strong tree last repotted years ago, and the item of its repotting before it was answered."""
    bench = bench_on_normals("Nagano")
    tree = bench.tree("it", species, aim="structure", vigour=4)
    bench.did(date(2009, 6, 20), "repot", "it")
    due = next(one for one in bench.plan(today).items if one.operation == "repot" and one.status == "due")
    if answer:
        bench.write(today, "answer", "it", item=str(due.id), **answer)
    plan, now = bench.plan(today), states([tree.id], bench.entries, today)
    profile, stages = KNOWN.profiles[species], plan.stages[tree.id]
    return FeedingCase(profile, now[tree.id], stages, plan.items, plan.not_planned, today), due


def fed_on(case: FeedingCase, weeks: int = 16) -> list[date]:
    steps = outlook(case, KNOWN.feeding, KNOWN.operations, case.today + timedelta(weeks=weeks))
    return [day for _, days in steps for day in days]


@pytest.mark.parametrize(
    ("species", "today", "weeks"),
    [(AZALEA, TODAY, 4), (AZALEA, SUMMER, 4), (NEEDLE_JUNIPER, date(2015, 5, 1), 6)],
)
def test_no_dose_goes_with_the_old_soil_of_a_planned_repotting(species: str, today: date, weeks: int) -> None:
    """From two weeks before, which is common practice, until the wait after it is over; the plan says the same."""
    case, due = to_be_repotted(species, today)
    on = expected_on(due, today)
    again = on + timedelta(weeks=weeks)
    assert on < date(2015, 7, 1)
    doses = fed_on(case)
    assert again in doses
    assert not [day for day in doses if on - timedelta(weeks=2) <= day < again]
    openings = [one.opens.likely for one in case.items if one.operation == "feeding"]
    assert not [day for day in openings if on - timedelta(weeks=2) <= day < again]


def test_before_a_planned_repotting_that_is_weeks_away_a_tree_is_fed() -> None:
    case, due = to_be_repotted(NEEDLE_JUNIPER, date(2015, 5, 1))
    assert due.opens.likely - timedelta(weeks=2) > date(2015, 5, 1)
    assert fed_on(case)[0] == date(2015, 5, 1)


@pytest.mark.parametrize(
    "answer", [{"answer": "not this cycle"}, {"answer": "put off", "until": "2015-07-10"}]
)
def test_fertilizing_comes_back_when_repotting_is_put_off(answer: dict[str, str]) -> None:
    case, _ = to_be_repotted(AZALEA, SUMMER)
    assert codes(advice(case).hold) == ["work_ahead"]
    put_off, _ = to_be_repotted(AZALEA, SUMMER, **answer)
    assert advice(put_off).hold == ()
    assert next(one for one in put_off.items if one.operation == "feeding").opens.likely <= SUMMER


def test_what_waits_for_a_repotting_moves_week_by_week() -> None:
    _, due = to_be_repotted(AZALEA, SUMMER)
    open_on, last = due.opens.likely, due.closes.likely
    said = {expected_on(due, open_on + timedelta(days=days)) for days in range((last - open_on).days + 1)}
    ends = {open_on + timedelta(days=7 * n - 1) for n in (1, 2, 3)}  # its window is three weeks
    assert said == {open_on, *ends, last}
    assert all(expected_on(due, last + timedelta(days=days)) > last for days in (1, 8))


def test_nobody_starves_who_waits_for_a_repotting() -> None:
    """A fig that is grown indoors may be repotted through half of the year."""
    _, due = to_be_repotted(AZALEA, SUMMER)
    rule = next(rule for rule in KNOWN.feeding.before if rule.operation == "repot")
    long = replace(due, opens=Range(*[date(2015, 2, 24)] * 3), closes=Range(*[date(2015, 7, 16)] * 3))
    days = [date(2015, 2, 1), date(2015, 3, 24), date(2015, 3, 25), date(2015, 6, 17), date(2015, 6, 18)]
    assert [is_expected(long, rule, day) for day in days] == [True, True, False, False, True]
    assert not is_expected(replace(long, status="possible"), rule, days[0])
    assert not is_expected(replace(long, chance=0.4), rule, days[0])


def test_a_defoliated_tree_waits_and_then_gets_half_until_its_leaves_are_back() -> None:
    case, usual = garden(SUMMER, "refinement")[MAPLE], advice(garden(SUMMER, "refinement")[MAPLE])
    bare = advice(with_state(case, done=[done("full defoliation", SUMMER - timedelta(days=13))]))
    assert codes(bare.hold) == ["hold"]
    assert bare.not_before == SUMMER + timedelta(days=1)
    half = advice(with_state(case, done=[done("full defoliation", SUMMER - timedelta(days=14))]))
    assert half.percent == (usual.percent[0] / 2, usual.percent[1] / 2)
    assert half.n_mg_l == (usual.n_mg_l[0] / 2, usual.n_mg_l[1] / 2)
    assert half.until is not None
    assert half.until <= SUMMER + timedelta(days=14)  # the Japanese maple leafs out in three to four weeks


def test_a_cut_that_took_most_leaves_counts_as_their_taking() -> None:
    case, usual = garden(SUMMER, "refinement")[MAPLE], advice(garden(SUMMER, "refinement")[MAPLE])
    on = SUMMER - timedelta(days=1)
    bare = advice(with_state(case, done=[done("cut back", on, 0.85)]))
    assert [(one.code, one.subject, one.found) for one in bare.hold] == [("hold", "cut back", on)]
    assert (bare.percent, bare.not_before) == ((0, 0), on + timedelta(weeks=2))
    half = advice(with_state(case, done=[done("cut back", SUMMER - timedelta(days=14), 0.85)]))
    assert half.percent == (usual.percent[0] / 2, usual.percent[1] / 2)
    assert half.reasons[-1].subject == "cut back"
    for share in (0.5, None):  # half of them is a partial defoliation
        assert advice(with_state(case, done=[done("cut back", on, share)])).percent == usual.percent


def test_a_decandled_pine_pauses_for_five_weeks() -> None:
    found = advice(worked_on(PINE, date(2015, 7, 20), "refinement", ("decandling", date(2015, 7, 10))))
    assert [(one.subject, one.needed) for one in found.hold] == [("decandling", 5)]
    assert found.not_before == date(2015, 8, 14)


def test_a_pine_is_fed_up_to_its_planned_decandling_and_pauses_after_it() -> None:
    """Five weeks' pause after the cut (Boon, June 2010): planned as it will be once the cut is written down."""
    bench = bench_on_normals("Nagano")
    pine = bench.tree("pine", PINE, aim="ramification", vigour=4)
    bench.did(date(2015, 5, 20), "feeding", "pine")
    today = date(2015, 6, 1)
    plan, now = bench.plan(today), states([pine.id], bench.entries, today)
    cut = next(item for item in plan.items if item.operation == "decandling" and item.status == "due")
    assert cut.opens.likely > today
    case = FeedingCase(
        KNOWN.profiles[PINE], now[pine.id], plan.stages[pine.id], plan.items, plan.not_planned, today
    )
    doses = fed_on(case)
    assert today < doses[0] < cut.opens.likely
    assert cut.opens.likely + timedelta(weeks=5) in doses
    assert not [day for day in doses if cut.opens.likely <= day < cut.opens.likely + timedelta(weeks=5)]


@pytest.mark.parametrize("species", [MAPLE, HAWTHORN, AZALEA, FIG])
def test_a_resting_tree_waits_for_its_season(species: str) -> None:
    found = advice(garden(WINTER, "structure")[species])
    assert found.hold
    assert all(code.startswith("opens_") for code in codes(found.hold))
    assert found.not_before is not None
    assert found.not_before > date(2016, 2, 1)


def test_a_refined_tree_waits_for_hard_leaves() -> None:
    case = garden(TODAY, "refinement")[MAPLE]
    found = advice(case)
    assert [(one.code, one.subject) for one in found.hold] == [("opens_stage", "leaves_hardened")]


def test_a_tree_in_bloom_waits_until_it_is_over() -> None:
    case = garden(TODAY, "structure")[HAWTHORN]
    likely = {
        one.stage: one.range.likely for one in case.stages if one.range is not None and one.cycle == 2015
    }
    opened, over = likely["flowering"], likely["bloom_over"]
    assert not advice(case, opened - timedelta(days=1)).hold
    for day in (opened, over - timedelta(days=1)):
        found = advice(case, day)
        assert (codes(found.hold), found.not_before) == (["feeding_bloom"], over)
    assert not advice(case, over).hold


def test_hot_days_stop_it_and_warm_ones_make_it_less() -> None:
    case = garden(SUMMER, "structure")[MAPLE]
    assert advice(replace(case, maxima_c=(31.9,) * 10)).percent == advice(case).percent == (100, 100)
    warm = advice(replace(case, maxima_c=WARM))
    assert (codes(warm.reasons)[-1], warm.percent) == ("feeding_warm", (50, 50))
    assert warm.n_mg_l[1] == pytest.approx(advice(case).n_mg_l[1] / 2)
    hot = advice(replace(case, maxima_c=HOT))
    assert (codes(hot.hold), hot.not_before) == (["feeding_hot"], None)
    assert hot.cakes.number[1] > 0  # they may lie


def test_one_hot_day_between_others_is_not_counted() -> None:
    case = garden(SUMMER, "structure")[MAPLE]
    assert not advice(replace(case, maxima_c=(36.0, 30.0, 36.0))).hold
    assert advice(replace(case, maxima_c=(35.0, 35.0, 30.0))).not_before == SUMMER + timedelta(days=1)
    assert advice(replace(case, maxima_c=(36.0, 36.0, 36.0, 25.0, 25.0))).not_before == SUMMER + timedelta(
        days=2
    )


def test_a_kind_that_gets_nothing_in_heat_waits_from_the_lower_line_on() -> None:
    case = garden(SUMMER, "structure")[WHITE_PINE]
    found = advice(replace(case, maxima_c=WARM), date(2015, 6, 30))
    assert next(one for one in found.hold if one.code == "feeding_hot").needed == 32


# What must hold of any tree


@given(
    st.sampled_from(DAYS),
    st.sampled_from(AIMS),
    st.sampled_from(SPECIES),
    st.integers(1, 5),
    st.integers(1, 5),
)
def test_a_weaker_tree_never_gets_more(today: date, aim: str, species: str, one: int, two: int) -> None:
    case = garden(today, aim)[species]
    weak, strong = (advice(with_state(case, vigour=vigour)) for vigour in sorted((one, two)))
    assert weak.percent <= strong.percent
    assert weak.n_mg_l <= strong.n_mg_l
    assert weak.cakes.number <= strong.cakes.number


@given(
    st.sampled_from(DAYS),
    st.sampled_from(AIMS),
    st.sampled_from(SPECIES),
    st.floats(-10, 45),
    st.floats(-10, 45),
)
def test_in_more_heat_never_more(today: date, aim: str, species: str, one: float, two: float) -> None:
    case = garden(today, aim)[species]
    hot, cool = (advice(replace(case, maxima_c=(c,) * 10)) for c in sorted((one, two), reverse=True))
    for end in (0, 1):
        assert hot.percent[end] <= cool.percent[end]
        assert hot.n_mg_l[end] <= cool.n_mg_l[end] + 1e-9


@pytest.mark.parametrize("today", DAYS)
@pytest.mark.parametrize("aim", AIMS)
def test_nothing_is_given_while_the_plan_has_no_window_open(today: date, aim: str) -> None:
    for species, case in garden(today, aim).items():
        found = advice(case)
        is_open = any(
            item.operation.startswith("feeding") and item.opens.likely <= today <= item.closes.likely
            for item in case.items
        )
        assert bool(found.hold) or is_open, species
        assert (found.percent[1] == 0) == bool(found.hold)
        assert 0 <= found.percent[0] <= found.percent[1] <= 100


@pytest.mark.parametrize("today", DAYS)
@pytest.mark.parametrize("aim", AIMS)
def test_what_the_plan_asks_to_be_fertilized_gets_something_or_a_day(today: date, aim: str) -> None:
    for species, case in garden(today, aim).items():
        asked = [one for one in case.items if one.operation.startswith("feeding") and one.status == "due"]
        for item in asked:
            if item.chance >= 0.5:
                assert item.given is not None, species
                assert item.given.percent[1] > 0 or item.given.not_before is not None, species


# Dates


def test_dates_keep_their_distance_from_the_last_time_and_from_one_another() -> None:
    last = SUMMER - timedelta(days=5)
    case = with_state(garden(SUMMER, "structure")[MAPLE], done=[done("feeding", last)])
    steps = outlook(case, KNOWN.feeding, KNOWN.operations, SUMMER + timedelta(weeks=24))
    days = [last, *(day for _, dates in steps for day in dates)]
    assert len(days) > 5
    assert all((two - one).days >= 14 for one, two in pairwise(days))
    assert [one.phase for one, _ in steps[:3]] == ["hard growth", "summer", "autumn"]
    assert steps[-1][0].hold  # leaf fall
    for found, dates in steps:
        assert not (found.hold and dates)


def test_cakes_last_until_they_are_replaced_and_put_off_what_is_poured() -> None:
    """Six weeks while a tree is built (Bonsai Focus, July 2019)."""
    put_on = SUMMER - timedelta(days=30)
    case = with_state(garden(SUMMER, "structure")[MAPLE], done=[done("feeding cakes", put_on)])
    found = advice(case)
    assert found.next_on == put_on + timedelta(weeks=6)
    assert (found.cakes.since, found.cakes.replace_from) == (put_on, put_on + timedelta(weeks=6))
    warm = advice(replace(case, maxima_c=(31.0,) * 10)).cakes
    assert (warm.replace_from, warm.replace_by) == (put_on + timedelta(weeks=4), put_on + timedelta(weeks=5))
    off = with_state(case, done=[*case.state.done, done("remove cakes", SUMMER)])
    assert (advice(off).cakes.since, advice(off).next_on) == (None, SUMMER)
    changed = with_state(case, looks=[Look("cakes", UUID(int=1), SUMMER, well=True)])
    assert (advice(changed).cakes.since, advice(changed).next_on) == (SUMMER, SUMMER + timedelta(weeks=6))


def test_cakes_go_with_the_old_soil() -> None:
    put_on = SUMMER - timedelta(days=60)
    gone = [done("feeding cakes", put_on), done("repot", put_on + timedelta(days=20))]
    assert advice(with_state(garden(SUMMER, "structure")[MAPLE], done=gone)).cakes.since is None


def test_cakes_put_on_after_what_clears_the_pot_lie_there_though_it_was_the_same_day() -> None:
    case = garden(SUMMER, "structure")[MAPLE]
    for clears in ("repot", "remove cakes"):
        new = with_state(case, done=[done(clears, SUMMER), done("feeding cakes", SUMMER)])
        old = with_state(case, done=[done("feeding cakes", SUMMER), done(clears, SUMMER)])
        assert (advice(new).cakes.since, advice(old).cakes.since) == (SUMMER, None)


def test_cakes_lie_until_a_repotting_that_is_only_planned() -> None:
    """They go with the old soil; until then nothing is taken off that a put-off would put on again."""
    case, due = to_be_repotted(AZALEA, SUMMER)
    assert due.opens.likely > SUMMER - timedelta(weeks=2)
    lying = with_state(case, done=[*case.state.done, done("feeding cakes", SUMMER - timedelta(weeks=3))])
    found = advice(lying)
    assert codes(found.hold) == ["work_ahead"]
    assert (found.cakes.number, found.cakes.take_off) == ((0, 0), None)
    resting = with_state(garden(WINTER, "structure")[AZALEA], done=[done("feeding cakes", AUTUMN)])
    assert advice(resting).cakes.take_off == WINTER


def test_cakes_come_off_when_the_season_is_over() -> None:
    case = with_state(garden(WINTER, "structure")[MAPLE], done=[done("feeding cakes", AUTUMN)])
    assert advice(case).cakes.take_off == WINTER
    late = with_state(garden(AUTUMN, "structure")[MAPLE], done=[done("feeding cakes", AUTUMN)])
    found = advice(late).cakes
    assert found.replace_from is None
    assert found.take_off is not None
    assert found.take_off > AUTUMN


def test_a_larger_pot_gets_more_cakes_and_a_weaker_strength_fewer() -> None:
    case = garden(SUMMER, "structure")[MAPLE]
    numbers = [advice(with_state(case, size=size)).cakes.number for size in ("small", "medium", "large")]
    assert numbers == [(1, 2), (2, 4), (4, 6)]
    assert advice(with_state(garden(SUMMER, "refinement")[MAPLE], size="large")).cakes.number == (2, 3)


# Doses


def test_the_lesser_of_label_and_nitrogen_counts() -> None:
    found = advice(garden(SUMMER, "structure")[MAPLE])  # the whole label rate, 150 mg/L
    by_nitrogen = dose(found, Product(ProductLabel(20, 20, 20), 1.0))
    assert by_nitrogen is not None
    assert (by_nitrogen.g_per_l, by_nitrogen.by_label) == ((0.75, 0.75), False)
    by_label = dose(found, Product(ProductLabel(20, 20, 20), 0.5))
    assert by_label is not None
    assert (by_label.g_per_l, by_label.by_label) == ((0.5, 0.5), True)
    assert by_label.made[1].n == pytest.approx(100)
    unknown = dose(found, Product(ProductLabel(20, 20, 20)))
    assert unknown is not None
    assert unknown.grams(10.0) == (7.5, 7.5)


def test_a_product_without_nitrogen_goes_by_its_label() -> None:
    found = advice(garden(AUTUMN, "structure")[MAPLE])
    made = dose(found, Product(ProductLabel(0, 10, 10), 2.0, density=1.25))
    assert made is not None
    assert made.g_per_l == (0.5, 0.5)
    assert made.millilitres(10.0, 1.25) == (4.0, 4.0)
    with pytest.raises(ValueError, match="without nitrogen"):
        dose(found, Product(ProductLabel(0, 10, 10)))


def test_no_dose_while_it_waits() -> None:
    assert dose(advice(garden(WINTER, "structure")[MAPLE]), Product(ProductLabel(20, 20, 20), 1.0)) is None


@given(
    st.sampled_from(DAYS),
    st.sampled_from(AIMS),
    st.sampled_from(SPECIES),
    st.floats(0.5, 33),
    st.floats(0.01, 20),
)
def test_no_dose_passes_the_label_or_the_nitrogen(
    today: date, aim: str, species: str, n_percent: float, rate: float
) -> None:
    found = advice(garden(today, aim)[species])
    made = dose(found, Product(ProductLabel(n_percent, 10, 10), rate))
    if made is not None:
        assert made.g_per_l[0] <= made.g_per_l[1] <= rate * 1.000001
        assert made.made[1].n <= found.n_mg_l[1] * 1.000001


def test_what_is_low_in_nitrogen() -> None:
    share = KNOWN.feeding.low_nitrogen.most_share_percent
    low = [
        Product(ProductLabel(*npk)).is_low_in_nitrogen(share) for npk in ((0, 10, 10), (5, 10, 10), (4, 6, 6))
    ]
    assert low == [True, True, True]
    assert not Product(ProductLabel(3, 3, 3)).is_low_in_nitrogen(share)
