"""What a browser fetches by itself: the manifest of the installed pages, and the worker that runs beside them."""

from __future__ import annotations

import hashlib
import json
from functools import cache
from pathlib import Path

from fastapi import APIRouter
from starlette.responses import JSONResponse, Response

from calendar_core.pages.shell.access import Reader

router = APIRouter()

HERE = Path(__file__).parent
STATIC = HERE.parent / "static"
NOT_KEPT = (".LICENSE", "mark-512.png", "phone.js")
"""Ends of names of files that no page needs without a network."""
PAPER = "#f7f1e5"  # as in page.css
ICONS = [
    {"src": "/static/mark.svg", "sizes": "any", "type": "image/svg+xml", "purpose": "any"},
    {"src": "/static/mark-192.png", "sizes": "192x192", "type": "image/png", "purpose": "any"},
    {"src": "/static/mark-512.png", "sizes": "512x512", "type": "image/png", "purpose": "any"},
    {"src": "/static/mark-512.png", "sizes": "512x512", "type": "image/png", "purpose": "maskable"},
]


@router.get("/manifest.webmanifest", include_in_schema=False)
def manifest(visit: Reader) -> Response:
    """Return what the pages are called once they are installed. Source: Web Application Manifest (W3C)."""
    garden = visit.garden.name
    told = {
        "id": "/",
        "name": garden if garden.lower() == "leafclock" else f"{garden} - Leafclock",
        "short_name": garden[:12],  # longer ones are cut under an icon (common practice)
        "start_url": "/",
        "scope": "/",
        "display": "standalone",
        "lang": "en",
        "background_color": PAPER,
        "theme_color": PAPER,
        "icons": ICONS,
    }
    return JSONResponse(told, media_type="application/manifest+json")


@router.get("/worker.js", include_in_schema=False)
def worker() -> Response:
    """Return the worker, which is another when a file of the pages is: browsers then fetch all of them anew."""
    return Response(worker_text(), media_type="text/javascript", headers={"Cache-Control": "no-cache"})


@cache
def worker_text() -> str:
    """Return the worker's script with the files that it keeps, and their version."""
    files = sorted(file for file in STATIC.iterdir() if file.is_file() and not file.name.endswith(NOT_KEPT))
    script = (HERE / "worker.js").read_text(encoding="utf-8")
    digest = hashlib.sha256(script.encode())
    for file in files:
        digest.update(file.name.encode() + b"\0" + file.read_bytes())
    names = json.dumps([f"/static/{file.name}" for file in files])
    return script.replace("/*files*/[]", names).replace("/*version*/", digest.hexdigest()[:16])
