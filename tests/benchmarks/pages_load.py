"""How fast pages are: today's page with 300 and 3,000 made-up trees, an answer and the page after it, memory, the first page.

Run: python -m tests.benchmarks.pages_load [TREES ...]. One process serves, this one asks over one line that stays open. The
reference is a bare route of the same framework in the same process.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import requests

from tests.alerts.conftest import free_port
from tests.benchmarks.big_garden import TODAY, found

ASKED = 200


def main() -> None:
    """Print the figures."""
    for trees in map(int, sys.argv[1:] or ["14", "300"]):
        with tempfile.TemporaryDirectory() as folder:
            database = Path(folder) / "garden.db"
            found(database, trees)
            measure(database, trees)


def measure(database: Path, trees: int) -> None:
    port, began = free_port(), time.perf_counter()
    words = ["serve", "--db", str(database), "--today", TODAY.isoformat(), "--port", str(port), "--no-jobs"]
    served = subprocess.Popen([sys.executable, "-m", "calendar_core", *words], stdout=subprocess.DEVNULL)
    url, line = f"http://127.0.0.1:{port}", requests.Session()
    try:
        up = first_answer(line, f"{url}/static/page.css", began)
        page = wait_for_plan(line, url)
        ready = time.perf_counter() - began
        todays, bare = timed(line, url), timed(line, f"{url}/robots.txt")
        print(
            f"{trees} trees: up after {up:.1f} s, first plan after {ready:.1f} s, page {len(page) / 1000:.0f} kB; "
            f"today p50 {np.median(todays):.1f} ms, p95 {np.percentile(todays, 95):.1f} ms, bare route p95 "
            f"{np.percentile(bare, 95):.1f} ms, ratio of p95 {np.percentile(todays, 95) / np.percentile(bare, 95):.1f}; "
            f"memory {memory_mb(served.pid):.0f} MB"
        )
        answer_ms, after_ms = answered(line, url, page)
        print(f"  an answer {answer_ms:.0f} ms, the page after it up to date after {after_ms:.0f} ms")
    finally:
        served.terminate()
        served.wait(30)


def first_answer(line: requests.Session, url: str, began: float) -> float:
    while True:
        try:
            line.get(url, timeout=5)
        except requests.ConnectionError:
            time.sleep(0.02)
        else:
            return time.perf_counter() - began


def wait_for_plan(line: requests.Session, url: str) -> str:
    while True:
        text = line.get(url, timeout=600).text
        if "data-token" in text:
            return text
        time.sleep(1)


def timed(line: requests.Session, url: str) -> list[float]:
    out = []
    for _ in range(ASKED):
        began = time.perf_counter()
        line.get(url, timeout=60)
        out.append(1000 * (time.perf_counter() - began))
    return out


def answered(line: requests.Session, url: str, page: str) -> tuple[float, float]:
    """Put off the first line of one tree, and wait until the page stands without it."""
    token = re.findall(r'data-token="([0-9a-f]+)"', page)[0]
    item = re.findall(r'type="hidden" name="item" value="([^"]+)"', page)[0]
    began = time.perf_counter()
    form = {"token": token, "item": item, "verb": "Not this year"}
    answer = line.post(f"{url}/answers", data=form, allow_redirects=False, timeout=600)
    assert answer.status_code == 303, answer.text[-400:]
    written = time.perf_counter()
    while True:
        text = line.get(url, timeout=600).text
        if "being worked out anew" not in text:
            assert item not in text
            return 1000 * (written - began), 1000 * (time.perf_counter() - written)
        time.sleep(0.1)


def memory_mb(pid: int) -> float:
    pages = int(Path(f"/proc/{pid}/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


if __name__ == "__main__":
    main()
