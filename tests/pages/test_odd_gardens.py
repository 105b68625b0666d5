"""Gardens that few have: at the ends of the Earth, with odd labels, without a tree left, with entries that nobody can read."""

from __future__ import annotations

import html
import math
import re
import time
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import uuid4

import pytest

from calendar_core.garden.model import Entry, Tree
from calendar_core.pages.shell.answering import CONTENTS
from calendar_core.storage import gardens, log
from calendar_core.storage.engine import open_store
from tests.app.conftest import run
from tests.pages.serving import serving
from tests.pages.test_every_page import opened

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Browser

    from tests.pages.serving import Served

pytestmark = pytest.mark.slow
TREES = "2 Japanese maple; black pine; tropical fig"  # invented
LABELS = (
    "W" * 60,
    "\u00e9" * 60,
    "<b>fat</b><script>x",
    '"quo\'te" & {{7*7}} %s {0}',
    "\U0001f332\U0001f341 maple",
    "\u05e9\u05dc\u05d5\u05dd",
    "\u202ertl",
    "a@b",
    "@",
    "\\",
)
BESIDES = (
    "/?", "/plan?by=month", "/phone", "/bench/labels", "/round/past", "/round/sheet", "/data/today", "/data/plan",
    "/data/hours", "/data/stages", "/data/trees", "/data/trees/gone", "/data/log", "/data/warnings", "/season?of=nobody",
    "/bench?begin=-5", "/bench?spot=nowhere", "/hours?day=2015-03-08", "/hours?day=2015-11-01", "/hours?day=9999-12-31",
    "/hours?day=0001-01-01", "/hours?day=2015-13-40",
)  # fmt: skip
NO_VALUE = re.compile(
    r"(?<![\w.])(NaN|nan|inf|Infinity|undefined|Traceback)(?!\w)|\bNone\b(?! (ahead|to come)\.)"
)


def founded(folder: Path, today: str, *words: str, trees: str = TREES) -> Path:
    database = folder / "garden.db"
    made = run("start", "--db", str(database), "--offline", "--today", today, "--trees", trees, *words)
    assert made.status == 0, made.err
    return database


def measured(folder: Path, until: str, mean_c: float, swing_c: float) -> Path:
    """Write two years of made-up weather up to a day: a sine over the year, coldest in January, and 8 K within a day."""
    rows, last = ["date,precipitation,temp_max,temp_min,wind,weather"], date.fromisoformat(until)
    for back in range(800, -1, -1):
        day = last - timedelta(days=back)
        mean = mean_c - swing_c * math.cos(2 * math.pi * (day.timetuple().tm_yday - 20) / 365.25)
        rows.append(f"{day},1.0,{mean + 4:.1f},{mean - 4:.1f},3.0,rain")
    file = folder / "weather.csv"
    file.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return file


def addresses(served: Served, most: int = 4) -> list[str]:
    session = served.site.session()
    assert session is not None
    of_trees = [
        address
        for tree in session.trees[-most:]
        for address in (f"/tree/{tree.id}", f"/write?tree={tree.id}", f"/data/trees/{tree.id}")
    ]
    return [*(address for _, _, address in CONTENTS), *BESIDES, *of_trees]


def seen(served: Served, path: str) -> str:
    """Return a page as soon as it is worked out; it is never a fault of ours, and says no value that is none."""
    reader = served.reader()
    answer = reader.get(path)
    for _ in range(600):
        if "Retry-After" not in answer.headers:
            break
        time.sleep(0.1)
        answer = reader.get(path)
    assert answer.status_code < 500, (path, answer.text[-300:])
    told = html.unescape(re.sub(r"<[^>]*>", " ", answer.text))
    found = NO_VALUE.search(told)
    assert found is None, (path, told[max(0, found.start() - 80) : found.end() + 80])
    return answer.text


def all_seen(database: Path, day: str) -> None:
    with serving(database, date.fromisoformat(day)) as served:
        for path in addresses(served):
            seen(served, path)


@pytest.mark.parametrize(
    ("latitude", "longitude", "zone", "day", "weather"),
    [
        ("69.65", "18.96", "Europe/Oslo", "2015-06-21", (3.0, 8.5)),
        ("69.65", "18.96", "Europe/Oslo", "2015-12-21", (3.0, 8.5)),
        ("-37.8", "145", "Australia/Melbourne", "2015-10-04", None),  # clocks go forward
    ],
    ids=["midnight sun", "polar night", "south"],
)
def test_pages_of_the_ends_of_the_earth(
    tmp_path: Path, latitude: str, longitude: str, zone: str, day: str, weather: tuple[float, float] | None
) -> None:
    where = ("--lat", latitude, "--lon", longitude, "--zone", zone, "--units", "us", "--elevation", "20")
    own = ("--weather", str(measured(tmp_path, day, *weather))) if weather else ()
    all_seen(founded(tmp_path, day, *where, *own), day)


def test_pages_of_a_garden_whose_trees_are_gone_and_whose_log_cannot_all_be_read(tmp_path: Path) -> None:
    day = "2015-03-08"  # clocks go forward
    database = founded(tmp_path, day, "--place", "Seattle")
    store, now = open_store(database), datetime(2015, 3, 8, tzinfo=UTC)
    with store.begin() as connection:
        garden = gardens.get_garden(connection)
        trees = gardens.list_trees(connection, garden.id)
        gone = [
            Entry(uuid4(), garden.id, (tree.id,), date(2015, 3, 2), now, "owner", "gone", {"why": "died"})
            for tree in trees
        ]
        work = Entry(
            uuid4(), garden.id, (trees[0].id,), date(2015, 3, 1), now, "owner", "work", {"operation": "wire"}
        )
        log.append(connection, [*gone, work])
        for entry, data in ((work, '{"operation": 5}'), (gone[-1], '{"why": 3')):
            connection.exec_driver_sql("UPDATE entry SET data = ? WHERE id = ?", (data, entry.id.hex))
    store.close()
    all_seen(database, day)
    with serving(database, date.fromisoformat(day)) as served:
        for path in (
            f"/tree/{trees[0].id}",
            f"/write?tree={trees[0].id}",
            f"/data/trees/{trees[0].id}/history",
        ):
            seen(served, path)


def test_pages_of_a_garden_without_a_tree(tmp_path: Path) -> None:
    day = "2015-11-01"  # clocks go back
    all_seen(founded(tmp_path, day, "--place", "Seattle", trees=""), day)


def test_pages_of_labels_that_nobody_foresaw(browser: Browser, tmp_path: Path) -> None:
    """They are shown as they are, and are broken where they would push the page aside."""
    day = "2015-06-24"
    database = founded(tmp_path, day, "--place", "Seattle", "--name", "G" * 60)
    store = open_store(database)
    species = ("acer-palmatum", "pinus-thunbergii", "rhododendron-indicum")
    with store.begin() as connection:
        garden = gardens.get_garden(connection)
        gardens.add_trees(
            connection,
            [Tree(uuid4(), garden.id, label, species[n % len(species)]) for n, label in enumerate(LABELS)],
        )
    store.close()
    with serving(database, date.fromisoformat(day)) as served:
        paths = addresses(served)
        for path in paths:
            seen(served, path)
        bench = html.unescape(seen(served, "/bench"))
        assert all(label in bench for label in LABELS)
        wide = next(tree.id for tree in served.site.session().trees if tree.label == LABELS[0])  # type: ignore[union-attr]
        shown = [
            path
            for path in paths
            if not path.startswith(
                ("/round/sheet", "/data", "/hours?", "/bench?", "/season?", "/tree", "/write?")
            )
        ]
        for path in (*shown, f"/tree/{wide}", f"/write?tree={wide}"):
            page, complaints = opened(browser, served, path, 320)
            page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
            assert page.evaluate("document.documentElement.scrollWidth") <= 320, path
            assert complaints == [], path
            page.context.close()
