"""Adding trees to a garden that exists, all or none."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from calendar_core.app.garden.founding import Maker
from calendar_core.app.garden.garden_file import TreePart
from calendar_core.app.log.entries import is_written, with_ids
from calendar_core.app.log.work_entries import written_before
from calendar_core.app.shell.days import ahead
from calendar_core.app.shell.errors import Refusal, faults_of
from calendar_core.app.shell.forms import as_option, checked, fault_lines, in_file
from calendar_core.app.shell.reading import text_of
from calendar_core.app.shell.receipt import Receipt
from calendar_core.app.shell.session import knowledge
from calendar_core.garden.pasted import pasted_trees
from calendar_core.storage import gardens, log
from calendar_core.wording.garden.garden_text import TREES, of_trees

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path
    from uuid import UUID

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree


def add_pasted(
    session: Session, text: str, entry_id: UUID | None = None, *, label: str | None = None, **state: Any
) -> Receipt:
    """Add the trees of pasted lines, such as "3 Japanese maple small; black pine", each with the given state.

    ``label`` is that of the one tree named; ``entry_id`` is one that whoever sends this chose: sent again, nothing is
    added. Raises Refusal.
    """
    known = {name: value for name, value in {"label": label, **state}.items() if value is not None}
    parts = parts_from_text(text, **known)
    if label is not None and len(parts) != 1:
        raise Refusal("--label goes with one tree; right would be one call for each label")
    if not parts:
        raise Refusal("no tree is named; right would be trees such as: '3 Japanese maple small; black pine'")
    return _added(session, parts, entry_id)


def add_file(session: Session, path: Path) -> Receipt:
    """Add the trees of a CSV file, all or none. Raises Refusal."""
    return add_table(session, text_of(path, "a CSV file of trees"), path)


def add_table(session: Session, text: str, path: Path, entry_id: UUID | None = None) -> Receipt:
    """Add the trees of a CSV table, all or none; faults are told by its file's name. Raises Refusal."""
    parts = parts_from_csv(text, path)
    with faults_of(path):
        return _added(session, parts, entry_id)


def _added(session: Session, parts: Sequence[TreePart], entry_id: UUID | None) -> Receipt:
    if is_written(session, entry_id):
        return written_before(session)
    added = add_parts(session, parts, entry_id)
    return Receipt((of_trees(session.style, TREES["added"], [tree.label for tree in added]),))


def add_parts(session: Session, parts: Sequence[TreePart], entry_id: UUID | None = None) -> tuple[Tree, ...]:
    """Store trees with the state they come with; every fault is told, and then nothing is stored."""
    spots = {spot.name.lower(): spot for spot in session.spots.values()}
    taken = {tree.label.lower() for tree in session.every_tree}
    maker = Maker(session.garden, knowledge(), spots, session.today, session.clock.now, taken)
    trees = maker.trees(parts)
    entries = with_ids(maker.first_entries(parts, trees), entry_id)
    maker.faults += [
        f"last repot: {ahead(part.last_repot, session.today)}"
        for part in parts
        if part.last_repot and part.last_repot > session.today
    ]
    maker.refuse_faults()
    with session.store.begin() as connection:
        gardens.add_trees(connection, trees)
        log.append(connection, entries)
    return trees


def parts_from_text(text: str, **state: Any) -> list[TreePart]:
    """Return the trees of pasted lines, each with the given state, or refuse them."""
    try:
        pasted = pasted_trees(text)
    except ValueError as error:
        raise Refusal(str(error)) from None
    return [
        checked(TreePart, {"species": line.species, "size": line.size, "aim": line.aim, **state}, as_option)
        for line in pasted
        for _ in range(line.count)
    ]


def parts_from_csv(text: str, path: Path) -> list[TreePart]:
    """Return the trees of a CSV file with a header, or refuse it with one line for each fault."""
    parts, faults = [], []
    header, _, rows = text.partition("\n")
    columns = header.strip().lower().replace(" ", "_")
    delimiter = max(",;\t", key=columns.count)
    reader = csv.DictReader(io.StringIO(f"{columns}\n{rows}"), restkey="too many cells", delimiter=delimiter)
    cells = _cells(reader, path)
    if "species" not in (reader.fieldnames or ()):
        raise Refusal(
            f"{path}: has no column 'species'; right would be a header such as: species,label,aim,size,vigour"
        )
    for line, row in cells:
        filled = {key: value for key, value in row.items() if value not in (None, "")}
        if not filled:
            continue
        try:
            parts.append(TreePart.model_validate(filled))
        except ValidationError as error:
            faults += fault_lines(error, TreePart, in_file(path, line))
    if faults:
        raise Refusal(*faults)
    if not parts:
        raise Refusal(f"{path}: holds no trees; right would be one line for each tree below the header")
    return parts


def _cells(reader: csv.DictReader[str], path: Path) -> list[tuple[int, dict[str, Any]]]:
    """Return the line on which each row ends and its cells by column. Raises Refusal."""
    try:
        return [(reader.line_num, row) for row in reader]
    except csv.Error as error:
        line = reader.line_num + 1
        raise Refusal(f"{path} line {line}: {error}; right would be a row of CSV") from None
