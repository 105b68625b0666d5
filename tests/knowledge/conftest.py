"""A copy of the bundled files, to be broken."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from calendar_core.knowledge.profiles.bundled import folder


@pytest.fixture
def config(tmp_path: Path) -> Path:
    return Path(shutil.copytree(folder("config"), tmp_path / "config"))
