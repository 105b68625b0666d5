"""Parts that are followed, and what is measured of them and of trees, written down and told."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from calendar_core.app.log.entries import entry, is_written, with_ids, write
from calendar_core.app.log.parts import (
    PartForm,
    decision,
    kind_named,
    measures_named,
    part_entry,
    part_named,
    refuse_early,
    refuse_odd,
    refuse_odd_height,
    treatment,
)
from calendar_core.app.log.work_entries import written_before
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import as_option, checked
from calendar_core.app.shell.receipt import Receipt
from calendar_core.wording.garden.log_text import WRITTEN, measured, part_words

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Entry, Tree
    from calendar_core.garden.parts import Part


@dataclass(frozen=True)
class PartWords:
    """What is said of a part, as it was typed: where it is, what is to become of it, what it is to get."""

    height_mm: float | str | None = None
    side: str = ""
    pairs: int | str | None = None
    directive: str | None = None
    decide_by: str | None = None
    instead_of: str | None = None
    decide: str | None = None


def add_part(
    session: Session,
    tree: Tree,
    kind: str,
    name: str,
    on: date,
    words: PartWords = PartWords(),
    entry_id: UUID | None = None,
) -> Receipt:
    """Write down a part that is to be followed; looks at it enter the plan. Raises Refusal."""
    if is_written(session, entry_id):
        return written_before(session)
    form, key = _form(name, words), kind_named(kind)
    written = part_entry(session, tree, key, form, _treated(session, tree, key, words), on)
    return _written(session, written, tree.label, entry_id)


def change_part(
    session: Session,
    tree: Tree,
    part: Part,
    on: date,
    words: PartWords = PartWords(),
    *,
    new_name: str | None = None,
    gone: bool = False,
    entry_id: UUID | None = None,
) -> Receipt:
    """Write down what is to become of a part, or that it is gone. Raises Refusal, also where nothing is said."""
    if is_written(session, entry_id):
        return written_before(session)
    refuse_early([part], on)
    form = _form(new_name or part.name, words)
    data: dict[str, Any] = form.model_dump(exclude_none=True, exclude_defaults=True, exclude={"name"})
    data |= {"name": form.name} if new_name else {}
    data |= _treated(session, tree, part.kind, words)
    data |= {"gone": True} if gone else {}
    if not data:
        raise Refusal(
            "nothing to change is given; right would be --directive, --decide, --gone or another option"
        )
    written = entry(session, [tree], "part", data, on, parts=[part.id])
    return _written(session, written, f"{tree.label}, {part.name}", entry_id)


def measure(
    session: Session,
    tree: Tree,
    names: Sequence[str],
    values: Sequence[str],
    on: date,
    *,
    yes: bool = False,
    entry_id: UUID | None = None,
) -> Receipt:
    """Write down what was measured of a part of a tree, or of the tree itself, such as ``width=17``.

    Raises
    ------
    Refusal
        Where it is no measurement; a DoubtRefusal where it goes the wrong way, unless ``yes``.
    """
    if is_written(session, entry_id):
        return written_before(session)
    if len(names) > 1 or not values:
        raise Refusal("right would be one part, or none, and measurements such as width=17")
    sizes = measures_named(values)
    parts = [part_named(session, tree, name) for name in names]
    refuse_odd(parts, sizes, on, yes=yes)
    if not parts:
        refuse_odd_height(session, tree, sizes, on, yes=yes)
    made = entry(session, [tree], "measure", {"values": sizes}, on, parts=[part.id for part in parts])
    (written,) = with_ids([made], entry_id)
    write(session, written)
    told = measured(session.style, [tree.label, *(part.name for part in parts)], sizes)
    return Receipt((told,), entries=(written.id,))


def _form(name: str, words: PartWords) -> PartForm:
    said = {"name": name, "height_mm": words.height_mm, "side": words.side, "pairs": words.pairs}
    return checked(PartForm, said, as_option)


def _treated(session: Session, tree: Tree, kind: str, words: PartWords) -> dict[str, Any]:
    said = treatment(session, tree, words.directive, words.decide_by, words.instead_of)
    return said | decision(session, tree, kind, words.decide)


def _written(session: Session, made: Entry, part: str, entry_id: UUID | None) -> Receipt:
    (written,) = with_ids([made], entry_id)
    write(session, written)
    told = part_words(session.style, written.data)
    said = session.style.say(WRITTEN["part"], part=part, told=told, entry=written.id.hex[:8])
    return Receipt((said,), entries=(written.id,))
