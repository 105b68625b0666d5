"""The page of settings as it is shown: what is set, and where a form was refused, what was entered."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from calendar_core.app.calendar.addresses import addresses_of
from calendar_core.app.calendar.places import places_of
from calendar_core.app.keys.keys import list_keys
from calendar_core.app.knowledge.answers import given_answers
from calendar_core.app.plan.line_names import short
from calendar_core.app.shell.errors import DoubtRefusal, Refusal
from calendar_core.app.warnings.channel_changes import channel_line, channels_of, waiting_messages
from calendar_core.app.weather.services import source_set
from calendar_core.app.weather.status import status_lines
from calendar_core.knowledge.words import ROLES, SURFACES, THERMAL_PROFILES, WINDS
from calendar_core.pages.shell.answering import page, told
from calendar_core.pages.views.spot_suns import sun_of
from calendar_core.planning.events import KINDS
from calendar_core.storage.errors import StoreError
from calendar_core.wording.garden.garden_text import spot_words
from calendar_core.wording.knowledge.species_text import option_line
from calendar_core.wording.pages.settings_text import (
    WAYS,
    calendar_names,
    garden_words,
    place_line,
    quiet_words,
)
from calendar_core.wording.plan.address_text import address_words

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from starlette.responses import Response

    from calendar_core.app.shell.receipt import Receipt
    from calendar_core.app.shell.session import Session
    from calendar_core.pages.shell.access import Visit

TYPED_CHANNELS = ("mail", "hook", "apprise")  # a phone is added on itself


@dataclass(frozen=True)
class Entered:
    """A form that was refused: its name, what was entered in it, and why."""

    form: str = ""
    values: Mapping[str, str] = field(default_factory=dict)
    lines: Sequence[str] = ()


def tried(
    visit: Visit, form: str, values: Mapping[str, str], section: str, write: Callable[[], Receipt]
) -> Response:
    """Write what a form asks for and tell it, or show the form again with what was entered."""
    try:
        receipt = write()
    except DoubtRefusal:
        raise
    except Refusal as refusal:
        return show(visit, Entered(form, values, refusal.lines))
    except StoreError as error:  # a name that is taken
        return show(visit, Entered(form, values, [str(error)]))
    return told(visit, receipt.lines, receipt.entries, f"/settings#{section}")


def show(visit: Visit, entered: Entered = Entered()) -> Response:
    """Show the page; with a form that was refused, as it was entered."""
    session = visit.session
    style = session.style
    given, questions = given_answers(session), session.knowledge.choices
    return page(
        visit,
        "settings.html",
        status=422 if entered.lines else 200,
        title="Settings",
        current="settings",
        entered=entered,
        where=garden_words(style, session.garden),
        spots=[(spot, spot_words(style, spot), sun_of(session, spot)) for spot in session.spots.values()],
        profiles=THERMAL_PROFILES,
        winds=WINDS,
        surfaces=SURFACES,
        weather=list(status_lines(session)),
        fetching=visit.site.fetching.goes_on,
        fetch_faults=visit.site.fetching.faults,
        service_on=visit.site.day is None and source_set() != "off",
        questions=[
            (key, choice, style.text(choice.why), given[key],
             [(name, option_line(style, choice, name).removeprefix(f"{name}: ")) for name in choice.options])
            for key, choice in questions.items()
        ],
        away=[
            (style.day(first, session.today), style.day(last, session.today))
            for first, last in session.absences
            if last >= session.today
        ],
        ways=list(WAYS.values()),
        **(_secret(session) if visit.may("owner") else {}),
    )  # fmt: skip


def _secret(session: Session) -> dict[str, object]:
    """Return what the owner alone is shown."""
    style, waiting = session.style, waiting_messages(session)
    return {
        "channels": [
            (
                short(each.id),
                each,
                channel_line(session, each, waiting[each.id]),
                quiet_words(each.quiet_from, each.quiet_to),
            )
            for each in channels_of(session)
        ],
        "channel_kinds": TYPED_CHANNELS,
        "keys": [
            (key.label, key.role, style.day(key.created_at.astimezone(session.zone).date(), session.today))
            for key in list_keys(session.store, session.garden.id)
        ],
        "roles": ROLES,
        "addresses": _addresses(session),
        "calendars": calendar_names(style, KINDS),
        "places": [place_line(style, each.place, each.why_failing) for each in places_of(session)],
        "trees": [(tree.id, tree.label) for tree in session.trees],
        "is_file": session.store.engine.dialect.name == "sqlite",
    }


def _addresses(session: Session) -> list[tuple[str, str]]:
    def day(moment: object) -> object:
        return None if moment is None else moment.astimezone(session.zone).date()  # type: ignore[attr-defined]

    return [
        (
            short(each.id),
            address_words(
                session.style,
                each.kind,
                "" if each.tree_id is None else session.labels.get(each.tree_id, ""),
                each.label,
                day(each.last_used),  # type: ignore[arg-type]
                None,
            ),
        )
        for each in addresses_of(session)
        if each.revoked_at is None
    ]
