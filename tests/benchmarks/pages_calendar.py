"""How fast a subscribed calendar is answered: against a bare route of a plain application, and a static file.

``python -m tests.benchmarks.pages_calendar``. The service runs on this machine, the one who asks in a process of its own
over a line that stays open; each pair is measured in turns in one run, and the ratio of the medians is printed.
"""

from __future__ import annotations

import http.client
import multiprocessing
import tempfile
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import TYPE_CHECKING
from uuid import UUID

from fastapi import FastAPI
from starlette.responses import PlainTextResponse
from starlette.staticfiles import StaticFiles

from calendar_core.storage import gardens
from calendar_core.storage.engine import open_store
from tests.databases import migrated
from tests.pages.feeds.conftest import GARDEN, Bench, running
from tests.publishing.test_feed import CONFIRMED, written

if TYPE_CHECKING:
    from collections.abc import Mapping

SECRET = "q3QJm8pX0hT6vY2sZ1bN4cD7eF9gH5kL"  # noqa: S105 - invented
EVENTS = 2000
ROUNDS, ASKED = 9, {"condition": 400, "whole": 60}
GOAL = 0.8


def main() -> None:
    """Measure both pairs and print their ratios."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with closing(open_store(migrated(folder / "garden.db"))) as store:
            bench = Bench(store)
            with store.begin() as connection:
                gardens.add_garden(connection, GARDEN)
            data = _calendar()
            bench.put(data)
            path = bench.address(SECRET).path
            (folder / "files").mkdir()
            (folder / "files" / "care.ics").write_bytes(data)
            plain = FastAPI()
            plain.get("/bare")(_bare)
            plain.mount("/files", StaticFiles(directory=folder / "files"))
            with (
                running(bench.app, access_log=False) as ours,
                running(plain, access_log=False) as other,
            ):
                has = {"If-None-Match": _tag(_host(ours), path)}
                pairs: dict[str, tuple[Asked, Asked]] = {
                    "condition": ((_host(other), "/bare", {}, 200), (_host(ours), path, has, 304)),
                    "whole": ((_host(other), "/files/care.ics", {}, 200), (_host(ours), path, {}, 200)),
                }
                for what, (first, second) in pairs.items():
                    _print(what, *_rates(ASKED[what], first, second), len(data))


def _host(where: str) -> str:
    return where.removeprefix("http://")


async def _bare() -> PlainTextResponse:
    return PlainTextResponse("")


def _calendar() -> bytes:
    events = (
        replace(
            CONFIRMED,
            uid=UUID(int=n),
            start=CONFIRMED.start + timedelta(days=n % 300),
            end=CONFIRMED.end + timedelta(days=n % 300),
        )
        for n in range(EVENTS)
    )
    return written(*events)


Asked = tuple[str, str, "Mapping[str, str]", int]


def _rates(times: int, other: Asked, ours: Asked) -> tuple[float, float]:
    """Return the median rates of two questions, asked in turns by another process [1/s]."""
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        pool.apply(_rate, (times, other))
        found = [(pool.apply(_rate, (times, other)), pool.apply(_rate, (times, ours))) for _ in range(ROUNDS)]
    return median(rate for rate, _ in found), median(rate for _, rate in found)


def _rate(times: int, asked: Asked) -> float:
    host, path, headers, status = asked
    with closing(http.client.HTTPConnection(host)) as line:
        begins = 0.0
        for turn in range(times + 20):
            if turn == 20:  # the first find everything cold
                begins = perf_counter()
            line.request("GET", path, headers={"Accept-Encoding": "identity", **headers})
            answer = line.getresponse()
            answer.read()
            if answer.status != status:
                raise AssertionError(f"{path} answers {answer.status}")
        return times / (perf_counter() - begins)


def _tag(host: str, path: str) -> str:
    with closing(http.client.HTTPConnection(host)) as line:
        line.request("GET", path, headers={"Accept-Encoding": "identity"})
        answer = line.getresponse()
        answer.read()
        return answer.headers["ETag"] or ""


def _print(what: str, other: float, ours: float, size: int) -> None:
    names = {
        "condition": ("conditional GET", "bare route"),
        "whole": (f"calendar of {EVENTS} events, {size / 1e6:.1f} MB", "static file"),
    }
    ratio = ours / other
    print(f"{names[what][0]}: {ours:.0f}/s; {names[what][1]}: {other:.0f}/s; ratio {ratio:.2f} (goal {GOAL})")


if __name__ == "__main__":
    main()
