"""Profiles laid upon kinds: what stands nearer to the species wins, and each part knows where it was written."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendar_core.knowledge.profiles.kinds import Merged, merge, with_lines

Table = dict[str, Any]
FILE, KIND, ROOT = "species/oak.toml", "kinds/tree.toml", "kinds/root.toml"


def laid(own: Table, kind: Table, root: Table | None = None, **files: Table) -> Merged:
    """Return a made-up profile upon its kind, and that upon a root where there is one."""
    kinds = {KIND: kind} if root is None else {KIND: {**kind, "of": "root"}, ROOT: root}
    tables = {f"{name}.toml": table for name, table in files.items()}
    return merge(FILE, {"kind": "tree", **own}, kinds, tables)


def stages(*names: str, **after: str) -> Table:
    """Return stages in an order; those named in ``after`` come after another."""
    return {name: {"after": {"stage": after[name]}} if name in after else {} for name in names}


def names(merged: Merged) -> list[str]:
    return [str(work.get("id", work["operation"])) for work in merged.table["work"]]


@pytest.mark.parametrize(
    ("own", "order"),
    [
        (stages("b", "new"), ["a", "b", "new", "c", "d"]),  # behind the one above it
        (stages("new", new="b"), ["a", "b", "new", "c", "d"]),  # the first, behind that it comes after
        (stages("b", "new", new="c"), ["a", "b", "new", "c", "d"]),  # the place in the file is stronger
        (stages("new", "newer", new="a"), ["a", "new", "newer", "b", "c", "d"]),
        (stages("c", "new", "a", "newer"), ["a", "newer", "b", "c", "new", "d"]),
        (stages("new"), ["new", "a", "b", "c", "d"]),
        (stages("new", new="unknown"), ["new", "a", "b", "c", "d"]),
        (stages("d", "b"), ["a", "b", "c", "d"]),  # one that is there keeps its place
    ],
)
def test_a_new_stage_finds_its_place(own: Table, order: list[str]) -> None:
    merged = laid({"stages": own}, {"stages": stages("a", "b", "c", "d")})
    assert list(merged.table["stages"]) == order


def test_a_stage_is_replaced_whole_and_the_kind_stays_as_it_was() -> None:
    kind = {"stages": {"a": {"sign": "Buds swell.", "bbch": 1}, "b": {"sign": "Leaves."}}}
    merged = laid({"stages": {"a": {"sign": "Scales part."}}}, kind)
    assert merged.table["stages"] == {"a": {"sign": "Scales part."}, "b": {"sign": "Leaves."}}
    assert kind == {"stages": {"a": {"sign": "Buds swell.", "bbch": 1}, "b": {"sign": "Leaves."}}}


def test_works_are_replaced_by_id_or_operation_whatever_answer_they_stand_for() -> None:
    cold, cool = ({"choice": "store", "option": option} for option in ("cold", "cool"))
    kind = [
        {"operation": "store", "when": cold},
        {"operation": "store", "when": cool},
        {"operation": "wire"},
        {"operation": "wire", "id": "wire in winter"},
    ]
    merged = laid({"work": [{"operation": "wire", "how": "Gently."}, {"operation": "store"}]}, {"work": kind})
    assert merged.table["work"] == [
        {"operation": "store"},
        {"operation": "wire", "how": "Gently."},
        {"operation": "wire", "id": "wire in winter"},
    ]
    split = laid({"work": kind[:2]}, {"work": [{"operation": "store"}, {"operation": "wire"}]})
    assert split.table["work"] == [*kind[:2], {"operation": "wire"}]


def test_an_id_of_its_own_adds_a_work_and_leaves_that_of_the_operation() -> None:
    merged = laid({"work": [{"operation": "wire", "id": "wire late"}]}, {"work": [{"operation": "wire"}]})
    assert names(merged) == ["wire", "wire late"]


def test_works_of_a_kind_are_left_out() -> None:
    own = {"without": ["wire"], "work": [{"operation": "wire", "id": "wire late"}]}
    merged = laid(own, {"work": [{"operation": "wire"}, {"operation": "repot"}]})
    assert (names(merged), merged.odd, "without" in merged.table) == (["repot", "wire late"], [], False)
    odd = laid({"without": ["wire"]}, {"work": [{"operation": "repot"}]}).odd
    assert odd == [(FILE, ("without",), "found 'wire'; right would be a work of its kind: repot")]


def test_tables_by_key_and_others_as_a_whole_the_nearest_first() -> None:
    root = {"tolerance": {"a": 1, "b": 1, "c": 1}, "never": {"x": 1}, "water": {"thirst": "low", "dry": True}}
    kind = {"tolerance": {"b": 2, "c": 2}, "habit": "conifer", "label": "tree"}
    merged = laid({"tolerance": {"c": 3, "d": 3}, "never": {"y": 3}, "water": {"thirst": "high"}}, kind, root)
    assert merged.table == {
        "kind": "tree",
        "habit": "conifer",
        "tolerance": {"a": 1, "b": 2, "c": 3, "d": 3},
        "never": {"x": 1, "y": 3},
        "water": {"thirst": "high"},
        "work": [],
    }


def test_every_part_knows_the_file_and_key_it_was_written_in() -> None:
    root = {"work": [{"operation": "turn"}, {"operation": "wire"}], "tolerance": {"a": 1, "b": 1}}
    kind = {"work": [{"operation": "prune"}], "stages": {"s": {}}, "habit": "conifer"}
    own = {
        "work": [{"operation": "wire"}, {"operation": "pinch"}],
        "tolerance": {"b": 2},
        "stages": {"t": {}},
    }
    merged = laid({**own, "pests": ["mites"]}, kind, root, pests={"mites": {"how": "Look."}})
    assert names(merged) == ["turn", "wire", "prune", "pinch", "look for mites"]
    assert [merged.place(("work", i, "how")) for i in range(5)] == [
        (ROOT, ("work", 0, "how")),
        (FILE, ("work", 0, "how")),
        (KIND, ("work", 0, "how")),
        (FILE, ("work", 1, "how")),
        ("pests.toml", ("mites", "how")),
    ]
    assert merged.place(("tolerance", "a", "value")) == (ROOT, ("tolerance", "a", "value"))
    assert merged.place(("tolerance", "b")) == (FILE, ("tolerance", "b"))
    assert merged.place(("stages", "s", "need", "of")) == (KIND, ("stages", "s", "need", "of"))
    assert merged.place(("stages", "t")) == (FILE, ("stages", "t"))
    assert merged.place(("habit",)) == (KIND, ("habit",))
    assert merged.place(("latin",)) == (FILE, ("latin",))  # what is missing is missing in the profile


def test_a_look_for_a_pest_is_a_work_of_the_season_for_all_trees() -> None:
    mites = {"label": "Mites", "sign": "Dots.", "how": "Tap.", "basis": "common practice"}
    merged = laid({"pests": ["mites", "moths"]}, {}, pests={"mites": mites})
    assert merged.table["work"] == [
        {
            "operation": "pest look",
            "id": "look for mites",
            "due": "season",
            "shared": True,
            "how": "Tap.",
            "basis": "common practice",
        }
    ]
    assert merged.odd == [(FILE, ("pests", 1), "found 'moths'; right would be one of pests.toml: mites")]


def at(value: object) -> Table:
    return {
        "operation": "shade",
        "opens": {"mean_year": {"at_c": value}},
        "closes": [{"air": {"at_c": value}}],
    }


def test_lines_are_the_profiles_own_and_shifted() -> None:
    kind = {
        "tolerance": {"shade_from_c": {"value": 32}},
        "work": [
            at({"line": "shade_from_c", "shift_c": -12}),
            {**at({"line": "shade_from_c"}), "id": "plain"},
        ],
    }
    for own, line in (({}, 32), ({"tolerance": {"shade_from_c": {"value": 38}}}, 38)):
        merged = laid(own, kind)
        assert with_lines(merged.table)["work"] == [at(line - 12), {**at(line), "id": "plain"}]
        assert merged.odd == []
        assert merged.table["work"] == kind["work"]  # the plain table keeps the name of the line


def test_a_line_at_freezing_is_a_line() -> None:
    merged = laid({"tolerance": {"roots_c": {"value": 0}}}, {"work": [at({"line": "roots_c"})]})
    assert (with_lines(merged.table)["work"], merged.odd) == ([at(0)], [])


@pytest.mark.parametrize("tolerance", [{}, {"roots_c": {"low": 1, "high": 2}}, {"roots_c": 3}, 4])
def test_a_line_that_is_not_one_value_is_odd_where_it_is_named(tolerance: object) -> None:
    merged = laid({"tolerance": tolerance}, {"work": [at({"line": "roots_c"})]})
    message = "found {'line': 'roots_c'}; right would be a line of [tolerance] that is one value"
    assert merged.odd == [
        (KIND, ("work", 0, "opens", "mean_year", "at_c"), message),
        (KIND, ("work", 0, "closes", 0, "air", "at_c"), message),
    ]


def test_the_caution_for_the_sap_is_added_once_where_a_tool_meets_it() -> None:
    kind = {"work": [{"operation": "cut", "cautions": ["dust"]}, {"operation": "turn"}]}
    files = {
        "operations": {"cut": {"tools": ["saw", "knife"]}, "turn": {"tools": ["hands"]}},
        "cautions": {"latex": {"due_with": ["knife"]}, "resin": {"due_with": ["knife"]}},
    }
    merged = laid({"toxic": "latex"}, kind, **files)
    assert [work.get("cautions") for work in merged.table["work"]] == [["dust", "latex"], None]
    said = {"work": [{"operation": "cut", "cautions": ["latex"]}]}
    assert laid({"toxic": "latex"}, said, **files).table["work"][0]["cautions"] == ["latex"]
    assert laid({}, kind, **files).table["work"] == kind["work"]


@pytest.mark.parametrize(
    ("of", "kinds"),
    [
        ("palm", {KIND: {}}),
        ("tree", {KIND: {"of": "tree"}}),
        ("tree", {KIND: {"of": "root"}, ROOT: {"of": "tree"}}),
    ],
)
def test_an_unknown_kind_and_a_loop_end_the_chain(of: str, kinds: dict[str, Table]) -> None:
    merged = merge(FILE, {"kind": of, "latin": "Quercus"}, kinds, {})
    assert len(merged.odd) == 1
    assert merged.table["latin"] == "Quercus"


NAMES = st.sampled_from(["bud", "leaf", "fall", "rest"])
PARTS = st.dictionaries(st.sampled_from(["basis", "note", "value"]), st.integers(), max_size=2)
WORKS = st.lists(
    st.fixed_dictionaries({"operation": NAMES}, optional={"id": NAMES, "how": st.text(max_size=3)}),
    max_size=6,
)
TABLES = st.fixed_dictionaries(
    {},
    optional={
        "stages": st.dictionaries(NAMES, PARTS),
        "tolerance": st.dictionaries(NAMES, PARTS),
        "water": PARTS,
        "work": WORKS,
    },
)


def by_name(works: list[Table]) -> dict[str, list[Table]]:
    out: dict[str, list[Table]] = {}
    for work in works:
        out.setdefault(str(work.get("id", work["operation"])), []).append(work)
    return out


@given(kind=TABLES)
def test_a_profile_that_says_nothing_of_its_own_is_its_kind(kind: Table) -> None:
    merged = laid({}, kind)
    for key in ("stages", "tolerance", "water"):
        assert merged.table.get(key) == kind.get(key)
        assert list(merged.table.get(key, {})) == list(kind.get(key, {}))
    assert by_name(merged.table["work"]) == by_name(kind.get("work", []))
    assert merged.odd == []


@given(table=TABLES)
def test_a_profile_that_repeats_its_kind_changes_nothing(table: Table) -> None:
    assert laid(table, table).table == laid({}, table).table
    assert laid(table, {}).table == laid({}, table).table


@given(own=TABLES, kind=TABLES, root=TABLES)
def test_what_stands_nearer_wins_and_place_points_to_it(own: Table, kind: Table, root: Table) -> None:
    merged = laid(own, kind, root)
    files: dict[str, Table] = {FILE: own, KIND: kind, ROOT: root}
    for key in ("stages", "tolerance"):
        for name, part in merged.table.get(key, {}).items():
            nearest = next(file for file, table in files.items() if name in table.get(key, {}))
            assert part == files[nearest][key][name]
            assert merged.place((key, name)) == (nearest, (key, name))
    for i, work in enumerate(merged.table["work"]):
        file, (_, j) = merged.place(("work", i))
        assert files[file]["work"][int(j)] is work
        name = work.get("id", work["operation"])
        assert file == next(f for f, table in files.items() if name in by_name(table.get("work", [])))
