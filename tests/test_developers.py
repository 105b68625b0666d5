"""DEVELOPERS.md against the tree: every path and name on it exists, every data file is in its table, no sentence is broken."""

from __future__ import annotations

import re
from importlib.util import find_spec
from pathlib import Path

import pytest

from calendar_core.app.main import SUBJECTS

ROOT = Path(__file__).parents[1]
PAGES = {name: (ROOT / name).read_text(encoding="utf-8") for name in ("DEVELOPERS.md", "README.md")}
FENCE = re.compile(r"^```.*?^```\n", re.DOTALL | re.MULTILINE)
SHOWN_AS_EXAMPLE = {"config/species/acer-campestre.toml", "tests/situations/species/acer-campestre.toml"}
WHERE = ("", "calendar_core/")
SOURCES = {
    path: path.read_text(encoding="utf-8")
    for room in ("calendar_core", "alerts")
    for path in (ROOT / room).rglob("*.py")
}


def codes(text: str) -> list[str]:
    """Return what stands as code in running text, without the blocks of code."""
    return re.findall(r"`([^`\n]+)`", FENCE.sub("", text))


def is_path(code: str) -> bool:
    """Tell whether a code is a path: it has a slash or a file's ending, and no space."""
    return " " not in code and bool("/" in code or re.search(r"\.(py|toml|csv|md|ics)\b", code))


def found(path: str) -> list[Path]:
    """Return the files or folders that a path, which may have a ``*``, stands for."""
    return [match for start in WHERE for match in ROOT.glob(f"{start}{path}".rstrip("/"))]


def faults(text: str) -> list[str]:
    """Return the paths and names in a text that are not in the tree."""
    missing = []
    for code in filter(is_path, codes(text)):
        path, _, name = code.partition(":")
        files = found(path)
        named = rf"^\s*(?:def |class )?{name}\b\s*[(:=\[]" if name else ""
        if not files or not (
            name == "" or re.search(named, files[0].read_text(encoding="utf-8"), re.MULTILINE)
        ):
            missing.append(code)
    return missing


@pytest.mark.parametrize("page", PAGES)
def test_every_path_and_name_exists(page: str) -> None:
    text = PAGES[page]
    assert faults(text) == []
    modules = re.findall(r"python -m ([\w.]+)", text)
    assert [module for module in modules if find_spec(module) is None] == []


def test_the_developers_page_names_enough_to_be_checked() -> None:
    assert len(set(filter(is_path, codes(PAGES["DEVELOPERS.md"])))) > 100


def test_a_path_or_name_that_is_gone_is_found() -> None:
    gone = (
        "`species/schema.py` `planning/items.py:Reason` `planning/items.py:Rejoin` `config/*.ini` `garden/`"
    )
    assert faults(gone) == ["species/schema.py", "planning/items.py:Rejoin", "config/*.ini"]


@pytest.mark.parametrize("page", PAGES)
def test_every_variable_and_command_exists(page: str) -> None:
    text = PAGES[page]
    scripts = "".join((ROOT / name).read_text(encoding="utf-8") for name in (".ci/run", "tests/conftest.py"))
    everything = "".join(SOURCES.values()) + scripts
    assert [name for name in re.findall(r"LEAFCLOCK_\w+", text) if name not in everything] == []
    known = {*" ".join(SUBJECTS.values()).split(), "COMMAND"}
    assert {words.split()[0] for words in re.findall(r"`leafclock ([^`]+)`", text)} <= known


def test_rooms_on_the_map_are_all_there_are() -> None:
    text = PAGES["DEVELOPERS.md"].partition("## The map")[2].partition("\n## ")[0]
    for parent in ("calendar_core", "calendar_core/planning", "alerts"):
        for room in (ROOT / parent).iterdir():
            if (room / "__init__.py").exists():
                name = room.relative_to(ROOT).as_posix().removeprefix("calendar_core/")
                assert f"`{name}/`" in text, name


def test_files_shown_in_full_are_those_of_the_tests() -> None:
    assert set(re.findall(r"^# (\S+\.toml)$", PAGES["DEVELOPERS.md"], re.MULTILINE)) == SHOWN_AS_EXAMPLE


@pytest.mark.parametrize("page", PAGES)
def test_no_line_is_broken_inside_a_sentence(page: str) -> None:
    broken = [
        line
        for line in FENCE.sub("", PAGES[page]).splitlines()
        if line and not line.endswith((".", ":")) and not re.match(r"[#|!<]", line)
    ]
    assert broken == []


def test_developers_has_one_sentence_a_line() -> None:
    prose = [
        line for line in FENCE.sub("", PAGES["DEVELOPERS.md"]).splitlines() if not re.match(r"[#|<]", line)
    ]
    ends = re.compile(r"[a-z0-9)`]\. +[A-Z`]")
    assert [line for line in prose if ends.search(re.sub(r"^\d+\. ", "", line))] == []


def data_files() -> list[str]:
    """Return the data of others that the repository carries, and check values of tests."""
    oracles = [path for path in (ROOT / "tests/oracles").iterdir() if path.suffix in {".csv", ".toml"}]
    tables = [*(ROOT / "config").glob("**/*.csv"), *(ROOT / "demo").glob("*.csv")]
    return sorted(path.relative_to(ROOT).as_posix() for path in (*oracles, *tables))


@pytest.mark.parametrize("file", data_files())
def test_every_data_file_is_told_with_source_and_terms(file: str) -> None:
    section = PAGES["DEVELOPERS.md"].partition("## Data the repository carries")[2].partition("\n## ")[0]
    rows = [row.split(" | ") for row in section.splitlines() if row.startswith(f"| `{file}` |")]
    assert len(rows) == 1
    assert all(len(cell.strip(" |")) > 3 for cell in rows[0])


def test_no_data_file_is_told_that_is_gone() -> None:
    section = PAGES["DEVELOPERS.md"].partition("## Data the repository carries")[2].partition("\n## ")[0]
    told = set(re.findall(r"^\| `([^`]+)` \|", section, re.MULTILINE))
    assert told - set(data_files()) == {"tests/publishing/golden/*.ics"}


def test_what_the_tests_read_of_others_is_all_in_these_folders() -> None:
    strays = {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "tests").rglob("*")
        if path.suffix in {".csv", ".json", ".nc", ".grib", ".txt", ".xml", ".gz"}
    } - set(data_files())
    assert strays == set()
