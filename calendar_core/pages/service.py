"""The service: the pages put together."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from fastapi import FastAPI
from starlette.staticfiles import StaticFiles

from calendar_core.app.shell.clock import clock
from calendar_core.app.shell.version import program_version
from calendar_core.pages.feeds import calendars, data
from calendar_core.pages.phone import files, phone
from calendar_core.pages.shell.faults import FAULTS
from calendar_core.pages.shell.headers import Guard
from calendar_core.pages.shell.ready_calendars import ReadyCalendars
from calendar_core.pages.views import (
    begin,
    bench,
    enter,
    hours,
    plan,
    season,
    settings,
    settings_access,
    today,
    tree,
    write_down,
    write_facts,
    years,
)
from calendar_core.pages.views import round as round_view

if TYPE_CHECKING:
    from starlette.responses import Response
    from starlette.types import ASGIApp, Scope

    from calendar_core.pages.shell.site import Site

ROUTERS = (
    today.router,
    hours.router,
    season.router,
    bench.router,
    tree.router,
    write_down.router,
    write_facts.router,
    round_view.router,
    years.router,
    plan.router,
    enter.router,
    data.router,
    files.router,
    phone.router,
    begin.router,
    settings.router,
    settings_access.router,
)
KEPT = "public, max-age=86400"  # of fonts and marks, which hardly ever change (estimate)
ASKED_AGAIN = "no-cache"  # of scripts and styles: those of an earlier program would not fit its pages


class _Kept(StaticFiles):
    """The files of the pages, which a browser may keep."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        answer = await super().get_response(path, scope)
        answer.headers["Cache-Control"] = ASKED_AGAIN if path.endswith((".js", ".css")) else KEPT
        return answer


class _Guarded(FastAPI):
    """An application that is guarded as a whole: also what is answered where it fails."""

    def build_middleware_stack(self) -> ASGIApp:
        """Put the guard outermost."""
        site: Site = self.state.site
        return Guard(super().build_middleware_stack(), lambda: tuple(site.hosts))


def make_app(site: Site) -> FastAPI:
    """Return the pages of a site as an ASGI application."""
    app = _Guarded(
        title="Leafclock",
        version=program_version(),
        summary="The pages of a garden, and its data.",
        docs_url=None,  # they fetch scripts from elsewhere
        redoc_url=None,
    )
    app.state.site = site
    app.state.calendars = ReadyCalendars(site.store, lambda zone: clock(zone, site.day))
    app.router.routes.extend(calendars.ROUTES)
    app.mount("/static", _Kept(directory=Path(__file__).with_name("static")), name="static")
    for router in ROUTERS:
        app.include_router(router)
    for error, handler in FAULTS.items():
        app.add_exception_handler(error, handler)
    return app
