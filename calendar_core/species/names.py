"""Finding a species by what growers call it."""

from __future__ import annotations

from difflib import SequenceMatcher
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from calendar_core.species.schema import Profile


class UnknownSpeciesError(ValueError):
    """No profile answers to a name; ``nearest`` are the common names of the three most alike."""

    def __init__(self, text: str, nearest: tuple[str, ...]) -> None:
        super().__init__(f"species: found '{text}'; the nearest known are: {', '.join(nearest)}")
        self.nearest = nearest


def plain(text: str) -> str:
    """Return a name in lower case, singular, with single spaces.

    Examples
    --------
    >>> plain("  Japanese  Maples ")
    'japanese maple'
    >>> plain("acer-palmatum") == plain("Acer palmatum")
    True
    """
    words = text.casefold().replace("-", " ").split()
    return " ".join(word.removesuffix("s") for word in words)


def names_of(key: str, profile: Profile) -> tuple[str, ...]:
    """Return every name a profile answers to: its key, common, Latin and other names."""
    return (key, profile.common, profile.latin, *profile.also)


def find_species(text: str, profiles: Mapping[str, Profile]) -> str:
    """Return the key of the profile called ``text``, whatever its case and number.

    Raises
    ------
    UnknownSpeciesError
        If there is none; it offers the three nearest.
    """
    wanted = plain(text)
    for key, profile in profiles.items():
        if wanted in map(plain, names_of(key, profile)):
            return key
    ranked = sorted(profiles.items(), key=lambda item: -_likeness(wanted, names_of(*item)))
    raise UnknownSpeciesError(text, tuple(profile.common for _, profile in ranked[:3]))


def _likeness(wanted: str, names: tuple[str, ...]) -> float:
    return max(SequenceMatcher(None, wanted, plain(name)).ratio() for name in names)
