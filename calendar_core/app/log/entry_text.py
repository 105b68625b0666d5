"""An entry of the log in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from calendar_core.wording.messages import AGAINST
from calendar_core.wording.sentences import stage_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Entry, Tree
    from calendar_core.knowledge.forms.operations import Operation


def told(session: Session, entry: Entry, tree: Tree | None = None) -> str:
    """Return what an entry says, with the parts it names; of a tree, if it names several."""
    kind, data = entry.kind, dict(entry.data)
    note = f" ({data['note']})" if data.get("note") else ""
    parts = _parts(session, entry, tree)
    operations = session.knowledge.operations
    if kind == "work":
        share = f", {round(100 * float(data['share']))} % of the leaves" if data.get("share") else ""
        regret = f". Regretted: {data['regret']}" if data.get("regret") else ""
        against = _against(data.get("against") or ())
        return f"{_done(operations, str(data['operation']))}{parts}{share}{against}{note}{regret}"
    if kind == "seen":
        return f"saw {stage_words(str(data['stage']))}{note}"
    if kind == "wish":
        return f"wished for {operations[str(data['operation'])].label.lower()}{note}"
    if kind == "choice":
        return f"{data['question']}: {data['option']}"
    if kind == "answer":
        return f"put off until {data['until']}" if data["answer"] == "put off" else "not this year"
    if kind == "look":
        rule = session.knowledge.aftercare.get(str(data["rule"]))
        went = "went badly" if data.get("went") == "badly" else "well"
        return f"{rule.label if rule else data['rule']}{parts}: {went}{_values(session, data)}{note}"
    if kind == "measure":
        return f"measured{parts}{_values(session, data)}{note}"
    if kind == "part":
        return (
            f"{part_words(data)}{_values(session, data)}{note}"
            if "kind" in data
            else f"{parts.lstrip(', ')}: {part_words(data)}"
        )
    spots = {str(key): spot.name for key, spot in session.spots.items()}
    return ", ".join(f"{key.replace('_', ' ')} {spots.get(str(value), value)}" for key, value in data.items())


def _done(operations: Mapping[str, Operation], key: str) -> str:
    """Return the verb of an operation, or its label where several share the verb."""
    verb = operations[key].done
    return verb if [one.done for one in operations.values()].count(verb) == 1 else operations[key].label


def _against(codes: Iterable[str]) -> str:
    """Return which warnings work was done in spite of; a code of another version stands for itself."""
    words = dict.fromkeys(AGAINST.get(code, code.replace("_", " ")) for code in codes)
    return f", in spite of a warning: {', '.join(words)}" if words else ""


def part_words(data: Mapping[str, Any]) -> str:
    """Return what an entry says of a part."""
    words = [f"{data['kind']} {data.get('name', '')}".strip()] if "kind" in data else []
    words += [f"named {data['name']}"] if "name" in data and "kind" not in data else []
    if "directive" in data:
        words += [str(data["directive"]) + (f" at {data['pairs']}" if "pairs" in data else "")]
    words += [f"decide by {str(data['decide_by']).replace('_', ' ')}"] if "decide_by" in data else []
    words += [f"{data['height_mm']:g} mm high"] if "height_mm" in data else []
    words += [str(data["side"])] if data.get("side") else []
    words += ["gone"] if data.get("gone") else []
    return ", ".join(words) or "changed"


def _values(session: Session, data: Mapping[str, Any]) -> str:
    values = data.get("values") or {}
    size = {
        what: f"{value:g}" if what == "pairs" else session.style.length(float(value))
        for what, value in values.items()
    }
    return "".join(f", {what} {one}" for what, one in size.items())


def _parts(session: Session, entry: Entry, tree: Tree | None) -> str:
    which = [tree.id] if tree is not None else entry.tree_ids
    known = {
        part.id: part.name
        for one in which
        if one in session.grove.states
        for part in session.grove.states[one].parts.values()
    }
    names = [known[part] for part in entry.part_ids if part in known]
    return f", {', '.join(names)}" if names else ""
