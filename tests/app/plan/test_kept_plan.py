"""What is due is the plan of today, whatever was kept: the reference is a plan made anew from the whole log."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from calendar_core.app.plan.kept_plan import due_items, plan_missing
from calendar_core.app.shell.session import Session, open_session
from calendar_core.planning.groups import key_of
from calendar_core.planning.items import PUBLISH_FROM
from calendar_core.storage.schema.tables import kept_tree
from tests.app.conftest import DAY, run

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from calendar_core.garden.model import Tree
    from calendar_core.planning.items import Item
    from tests.app.conftest import Program

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("plans_anew")]

DAYS = 30
TODAY = date.fromisoformat(DAY)
WORDS = [
    ("log", "Japanese maple 1", "pinch"),
    ("log", "Japanese maples", "cut back", "2015-06-20", "--share", "60%"),
    ("log", "Black pine", "wire", "2015-05-02"),
    ("log", "Japanese maple 2", "repot", "2015-03-10"),
    ("seen", "Satsuki azalea", "bloom over", "2015-06-20"),
    ("wish", "Japanese maple 1", "full defoliation"),
    ("part", "add", "Japanese maple 1", "wound", "stub", "--height", "120"),
    ("choices", "big cuts on maples", "after leaf fall"),
    ("tree", "add", "Trident maple"),
    ("tree", "change", "Tropical fig", "--spot", "shed"),
    ("tree", "change", "Japanese maples", "--aim", "refinement", "--vigour", "5"),
    ("spot", "change", "shed", "--profile", "heated"),
]


def opened(today: date = TODAY) -> Session:
    return open_session("garden.db", None, today)


def anew(today: date, days: int) -> list[Item]:
    """Return what is due in a plan of the whole garden, nothing of it kept."""
    items = opened(today).plan.items
    due = [item for item in items if item.status != "possible" and item.chance >= PUBLISH_FROM]
    near = {(key_of(i), i.cycle) for i in due if i.opens.likely <= today + timedelta(days=days)}
    return [item for item in due if (key_of(item), item.cycle) in near]


def kept_now(session: Session) -> set[str]:
    """Return the labels of the trees of which something is kept."""
    with session.store.read() as connection:
        ids = set(connection.execute(kept_tree.select()).scalars())
    return {tree.label for tree in session.trees if tree.id in ids}


@pytest.mark.usefixtures("garden")
def test_what_is_kept_is_what_a_new_plan_says() -> None:
    first = due_items(opened(), DAYS)
    assert len(first) > 5
    assert due_items(opened(), DAYS) == first == anew(TODAY, DAYS)


def ran(words: tuple[str, ...]) -> int:
    """Run a command on the day of the tests; those about spots are of no day."""
    return run(*words, *(() if words[0] == "spot" else ("--today", DAY))).status


@pytest.fixture(scope="module")
def with_a_shed(founded: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the founded garden with a spot that is not in the open, and a pine in it."""
    database = tmp_path_factory.mktemp("shed") / "garden.db"
    database.write_bytes(founded.read_bytes())
    here = ("--db", str(database))
    assert run("spot", "add", "shed", "--profile", "frost-free", *here).status == 0
    assert run("tree", "change", "Black pine", "--spot", "shed", *here, "--today", DAY).status == 0
    return database


@pytest.mark.parametrize("words", WORDS, ids=" ".join)
def test_whatever_is_written(with_a_shed: Path, folder: Path, words: tuple[str, ...]) -> None:
    (folder / "garden.db").write_bytes(with_a_shed.read_bytes())
    due_items(opened(), DAYS)
    assert ran(words) == 0
    assert due_items(opened(), DAYS) == anew(TODAY, DAYS)


# Each word alone is tried above; here it is what comes after another, of which a few do in each run.
@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    steps=st.lists(st.tuples(st.sampled_from(WORDS), st.integers(0, 40)), min_size=1, max_size=4),
    days=st.sampled_from([0, 7, 60]),
)
def test_in_whatever_order(
    with_a_shed: Path, folder: Path, steps: list[tuple[tuple[str, ...], int]], days: int
) -> None:
    (folder / "garden.db").write_bytes(with_a_shed.read_bytes())
    due_items(opened(), days)
    for words, later in steps:
        ran(words)  # what comes twice may be refused, and then changes nothing
        today = TODAY + timedelta(days=later)
        assert due_items(opened(today), days) == anew(today, days)


def test_an_entry_makes_only_its_trees_be_planned_anew(garden: Program) -> None:
    garden("due")
    everyone = kept_now(opened())
    assert len(everyone) == 5
    assert garden("log", "Japanese maple 1", "pinch").status == 0
    assert kept_now(opened()) == everyone - {"Japanese maple 1"}


def test_a_choice_of_the_garden_concerns_all_trees(garden: Program) -> None:
    garden("due")
    said = garden("choices", "big cuts on maples", "after leaf fall")
    assert said.status == 0, said.err
    assert kept_now(opened()) == set()


def test_what_is_written_while_a_plan_is_made_is_not_lost(garden: Program) -> None:
    class Slow(Session):
        def part(self, trees: Sequence[Tree]) -> Session:
            part = super().part(trees)
            assert garden("log", "Japanese maple 1", "pinch").status == 0  # another process writes meanwhile
            return part

    session = opened()
    plan_missing(Slow(session.store, session.garden, session.clock))
    assert kept_now(opened()) == set()
    assert due_items(opened(), DAYS) == anew(TODAY, DAYS)


def test_new_weather_makes_all_trees_be_planned_anew(garden: Program, folder: Path) -> None:
    before = due_items(opened(), DAYS)
    rows = [  # a hot spring, invented
        f"{date(2015, 1, 1) + timedelta(days=n)},{20 + n % 7},{8 + n % 5}" for n in range(174)
    ]
    (folder / "hot.csv").write_text("\n".join(["date,t_max,t_min", *rows]), encoding="utf-8")
    said = garden("weather", "import", "hot.csv")
    assert said.status == 0, said.err
    after = due_items(opened(), DAYS)
    assert after == anew(TODAY, DAYS)
    assert after != before
