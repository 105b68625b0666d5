"""A species is added as DEVELOPERS.md says: two files of ten lines together, and nothing else."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

from calendar_core.knowledge.profiles.answers import answered
from calendar_core.knowledge.profiles.bundled import folder
from calendar_core.knowledge.profiles.loading import load_knowledge
from tests.planning.species_cases import case_misses, read_case

ROOT = Path(__file__).parents[3]
FILE = re.compile(r"```toml\n# (\S+)\n(.*?)```", re.DOTALL)


def shown() -> dict[str, str]:
    """The files under the heading, by their path."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    return dict(FILE.findall(text.split("## Add a species")[1].split("\n## ")[0]))


def test_there_are_ten_lines() -> None:
    assert [Path(name).parent.as_posix() for name in shown()] == [
        "config/species",
        "tests/situations/species",
    ]
    assert sum(len(text.splitlines()) for text in shown().values()) == 10


def test_a_species_is_added_by_these_lines_alone(tmp_path: Path) -> None:
    shutil.copytree(folder("config"), tmp_path / "config")
    (tmp_path / "tests/situations/species").mkdir(parents=True)
    for name, text in shown().items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    profile, case = (tmp_path / name for name in shown())
    known = answered(load_knowledge(tmp_path / "config"), {})
    assert profile.stem in known.profiles
    assert list(case_misses(read_case(case), known)) == []
