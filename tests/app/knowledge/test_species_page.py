"""The page of a species: under each number what it rests on; in the grower's units; at any place, for any species."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any

import pytest

from calendar_core.app.shell.session import knowledge
from calendar_core.knowledge.profiles.bundled import folder as bundled
from tests.app.conftest import DAY, run

if TYPE_CHECKING:
    from pathlib import Path

    from tests.app.conftest import Answer, Program

pytestmark = pytest.mark.slow

SPECIES = sorted(path.stem for path in (bundled("config") / "species").glob("*.toml"))
WIDEST = 100
BASIS = re.compile(
    r"^ +Rests on: ((published|fitted to records) \(.+|an estimate\. .+|an estimate \(.+"
    r"|common practice|from memory, unchecked)"
)
LEFT_OVER = re.compile(r"[{}]|\bNone\b|degC|degF|  \[|\bnan\b|(?<!\.)\.\.(?!\.)")
STRIP = re.compile(r"[.:#]{48}$")  # twelve months of four marks
HOLD = re.compile(r"^    Not (in the same cycle|within [\d.]+ weeks) of: [a-z ]+\.$")


def page(name: str, place: str = "Nagano", day: str = DAY) -> str:
    """Return the page of a species at a bundled place."""
    shown = run("species", "show", name, "--place", place, "--today", day)
    assert (shown.status, shown.err) == (0, "")
    return shown.out


def sections(out: str) -> dict[str, list[str]]:
    """Return the lines under each heading; what stands above the first under an empty one."""
    found: dict[str, list[str]] = {}
    heading = ""
    for before, line in zip(["-", *out.splitlines()], out.splitlines(), strict=False):
        if not before and line and not line.startswith(" "):
            heading = line
        else:
            found.setdefault(heading, []).append(line)
    return found


def blocks(lines: list[str]) -> list[list[str]]:
    """Return lines in blocks, each beginning with one that is indented by two."""
    out: list[list[str]] = []
    for line in lines:
        if re.match(r"  \S", line):
            out.append([])
        if line:
            out[-1].append(line)
    return out


def one_line(lines: list[str]) -> str:
    return " ".join(" ".join(lines).split())


def as_data(name: str) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(run("species", "show", name, "--json").out)
    return data


def usual_works(name: str) -> list[dict[str, Any]]:
    """Return the works of a profile that hang on no answer, or on the usual one."""
    usual = {key: one.default for key, one in knowledge().choices.items()}
    return [
        work
        for work in as_data(name)["work"]
        if work["when"] is None or usual[work["when"]["choice"]] == work["when"]["option"]
    ]


def us_garden(folder: Path) -> str:
    """Found a garden in US units and return its database."""
    database = str(folder / "us.db")
    made = run(
        "start", "--db", database, "--place", "Seattle", "--units", "us", "--today", DAY,
        "--trees", "Japanese maple; black pine",
    )  # fmt: skip
    assert made.status == 0
    return database


# ---- the list ----


def test_every_profile_is_listed_with_its_names(leafclock: Program) -> None:
    listed = leafclock("species", "list")
    data = json.loads(leafclock("species", "list", "--json").out)
    flat = one_line(listed.out.splitlines())
    starts = [line for line in listed.out.splitlines() if not line.startswith(" ")]
    assert sorted(data) == SPECIES
    assert len(starts) == len(SPECIES)
    assert starts == sorted(starts)
    assert all(profile["latin"] in flat for profile in data.values())
    assert all(also in flat for profile in data.values() for also in profile["also"])
    assert max(map(len, listed.out.splitlines())) <= WIDEST


@pytest.mark.parametrize("name", ["Acer palmatum", "acer-palmatum", "JAPANESE MAPLES", "momiji"])
def test_a_page_is_found_by_any_of_its_names(name: str) -> None:
    assert page(name).startswith("Japanese maple (Acer palmatum)\nAlso called palmatum, momiji.\n")


# ---- the page ----


@pytest.mark.parametrize("species", SPECIES)
def test_every_species_has_a_clean_page(species: str) -> None:
    out = page(species)
    prose = [line for line in out.splitlines() if not STRIP.search(line)]
    assert max(map(len, out.splitlines())) <= WIDEST
    assert [line for line in prose if LEFT_OVER.search(line)] == []
    assert all(line == line.rstrip() for line in out.splitlines())


@pytest.mark.parametrize("species", SPECIES)
def test_under_each_number_stands_what_it_rests_on(species: str) -> None:
    at, data = sections(page(species)), as_data(species)
    stages, lines = blocks(at["Stages"]), blocks(at["Sun, heat, cold and water"])
    works = blocks(at["Each work"])
    given = [one for table in ("tolerance", "aftercare") for one in data[table].values() if one is not None]
    assert len(stages) == len(data["stages"])
    assert len(lines) == len(given) + 1  # and water
    assert len(works) == sum(bool(STRIP.search(line)) for line in at["The year's work"])
    for block in (*stages, *lines, *works):
        assert any(BASIS.match(line) for line in block[1:]), block[0]
        for line, below in zip(block, (*block[1:], ""), strict=True):
            assert not HOLD.match(line) or BASIS.match(below), line
    assert all(BASIS.match(line) for line in page(species).splitlines() if "Rests on" in line)


@pytest.mark.parametrize("species", ["acer-palmatum", "pinus-thunbergii", "ficus-microcarpa"])
@pytest.mark.parametrize("place", ["Nagano", "Melbourne"])
def test_no_work_is_left_out(species: str, place: str) -> None:
    at = sections(page(species, place))
    rarely = re.search(r"Hardly ever here: (.*)\.", one_line(at["The year's work"]))
    names = [block[0].partition(":")[0].strip() for block in blocks(at["Each work"])]
    absent = rarely[1].split(", ") if rarely else []
    assert len(names) + len(absent) == len(usual_works(species))
    assert len({*names, *absent}) == len(names) + len(absent)  # two works never share a name
    drawn = [STRIP.sub("", line).strip() for line in at["The year's work"] if STRIP.search(line)]
    assert drawn == names


def test_a_basis_is_that_of_the_profile() -> None:
    stages, data = blocks(sections(page("black pine"))["Stages"]), as_data("black pine")["stages"]
    words = {"published": "published", "fitted": "fitted to records", "estimate": "an estimate"}
    for block, stage in zip(stages, data.values(), strict=True):
        told = one_line(block).partition("Rests on: ")[2]
        assert told.startswith(words.get(stage["basis"], stage["basis"]))
        assert stage["note"] is None or "degC" in stage["note"] or " ".join(stage["note"].split()) in told


@pytest.mark.parametrize("species", ["acer-palmatum", "pinus-thunbergii", "rhododendron-indicum"])
def test_what_is_never_done_and_what_is_poisonous_stands_under_take_care(species: str) -> None:
    care, data = one_line(sections(page(species))["Take care"]), as_data(species)
    if data["toxic"] is None:  # else the caution itself is told
        assert f"{data['toxicity']['text']} Rests on: " in care
    assert data["never"]
    for one in data["never"].values():
        assert f": never; {one['why']} Rests on: " in care
    assert care.count("Rests on: ") == len(data["never"]) + 1


def test_no_caution_is_told_twice() -> None:
    care = sections(page("Ficus microcarpa"))["Take care"]
    assert one_line(care).count("milky sap irritates") == 1


@pytest.mark.parametrize("species", ["acer-palmatum", "juniperus-chinensis", "ficus-microcarpa"])
def test_counts_agree_with_their_nouns(species: str) -> None:
    out = one_line(page(species).splitlines())
    assert re.findall(r"\b(?:1|one) (?:weeks|years|days|seasons)\b", out) == []
    assert re.findall(r"\b(\d+), \1 or \d+ years\b", out) == []  # "every 2, 2 or 3 years"


# ---- the garden's own page: its answers, its units ----


def test_the_garden_s_answers_change_the_page(garden: Program) -> None:
    def shown(*where: str) -> Answer:
        return garden("species", "show", "Japanese maple", *where)

    usual, elsewhere = shown().out, shown("--place", "Nagano").out
    assert "Its year at My garden, cycle of 2015" in usual
    (shade,) = (block for block in blocks(sections(usual)["Where it stands"]) if "Put up shade: " in block[0])
    assert re.fullmatch(r"  Put up shade: from \d+ \w+, by \d+ \w+", shade[0])
    assert "Here: Yes, or afternoon shade." in one_line(usual.splitlines())
    assert garden("choices", "summer shade", "none").status == 0
    changed = shown().out
    assert "Put up shade" not in changed
    assert "Take down shade" not in changed
    assert "Here: No." in one_line(changed.splitlines())
    assert shown("--place", "Nagano").out == elsewhere  # a bundled place has no answers but the usual


def test_only_questions_that_change_its_work_are_asked() -> None:
    assert "winter store" in one_line(sections(page("Japanese maple"))["Where growers differ"])
    assert "pinching junipers" not in page("Japanese maple")
    assert "pinching junipers" in page("shimpaku")


@pytest.mark.parametrize("species", ["Japanese maple", "black pine", "satsuki"])
def test_us_units_are_used_throughout(folder: Path, species: str) -> None:
    out = run("species", "show", species, "--db", us_garden(folder), "--today", DAY).out
    assert "°F" in out
    assert re.findall(r".*(?:°C|degC).*", out) == []
    assert (
        re.search(r"likely \d\d? (January|February|March|April|May|June)\b", out) is None
    )  # month before day


def test_a_line_of_heat_is_the_same_in_both_units(folder: Path) -> None:
    """30 °C is 86 °F and -10 °C 14 °F (NIST SP 811:2008, appendix B.9: t/°F = 1.8 t/°C + 32)."""
    us = run("species", "show", "Japanese maple", "--db", us_garden(folder), "--today", DAY).out
    metric = page("Japanese maple")
    assert "Shade when the day passes 30 °C\n" in metric
    assert "Shade when the day passes 86 °F\n" in us
    assert "Roots reported killed at -10 °C\n" in metric
    assert "Roots reported killed at 14 °F\n" in us


def test_a_difference_of_temperatures_is_no_temperature(folder: Path) -> None:
    """5 °C of spread are 9 °F, not 41: differences are written out, so that nothing converts them."""
    there = run("species", "show", "Japanese maple", "--db", us_garden(folder), "--today", DAY).out
    for shown in (page("Japanese maple"), there):
        assert "sd 5 Celsius degrees" in one_line(shown.splitlines())
        assert "(1.6 and -1.5 days per Celsius degree)" in one_line(shown.splitlines())


@pytest.mark.parametrize("species", SPECIES)
def test_it_says_where_a_tree_stands_or_that_it_need_not_move(species: str) -> None:
    moves = ["Move out of shelter", "Move into shelter", "Put up shade", "Take down shade"]
    told = blocks(sections(page(species))["Where it stands"])
    assert [block[0].strip().partition(":")[0] for block in told] == moves
    for block in told:
        says = block[0].partition(":")[2].strip()
        if says.startswith("not for the season here"):
            continue
        assert re.fullmatch(r"from \d+ \w+( \d{4})?, by \d+ \w+( \d{4})?", says), says
        assert any(BASIS.match(line) for line in block[1:]), block


def test_no_degree_is_left_without_its_unit_in_us_units(folder: Path) -> None:
    """The maple's shade line has a second figure, 35 °C, which is 95 °F (NIST SP 811:2008, appendix B.9)."""
    there = run("species", "show", "Japanese maple", "--db", us_garden(folder), "--today", DAY).out
    assert "full shade from 35;" not in one_line(there.splitlines())


# ---- the southern half of the world ----


def test_the_year_is_the_other_way_round_in_the_south() -> None:
    """Melbourne repots maples as buds swell, in late winter to early spring: July to September there.

    Common practice of southern growers.
    """
    strips = {
        STRIP.sub("", line).strip(): STRIP.search(line)[0]  # type: ignore[index] # tested just before
        for line in sections(page("Japanese maple", "Melbourne"))["The year's work"]
        if STRIP.search(line)
    }
    month = strips["Repot"].index("#") // 4 + 1
    assert 7 <= month <= 9
    assert strips["Cut back"][:4].strip("#:") == ""  # January is summer there


@pytest.mark.parametrize("species", ["pinus-thunbergii", "ficus-microcarpa", "acer-palmatum"])
@pytest.mark.parametrize("place", ["Nagano", "Melbourne"])
def test_a_page_speaks_of_leaf_fall_only_where_leaves_fall(species: str, place: str) -> None:
    out = one_line(sections(page(species, place))["Each work"])
    assert ("leaf_fall" in as_data(species)["stages"]) == ("leaf fall" in out)


def test_what_does_not_come_is_not_said_to_open_what_it_closes() -> None:
    out = one_line(sections(page("black pine", "Melbourne"))["Each work"])
    assert "winter rest: does not come here" in page("black pine", "Melbourne")
    assert re.findall(r"Opens with needles hardened \([^)]*\)\. What opens it, winter rest", out) == []


# ---- refusals ----


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("mapel", "--place", "Nagano"), "species: found 'mapel', not known yet; the nearest known are: Trident maple, "),
        (("", "--place", "Nagano"), "species: found '', not known yet; the nearest known are: "),
        (("Japanese maple", "--place", "Nowhere"), "'Nowhere' is no bundled place; right would be one listed by: leafclock places"),
        (("Japanese maple", "--place", ""), "'' is no bundled place; right would be one listed by: leafclock places"),
        (("Japanese maple",), "garden.db: there is no such database yet; right would be another, or: leafclock start; or a bundled place: --place Nagano, see: leafclock places"),
    ],
)  # fmt: skip
def test_a_page_that_cannot_be_shown_is_refused_in_one_line(
    leafclock: Program, words: tuple[str, ...], line: str
) -> None:
    refused = leafclock("species", "show", *words, "--today", DAY)
    assert (refused.status, refused.out) == (2, "")
    assert refused.err.startswith(f"leafclock: {line}")
    assert refused.err.count("\n") == 1
