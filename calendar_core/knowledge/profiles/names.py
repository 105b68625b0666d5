"""Finding a species by what growers call it."""

from __future__ import annotations

from difflib import SequenceMatcher
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from calendar_core.knowledge.forms.species.profile import Profile


UNKNOWN = "unknown-"  # begins the keys of the profiles for trees that are not known
LONGEST = 60  # signs of a name (estimate: the longest known has fewer than 40); how alike two are takes the square of it
MOST_UNKNOWN = (
    20  # names of one list that are told of (estimate: who has more has named none of them as we do)
)


class UnknownSpeciesError(ValueError):
    """No profile answers to a name; ``nearest`` are the common names of the three most alike, ``others`` of those for any tree."""

    def __init__(self, text: str, nearest: tuple[str, ...], others: tuple[str, ...] = ()) -> None:
        rest = f"; for any other there are: {', '.join(others)}" if others else ""
        super().__init__(
            f"species: found '{text}', not known yet; the nearest known are: {', '.join(nearest)}{rest}"
        )
        self.nearest, self.others = nearest, others


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


def every_name(profiles: Mapping[str, Profile]) -> frozenset[str]:
    """Return all names that profiles answer to, as `plain` writes them."""
    return frozenset(plain(name) for key, profile in profiles.items() for name in names_of(key, profile))


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
    candidates = [item for item in profiles.items() if not item[0].startswith(UNKNOWN)]
    wanted, shown = wanted[:LONGEST], text if len(text) <= LONGEST else f"{text[:LONGEST]}..."
    ranked = sorted(candidates, key=lambda item: -_likeness(wanted, names_of(*item)))
    others = tuple(profile.common for key, profile in profiles.items() if key.startswith(UNKNOWN))
    raise UnknownSpeciesError(shown, tuple(profile.common for _, profile in ranked[:3]), others)


def find_each(texts: Iterable[str], profiles: Mapping[str, Profile]) -> tuple[dict[str, str], list[str]]:
    """Return the keys of the profiles by names, and a line for each name that is not known; after many, it looks no further."""
    keys: dict[str, str] = {}
    faults: list[str] = []
    for text in dict.fromkeys(texts):
        try:
            keys[text] = find_species(text, profiles)
        except UnknownSpeciesError as error:
            faults.append(str(error))
            if len(faults) == MOST_UNKNOWN:
                break
    return keys, faults


def _likeness(wanted: str, names: tuple[str, ...]) -> float:
    """Return how like a name is to any of ``names``, or to a word of one, which counts a little less."""
    whole = [plain(name) for name in names]
    words = [word for name in whole for word in name.split()]
    return max(
        *(SequenceMatcher(None, wanted, name).ratio() for name in whole),
        *(0.95 * SequenceMatcher(None, wanted, word).ratio() for word in words),
    )
