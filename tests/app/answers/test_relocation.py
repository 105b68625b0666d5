"""Moves of the season, answered: a tree then stands where it was brought, and everything goes by that."""

from __future__ import annotations

import json
import re
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from tests.app.conftest import run

if TYPE_CHECKING:
    from tests.app.conftest import Program

pytestmark = pytest.mark.slow

COLD = ("--db", "cold.db", "--today", "2014-11-15")
FIG, MAPLE = "Tropical fig 1", "Japanese maple 1"


@pytest.fixture
def cold(leafclock: Program) -> Program:
    """Give a bench in Illinois in mid November, without a place for the winter."""
    where = ("--db", "cold.db", "--place", "Lisle", "--today", "2014-06-01")
    assert leafclock("start", *where, "--trees", "2 Japanese maple; tropical fig").status == 0
    return leafclock


def late(*where: str, move: str = "shelter in") -> dict[str, str]:
    """Return the names of moves that are late, by tree."""
    said = json.loads(run("due", *where, "--json").out)
    labels = {row["tree"]["id"]: row["tree"]["label"] for row in trees(*where)}
    groups = [one for one in said if one["urgency"] == "late" and one["items"][0]["operation"] == move]
    return {labels[item["tree_id"]]: one["name"] for one in groups for item in one["items"]}


def trees(*where: str) -> list[dict[str, Any]]:
    """Return the trees with their states."""
    found: list[dict[str, Any]] = json.loads(run("tree", "list", *where, "--json").out)
    return found


def stands(label: str, *where: str) -> str:
    """Return where a tree stands."""
    spots = {one["id"]: one["name"] for one in json.loads(run("spot", "list", *where[:2], "--json").out)}
    (spot,) = [spots[row["state"]["spot"]] for row in trees(*where) if row["tree"]["label"] == label]
    return str(spot)


def test_a_garden_without_a_place_is_asked_for_one_in_one_question(cold: Program) -> None:
    name = late(*COLD)[MAPLE]
    refused = cold("answer", name, "Moved", *COLD)
    assert refused.status == 2
    assert "No spot of the garden serves" in refused.out
    assert refused.err.endswith("which makes one: one of cold frame, frost-free, heated\n")
    said = cold("answer", name, "Moved", *COLD, typed="shed, frost-free\n")
    assert said.status == 0, said.err
    assert "Spot added: shed, frost-free." in said.out
    assert "Moved to “shed”: Japanese maple 1 and Japanese maple 2." in said.out
    assert stands(MAPLE, *COLD) == "shed"
    assert MAPLE not in late(*COLD)


def test_the_only_spot_that_serves_is_taken_and_named(cold: Program) -> None:
    assert cold("spot", "add", "frame", "--profile", "cold frame", "--db", "cold.db").status == 0
    said = cold("answer", late(*COLD)[MAPLE], "moved", *COLD)
    assert said.out.splitlines()[-1] == "Moved to “frame”: Japanese maple 1 and Japanese maple 2."


@pytest.mark.parametrize("given", ["", "FRAME", "SHED"])
def test_of_several_the_one_that_the_line_names_is_taken_unless_another_is_given(
    cold: Program, given: str
) -> None:
    for name, profile in (("frame", "cold frame"), ("shed", "frost-free")):
        assert cold("spot", "add", name, "--profile", profile, "--db", "cold.db").status == 0
    said = json.loads(run("due", *COLD, "--json").out)
    (line,) = [one for one in said if late(*COLD)[MAPLE] == one["name"]]
    assert line["items"][0]["also"]
    (named,) = {r["found"] for r in line["items"][0]["reasons"] if r["code"] == "goes_to"}
    words = ("--to", given) if given else ()
    assert cold("answer", line["name"], "moved", *words, *COLD).status == 0
    assert stands(MAPLE, *COLD) == (given.lower() or named)


@pytest.mark.parametrize(
    ("words", "right"),
    [
        (("--to", "cellar"), "no spot 'cellar'; right would be one of 'bench', or, for a new one, --profile"),
        (("--to", "cellar", "--profile", "igloo"), "found 'igloo'"),
        (("--to", "bench", "--profile", "heated"), "is there already, as open"),
        (("--profile", "heated"), "--to NAME --profile PROFILE"),
    ],
)
def test_what_cannot_be_moved_to_changes_nothing(cold: Program, words: tuple[str, ...], right: str) -> None:
    refused = cold("answer", late(*COLD)[FIG], "moved", *words, *COLD)
    assert refused.status == 2
    assert right in refused.err
    assert stands(FIG, *COLD) == "bench"
    assert [one["name"] for one in json.loads(cold("spot", "list", "--db", "cold.db", "--json").out)] == [
        "bench"
    ]


def test_a_move_is_not_logged_without_its_place(cold: Program) -> None:
    refused = cold("log", FIG, "shelter in", *COLD)
    assert refused.status == 2
    assert "leafclock tree change 'Tropical fig 1' --spot SPOT" in refused.err


def test_a_tree_carried_out_in_july_is_asked_in_again(cold: Program) -> None:
    """The worst that was seen: a fig answered out was still taken to stand inside."""
    assert (
        cold("answer", late(*COLD)[FIG], "moved", "--to", "kitchen", "--profile", "heated", *COLD).status == 0
    )
    july = ("--db", "cold.db", "--today", "2015-07-05")
    assert (
        cold("answer", late(*july, move="shelter out")[FIG], "moved", *july).out.splitlines()[-1]
        == f"Moved to “bench”: {FIG}."
    )
    assert stands(FIG, *july) == "bench"
    august = cold("why", FIG, "shelter in", "--db", "cold.db", "--today", "2015-08-10").out
    assert "September" in august
    assert "To “kitchen”." in august
    september = cold("due", "--db", "cold.db", "--today", "2015-09-12").out
    assert "Move into shelter: Tropical fig 1" in september
    assert "Look over the trees indoors" not in september


def test_a_move_under_cover_does_not_end_in_the_open_nor_where_the_tree_stands(cold: Program) -> None:
    name = late(*COLD)[FIG]
    refused = cold("answer", name, "Moved", "--to", "bench", *COLD)
    assert (refused.status, "in the open" in refused.err) == (2, True)
    assert stands(FIG, *COLD) == "bench"


def test_a_tender_tree_in_too_cold_a_room_is_told_once_and_a_place_is_asked_for(cold: Program) -> None:
    cold("spot", "add", "porch", "--profile", "frost-free", *COLD[:2])
    said_in_due = " ".join(cold("due", *COLD).out.split())
    assert "to “porch”, not warm enough: better a heated room" in said_in_due
    where = (*COLD[:2], "--today", "2014-11-16")
    assert (
        "for all of the winter" not in cold("answer", late(*COLD)[FIG], "Moved", "--to", "porch", *COLD).out
    )
    assert stands(FIG, *COLD) == "porch"
    assert FIG not in late(*where)
    made = late(*where, move="winter place")[FIG]
    assert "needs a heated room" in cold("due", *where).out
    said = cold("answer", made, "Made", *where, typed="parlour, heated\n")
    assert said.status == 0, said.err
    assert "Spot added: parlour, heated." in said.out
    assert FIG in late(*where)


def test_who_leaves_a_tree_outside_is_told_once_what_it_meets(cold: Program) -> None:
    """Lisle's coldest nights fall far below freezing each winter (NOAA normals); a tropical fig bears none of that."""
    name = late(*COLD)[FIG]
    said = cold("answer", name, "not this year", *COLD)
    assert said.status == 0
    met = re.search(
        r"meets (-\d+) °C in the coldest night of a middle winter, (-\d+) °C in one of ten",
        " ".join(said.out.split()),
    )
    assert met is not None
    assert int(met[2]) < int(met[1]) < -12
    assert "Tropical fig: harmed below" in said.out
    assert "meets" not in cold("due", *COLD).out
    assert "It stands in the open already." in cold("why", FIG, "shelter out", *COLD).out


def test_nothing_is_late_since_before_its_tree_was_known(leafclock: Program) -> None:
    """Near Chicago maples go in late in October, and want shade from early summer on (growers' dates)."""
    for day, after, what in (
        ("2014-11-20", "2014-11-27", "shelter in"),
        ("2015-07-10", "2015-07-17", "shade on"),
    ):
        where = ("--db", f"{day}.db", "--place", "Lisle", "--today", day)
        assert leafclock("start", *where, "--trees", "Japanese maple").status == 0
        said = json.loads(leafclock("due", *where[:2], "--today", after, "--json").out)
        (item,) = [one["items"][0] for one in said if one["items"][0]["operation"] == what]
        assert [one["found"] for one in item["reasons"] if one["code"] == "overdue"] == [day]
        (cause,) = [one["found"] for one in item["reasons"] if one["code"] in ("cold", "hot_days")]
        assert cause < day  # what is told of the weather is told of the day from which it holds


def test_a_move_that_is_late_cannot_be_put_off(cold: Program) -> None:
    name = late(*COLD)[MAPLE]
    refused = cold("answer", name, "in a week", *COLD)
    assert refused.status == 2
    assert "cannot wait until 22 November: it is late since" in refused.err
    assert late(*COLD)[MAPLE] == name


def test_a_move_is_put_off_as_far_as_its_last_day_and_then_held_back(cold: Program) -> None:
    assert cold("spot", "add", "frame", "--profile", "cold frame", "--db", "cold.db").status == 0

    def moves(day: str) -> dict[str, tuple[str, str, str]]:
        said = json.loads(run("due", "--db", "cold.db", "--today", day, "--days", "14", "--json").out)
        found = [one for one in said if one["items"][0]["operation"] == "shelter in"]
        return {
            one["name"]: (
                one["items"][0]["opens"]["likely"],
                one["items"][0]["closes"]["likely"],
                one["urgency"],
            )
            for one in found
            if one["items"][0]["species"] == "acer-palmatum"
        }

    day = next(day for day in (f"2014-10-{n:02}" for n in range(1, 32)) if moves(day))
    ((name, (_, last, _)),) = moves(day).items()
    near = str(date.fromisoformat(last) - timedelta(days=3))
    refused = cold("answer", next(iter(moves(near))), "in a week", "--db", "cold.db", "--today", near)
    assert refused.status == 2
    assert "its time ends about" in refused.err
    assert cold("answer", name, "in a week", "--db", "cold.db", "--today", day).status == 0
    for n in range(7):
        assert not moves(str(date.fromisoformat(day) + timedelta(days=n)))
    assert moves(str(date.fromisoformat(day) + timedelta(days=7)))
