"""Places that a garden's calendars are written to whenever they change: a folder, or a folder of a web server."""

from __future__ import annotations

import base64
import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import unquote, urlsplit
from uuid import uuid4

from alerts.delivery.asking import Answer, Asking
from alerts.delivery.line import reachable
from calendar_core.app.calendar.keeping import OF_GARDEN, keep_calendars, keep_moves
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.files import CALENDAR, look_first, unwritable, write_whole
from calendar_core.storage import calendar_files, calendar_places, calendar_texts
from calendar_core.storage.calendar_places import CalendarPlace
from calendar_core.weather.sources.hosts import is_public

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from calendar_core.app.shell.session import Session
    from calendar_core.planning.events import CalendarOf
    from calendar_core.storage.calendar_texts import CalendarText

LOGIN = "LEAFCLOCK_CALENDAR_LOGIN"
FROM_ENVIRONMENT = "environment"
"""A place's login where that is not stored but set in `LOGIN`; none with a password is without a colon."""


@dataclass(frozen=True)
class Sending:
    """What was written to a place, and what kept the rest from it ("" if nothing did); the wait that was asked for."""

    written: tuple[CalendarOf, ...]
    trouble: str = ""
    after_s: float = 0.0


def is_url(place: str) -> bool:
    """Tell whether a place is one of the web."""
    return "://" in place


def add_place(session: Session, given: str) -> tuple[CalendarPlace, Sending]:
    """Write a garden's calendars to a place, now and from now on; where that fails now, the place is not kept.

    Raises
    ------
    Refusal
        When nothing can be written there, or another garden's calendars are.
    """
    place, login = _read_url(given) if is_url(given) else (_read_folder(session, given), "")
    with session.store.begin() as connection:
        known = {one.place for one in calendar_places.list_places(connection, session.garden.id)}
        added = CalendarPlace(uuid4(), session.garden.id, place, login, session.clock.now, {})
        if not calendar_places.put_place(connection, added):
            raise Refusal(f"{place}: holds the calendars of another garden; right would be another place")
    try:
        return _sent_first(session, place)
    except Refusal:
        if place not in known:
            stop_place(session, place)
        raise


def _sent_first(session: Session, place: str) -> tuple[CalendarPlace, Sending]:
    """Write to a place that was just added. Raises Refusal where nothing can be written."""
    keep_moves(session)
    keep_calendars(session)
    stored = next(one for one in places_of(session) if one.place == place)
    sending = send(session, stored, session.clock.now)
    if sending.trouble:
        raise Refusal(f"{place}: {sending.trouble}; right would be a place that takes files")
    return stored, sending


def places_of(session: Session) -> tuple[CalendarPlace, ...]:
    """Return the places that a garden's calendars are written to."""
    with session.store.read() as connection:
        return calendar_places.list_places(connection, session.garden.id)


def stop_place(session: Session, given: str) -> str:
    """Write no more to a place; what is there stays. Returns its name; raises Refusal where there is none."""
    place = _read_url(given)[0] if is_url(given) else str(Path(given).expanduser().resolve())
    with session.store.begin() as connection:
        if not calendar_places.remove_place(connection, session.garden.id, place):
            raise Refusal(
                f"{place}: nothing is written there; right would be a place of: leafclock calendar --places"
            )
    return place


def send(session: Session, place: CalendarPlace, now: datetime) -> Sending:
    """Write to a place what is not there yet, and note what is."""
    texts = _texts(session)
    sent = dict(place.sent)
    written: list[CalendarOf] = []
    trouble, after_s = "", 0.0
    for of, text in texts.items():
        if sent.get(str(of)) == text.etag and _stays(place.place, of):
            continue
        trouble, after_s = _put(place, of, text.data, now)
        if trouble:
            break
        sent[str(of)] = text.etag
        written.append(of)
    if written or trouble != place.why_failing:
        with session.store.begin() as connection:
            calendar_places.note_sent(connection, place.id, sent, trouble)
    return Sending(tuple(written), trouble, after_s)


def file_name(of: CalendarOf) -> str:
    """Return what the file of a calendar is called at a place."""
    return f"{of.kind}.ics"


def _texts(session: Session) -> Mapping[CalendarOf, CalendarText]:
    with session.store.read() as connection:
        found = {of: calendar_texts.get_text(connection, session.garden.id, of) for of in OF_GARDEN}
    return {of: text for of, text in found.items() if text is not None}


def _stays(place: str, of: CalendarOf) -> bool:
    """Tell whether what was written is still there; of the web it is believed."""
    return is_url(place) or (Path(place) / file_name(of)).exists()


def _put(place: CalendarPlace, of: CalendarOf, data: bytes, now: datetime) -> tuple[str, float]:
    """Write one calendar; return what kept it from being written, and the wait that was asked for."""
    if is_url(place.place):
        return _upload(place, of, data, now)
    folder = Path(place.place)
    if not folder.is_dir():  # a disk that is not in place must not be stood in for
        return "the folder is gone", 0.0
    try:
        write_whole(folder / file_name(of), data, CALENDAR)
    except Refusal as error:
        return str(error), 0.0
    return "", 0.0


def _upload(place: CalendarPlace, of: CalendarOf, data: bytes, now: datetime) -> tuple[str, float]:
    """Put one calendar to a web server (RFC 9110 9.3.4)."""
    headers = {"Content-Type": "text/calendar; charset=utf-8"}
    login = os.environ.get(LOGIN, "") if place.login == FROM_ENVIRONMENT else place.login
    if login:
        headers["Authorization"] = f"Basic {base64.b64encode(login.encode()).decode()}"  # RFC 7617
    if _is_open(place.place):
        return "without TLS everybody on the way can read it", 0.0
    asked = Asking("PUT", f"{place.place}{file_name(of)}", headers, data, private_ok=True).answered(now)
    if not isinstance(asked, Answer):
        return asked.why, 0.0
    return ("", 0.0) if asked.is_taken else (asked.said, asked.after_s)


def _is_open(place: str) -> bool:
    """Tell whether an address leads over the public internet for all to read."""
    url = urlsplit(place)
    if url.scheme == "https":
        return False
    try:
        found = reachable(url.hostname or "", url.port or 80, private_ok=True)
    except OSError:  # the name is not known: asking will say so
        return False
    return any(map(is_public, found))


def _read_url(given: str) -> tuple[str, str]:
    """Return a folder of the web without its login, and the login. Raises Refusal without what it may hold of secrets."""
    wrong = "--to: is no address of a folder of the web; right would be one such as https://HOST/FOLDER"
    try:
        url = urlsplit(given)
        fits = url.scheme in ("http", "https") and bool(url.hostname) and url.port != 0
    except ValueError:  # brackets without an end, or a port that is none
        raise Refusal(wrong) from None
    if not fits or url.query or url.fragment or not given.isprintable() or " " in given:
        raise Refusal(wrong)
    if url.path.endswith(".ics"):
        raise Refusal(
            "--to: is the address of a file; right would be its folder, where each calendar has a file"
        )
    where = url.netloc.rpartition("@")[2]
    login = f"{unquote(url.username or '')}:{unquote(url.password or '')}" if url.username else ""
    if not login and os.environ.get(LOGIN):
        login = FROM_ENVIRONMENT
    place = f"{url.scheme}://{where}{url.path.rstrip('/')}/"
    if _is_open(place):
        raise Refusal(
            f"--to: {url.hostname} is reached without TLS; right would be https://, which nobody can read"
        )
    return place, login


def _read_folder(session: Session, given: str) -> str:
    """Return a folder that calendars can be written to; it is made if it is not there. Raises Refusal."""
    folder = Path(given).expanduser().resolve()
    if folder.suffix == ".ics" or folder.is_file():
        raise Refusal(f"{given}: is a file; right for --to would be a folder, where each calendar has a file")
    for of in OF_GARDEN:
        file = folder / file_name(of)
        look_first(file, CALENDAR)
        with session.store.read() as connection:
            other = calendar_files.other_garden(connection, session.garden.id, str(file))
        if other and file.exists():
            raise Refusal(f"{file}: holds the calendar of {other}; right would be another folder")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise unwritable(folder, error, "a folder you may write to") from None
    return str(folder)
