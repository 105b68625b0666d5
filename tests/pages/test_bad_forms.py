"""Forms that cannot be taken: one sentence says why, what was entered comes back, nothing is half-written."""

from __future__ import annotations

import gzip
import html
import io
import os
import re
import sqlite3
import subprocess
import sys
import zipfile
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4

import pytest

from calendar_core.pages.shell.access import TOKEN
from tests.pages.conftest import DAY
from tests.pages.serving import serving
from tests.pages.test_today import entries

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.pages.serving import Served

ROOT = Path(__file__).parents[2]
HELD = """
import sqlite3, sys
line = sqlite3.connect(sys.argv[1], isolation_level=None)
line.execute("BEGIN IMMEDIATE")
print("held", flush=True)
sys.stdin.read()
"""


def packed() -> bytes:
    """Return a table as an archive."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("trees.csv", "species\nJapanese maple\n")
    return out.getvalue()


TABLES = {
    "png": b"\x89PNG\r\n\x1a\n" + bytes(range(256)),
    "zip": packed(),
    "gzip": gzip.compress(b"species\nJapanese maple\n"),
    "utf-16": "species\nJapanese maple\n".encode("utf-16"),
    "one line": b"a" * 999_999,
    "header alone": b"species,label\n",
    "no number": b"species,vigour,pot_litres\nJapanese maple,1e308,nan\n",
    "a day that is none": b"species,last_repot\nJapanese maple,2015-13-40\n",
    "names of nothing": b"species\n" + b"".join(b"nothing %d\n" % number for number in range(5000)),
    "rows that are none": b"species,vigour\n" + b"maple,x\n" * 20_000,
}
ABSURD = ("1e308", "nan", "2015-13-40", "x" * 20_000)


def trees_of(served: Served) -> list[str]:
    session = served.site.session()
    assert session is not None
    return [str(tree.id) for tree in session.trees]


def stored(database: Path) -> list[int]:
    line = sqlite3.connect(database)
    asked = "SELECT (SELECT count(*) FROM entry), (SELECT count(*) FROM tree), (SELECT count(*) FROM spot)"
    counts = list(line.execute(asked).fetchone())
    line.close()
    return counts


@pytest.mark.parametrize("what", TABLES)
def test_what_is_no_table_is_told_in_few_lines_and_adds_no_tree(shared: Served, what: str) -> None:
    before = len(trees_of(shared))
    answer = shared.reader().post("/bench/add", files={"table": ("trees.csv", TABLES[what])})
    assert answer.status_code == 422
    told = re.findall(r"<p[^>]*>(.*?)</p>", answer.text)
    assert any("right would be" in line or "the nearest known are" in line for line in told)
    assert len(answer.text) < 200_000
    assert len(trees_of(shared)) == before


def test_a_long_text_in_the_place_of_a_tree_is_refused_as_shortly(shared: Served) -> None:
    """How alike names are takes the square of their lengths: this one took seconds, and is told in a line."""
    answer = shared.reader().post("/bench/add", {"trees": "x" * 2_000})
    assert answer.status_code == 422
    assert f"found &#39;{'x' * 60}...&#39;, not known yet" in answer.text


@pytest.mark.parametrize(
    ("path", "fields"),
    [
        ("/write/measured", ("value", "day")),
        ("/write/changed", ("pot_litres", "day")),
        ("/plan/away", ("first", "last")),
        ("/settings/garden", ("elevation",)),
        ("/settings/spot", ("sun_from", "cloth")),
    ],
)
def test_an_absurd_value_is_refused_with_what_was_entered(
    served: Served, garden_file: Path, path: str, fields: tuple[str, ...]
) -> None:
    tree, before = trees_of(served)[0], stored(garden_file)
    reader = served.reader()
    fitting = {
        "tree": tree, "measure": "height", "value": "300", "day": "2015-06-20", "vigour": "", "pot_litres": "",
        "first": "2015-07-01", "last": "2015-07-04", "name": "Mine", "units": "metric", "act": "add",
    }  # fmt: skip
    for field in fields:
        for text in ABSURD:
            answer = reader.post(path, {**fitting, field: text})
            assert answer.status_code == 422, (field, text[:20])
            assert "right would be" in answer.text, (field, text[:20])
            assert text in html.unescape(answer.text), (field, text[:20])
    assert stored(garden_file) == before


@pytest.mark.parametrize(
    "sent",
    [
        {"json": [1, 2]},
        {"data": b"\xff\xfe\0", "headers": {"Content-Type": "text/plain"}},
        {"data": b"--x", "headers": {"Content-Type": "multipart/form-data; boundary=y"}},
        {"data": b"tree=%ff&day=%80", "headers": {"Content-Type": "application/x-www-form-urlencoded"}},
    ],
    ids=["json", "text", "parts without an end", "no text"],
)
def test_no_form_at_all_is_no_fault_of_ours(shared: Served, sent: dict[str, object]) -> None:
    reader = shared.reader()
    token = {"X-Leafclock-Token": reader.token()}
    for path in ("/answers", "/write", "/round", "/bench/add", "/undo", "/settings/spot", "/phone/push"):
        headers = {**token, **sent.get("headers", {})}  # type: ignore[dict-item]
        answer = reader.line.post(shared.url + path, timeout=60, **{**sent, "headers": headers})  # type: ignore[arg-type]
        assert 400 <= answer.status_code < 500, path


def test_a_hidden_field_that_is_spoilt_says_what_would_be_right(shared: Served) -> None:
    answer = shared.reader().post("/undo", {"entry": "tomorrow"})
    assert answer.status_code == 422
    assert "right would be to open the page again" in answer.text


@contextmanager
def held(database: Path) -> Iterator[None]:
    """Let another process write to a database, without an end."""
    words = [sys.executable, "-c", HELD, str(database)]
    with subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == b"held\n"
        yield


def hidden(page: str) -> dict[str, str]:
    """Return the hidden fields of the form of a page, as a browser reads them."""
    found = re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)">', page)
    return {html.unescape(name): html.unescape(text) for name, text in found}


def test_a_form_that_meets_a_locked_database_can_be_sent_again(served: Served, garden_file: Path) -> None:
    reader, tree = served.reader(), trees_of(served)[0]
    before, note = len(entries(garden_file)), 'as "entered" <b>'
    form = {"tree": tree, "operation": "wire", "day": "2015-06-20", "note": note, "entry_id": str(uuid4())}
    token = reader.token()
    with held(garden_file):
        answer = reader.line.post(f"{served.url}/write", data={**form, TOKEN: token}, timeout=60)
    assert answer.status_code == 503  # of a phone that kept it without a network: it goes on to keep it
    assert "another program is writing to it; try again when it has finished" in html.unescape(answer.text)
    assert len(entries(garden_file)) == before
    sent = hidden(answer.text)
    assert sent == {**form, TOKEN: token}
    for _ in range(2):  # twice is once
        again = reader.line.post(f"{served.url}/write", data={**sent, "yes": "yes"}, timeout=60)
        assert again.status_code == 200
    assert len(entries(garden_file)) == before + 1


def test_no_password_is_shown_again(served: Served, garden_file: Path) -> None:
    reader, secret = served.reader(), "quiet maple under rain"
    token = reader.token()
    with held(garden_file):
        answer = reader.line.post(
            f"{served.url}/settings/password",
            data={"password": secret, "again": secret, TOKEN: token},
            timeout=60,
        )
    assert answer.status_code == 503
    assert secret not in answer.text


AS_ROOT = () if os.getuid() == 0 else ("--user", "--map-root-user")
ON_A_SMALL_DISK = """
mount -t tmpfs -o size=4m disk disk || exit 9
cp garden.db disk/garden.db
"$1" -m tests.pages.test_bad_forms disk
status=$?
cp disk/garden.db after.db
exit $status
"""


@pytest.mark.slow
def test_a_form_that_meets_a_full_disk_is_told_so_and_what_was_stored_is_whole(
    garden_file: Path, tmp_path: Path
) -> None:
    (tmp_path / "disk").mkdir()
    words = ["unshare", *AS_ROOT, "--mount", "sh", "-c", ON_A_SMALL_DISK, "sh", sys.executable]
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    made = subprocess.run(words, cwd=tmp_path, env=env, capture_output=True, text=True, check=False)
    if made.returncode == 9 or "unshare" in made.stderr:
        pytest.skip("no disk of its own can be made here (unshare and mount)")
    assert (made.returncode, made.stderr) == (0, "")
    assert "free some space and try again" in made.stdout or "the disk did not take it" in made.stdout
    assert "kept" in made.stdout
    assert stored(tmp_path / "after.db") == stored(garden_file)


def main() -> None:
    """Send a form to pages whose disk has no room for another byte, and print what they say."""
    folder = Path(sys.argv[1])
    with serving(folder / "garden.db", DAY) as served:
        reader, tree = served.reader(), trees_of(served)[0]
        token, note = reader.token(), "as it was entered " * 9
        with (folder / "filling").open("wb", buffering=0) as filling, suppress(OSError):
            while filling.write(b"\0" * 1024):
                pass
        form = {"tree": tree, "operation": "wire", "note": note, "yes": "yes", TOKEN: token}
        answer = reader.get()
        for _ in range(40):  # what SQLite has room for in its own file is taken first
            answer = reader.line.post(
                f"{served.url}/write", data={**form, "entry_id": str(uuid4())}, timeout=60
            )
            if answer.status_code != 200:
                break
        print(
            answer.status_code, html.unescape(answer.text), "kept" if note.strip() in answer.text else "lost"
        )
        (folder / "filling").unlink()


if __name__ == "__main__":
    main()
