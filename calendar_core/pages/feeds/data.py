"""The garden as data for other programs: read only, with the keys of the commands' ``--json``.

A program shows its key as ``Authorization: Bearer`` (RFC 6750); what goes wrong comes back as data too.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Coroutine
from datetime import date, datetime, timedelta
from typing import Annotated, Any
from uuid import UUID

from fastapi import APIRouter, Query, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.routing import APIRoute
from pydantic import BaseModel

from calendar_core.app.garden.whole_trees import tree_data, whole_tree
from calendar_core.app.log.history import history_data, logged
from calendar_core.app.plan.kept_plan import due_items
from calendar_core.app.plan.line_names import groups_of
from calendar_core.app.plan.plan_data import changes_data, plan_data, stages_data
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.json_text import as_json
from calendar_core.app.shell.session import Session
from calendar_core.app.warnings.warning_data import standing_data
from calendar_core.app.work.first_screen import first_screen
from calendar_core.app.work.rota import levelled, rota_data
from calendar_core.app.work.work_data import due_data, hours_data, screen_data
from calendar_core.garden.model import Tree
from calendar_core.knowledge.profiles.errors import KnowledgeError
from calendar_core.pages.shell.access import NoEntryError, NoGardenError, Reader, Visit
from calendar_core.pages.shell.keeping import BeingWorkedOutError
from calendar_core.pages.shell.plans import plan_of
from calendar_core.planning.rota.urgency import urgent
from calendar_core.storage.errors import StoreError

LOOKED_BACK = timedelta(days=14)  # as the command ``changes``


class Fault(BaseModel):
    """What cannot be done, and what would be right."""

    faults: list[str]


class TodayData(BaseModel):
    """The first screen, as ``today --json``."""

    today: date
    warnings: list[dict[str, Any]]
    judged: bool
    cut_off: list[str]
    days: list[dict[str, Any]]
    late: list[str]
    more: list[str]


class DueLine(BaseModel):
    """A line of ``due --json``."""

    urgency: str
    name: str
    uid: UUID
    items: list[dict[str, Any]]


class PlanData(BaseModel):
    """The plan, as ``plan --json``; ``trees`` are the labels by id."""

    today: date
    weather: dict[str, Any]
    trees: dict[UUID, str]
    items: list[dict[str, Any]]


class ChangesData(BaseModel):
    """The dates that moved, as ``changes --json``."""

    today: date
    since: date
    trees: dict[UUID, str]
    moves: list[dict[str, Any]]


class WarningsData(BaseModel):
    """The warnings that hold and the moves they ask for, as they were judged last."""

    judged_at: datetime | None
    forecast_at: datetime | None
    warnings: list[dict[str, Any]]
    moves: list[dict[str, Any]]


class TreeData(BaseModel):
    """A tree with its state, as in ``tree list --json``."""

    tree: dict[str, Any]
    state: dict[str, Any]


class GoneData(BaseModel):
    """A tree that is gone, as in ``tree list --gone --json``."""

    tree: dict[str, Any]
    gone: dict[str, Any]


class DataRoute(APIRoute):
    """A route that answers with data also where something is wrong."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Return what answers, with faults as data."""
        asked = super().get_route_handler()

        async def answered(request: Request) -> Response:
            try:
                return await asked(request)
            except NoEntryError as error:
                status = 401 if error.role is None else 403
                shown = {"WWW-Authenticate": "Bearer"} if status == 401 else {}
                return _faults(status, [f"that needs a key of the {error.needed}"], shown)
            except NoGardenError:
                return _faults(404, ["there is no garden yet; right would be: leafclock start"])
            except RequestValidationError as error:
                return _faults(422, [f"{_where(one)}: {one['msg'].lower()}" for one in error.errors()])
            except Refusal as error:
                return _faults(422, list(error.lines))
            except BeingWorkedOutError:
                return _faults(503, ["the plan is being worked out"], {"Retry-After": "30"})
            except StoreError as error:
                return _faults(503, [str(error)], {"Retry-After": "60"})
            except KnowledgeError as error:
                return _faults(500, list(error.faults))

        return answered


def _where(fault: Any) -> str:
    return " ".join(str(part) for part in fault["loc"][1:])


router = APIRouter(
    prefix="/data",
    tags=["data"],
    route_class=DataRoute,
    responses={status: {"model": Fault} for status in (401, 403, 404, 422, 503)},
)
Weeks = Annotated[int, Query(ge=1, le=26, description="How far ahead.")]
Days = Annotated[int, Query(ge=0, le=60, description="How far ahead.")]
Everything = Annotated[bool, Query(alias="all", description="Also what is merely possible.")]
Since = Annotated[date | None, Query(description="From which day on; the last two weeks, if not given.")]
OfTree = Annotated[UUID | None, Query(description="Of one tree.")]


@router.get("/today", response_model=TodayData)
def today(visit: Reader) -> Response:
    """Return what to do today and tomorrow, what is late and what else is open."""
    return _answer(screen_data(first_screen(_planned(visit))))


@router.get("/due", response_model=list[DueLine])
def due(visit: Reader, days: Days = 7) -> Response:
    """Return what needs the grower now, the most urgent first."""
    session = _planned(visit)
    return _answer(due_data(urgent(groups_of(session, due_items(session, days)), session.today, days)))


@router.get("/plan", response_model=PlanData)
def plan(visit: Reader, everything: Everything = False) -> Response:  # noqa: FBT002 - a question's own word
    """Return the work that is due or wished: when, how sure that is, and why."""
    return _answer(plan_data(_planned(visit), everything=everything))


@router.get("/changes", response_model=ChangesData)
def changes(visit: Reader, since: Since = None) -> Response:
    """Which dates moved since the calendar told them, by how much, and what moved them."""
    session = visit.session
    first = session.today - LOOKED_BACK if since is None else since
    if first > session.today:
        raise Refusal(f"since: {first} is after today, {session.today}")
    return _answer(changes_data(session, first))


@router.get("/stages", response_model=dict[str, list[dict[str, Any]]])
def stages(visit: Reader) -> Response:
    """Return the likely dates of each tree's stages, by label."""
    session = _planned(visit)
    return _answer(stages_data(session, session.trees))


@router.get("/rota", response_model=dict[str, Any])
def rota(visit: Reader, weeks: Weeks = 4) -> Response:
    """Return the work day by day, as it fits the grower's free hours, and what does not fit."""
    session = _planned(visit)
    return _answer(rota_data(session, levelled(session, weeks)))


@router.get("/hours", response_model=dict[str, Any])
def hours(visit: Reader) -> Response:
    """Return the grower's free hours in a week, and the days away."""
    return _answer(hours_data(visit.session))


@router.get("/trees", response_model=list[TreeData])
def trees(visit: Reader) -> Response:
    """Return the trees with their state."""
    session = visit.session
    return _answer([tree_data(session, tree) for tree in session.trees])


@router.get("/trees/gone", response_model=list[GoneData])
def gone_trees(visit: Reader) -> Response:
    """Return the trees that are gone, with when and why."""
    session = visit.session
    left = [tree for tree in session.every_tree if tree.id in session.gone]
    return _answer([{"tree": tree, "gone": session.gone[tree.id]} for tree in left])


@router.get("/trees/{tree_id}", response_model=dict[str, Any])
def one_tree(visit: Reader, tree_id: UUID) -> Response:
    """Return a tree: its state, what is planned for it, and its stages."""
    found = _tree(visit.session, tree_id)
    return _no_tree(tree_id) if found is None else _answer(whole_tree(_planned(visit), found))


@router.get("/trees/{tree_id}/history", response_model=dict[str, Any])
def history(visit: Reader, tree_id: UUID) -> Response:
    """Return what was written of a tree and its parts, and measured."""
    found = _tree(visit.session, tree_id)
    return _no_tree(tree_id) if found is None else _answer(history_data(visit.session, found))


@router.get("/spots", response_model=list[dict[str, Any]])
def spots(visit: Reader) -> Response:
    """Return the spots of the garden."""
    return _answer(list(visit.session.spots.values()))


@router.get("/log", response_model=list[dict[str, Any]])
def log(visit: Reader, tree: OfTree = None) -> Response:
    """Return the entries of the log that hold."""
    if tree is None:
        return _answer(logged(visit.session))
    found = _tree(visit.session, tree)
    return _no_tree(tree) if found is None else _answer(logged(visit.session, [found]))


@router.get("/warnings", response_model=WarningsData)
def warnings(visit: Reader) -> Response:
    """Return the warnings that hold; nothing is judged anew."""
    return _answer(standing_data(_planned(visit)))


def _planned(visit: Visit) -> Session:
    """Return the session of now with its plan, which is made once for all who ask. Raises BeingWorkedOutError."""
    return visit.site.kept(visit.session, plan_of).session


def _tree(session: Session, tree_id: UUID) -> Tree | None:
    return next((tree for tree in session.every_tree if tree.id == tree_id), None)


def _no_tree(tree_id: UUID) -> Response:
    return _faults(404, [f"no tree has the id {tree_id}; right would be one of /data/trees"])


def _answer(data: object) -> Response:
    return Response(json.dumps(as_json(data), ensure_ascii=False), media_type="application/json")


def _faults(status: int, lines: list[str], headers: dict[str, str] | None = None) -> Response:
    text = json.dumps({"faults": lines}, ensure_ascii=False)
    return Response(text, status, headers, media_type="application/json")
