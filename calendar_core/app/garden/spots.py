"""Spots of the garden: added, changed and removed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from calendar_core.app.garden.garden_file import SpotPart
from calendar_core.app.garden.horizons import horizon_of
from calendar_core.app.shell.days import time_of
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import as_option, checked
from calendar_core.app.shell.receipt import Receipt
from calendar_core.garden.model import Spot
from calendar_core.storage import gardens, log
from calendar_core.wording.garden.garden_text import SPOTS, spot_words

if TYPE_CHECKING:
    from datetime import time

    from calendar_core.app.shell.session import Session

NO_TIME = "none"  # takes a time of sun away


@dataclass(frozen=True)
class SpotWords:
    """What is said of a spot, as it was typed; None of what is left as it is."""

    sun_from: str | None = None
    sun_to: str | None = None
    horizon: str | None = None
    cloth_percent: int | str | None = None
    profile: str | None = None
    wind: str | None = None
    surface: str | None = None
    roof: bool | None = None
    quarantine: bool | None = None


def add_spot(session: Session, name: str, words: SpotWords = SpotWords()) -> Receipt:
    """Add a spot. Raises Refusal."""
    part = checked(SpotPart, {"name": name, **_typed(words)}, _of_spot)
    spot = Spot(uuid4(), session.garden.id, **dict(part))
    with session.store.begin() as connection:
        gardens.add_spot(connection, spot)
    return Receipt((session.style.say(SPOTS["added"], spot=spot_words(session.style, spot)),))


def change_spot(session: Session, name: str, words: SpotWords, called: str | None = None) -> Receipt:
    """Change a spot; ``called`` is its new name. Raises Refusal, also where nothing is said."""
    changes = _typed(words) | ({} if called is None else {"name": called})
    if not changes:
        options = "--name, --sun-from, --sun-to, --cloth, --profile, --wind, --surface, --horizon, --roof, --quarantine"
        raise Refusal(f"nothing to change; right would be one of {options}")
    with session.store.begin() as connection:
        old = gardens.find_spot(connection, session.garden.id, name)
        kept = {key: getattr(old, key) for key in SpotPart.model_fields}
        spot = replace(old, **dict(checked(SpotPart, kept | changes, _of_spot)))
        gardens.update_spot(connection, spot)
    return Receipt((session.style.say(SPOTS["changed"], spot=spot_words(session.style, spot)),))


def remove_spot(session: Session, name: str) -> Receipt:
    """Remove a spot at which no tree ever stood. Raises Refusal."""
    with session.store.begin() as connection:
        spot = gardens.find_spot(connection, session.garden.id, name)
        entries = log.entries(connection, session.garden.id)
        if any(str(entry.data.get("spot")) == str(spot.id) for entry in entries):
            raise Refusal(
                f"trees stand or stood at '{spot.name}', and the log tells so; right would be to rename it: "
                f"leafclock spot change '{spot.name}' --name NAME"
            )
        gardens.remove_spot(connection, spot.id)
    return Receipt((session.style.say(SPOTS["removed"], spot=spot.name),))


def _typed(words: SpotWords) -> dict[str, Any]:
    """Return what was typed, as values of a spot; times may be taken away."""
    values = {name: value for name, value in vars(words).items() if value is not None}
    if words.horizon is not None:
        values["horizon"] = horizon_of(words.horizon)
    times = {"sun_from": words.sun_from, "sun_to": words.sun_to}
    return values | {name: _time(text) for name, text in times.items() if text is not None}


def _of_spot(key: str) -> str:
    return "spot" if key == "name" else as_option(key)


def _time(text: str) -> time | None:
    if text.strip().lower() == NO_TIME:
        return None
    try:
        return time_of(text)
    except ValueError as error:
        raise Refusal(str(error)) from None
