"""A disk that is full, for real: one clear line, and what was stored before is whole."""

from __future__ import annotations

import os
import resource
import signal
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.app.conftest import DAY
from tests.app.test_bad_input import rows
from tests.app.test_process import LEAFCLOCK, environment

if TYPE_CHECKING:
    from tests.app.conftest import Program

pytestmark = pytest.mark.slow

AS_ROOT = () if os.getuid() == 0 else ("--user", "--map-root-user")
FULL = "the disk is full; free some space and try again; what was stored before is whole"
COMMANDS = (
    ("log", "all", "wire", "--today", DAY),
    ("calendar", "bench.ics", "--today", DAY),
    ("backup", "copy.db"),
    ("restore", "garden.db", "--db", "second.db"),
    ("watch",),
)
ON_A_SMALL_DISK = """
mount -t tmpfs -o size=2m disk disk || exit 9
cp garden.db disk/garden.db && cd disk
dd if=/dev/zero of=filling bs=1k 2>&-
"$@"
status=$?
rm filling
cp garden.db ../after.db
ls > ../there
exit $status
"""


def on_a_small_disk(*words: str) -> subprocess.CompletedProcess[str]:
    """Run a command on a disk without room for another byte; the disk goes away with its processes."""
    Path("disk").mkdir(exist_ok=True)
    script = ["unshare", *AS_ROOT, "--mount", "sh", "-c", ON_A_SMALL_DISK, "sh"]
    return subprocess.run([*script, *words], env=environment(), capture_output=True, text=True, check=False)


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: str(words[0]))
def test_a_full_disk_is_one_line_and_what_was_stored_is_whole(
    garden: Program, words: tuple[str, ...]
) -> None:
    if on_a_small_disk("true").returncode != 0:
        pytest.skip("no disk of its own can be made here (unshare and mount)")
    before = rows()
    made = on_a_small_disk(*LEAFCLOCK, *words)
    assert (made.returncode, made.stdout, len(made.stderr.splitlines())) == (2, "", 1)
    assert made.stderr.endswith(f": {FULL}\n")
    assert rows("after.db") == before
    assert set(Path("there").read_text().split()) <= {"garden.db", "garden.db-wal", "garden.db-shm"}


def _no_file_may_grow() -> None:
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, resource.RLIM_INFINITY))


def test_a_disk_that_takes_no_more_is_one_line(garden: Program) -> None:
    """As over a quota: "disk I/O error" is all that SQLite says."""
    before = rows()
    made = subprocess.run(
        [*LEAFCLOCK, "log", "all", "wire", "--today", DAY],
        env=environment(),
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=_no_file_may_grow,
    )
    told = "garden.db: disk I/O error: the disk did not take it; see whether it is over a quota, or failing"
    assert (made.returncode, made.stdout, made.stderr) == (2, "", f"leafclock: {told}\n")
    assert rows() == before
