"""A place with its weather and day, to show a species' year at: the garden's, or a bundled place's."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from uuid import UUID

from calendar_core.app.shell.clock import clock
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.plan_weather import bundled_normals, sky_of_normals
from calendar_core.app.shell.session import knowledge, open_session
from calendar_core.garden.cycle import cycle_days
from calendar_core.garden.model import Garden
from calendar_core.garden.state import chosen
from calendar_core.knowledge.profiles.answers import answered
from calendar_core.planning.places.usual import places_year, wakes_on
from calendar_core.planning.planner import air_over, axis_of, chances_over
from calendar_core.planning.works.species_year import species_year
from calendar_core.storage.errors import StoreError
from calendar_core.weather.normals import daily_year

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.places.usual import PlaceYear
    from calendar_core.planning.seasons.air import Air
    from calendar_core.planning.seasons.species_stages import Sky
    from calendar_core.planning.works.species_year import SpeciesYear


NOWHERE = UUID(int=0)  # the id of a garden that is only looked at


@dataclass(frozen=True)
class Outlook:
    """A garden, what it lies under on a day, and its answers to questions on which growers differ."""

    garden: Garden
    sky: Sky
    today: date
    answers: Mapping[str, str]
    credit: str

    def air(self, known: Knowledge) -> Air:
        """Return the air over the plan of the day."""
        return air_over(self.garden, self.sky, known, self.today)

    def knowledge(self, species: str) -> Knowledge:
        """Return what is known of one species, as answered here."""
        return answered(knowledge(frozenset([species])), self.answers)

    def year(self, known: Knowledge, profile: Profile) -> SpeciesYear:
        """Return the year of a species here."""
        return species_year(self.garden, self.sky, self.air(known), profile, self.today)

    def places(self, known: Knowledge, profile: Profile, year: SpeciesYear) -> tuple[PlaceYear, ...]:
        """Return when a tree of the species is moved and shaded in that year."""
        chances = chances_over(self.air(known), self.sky, known, self.today)
        return places_year(profile, known, chances, wakes_on(profile, year.stages), year.cycle)


def outlook(place: str | None, db: str | None, garden: str | None, today: date | None) -> Outlook:
    """Return the bundled place, or the garden where none is named. Raises Refusal where there is neither."""
    if place is not None:
        return _at_place(place, today)
    try:
        session = open_session(db, garden, today)
    except (Refusal, StoreError) as error:
        raise Refusal(f"{error}; or a bundled place: --place Nagano, see: leafclock places") from None
    answers = chosen(session.entries, session.today)
    return Outlook(session.garden, session.weather.sky, session.today, answers, session.weather.credit)


def _at_place(name: str, today: date | None) -> Outlook:
    places = {normals.place.replace("_", " ").lower(): normals for normals in bundled_normals()}
    if name.lower() not in places:
        raise Refusal(f"'{name}' is no bundled place; right would be one listed by: leafclock places")
    normals = places[name.lower()]
    day = clock(normals.zone, today).today
    leaf_fall, coldest = cycle_days(daily_year(normals).t_mean_c, normals.latitude)
    shown = normals.place.replace("_", " ")
    garden = Garden(
        NOWHERE, shown, shown, normals.latitude, normals.longitude,
        normals.elevation_m or 0.0, normals.zone, "metric", leaf_fall, coldest,
    )  # fmt: skip
    sky, _ = sky_of_normals(normals, axis_of(garden, day), day)
    return Outlook(garden, sky, day, {}, normals.credit)
