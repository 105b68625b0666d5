"""Answers of a garden's grower to the questions on which growers differ."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.log.entries import entry, is_written, with_ids, write
from calendar_core.app.log.work_entries import written_before
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.receipt import Receipt
from calendar_core.garden.state import chosen
from calendar_core.wording.knowledge.species_text import CHOICES

if TYPE_CHECKING:
    from uuid import UUID

    from calendar_core.app.shell.session import Session


def given_answers(session: Session) -> dict[str, str]:
    """Return the answer that holds to each question by its name: the grower's, else the usual one."""
    given = chosen(session.entries, session.today)
    return {key: given.get(key, choice.default) for key, choice in session.knowledge.choices.items()}


def answer_question(
    session: Session, question: str, option: str | None, entry_id: UUID | None = None
) -> Receipt:
    """Write down the answer to a question, both by their names. Raises Refusal."""
    if is_written(session, entry_id):
        return written_before(session)
    known = session.knowledge.choices
    if question not in known:
        raise Refusal(f"no question '{question}'; right would be one of: {', '.join(known)}")
    options = known[question].options
    if option not in options:
        found = "no answer" if option is None else f"'{option}' is no answer"
        raise Refusal(f"{found} to '{question}'; right would be one of: {', '.join(options)}")
    made = entry(session, [], "choice", {"question": question, "option": option}, session.today)
    (written,) = with_ids([made], entry_id)
    write(session, written)
    style, asked, answer = session.style, known[question].question, options[option].text
    name = written.id.hex[:8]
    told = style.say(CHOICES["answered"], question=asked, answer=style.text(answer), entry=name)
    return Receipt((told,), entries=(written.id,))
