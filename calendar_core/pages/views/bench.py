"""The bench: the register of the trees, trees that are added, and labels with codes to print."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Annotated
from urllib.parse import urlencode
from uuid import uuid4

from fastapi import APIRouter, Depends, UploadFile
from markupsafe import Markup
from starlette.responses import Response

from calendar_core.app.garden.adding import add_pasted, add_table
from calendar_core.app.garden.register import register
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import shortened
from calendar_core.app.shell.reading import decoded
from calendar_core.knowledge.words import AIMS
from calendar_core.pages.shell.access import Owner, Reader, Visit
from calendar_core.pages.shell.answering import page, told
from calendar_core.pages.shell.entered import Entered, Sent, without_options
from calendar_core.pages.shell.keeping import BeingWorkedOutError
from calendar_core.publishing.sheets.codes import qr_svg
from calendar_core.storage.errors import StoreError
from calendar_core.wording.pages.bench_text import BenchSpeaker

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.app.garden.register import RegisterLine
    from calendar_core.app.shell.session import Session

router = APIRouter()
MOST_SHOWN = 500  # trees at once (estimate: some 20 printed sheets)
MOST_LABELS = 120  # labels at once: a code takes some milliseconds to make (estimate: ten printed sheets)
MOST_FAULTS = (
    40  # lines that are told of a table (estimate: two screens of a phone; more are mended no other way)
)
LARGEST_TABLE = 1_000_000  # bytes; 3,000 trees take 300 kB (estimate)
LOCAL = ("localhost", "127.0.0.1", "::1")


@dataclass(frozen=True)
class Narrowed:
    """What of the register is asked for."""

    species: str = ""
    aim: str = ""
    spot: str = ""
    concern: str = ""
    begin: int = 0

    def holds(self, line: RegisterLine) -> bool:
        """Tell whether a tree is asked for."""
        wanted = (self.species, line.species), (self.aim, line.state.aim), (self.spot, line.spot)
        return all(not asked or asked == found for asked, found in wanted) and (
            not self.concern or line.of_concern
        )

    def address(self, path: str, begin: int = 0) -> str:
        """Return the address of a page of the same trees."""
        asked = {name: str(value) for name, value in vars(self).items() if value and name != "begin"}
        return f"{path}?{urlencode(asked | ({'begin': str(begin)} if begin else {}))}".rstrip("?")


Asked = Annotated[Narrowed, Depends()]


@router.get("/bench", include_in_schema=False)
def bench(visit: Reader, asked: Asked) -> Response:
    """Show the register of the trees."""
    return _bench(visit, asked)


def _bench(
    visit: Visit, asked: Narrowed, entered: Entered | None = None, refusal: Sequence[str] = ()
) -> Response:
    session, lines, stale = _register(visit, needed=entered is None)
    found = [line for line in lines if asked.holds(line)]
    some = found[max(asked.begin, 0) :][:MOST_SHOWN]
    tells = BenchSpeaker(session.speaker, session.knowledge.aftercare)
    end = max(asked.begin, 0) + len(some)
    return page(
        visit,
        "bench.html",
        status=422 if refusal else 200,
        title="Bench",
        current="bench",
        asked=asked,
        species=sorted({line.species for line in lines}),
        aims=[aim for aim in AIMS if any(line.state.aim == aim for line in lines)],
        spots=sorted(spot.name for spot in session.spots.values()),
        likely_spots=_likely(session, lines),
        count=tells.count(len(found), len(lines)) if lines or not session.trees else "",
        by_spot=[(spot, list(those)) for spot, those in groupby(some, key=lambda line: line.spot)],
        concern={
            line.tree.id: tells.concern(line.concerns, line.state.vigour, weak=line.weak) for line in some
        },
        next_work={line.tree.id: tells.next_work(line.next_work) for line in some},
        more=tells.say("more", count=f"{len(found) - end}") if end < len(found) else "",
        more_at=asked.address("/bench", end),
        labels_at=asked.address("/bench/labels"),
        stale=stale,
        entry_id=uuid4(),
        entered=entered or Entered(),
        refusal=list(refusal),
    )


def _register(visit: Visit, *, needed: bool) -> tuple[Session, Sequence[RegisterLine], bool]:
    """Return the register and whether it is as it stood before; none where it takes long and is not ``needed``."""
    try:
        shown = visit.site.kept(visit.session, register)
    except BeingWorkedOutError:
        if needed:
            raise
        return visit.session, (), False  # nothing that was entered is lost
    return shown.session, shown.value, shown.stale


def _likely(session: Session, lines: Sequence[RegisterLine]) -> list[str]:
    """Return the spots of the garden, those first where most trees stand."""
    there = Counter(line.spot for line in lines)
    return sorted((spot.name for spot in session.spots.values()), key=lambda name: (-there[name], name))


@router.post("/bench/add", include_in_schema=False)
def add(visit: Owner, entered: Sent, table: UploadFile | None = None) -> Response:
    """Add trees: pasted lines, or a table."""
    try:
        session = visit.fresh()
        if table is not None and table.size:
            receipt = add_table(session, _text(table), _name(table), entered.entry_id)
        else:
            receipt = add_pasted(
                session, entered.one("trees"), entered.entry_id, spot=entered.one("spot") or None
            )
    except (Refusal, StoreError) as refusal:
        lines = refusal.lines if isinstance(refusal, Refusal) else [str(refusal)]
        return _bench(visit, Narrowed(), entered, without_options(lines[:MOST_FAULTS]))
    return told(visit, receipt.lines, receipt.entries, "/bench")


def _name(table: UploadFile) -> Path:
    """Return what a table is called in sentences; no file of that name is ever opened."""
    return Path(shortened(Path((table.filename or "table").replace("\\", "/")).name).strip("'\""))


def _text(table: UploadFile) -> str:
    """Return the text of a table. Raises Refusal for what is too large, or is none, whatever it is called."""
    name = _name(table)
    body = table.file.read(LARGEST_TABLE + 1)
    if len(body) > LARGEST_TABLE:
        raise Refusal(f"{name}: is larger than {LARGEST_TABLE:,} bytes; right would be fewer trees at once")
    text = decoded(body, name, "a CSV file of trees, saved as UTF-8")
    if "\0" in text:
        raise Refusal(f"{name}: is no text; right would be a CSV file of trees, saved as UTF-8")
    return text


@router.get("/bench/labels", include_in_schema=False)
def labels(visit: Reader, asked: Asked) -> Response:
    """Show labels to print: each with a code that opens the page of its tree."""
    session = visit.session
    found = [line for line in visit.site.kept(session, register).value if asked.holds(line)]
    some = found[max(asked.begin, 0) :][:MOST_LABELS]
    end = max(asked.begin, 0) + len(some)
    tells = BenchSpeaker(session.speaker, session.knowledge.aftercare)
    address = str(visit.request.base_url).rstrip("/")
    local = (visit.request.url.hostname or "") in LOCAL
    return page(
        visit,
        "labels.html",
        title="Labels",
        current="bench",
        note=tells.say("here_only" if local else "leads_to", address=address),
        local=local,
        labels=[(line, _code(f"{address}/tree/{line.tree.id}")) for line in some],
        more=tells.say("more", count=f"{len(found) - end}") if end < len(found) else "",
        more_at=asked.address("/bench/labels", end),
    )


def _code(address: str) -> Markup:
    return Markup(qr_svg(address))  # noqa: S704 - made by us of an address that we made
