"""What is installed is the same everywhere: each package that the project asks for, itself or through others, has its version."""

from __future__ import annotations

import re
import tomllib
from importlib.metadata import PackageNotFoundError, requires
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[1]
LINE = re.compile(r"([A-Za-z0-9][A-Za-z0-9._-]*)==([A-Za-z0-9.!+]+)")
LINES = (ROOT / ".ci/constraints.txt").read_text(encoding="utf-8").splitlines()
PINNED = {canonicalize_name(line.partition("==")[0]): line.partition("==")[2] for line in LINES}
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
ASKED = [
    Requirement(text)
    for some in (PROJECT["dependencies"], *PROJECT["optional-dependencies"].values())
    for text in some
]


def test_every_line_is_one_version_of_one_package_on_every_machine() -> None:
    assert [line for line in LINES if not LINE.fullmatch(line)] == []
    assert len(PINNED) == len(LINES)


def test_each_version_is_one_that_the_project_asks_for() -> None:
    wrong = [
        str(each)
        for each in ASKED
        if not each.specifier.contains(PINNED.get(canonicalize_name(each.name), "0"))
    ]
    assert wrong == []


def test_whatever_they_bring_along_has_its_version_too() -> None:
    """Of those that are not installed here, nothing is known of what they bring along."""
    waiting = list(ASKED)
    seen: set[str] = set()
    while waiting:
        asked = waiting.pop()
        if str(asked) in seen:
            continue
        seen.add(str(asked))
        try:
            needs = map(Requirement, requires(asked.name) or ())
        except PackageNotFoundError:
            continue
        extras = asked.extras or {""}
        waiting += [
            each
            for each in needs
            if each.marker is None or any(each.marker.evaluate({"extra": extra}) for extra in extras)
        ]
    names = {canonicalize_name(Requirement(text).name) for text in seen}
    assert len(names) > 60
    assert names - set(PINNED) == set()


def test_both_commands_install_by_it() -> None:
    assert "-c .ci/constraints.txt" in (ROOT / ".ci/ready").read_text(encoding="utf-8")
