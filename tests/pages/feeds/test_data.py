"""The garden as data over HTTP: the keys of the commands, the description of it, and faults as data."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest
import requests
from pydantic import TypeAdapter

from calendar_core.app.keys.keys import make_key
from calendar_core.app.shell.clock import utc_now
from calendar_core.pages.feeds import data
from tests.app.conftest import run
from tests.app.shapes import SHAPES
from tests.pages.conftest import DAY
from tests.pages.serving import busy, serving

if TYPE_CHECKING:
    from pathlib import Path

    from tests.pages.serving import Served

pytestmark = pytest.mark.slow

COMMANDS = {
    "today": ("today",),
    "due": ("due",),
    "due?days=30": ("due", "--days", "30"),
    "plan": ("plan",),
    "plan?all=true": ("plan", "--all"),
    "changes": ("changes",),
    "stages": ("stages",),
    "rota?weeks=2": ("rota", "--weeks", "2"),
    "hours": ("hours",),
    "trees": ("tree", "list"),
    "trees/gone": ("tree", "list", "--gone"),
    "spots": ("spot", "list"),
    "log": ("log",),
}


def got(served: Served, path: str, status: int = 200, **headers: str) -> Any:
    answer = requests.get(f"{served.url}/data/{path}", headers=headers, timeout=120)
    assert answer.status_code == status, answer.text
    assert answer.headers["Content-Type"] == "application/json"
    return answer.json()


def test_each_path_says_what_its_command_does(served: Served, garden_file: Path) -> None:
    for path, words in COMMANDS.items():
        day = () if words[0] == "spot" else ("--today", DAY.isoformat())
        printed = run(*words, "--json", "--db", str(garden_file), *day)
        assert got(served, path) == json.loads(printed.out), path


def test_a_tree_is_found_by_its_id(served: Served, garden_file: Path) -> None:
    (found, *_) = got(served, "trees")
    key, label = found["tree"]["id"], found["tree"]["label"]
    here = ("--db", str(garden_file), "--today", DAY.isoformat(), "--json")
    (shown,) = json.loads(run("tree", "show", label, *here).out)
    assert got(served, f"trees/{key}") == shown
    assert got(served, f"trees/{key}/history") == json.loads(run("history", label, *here).out)
    assert got(served, f"log?tree={key}") == json.loads(run("log", label, *here).out)


def test_what_is_described_is_what_comes(served: Served) -> None:
    """What comes is not held against its description while it is served, for speed; here it is."""
    described: dict[str, Any] = {
        "today": data.TodayData,
        "due": list[data.DueLine],
        "plan": data.PlanData,
        "changes": data.ChangesData,
        "stages": dict[str, list[dict[str, Any]]],
        "trees": list[data.TreeData],
        "warnings": data.WarningsData,
    }
    for path, shape in described.items():
        found = got(served, path)
        TypeAdapter(shape).validate_python(found)
        if hasattr(shape, "model_fields"):
            assert found.keys() == shape.model_fields.keys()
    SHAPES["plan"].validate_python(got(served, "plan"), strict=False)
    paths = requests.get(f"{served.url}/openapi.json", timeout=60).json()["paths"]
    assert {f"/data/{path}" for path in described} <= paths.keys()
    assert all(list(asked) == ["get"] for path, asked in paths.items() if path.startswith("/data/"))


def test_a_key_is_shown_as_a_bearer(garden_file: Path) -> None:
    with serving(garden_file, DAY, demands_key=True) as locked:
        garden = locked.site.garden()
        assert garden is not None
        key = make_key(locked.site.store, garden.id, "reader", "a screen by the door", utc_now())
        assert got(locked, "trees", 401) == {"faults": ["that needs a key of the reader"]}
        assert got(locked, "trees", 401, Authorization=f"Bearer {key}x")
        assert got(locked, "trees", Authorization=f"Bearer {key}")


@pytest.mark.parametrize(
    ("path", "status", "fault"),
    [
        ("due?days=61", 422, "days: input should be less than or equal to 60"),
        ("rota?weeks=many", 422, "weeks: input should be a valid integer, unable to parse string as an integer"),
        ("changes?since=2015-06-26", 422, "since: 2015-06-26 is after today, 2015-06-25"),
        ("trees/x", 422, "tree_id: input should be a valid uuid"),
        ("trees/00000000-0000-4000-8000-000000000001", 404, "no tree has the id 00000000-0000-4000-8000-000000000001"),
    ],
)  # fmt: skip
def test_a_fault_is_data(served: Served, path: str, status: int, fault: str) -> None:
    (told,) = got(served, path, status)["faults"]
    assert told.startswith(fault)


def test_what_is_being_worked_out_is_not_waited_for(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    with busy(served.site, monkeypatch):
        answer = requests.get(f"{served.url}/data/due", timeout=20)
        assert (answer.status_code, answer.headers["Retry-After"]) == (503, "30")
        assert answer.json() == {"faults": ["the plan is being worked out"]}
        assert got(served, "trees")
    assert got(served, "due")
