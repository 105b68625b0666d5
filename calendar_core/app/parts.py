"""Parts and measurements as they are typed: found, made, checked, and put into entries."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid4

from pydantic import Field

from calendar_core.app.editing import entry
from calendar_core.app.errors import Refusal
from calendar_core.app.forms import Label, Strict, Text, as_option, checked
from calendar_core.app.spacing import codes, warned
from calendar_core.garden.parts import DIRECTIVES, GROWING, KINDS, MEASURES, SHRINKING, Part

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import date

    from calendar_core.app.session import Session
    from calendar_core.garden.model import Entry, Tree

LARGEST_MM = 20_000.0  # no bonsai is taller


class PartForm(Strict):
    """What can be said of a part."""

    name: Label
    height_mm: float | None = Field(default=None, ge=0, le=LARGEST_MM)
    side: str = Field(default="", max_length=60)
    pairs: int | None = Field(default=None, ge=1, le=12)


def part_named(session: Session, tree: Tree, name: str) -> Part:
    """Return the part of a tree by its name. Raises Refusal."""
    state = session.grove.states[tree.id]
    known = {part.name.lower(): part for part in state.open_parts}
    found = known.get(name.strip().lower())
    if found is None:
        right = (
            ", ".join(part.name for part in state.open_parts)
            or "none yet; write one down with: leafclock part add"
        )
        raise Refusal(f"{tree.label} has no part '{name}'; right would be one of: {right}")
    return found


def kind_named(text: str) -> str:
    """Return a kind of part as typed. Raises Refusal."""
    return _one_of(text, KINDS, "kind of part")


def directive_named(text: str) -> str:
    """Return a directive as typed. Raises Refusal."""
    return _one_of(text, DIRECTIVES, "directive")


def _one_of(text: str, known: Iterable[str], what: str) -> str:
    wanted = text.strip().lower().replace("_", " ")
    if wanted not in known:
        raise Refusal(f"'{text}' is no {what}; right would be one of: {', '.join(known)}")
    return wanted


def measures_named(texts: Sequence[str]) -> dict[str, float]:
    """Return measurements typed as ``width=17``, in millimetres (pairs: a count). Raises Refusal."""
    out = {}
    for text in texts:
        what, sign, value = text.partition("=")
        what = _one_of(what, MEASURES, "measure")
        right = f"'{text}': right would be {what}=NUMBER"
        if not sign:
            raise Refusal(f"{right}, such as {what}=12")
        try:
            number = float(value.strip().removesuffix("mm"))
        except ValueError:
            raise Refusal(f"{right}, such as {what}=12") from None
        if not 0 <= number <= LARGEST_MM:
            raise Refusal(f"{right} between 0 and {LARGEST_MM:g}")
        out[what] = number
    return out


def odd_way(part: Part, values: Mapping[str, float]) -> list[str]:
    """Return a line for each measurement that goes the wrong way, as a wound that gets wider."""
    out = []
    for what, value in values.items():
        last = part.last(what)
        if last is None:
            continue
        wider, thinner = what in SHRINKING and value > last.value, what in GROWING and value < last.value
        if wider or thinner:
            how = "more" if wider else "less"
            out.append(f"{part.name}: {what} {value:g} is {how} than the {last.value:g} of {last.on}")
    return out


def refuse_odd(parts: Iterable[Part], values: Mapping[str, float], *, yes: bool) -> None:
    """Ask about measurements that go the wrong way; confirmed, both are kept. Raises Refusal."""
    odd = [line for part in parts for line in odd_way(part, values)]
    if odd and not yes:
        raise Refusal(*(f"{line}; if that is what you measured, say so with --yes" for line in odd))


def treatment(
    session: Session, tree: Tree, directive: str | None, decide_by: str | None, instead_of: str | None
) -> dict[str, Any]:
    """Return what is said of how a part is to be treated. Raises Refusal."""
    out: dict[str, Any] = {}
    if directive is not None:
        out["directive"] = directive_named(directive)
    if decide_by is not None:
        stage = decide_by.strip().lower().replace(" ", "_")
        known = session.knowledge.profiles[tree.species].stages
        if stage not in known:
            right = ", ".join(name.replace("_", " ") for name in known)
            raise Refusal(
                f"--decide-by: {tree.label} has no stage '{decide_by}'; right would be one of: {right}"
            )
        out |= {"decide_by": stage, "directive": out.get("directive", "undecided")}
    if instead_of is not None:
        out["instead_of"] = str(part_named(session, tree, instead_of).id)
    return out


def part_entry(
    session: Session, tree: Tree, kind: str, form: PartForm, more: Mapping[str, Any], on: date, place: int = 0
) -> Entry:
    """Return the entry that writes down a new part. Raises Refusal where its name is taken."""
    taken = {part.name.lower() for part in session.grove.states[tree.id].open_parts}
    if form.name.lower() in taken:
        raise Refusal(f"{tree.label} has a part '{form.name}' already; right would be another name")
    data = {"kind": kind, **form.model_dump(exclude_none=True, exclude_defaults=True), **more}
    return entry(session, [tree], "part", data, on, parts=[uuid4()], place=place)


class Details(Strict):
    """What can be said of work that was done; ``share`` is that of the foliage it took."""

    note: Text = ""
    regret: Text = ""
    share: float | None = Field(default=None, ge=0, le=1)


def share_named(text: str | None) -> float | None:
    """Return a share typed as ``60%``, ``60`` or ``0.6``. Raises Refusal."""
    if text is None:
        return None
    right = f"--share {text}: right would be a share of the foliage from 0 to 100 %, such as 60%"
    try:
        number = float(text.strip().removesuffix("%"))
    except ValueError:
        raise Refusal(right) from None
    share = number if number <= 1 and "%" not in text else number / 100
    if not 0 <= share <= 1:
        raise Refusal(right)
    return share


def entries_of_work(
    session: Session, trees: Sequence[Tree], operation: str, on: date, details: Mapping[str, Any], names: Sequence[str],
    values: Sequence[str], place: Mapping[str, Any], *, yes: bool,
) -> list[Entry]:  # fmt: skip
    """Return the entries of work: the parts it makes, the work itself, what was measured.

    Raises
    ------
    Refusal
        Where a part is not known, a number is odd, or the kind of tree must never get this work, unless ``yes``.
    """
    _refuse_never(session, trees, operation, yes=yes)
    told = {**details, "share": share_named(details.get("share"))}
    data = {"operation": operation, **checked(Details, told, as_option).model_dump(exclude_defaults=True)}
    never = any(operation in session.knowledge.profiles[tree.species].never for tree in trees)
    against = ["never"] * never + codes(warned(session, trees, operation, on, told["share"]))
    data |= {"against": against} if against else {}
    measured = measures_named(values)
    out: list[Entry] = []
    for which in [[tree] for tree in trees] if names else [trees]:
        made, ids = _parts_of(session, which[0], operation, names, place, on, len(out)) if names else ([], [])
        known = [part for part in session.grove.states[which[0].id].parts.values() if part.id in ids]
        refuse_odd(known, measured, yes=yes)
        out += made
        out.append(entry(session, which, "work", data, on, parts=ids, place=len(out)))
        if measured:
            out.append(entry(session, which, "measure", {"values": measured}, on, parts=ids, place=len(out)))
    return out


def _parts_of(
    session: Session, tree: Tree, operation: str, names: Sequence[str], place: Mapping[str, Any], on: date, at: int
) -> tuple[list[Entry], list[UUID]]:  # fmt: skip
    """Return the entries that make the parts an operation begins, and the ids of all parts named."""
    makes = session.knowledge.operations[operation].makes
    made: list[Entry] = []
    ids: list[UUID] = []
    known = {part.name.lower(): part for part in session.grove.states[tree.id].open_parts}
    for name in names:
        if name.strip().lower() in known or makes is None:
            ids.append(part_named(session, tree, name).id)
            continue
        form = checked(PartForm, {"name": name, **place}, as_option)
        made.append(part_entry(session, tree, makes, form, {}, on, at + len(made)))
        ids += made[-1].part_ids
    return made, ids


def _refuse_never(session: Session, trees: Sequence[Tree], operation: str, *, yes: bool) -> None:
    label = session.knowledge.operations[operation].label.lower()
    lines = []
    for tree in trees:
        profile = session.knowledge.profiles[tree.species]
        if operation in profile.never:
            why = profile.never[operation].why
            lines.append(
                f"{tree.label}: {label} is never done to a {profile.common}: {why} If it was done, say so with --yes"
            )
    if lines and not yes:
        raise Refusal(*lines)
