"""The audit: shares that add up, and weak numbers that stand in config/ where it says they do."""

from __future__ import annotations

import json
import re
import tomllib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pytest

from calendar_core.knowledge.profiles.bundled import folder as bundled
from tests.app.conftest import DAY, run

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tests.app.conftest import Program

pytestmark = pytest.mark.slow

CONFIG = bundled("config")
AT_NAGANO = ("--place", "Nagano", "--today", DAY)
BASES = ("published", "fitted", "common practice", "from memory", "estimate")
WEAK = re.compile(
    r"  (?P<days>\d+) days?, (?P<windows>\d+) windows?: (?P<file>\S+\.toml): (?P<key>.+?) = (?P<value>\S+) "
    r"give or take (?P<doubt>\S+?)(?:, shared by (?P<species>\d+) species)? "
    r"(?P<basis>common practice|from memory, unchecked|an estimate|fitted to records|published)\."
)


@dataclass(frozen=True)
class Listed:
    """A weak number as it is printed."""

    days: int
    windows: int
    file: str
    key: str
    value: str
    species: int
    basis: str


def listed(out: str) -> list[Listed]:
    """Return the weak numbers of an audit, in their order; each must have been understood."""
    part = out.partition("Weak numbers that decide most\n")[2].partition("\nSources\n")[0]
    blocks = [block for block in part.split("\n\n")[1:] if block.strip()]
    found = [WEAK.match("  " + " ".join(block.split())) for block in blocks]
    assert all(found), blocks[[bool(one) for one in found].index(False)]
    return [
        Listed(
            int(m["days"]), int(m["windows"]), m["file"], m["key"], m["value"], int(m["species"] or 1), m["basis"]
        )
        for m in found
        if m
    ]  # fmt: skip


def shares(out: str) -> dict[str, tuple[int, list[int]]]:
    """Return how many numbers a row counts and its shares in percent, by the name in front."""
    row = re.compile(r"^  (\S.*?) {2,}(\d+)((?: +\d+ %){5})$", re.MULTILINE)
    return {m[1]: (int(m[2]), [int(p) for p in re.findall(r"(\d+) %", m[3])]) for m in row.finditer(out)}


def numbers_at(file: str, key: str) -> list[float]:
    """Return what stands at a key of a file of config/; works go by their id or operation, of which some come twice."""
    steps: list[int | str] = [int(m[1]) if m[1] else m[2] for m in re.finditer(r"\[(\d+)\]|([^.\[\]]+)", key)]
    table: Any = tomllib.loads((CONFIG / file).read_text(encoding="utf-8"))
    name = re.sub(r" \([^)]*\)$", "", str(steps[0]))  # without the answer for which it stands
    works = [w for w in table.get("work", []) if w.get("id", w["operation"]) == name]
    found = [_at(work, steps[1:]) for work in works] if works else [_at(table, steps)]
    return [value for value in found if isinstance(value, int | float)]


def _at(table: Any, steps: Iterable[int | str]) -> Any:
    for step in steps:
        inside = step < len(table) if isinstance(step, int) else step in table
        if not inside:
            return None
        table = table[step]
    return table


def kinds_of(species: str) -> set[str]:
    """Return the files a species takes its numbers from."""
    table = tomllib.loads((CONFIG / "species" / f"{species}.toml").read_text(encoding="utf-8"))
    files, kind = {f"species/{species}.toml"}, table.get("kind")
    while kind is not None:
        files.add(f"kinds/{kind}.toml")
        kind = tomllib.loads((CONFIG / "kinds" / f"{kind}.toml").read_text(encoding="utf-8")).get("of")
    return files


def cited_in(table: object) -> set[str]:
    """Return all values of keys named ``source``."""
    if isinstance(table, list):
        return set().union(*map(cited_in, table))
    if not isinstance(table, dict):
        return set()
    own = {table["source"]} if isinstance(table.get("source"), str) else set()
    return own.union(*map(cited_in, table.values()))


@pytest.fixture(scope="module")
def whole() -> str:
    """Give the audit of all species at Nagano with every number listed; it takes a while."""
    done = run("audit", *AT_NAGANO, "--most", "500")
    assert (done.status, done.err) == (0, "")
    return done.out


@pytest.fixture(scope="module")
def pine() -> str:
    """Give the audit of the black pine at Nagano."""
    done = run("audit", "black pine", *AT_NAGANO)
    assert (done.status, done.err) == (0, "")
    return done.out


def test_each_row_adds_up(whole: str) -> None:
    rows = shares(whole)
    assert len(rows) == len(list((CONFIG / "species").glob("*.toml"))) + 1
    for name, (count, percent) in rows.items():
        assert abs(sum(percent) - 100) <= 2, name  # each of five shares is rounded
        assert count > 0
    together = rows.pop("all together")[0]
    assert together == sum(count for count, _ in rows.values())


def test_weak_numbers_are_sorted_by_what_they_move(whole: str, pine: str) -> None:
    for out in (whole, pine):
        days = [one.days for one in listed(out)]
        assert days == sorted(days, reverse=True)
        assert all(one.windows >= 1 for one in listed(out))
    assert len(listed(pine)) == 15
    assert len(listed(whole)) > 100


def test_every_weak_number_stands_where_it_says(whole: str) -> None:
    lost = [
        one for one in listed(whole) if one.value not in [f"{n:g}" for n in numbers_at(one.file, one.key)]
    ]
    assert [f"{one.file}: {one.key} = {one.value}" for one in lost] == []


def test_no_number_is_listed_twice(whole: str) -> None:
    places = [(one.file, one.key) for one in listed(whole)]
    assert len(set(places)) == len(places)


def test_a_number_is_shared_by_no_more_species_than_take_it(whole: str) -> None:
    uses = [kinds_of(path.stem) for path in (CONFIG / "species").glob("*.toml")]
    for one in listed(whole):
        if one.file != "pests.toml":
            assert 1 <= one.species <= sum(one.file in files for files in uses), one


def test_what_is_published_of_the_plant_itself_is_not_called_weak(whole: str) -> None:
    """Numbers fitted to other plants are the one exception: stages.X.need.ln_heat."""
    strong = {"published", "fitted to records"}
    assert {one.key.rpartition(".")[2] for one in listed(whole) if one.basis in strong} <= {"ln_heat"}
    assert {one.basis for one in listed(whole)} & {"an estimate", "common practice"}


def test_the_lines_are_clean(whole: str, pine: str) -> None:
    for line in (*whole.splitlines(), *pine.splitlines()):
        assert len(line) <= 100
        assert not re.search(r"[{}]|\bNone\b|degC|\bnan\b", line), line


def test_one_is_one(whole: str) -> None:
    assert re.findall(r"\b1 (?:windows|days)\b", whole) == []


def test_every_source_is_told_once(whole: str) -> None:
    tail = " ".join(whole.partition("\nSources\n")[2].split())
    count = int(re.match(r"(\d+) sources stand behind numbers\.", tail)[1])  # type: ignore[index] # it must match
    unused = re.search(r"not for a number: (.*)\.$", tail)
    names = unused[1].split(", ") if unused else []
    known = tomllib.loads((CONFIG / "sources.toml").read_text(encoding="utf-8"))
    assert set(names) <= set(known)
    assert len(set(names)) + count == len(known)
    elsewhere = cited_in(
        [tomllib.loads(path.read_text(encoding="utf-8")) for path in CONFIG.glob("**/*.toml")]
    )
    assert set(names) <= elsewhere  # cited at least for a statement


def test_one_species_alone_has_no_list_of_sources(pine: str) -> None:
    assert list(shares(pine)) == ["Japanese black pine"]
    assert "\nSources\n" not in pine


@pytest.mark.parametrize("most", [1, 3])
def test_as_many_are_listed_as_are_asked_for(pine: str, most: int) -> None:
    some = run("audit", "black pine", *AT_NAGANO, "--most", str(most)).out
    assert listed(some) == listed(pine)[:most]
    assert len(json.loads(run("audit", "kuromatsu", *AT_NAGANO, "--most", str(most), "--json").out)["weakest"]) == most  # fmt: skip


def test_data_say_what_the_text_says(pine: str) -> None:
    data = json.loads(run("audit", "black pine", *AT_NAGANO, "--json").out)
    (row,) = data["shares"].values()
    count, percent = shares(pine)["Japanese black pine"]
    assert row["numbers"] == count
    assert [round(row[basis] * 100) for basis in BASES] == percent
    assert sum(row[basis] for basis in BASES) == pytest.approx(1)
    assert [(w["file"], w["key"]) for w in data["weakest"]] == [(w.file, w.key) for w in listed(pine)]
    assert set(data["cited"]) <= set(tomllib.loads((CONFIG / "sources.toml").read_text(encoding="utf-8")))


def test_the_garden_s_answers_and_weather_are_used(garden: Program, pine: str) -> None:
    at_home = garden("audit", "black pine").out
    assert "At My garden: " in at_home
    assert "At Nagano: " in pine
    assert shares(at_home) == shares(pine)
    assert listed(at_home) != listed(pine)
    late = "structural prune after leaf fall (after leaf fall)."
    assert not [key for key in weak_of_maple(garden) if key.startswith(late)]
    garden("choices", "big cuts on maples", "after leaf fall")
    assert [key for key in weak_of_maple(garden) if key.startswith(late)]


def weak_of_maple(garden: Program) -> list[str]:
    """Return the keys of all weak numbers of the maple, as the garden answers."""
    return [one.key for one in listed(garden("audit", "Japanese maple", "--most", "500").out)]


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("mapel", *AT_NAGANO), "species: found 'mapel', not known yet; the nearest known are: Trident maple, "),
        (("black pine", "--place", "Nowhere"), "'Nowhere' is no bundled place; right would be one listed by: leafclock places"),
        ((), "garden.db: there is no such database yet; right would be another, or: leafclock start; or a bundled place: "),
    ],
)  # fmt: skip
def test_an_audit_that_cannot_be_is_refused_in_one_line(
    leafclock: Program, words: tuple[str, ...], line: str
) -> None:
    refused = leafclock("audit", *words)
    assert (refused.status, refused.out) == (2, "")
    assert refused.err.startswith(f"leafclock: {line}")
    assert refused.err.count("\n") == 1


@pytest.mark.parametrize("most", ["0", "501", "few"])
def test_how_many_is_a_count(leafclock: Program, most: str) -> None:
    refused = leafclock("audit", "black pine", *AT_NAGANO, "--most", most)
    assert (refused.status, refused.out) == (2, "")
    assert "'--most'" in refused.err
