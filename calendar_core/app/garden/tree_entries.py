"""What changes of a tree: its aim, vigour, size, spot and pot, and that it is gone; written down and told."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from calendar_core.app.garden.garden_file import TreePart
from calendar_core.app.log.entries import entry, is_written, with_ids, write
from calendar_core.app.log.history import entries_of, joined_on
from calendar_core.app.log.work_entries import written_before
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import Strict, Text, as_option, checked
from calendar_core.app.shell.receipt import Receipt
from calendar_core.knowledge.words import Departure
from calendar_core.storage import gardens
from calendar_core.wording.garden.garden_text import TREES, of_trees
from calendar_core.wording.sentences import tree_list

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree


class DepartureForm(Strict):
    """What is said of trees that are gone."""

    why: Departure
    note: Text = ""


def change_trees(
    session: Session,
    trees: Sequence[Tree],
    on: date,
    *,
    spot: str | None = None,
    aim: str | None = None,
    vigour: int | str | None = None,
    size: str | None = None,
    pot_litres: float | str | None = None,
    pot: str | None = None,
    entry_id: UUID | None = None,
) -> Receipt:
    """Write down what of some trees is otherwise since a day; ``spot`` is a name. Raises Refusal."""
    if is_written(session, entry_id):
        return written_before(session)
    data = _tree_changes(session, spot, aim=aim, vigour=vigour, size=size, pot_litres=pot_litres, pot=pot)
    if not data:
        raise Refusal(
            "nothing to change; right would be one of --aim, --vigour, --size, --spot, --pot, --pot-kind"
        )
    for tree in trees:
        _refuse_before(session, tree, on)
    (written,) = with_ids([entry(session, trees, "state", data, on)], entry_id)
    write(session, written)
    told = of_trees(session.style, TREES["changed"], [tree.label for tree in trees])
    return Receipt((told,), entries=(written.id,))


def part_with(
    session: Session, trees: Sequence[Tree], on: date, why: str, note: str = "", entry_id: UUID | None = None
) -> Receipt:
    """Write down that trees are gone since a day: what was written of them stays. Raises Refusal."""
    if is_written(session, entry_id):
        return written_before(session)
    form = checked(DepartureForm, {"why": why.strip().lower(), "note": note}, as_option)
    for tree in trees:
        _refuse_before(session, tree, on)
        last = max((logged.happened for logged in entries_of(session, tree)), default=on)
        if on < last:
            raise Refusal(
                f"{tree.label} was still there on {last}, by its log; right would be a day from then on, not {on}"
            )
    gone = entry(session, trees, "gone", form.model_dump(exclude_defaults=True), on)
    (written,) = with_ids([gone], entry_id)
    write(session, written)
    told = session.style.say(
        TREES["went"],
        day=session.style.day(on, session.today),
        trees=tree_list([tree.label for tree in trees]),
        why=session.style.translate(form.why),
        entry=written.id.hex[:8],
    )
    return Receipt((told,), entries=(written.id,))


def _refuse_before(session: Session, tree: Tree, on: date) -> None:
    """Refuse a day before a tree joined: how it joined would overrule what is said of it then. Raises Refusal."""
    joined = joined_on(session, tree)
    if joined is not None and on < joined:
        raise Refusal(f"{tree.label} joined on {joined}; right would be a day from then on, not {on}")


def _tree_changes(session: Session, spot: str | None, **given: str | float | None) -> dict[str, Any]:
    data: dict[str, Any] = {name: value for name, value in given.items() if value is not None}
    form = checked(TreePart, {"species": "", **data}, as_option)
    data = {name: getattr(form, name) for name in data}
    if spot is not None:
        with session.store.read() as connection:
            data["spot"] = str(gardens.find_spot(connection, session.garden.id, spot).id)
    return data
