"""The wheel: installed without the checkout, in an empty folder, it brings all it needs."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.app.conftest import Answer

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the wheel with what is installed, without the network."""
    out = tmp_path_factory.mktemp("wheel")
    words = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(out), str(ROOT)]
    subprocess.run(words, check=True, stdout=subprocess.DEVNULL)
    (made,) = out.glob("leafclock-*.whl")
    return made


def test_it_holds_config_and_demo_and_nothing_of_a_run(wheel: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    for name in (
        "_config/species/acer-palmatum.toml",
        "_config/normals.csv",
        "_demo/garden.toml",
        "py.typed",
        "publishing/sheets/templates/review.html.jinja",
    ):
        assert f"calendar_core/{name}" in names
    assert not [
        name for name in names if "demo/out" in name or "__pycache__" in name or name.startswith("tests/")
    ]
    assert {name.split("/")[0] for name in names if "dist-info" not in name} == {"alerts", "calendar_core"}


def test_the_demo_works_from_it_in_an_empty_folder_and_is_the_same_as_here(
    wheel: Path, tmp_path: Path, shown: tuple[Answer, Path]
) -> None:
    target, here = tmp_path / "target", tmp_path / "empty"
    here.mkdir()
    install = [
        sys.executable,
        "-m",
        "pip",
        "install",
        "--quiet",
        "--no-deps",
        "--no-index",
        "--target",
        str(target),
    ]
    subprocess.run([*install, "--disable-pip-version-check", str(wheel)], check=True)

    def run(*words: str | Path) -> str:
        env = {**os.environ, "PYTHONPATH": str(target)}
        made = subprocess.run([sys.executable, *words], cwd=here, env=env, check=True, capture_output=True)
        return made.stdout.decode("utf-8")

    found = run("-c", "import calendar_core; print(calendar_core.__file__)")
    assert Path(found.strip()) == target / "calendar_core" / "__init__.py"
    made = run(target / "bin" / "leafclock", "demo")
    assert made.splitlines()[0] == shown[0].out.splitlines()[0]
    assert {path.name for path in (here / "leafclock-demo").iterdir()} == {
        "bench.ics", "garden.db", "garden.svg", "review.html", "season.png", "season.svg",
    }  # fmt: skip
    assert (here / "leafclock-demo" / "bench.ics").read_bytes() == (shown[1] / "bench.ics").read_bytes()
