"""Many entries at once, a line each: ``Maple 2: cut back; @low left; share=60%; note``.

Before the colon stand trees; after it, parted by semicolons, first what it is: an operation, a kind of part to
follow, ``saw`` with a stage, or ``measured``. Then in any order ``@part``, a directive, ``key=value`` and free words,
which are the note. Keys are share, height, side, pairs, decide by, instead of, regret, on, and what can be measured.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from calendar_core.app.log.entries import entry, happened
from calendar_core.app.log.parts import (
    PartForm,
    entries_of_work,
    measures_named,
    part_entry,
    part_named,
    refuse_odd,
    treatment,
)
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import as_option, checked
from calendar_core.app.shell.named import named_trees, operation_named, stage_named
from calendar_core.app.shell.reading import text_of
from calendar_core.garden.parts import MEASURES
from calendar_core.knowledge.words import DIRECTIVES, PART_KINDS
from calendar_core.storage.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Entry, Tree

KEYS = ("share", "height", "side", "pairs", "decide by", "instead of", "regret", "on", "note")
MOST_BYTES = 1_000_000


@dataclass
class LogLine:
    """One line taken apart."""

    trees: str
    what: str
    parts: list[str]
    directive: str | None
    keys: dict[str, str]
    values: list[str]
    note: str


def lines_of(source: str) -> list[str]:
    """Return the lines of a file, or of what is typed for ``-``. Raises Refusal."""
    if source == "-":
        return sys.stdin.read(MOST_BYTES).splitlines()
    return text_of(Path(source), "a text file, or -")[:MOST_BYTES].splitlines()


def entries_of_lines(session: Session, lines: Sequence[str], today: date, *, yes: bool) -> list[Entry]:
    """Return the entries of all lines; a line may name a part that one before it made.

    Raises
    ------
    Refusal
        With the faults of all lines: nothing is written then.
    """
    out: list[Entry] = []
    faults: list[str] = []
    for number, text in enumerate(lines, 1):
        if not text.strip() or text.lstrip().startswith("#"):
            continue
        try:
            found = _entries(session, _taken_apart(text), yes=yes)
        except (Refusal, StoreError) as fault:
            told = fault.lines if isinstance(fault, Refusal) else [str(fault)]
            faults += [f"line {number}: {line}" for line in told]
            continue
        out += found
        session.suppose(found)
    if faults:
        raise Refusal(*faults)
    if not out:
        raise Refusal(
            f"nothing to write; right would be lines such as: Maple 2: cut back; share=60% ({today})"
        )
    return out


def _taken_apart(text: str) -> LogLine:
    trees, colon, rest = text.partition(":")
    fields = [field.strip() for field in rest.split(";")]
    if not colon or not fields[0]:
        raise Refusal(f"'{text.strip()}': right would be TREE: OPERATION, such as Maple 2: cut back")
    line = LogLine(trees.strip(), fields[0], [], None, {}, [], "")
    notes = []
    for field in filter(None, fields[1:]):
        key, sign, _ = (part.strip() for part in field.partition("="))
        if field.startswith("@"):
            line.parts.append(field[1:].strip())
        elif field.lower() in DIRECTIVES:
            line.directive = field.lower()
        elif sign and key.lower() in KEYS:
            line.keys[key.lower()] = field.partition("=")[2].strip()
        elif sign and key.lower() in MEASURES:
            line.values.append(field)
        elif sign:
            raise Refusal(f"'{field}': right would be one of {', '.join((*KEYS, *MEASURES))} before the =")
        else:
            notes.append(field)
    line.note = "; ".join([*notes, *([line.keys["note"]] if line.keys.get("note") else [])])
    return line


def _entries(session: Session, line: LogLine, *, yes: bool) -> list[Entry]:
    on = happened(session, line.keys.get("on"))
    trees = named_trees(session, line.trees, on)
    what = line.what.lower()
    if what.startswith("saw "):
        stage = stage_named(session, trees, what.removeprefix("saw "))
        return [entry(session, trees, "seen", {"stage": stage}, on)]
    if what == "measured":
        return _measured(session, trees, line, on, yes=yes)
    if what in PART_KINDS and what not in session.knowledge.operations:
        return [_part(session, tree, what, line, on) for tree in trees]
    if line.directive is not None:
        raise Refusal(
            f"'{line.directive}' is for a part; right would be a kind of part before it: {', '.join(PART_KINDS)}"
        )
    details = {"note": line.note, "regret": line.keys.get("regret", ""), "share": line.keys.get("share")}
    place = {"height_mm": line.keys.get("height"), "side": line.keys.get("side", "")}
    operation = operation_named(session, line.what)
    return entries_of_work(session, trees, operation, on, details, line.parts, line.values, place, yes=yes)


def _part(session: Session, tree: Tree, kind: str, line: LogLine, on: date) -> Entry:
    if len(line.parts) != 1:
        raise Refusal(f"a {kind} wants one name; right would be @ and its name, such as @low left")
    keys = line.keys
    form = checked(
        PartForm,
        {
            "name": line.parts[0],
            "height_mm": keys.get("height"),
            "side": keys.get("side", ""),
            "pairs": keys.get("pairs"),
        },
        as_option,
    )
    more: dict[str, Any] = treatment(
        session, tree, line.directive, keys.get("decide by"), keys.get("instead of")
    )
    more |= {"note": line.note} if line.note else {}
    more |= {"values": measures_named(line.values)} if line.values else {}
    return part_entry(session, tree, kind, form, more, on)


def _measured(session: Session, trees: Sequence[Tree], line: LogLine, on: date, *, yes: bool) -> list[Entry]:
    values = measures_named(line.values)
    if not values:
        raise Refusal("nothing is measured; right would be such as width=17")
    out = []
    for tree in trees:
        parts = [part_named(session, tree, name) for name in line.parts]
        refuse_odd(parts, values, on, yes=yes)
        out.append(
            entry(session, [tree], "measure", {"values": values}, on, parts=[part.id for part in parts])
        )
    return out
