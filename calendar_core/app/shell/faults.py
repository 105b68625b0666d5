"""What nobody foresaw: told in one line, its details kept in a file that only its owner can read."""

from __future__ import annotations

import os
import platform
import re
import traceback
from typing import TYPE_CHECKING

from platformdirs import user_state_path

from calendar_core.app.shell.clock import utc_now
from calendar_core.app.shell.version import program_version

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

UNFORESEEN = 70  # EX_SOFTWARE of BSD's sysexits.h: an internal fault, not one of what was asked
_SHOWN = 200  # signs of the fault itself in the line

_URL = re.compile(r"\b([a-z][a-z0-9+.-]*)://[^\s'\"]+", re.IGNORECASE)
_SECRET = re.compile(r"(?i)((?:secret|password|passwd|token|api_?key)\w*['\"]?\s*[=:]\s*)\S+")
_SIGNED = re.compile(r"whsec_\S+")


def told(error: Exception, words: Sequence[str]) -> str:
    """Keep the details of an error, and return the line that tells of it.

    The file holds the command, the versions and the traceback, without addresses and what else may be secret.
    """
    said = without_secrets(" ".join(str(error).split()))[:_SHOWN]
    what = f"{type(error).__name__}: {said}" if said else type(error).__name__
    try:
        kept = f"its details are in {_keep(error, words)}"
    except OSError as why:
        kept = f"its details could not be kept ({why.strerror})"
    return f"a fault of this program, which may have left work undone: {what}; {kept}"


def without_secrets(text: str) -> str:
    """Return a text without what addresses and keys may tell.

    >>> without_secrets("post https://hook.example/T0K3N failed, secret=abc")
    'post https://... failed, secret=...'
    """
    return _SIGNED.sub("...", _SECRET.sub(r"\1...", _URL.sub(r"\1://...", text)))


def _keep(error: Exception, words: Sequence[str]) -> Path:
    folder = user_state_path("leafclock", appauthor=False) / "faults"
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    now = utc_now()
    # Whom messages go to is nobody else's business, and an address may be all that is needed to write to them.
    asked = [*words[:2], "..."] if "channel" in words else words
    head = (
        f"leafclock {program_version()}, Python {platform.python_version()}, {platform.system()}\n"
        f"{now.isoformat()}\nleafclock {' '.join(asked)}\n\n"
    )
    file = folder / f"{now:%Y-%m-%dT%H%M%S}-{os.getpid()}.txt"
    text = without_secrets(head + "".join(traceback.format_exception(error)))
    file.unlink(missing_ok=True)  # of the same second and process: the last one is told of
    with os.fdopen(
        os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600),
        "w",
        encoding="utf-8",
        errors="backslashreplace",
    ) as out:
        out.write(text)
    return file
