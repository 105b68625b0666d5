"""Answers to items of the plan and to moves that warnings ask for: checked, written down, and told."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from calendar_core.app.answers.left_outside import what_it_meets
from calendar_core.app.answers.moves import move_named, write_moved
from calendar_core.app.answers.relocation import make_place, relocate
from calendar_core.app.log.entries import entry, is_written, with_ids, write
from calendar_core.app.log.parts import measures_named, refuse_odd
from calendar_core.app.log.work_entries import written_before
from calendar_core.app.plan.line_names import item_named
from calendar_core.app.plan.load import codes, warned, warning_lines
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.receipt import Receipt
from calendar_core.planning.places.operations import INTO, MAKE, OUT
from calendar_core.planning.waits import late_since
from calendar_core.wording.garden.answer_text import ANSWERS, looked, put_off
from calendar_core.wording.sentences import tree_list, tree_names

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Entry
    from calendar_core.planning.items import Item

WEEK = "in a week"
NEVER_THIS_YEAR = "not this year"


@dataclass(frozen=True)
class Particulars:
    """What can be said with an answer: of a look ``badly`` and ``values``, of a move ``to`` and ``profile``."""

    badly: bool = False
    values: Sequence[str] = ()
    to: str | None = None
    profile: str | None = None
    note: str = ""
    yes: bool = False


def answer(
    session: Session, name: str, verb: str, more: Particulars = Particulars(), entry_id: UUID | None = None
) -> Receipt:
    """Answer what was printed under a name: an item of the plan, or a move that a warning asks for.

    ``entry_id`` is one that whoever sends the answer chose: sent again, nothing is written.

    Raises
    ------
    Refusal
        Where nothing of that name stands today or the verb does not answer it; a WhereToRefusal where it has to be
        said which spot is meant.
    """
    if is_written(session, entry_id):
        return written_before(session)
    if (move := move_named(session, name)) is not None:
        return write_moved(session, move, verb, entry_id)
    return answer_items(session, item_named(session, name), verb, more, entry_id)


def answer_items(
    session: Session,
    items: Sequence[Item],
    verb: str,
    more: Particulars = Particulars(),
    entry_id: UUID | None = None,
) -> Receipt:
    """Answer items of one line: done, put off, or not this year. Raises Refusal, as `answer`."""
    operation, kind = session.knowledge.operations[items[0].operation], items[0].operation
    label, said = session.speaker.name(items[0]).lower(), verb.lower().strip()
    if said == WEEK:
        return _put_off(session, items, entry_id)
    if said == NEVER_THIS_YEAR:
        return _leave_out(session, items, entry_id)
    if kind in (INTO, OUT) and said in (operation.done.lower(), "done"):
        return relocate(session, items, more.to, more.profile, more.note, entry_id)
    if kind == MAKE and said in (operation.done.lower(), "done"):
        return make_place(session, more.to, more.profile)
    if items[0].follows and said in (items[0].done.lower(), "looked", "done"):
        return _look(session, items, more, entry_id)
    if not items[0].follows and said in (operation.done.lower(), "done"):
        return _work(session, items, more, entry_id)
    raise Refusal(
        f"'{verb}' does not answer {label}; right would be {items[0].done or operation.done}, In a week, or Not this year"
    )


def _put_off(session: Session, items: Sequence[Item], entry_id: UUID | None) -> Receipt:
    until = session.today + timedelta(days=7)
    operation = session.knowledge.operations[items[0].operation]
    _refuse_to_wait(session, items, until, items[0].done or operation.done)
    data = {"answer": "put off", "until": until.isoformat()}
    written = _write(session, _answers(session, items, data), entry_id)
    label = session.speaker.name(items[0]).lower()
    return Receipt((put_off(session.speaker, label, until),), entries=written)


def _leave_out(session: Session, items: Sequence[Item], entry_id: UUID | None) -> Receipt:
    written = _write(session, _answers(session, items, {"answer": "not this cycle"}), entry_id)
    label, trees = session.speaker.name(items[0]).lower(), _labels(session, items)
    told = session.style.say(ANSWERS["not_this_year"], work=label, trees=trees)
    return Receipt((told,), tuple(what_it_meets(session, items)), written)


def _refuse_to_wait(session: Session, items: Sequence[Item], until: date, verb: str) -> None:
    """Raise Refusal where a tree is in danger already, or the time for the work is over before that day."""
    what, day = session.speaker.name(items[0]).lower(), session.style.day
    if not (why := _why_not_wait(session, items, until)):
        return
    raise Refusal(
        f"{what} cannot wait until {day(until, session.today)}: {why}; right would be {verb}, or Not this year"
    )


def may_wait(session: Session, items: Sequence[Item]) -> bool:
    """Tell whether a line may be put off for a week."""
    return not _why_not_wait(session, items, session.today + timedelta(days=7))


def _why_not_wait(session: Session, items: Sequence[Item], until: date) -> str:
    """Return why work cannot wait until a day, "" where it can."""
    day, endangered = session.style.day, [item for item in items if item.protects]
    last = min((item.closes.likely for item in items if not item.label), default=until)
    if (since := late_since(endangered)) is not None:
        return f"it is late since {day(since, session.today)}, and a tree is in danger"
    if last < until and (endangered or late_since(items) is None):
        return f"its time ends about {day(last, session.today)}"
    return ""


def _work(session: Session, items: Sequence[Item], more: Particulars, entry_id: UUID | None) -> Receipt:
    """Write down the work of some items: at once for whole trees, one by one for parts; note what spoke against it."""
    trees = {tree.id: tree for tree in session.trees}
    operation, values = items[0].operation, measures_named(more.values)
    against = warned(session, [trees[item.tree_id] for item in items], operation, session.today, None)
    data = {
        "operation": operation,
        **({"note": more.note} if more.note else {}),
        **({"against": codes(against)} if against else {}),
    }
    made: list[Entry] = []
    if items[0].part_id is None:
        which = list(dict.fromkeys(trees[item.tree_id] for item in items))
        made.append(entry(session, which, "work", data, session.today))
    for item in items if items[0].part_id is not None else ():
        tree, parts = [trees[item.tree_id]], [item.part_id] if item.part_id else []
        if values:  # counted before the cut
            counted, place = {"values": values}, len(made)
            made.append(entry(session, tree, "measure", counted, session.today, parts=parts, place=place))
        made.append(entry(session, tree, "work", data, session.today, parts=parts, place=len(made)))
    written = _write(session, made, entry_id)
    done = session.style.translate(session.knowledge.operations[operation].done)
    told = session.style.say(ANSWERS["done"], done=done, trees=_labels(session, items))
    return Receipt((told,), tuple(warning_lines(session, against)), written)


def _look(session: Session, items: Sequence[Item], more: Particulars, entry_id: UUID | None) -> Receipt:
    """Write down a look at each of the trees or parts of some items."""
    trees, values = {tree.id: tree for tree in session.trees}, measures_named(more.values)
    made = []
    for place, item in enumerate(items):
        followed = item.follows
        assert followed is not None  # noqa: S101 - every look follows an entry
        parts = session.grove.states[item.tree_id].parts
        if followed.part is not None:
            refuse_odd([parts[followed.part]], values, yes=more.yes)
        data: dict[str, object] = {
            "rule": followed.rule,
            "of": str(followed.entry),
            "went": "badly" if more.badly else "well",
        }
        data |= {"values": values} if values else {}
        data |= {"note": more.note} if more.note else {}
        ids = () if followed.part is None else (followed.part,)
        made.append(
            entry(session, [trees[item.tree_id]], "look", data, session.today, parts=ids, place=place)
        )
    written = _write(session, made, entry_id)
    names = tree_names(items, session.labels)
    return Receipt((looked(session.speaker, items[0], names, badly=more.badly),), entries=written)


def _answers(session: Session, items: Sequence[Item], data: dict[str, str]) -> list[Entry]:
    """Return one answer for each tree's item."""
    trees = {tree.id: tree for tree in session.trees}
    return [
        entry(session, [trees[item.tree_id]], "answer", {"item": str(item.id), **data}, session.today)
        for item in items
    ]


def _labels(session: Session, items: Sequence[Item]) -> str:
    """Return the trees of items as they stand in a sentence, in the garden's order."""
    those = {item.tree_id for item in items}
    return tree_list([tree.label for tree in session.trees if tree.id in those])


def _write(session: Session, entries: Sequence[Entry], entry_id: UUID | None) -> tuple[UUID, ...]:
    """Store entries, and return their ids."""
    named = with_ids(entries, entry_id)
    write(session, *named)
    return tuple(entry.id for entry in named)
