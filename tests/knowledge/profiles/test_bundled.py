"""The folders that come with the program."""

from __future__ import annotations

from pathlib import Path

import pytest

from calendar_core.knowledge.profiles import bundled


def test_the_checkout_holds_config_beside_the_package() -> None:
    assert bundled.folder("config") == Path(bundled.__file__).parents[3] / "config"


def test_an_installed_package_holds_config_inside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package = tmp_path / "site" / "calendar_core"
    (package / "_config").mkdir(parents=True)
    (tmp_path / "site" / "config").mkdir()
    monkeypatch.setattr(bundled, "_PACKAGE", package)
    assert bundled.folder("config") == package / "_config"


def test_a_torn_installation_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bundled, "_PACKAGE", tmp_path / "calendar_core")
    with pytest.raises(FileNotFoundError, match="demo: found neither"):
        bundled.folder("demo")
