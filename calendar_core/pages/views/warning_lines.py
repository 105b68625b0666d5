"""Warnings as the first page shows them: what to do stands open, why is folded, and nothing is said twice."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.warnings.stored_warnings import goes_on_from_before, helper_of, is_told, standing_in
from calendar_core.app.warnings.voices import voice_of
from calendar_core.wording.warnings.judged_text import JUDGED
from calendar_core.wording.warnings.warning_text import CAUTION

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from uuid import UUID

    from alerts.outbox.standing import StandingWarning
    from calendar_core.app.shell.session import Session


def warning_lines(
    session: Session, warnings: Sequence[StandingWarning]
) -> Iterator[tuple[str, list[str], list[str]]]:
    """Give the subject of each warning, what stands open (what to do, and the cautions), and what is folded.

    As the terminal tells them: what is left to another warning, and a caution that stood above, is not said once more.
    """
    known, said = {warning.id: warning for warning in warnings}, set[str]()
    caution = CAUTION.partition("{")[0]
    for warning in warnings:
        what, do, *more = str(warning.data["text"]).split("\n\n")
        cautions = [text for text in more if text.startswith(caution)]
        rest = [text for text in more if text not in cautions]
        shown = [
            do,
            *("\n".join(line for line in text.splitlines() if line not in said) for text in cautions),
        ]
        left = _left_to_another(session, warning, known)
        if left:
            yield str(warning.data["subject"]), [left], [what, do, *rest]
            continue
        said |= {line for text in cautions for line in text.splitlines()}
        yield str(warning.data["subject"]), [text for text in shown if text], [what, *rest]


def _left_to_another(
    session: Session, warning: StandingWarning, known: Mapping[UUID, StandingWarning]
) -> str:
    """Return which warning tells what this one asks for; "" where it tells it itself."""
    by = helper_of(warning, known)
    if by is None or is_told(warning):
        return ""
    if goes_on_from_before(warning):
        return session.style.say(JUDGED["goes_on"])
    standing = standing_in(by)
    hazard = voice_of(session).hazard(standing.hazard, standing.levels)
    return session.style.say(JUDGED["helped"], hazard=hazard)
