"""Stages that were seen, or had not come when someone looked: dates are learned from them."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.app.log.entries import entry, is_written, with_ids, write
from calendar_core.app.log.work_entries import written_before
from calendar_core.app.shell.errors import DoubtRefusal, Refusal
from calendar_core.app.shell.named import stage_named
from calendar_core.app.shell.receipt import Receipt
from calendar_core.garden.state import NOT_YET
from calendar_core.wording.garden.log_text import sighting
from calendar_core.wording.sentences import stage_words

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree


def write_sighting(
    session: Session,
    trees: Sequence[Tree],
    stage: str,
    on: date,
    *,
    not_yet: bool = False,
    yes: bool = False,
    entry_id: UUID | None = None,
) -> Receipt:
    """Write down a stage that was seen on a day, or was ``not_yet``; buds may be "closed".

    Raises
    ------
    Refusal
        Where a tree has no such stage; a DoubtRefusal where the day is far from what is expected, unless ``yes``.
    """
    if is_written(session, entry_id):
        return written_before(session)
    if stage.lower() in ("closed", "still closed", "buds closed"):
        not_yet, stage = True, "bud break"
        for tree in trees:
            if "bud_break" not in session.knowledge.profiles[tree.species].stages:
                raise Refusal(f"{tree.label} has no bud break; right would be a stage with --not-yet")
    key = stage_named(session, trees, stage)
    if not not_yet and not yes:
        _ask_if_odd(session, trees, key, on)
    seen = entry(session, trees, "seen", {"stage": f"{NOT_YET if not_yet else ''}{key}"}, on)
    (written,) = with_ids([seen], entry_id)
    write(session, written)
    told = sighting(session.speaker, key, [tree.label for tree in trees], on, not_yet=not_yet)
    return Receipt((told,), entries=(written.id,))


def _ask_if_odd(session: Session, which: Sequence[Tree], key: str, on: date) -> None:
    """Refuse a day far outside the expected range unless it is confirmed."""
    for tree in which:
        for dated in session.plan.stages.get(tree.id, ()):
            if dated.stage != key or dated.range is None or dated.seen:
                continue
            slack = timedelta(days=max(21, 1.5 * (dated.range.late - dated.range.early).days))
            inside = dated.range.early - slack <= on <= dated.range.late + slack
            near = abs((dated.range.likely - on).days) < 183
            if near and not inside:
                expected = session.speaker.likely(dated.range)
                odd = f"{tree.label}: {stage_words(key)} on {on} is far from what is expected ({expected})"
                raise DoubtRefusal([odd], "; if the day is right, say so with --yes")
