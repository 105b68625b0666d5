"""The version of the program that runs."""

from __future__ import annotations

from importlib.metadata import PackageNotFoundError, version


def program_version() -> str:
    """Return the installed version, "0" in a checkout that is not installed."""
    try:
        return version("leafclock")
    except PackageNotFoundError:  # run from a checkout that is not installed
        return "0"
