"""Parts and measurements as they are typed: found, made, checked, and put into entries."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Annotated, Any
from uuid import UUID, uuid4

from pydantic import AfterValidator, Field

from calendar_core.app.log.entries import entry
from calendar_core.app.plan.load import codes, warned
from calendar_core.app.shell.errors import DoubtRefusal, Refusal
from calendar_core.app.shell.forms import (
    LONGEST_NAME,
    PartName,
    Strict,
    Text,
    as_option,
    checked,
    no_control_characters,
)
from calendar_core.garden.limits import LARGEST_MM, MOST_PAIRS
from calendar_core.garden.parts import GROWING, MEASURES, SHRINKING, Part
from calendar_core.knowledge.words import DIRECTIVES, PART_KINDS
from calendar_core.planning.aftercare.spared_parts import kept
from calendar_core.planning.places.operations import INTO, OUT

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from calendar_core.app.plan.load import Warned
    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Entry, Tree
    from calendar_core.garden.parts import Measure

NOTHING = "nothing"  # takes back what was decided of a part
MOST_LOST = 1 / 3  # of a tree's height that may go without a cut before it is asked about (estimate)


class PartForm(Strict):
    """What can be said of a part."""

    name: PartName
    height_mm: float | None = Field(default=None, ge=0, le=LARGEST_MM)
    side: Annotated[str, Field(max_length=LONGEST_NAME), AfterValidator(no_control_characters)] = ""
    pairs: int | None = Field(default=None, ge=1, le=MOST_PAIRS)


def part_named(session: Session, tree: Tree, name: str) -> Part:
    """Return the part of a tree by its name. Raises Refusal."""
    state = session.states[tree.id]
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
    return _one_of(text, PART_KINDS, "kind of part")


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


def odd_way(part: Part, values: Mapping[str, float], on: date) -> list[str]:
    """Return a line for each measurement of a day that goes the wrong way, as a wound that gets wider."""
    out = []
    for what, value in values.items():
        before, after = _around(part.measures, what, on)
        for other, since in ((before, 1), (after, -1)):
            grown = 0.0 if other is None else since * (value - other.value)
            if other and ((what in SHRINKING and grown > 0) or (what in GROWING and grown < 0)):
                how = "more" if value > other.value else "less"
                out.append(f"{part.name}: {what} {value:g} is {how} than the {other.value:g} of {other.on}")
    return out


def _around(measures: Iterable[Measure], what: str, on: date) -> tuple[Measure | None, Measure | None]:
    """Return the measurements before and after one of a day; what was measured on that day comes before."""
    course = [measure for measure in measures if measure.what == what]
    before, after = [m for m in course if m.on <= on], [m for m in course if m.on > on]
    return before[-1] if before else None, after[0] if after else None


def odd_height(session: Session, tree: Tree, values: Mapping[str, float], on: date) -> list[str]:
    """Return a line where a tree lost much of its height and nothing tells of a cut."""
    state, operations = session.states[tree.id], session.knowledge.operations
    before, _ = _around(state.measures, "height", on)
    height = values.get("height")
    if before is None or height is None or height >= before.value * (1 - MOST_LOST):
        return []
    between = [operations[done.operation] for done in state.done if before.on <= done.on <= on]
    if any(operation.takes == "wood" for operation in between):
        return []
    less = f"height {height:g} is less than the {before.value:g} of {before.on}"
    return [f"{tree.label}: {less}, and no cut is written down between"]


def refuse_odd(parts: Iterable[Part], values: Mapping[str, float], on: date = date.max, *, yes: bool) -> None:
    """Ask about measurements that go the wrong way; confirmed, both are kept. Raises Refusal."""
    those = list(parts)
    if values:
        refuse_early(those, on)
    _ask([line for part in those for line in odd_way(part, values, on)], yes=yes)


def refuse_early(parts: Iterable[Part], on: date) -> None:
    """Refuse a day before a part was written down: the log would not know it yet. Raises Refusal."""
    for part in parts:
        if on < part.since:
            raise Refusal(
                f"{part.name} is followed since {part.since}; right would be a day from then on, not {on}"
            )


def refuse_odd_height(
    session: Session, tree: Tree, values: Mapping[str, float], on: date, *, yes: bool
) -> None:
    """Ask about a height that cannot be without a cut; confirmed, both are kept. Raises Refusal."""
    _ask(odd_height(session, tree, values, on), yes=yes)


def _ask(odd: Iterable[str], *, yes: bool) -> None:
    doubts = list(odd)
    if doubts and not yes:
        raise DoubtRefusal(doubts, "; if that is what you measured, say so with --yes")


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


def decision(session: Session, tree: Tree, kind: str, text: str | None) -> dict[str, str]:
    """Return what is said of the work that a part of a kind is to get; "nothing" takes it back. Raises Refusal."""
    if text is None:
        return {}
    wanted = text.strip().lower().replace("_", " ")
    if wanted in ("", NOTHING):
        return {"decided": ""}
    operations = session.knowledge.operations
    fit = {key: form for key, form in operations.items() if form.of_part and kind in form.of_part.kinds}
    key = next((key for key, form in fit.items() if wanted in (key, form.label.lower())), None)
    if key is None:
        right = ", ".join([*fit, NOTHING])
        raise Refusal(
            f"--decide: '{text}' cannot be decided of a part that is a {kind}; right would be one of: {right}"
        )
    profile = session.knowledge.profiles[tree.species]
    if key in profile.never:
        label, why = operations[key].label.lower(), profile.never[key].why
        raise Refusal(f"{tree.label}: {label} is never done to a {profile.common}: {why}")
    return {"decided": key}


def part_entry(
    session: Session, tree: Tree, kind: str, form: PartForm, more: Mapping[str, Any], on: date, place: int = 0
) -> Entry:
    """Return the entry that writes down a new part. Raises Refusal where its name is taken."""
    taken = {part.name.lower() for part in session.states[tree.id].open_parts}
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
    _refuse_moves(trees, operation)
    told = {**details, "share": share_named(details.get("share"))}
    data = {"operation": operation, **checked(Details, told, as_option).model_dump(exclude_defaults=True)}
    measured = measures_named(values)
    out: list[Entry] = []
    for which in [[tree] for tree in trees] if names else [trees]:
        made, ids = _parts_of(session, which[0], operation, names, place, on, len(out)) if names else ([], [])
        known = [part for part in session.states[which[0].id].parts.values() if part.id in ids]
        refuse_early(known, on)
        refuse_odd(known, measured, on, yes=yes)
        out += made
        against = _against(session, which, operation, names, on, told["share"])
        work = {**data, "against": against} if against else data
        out.append(entry(session, which, "work", work, on, parts=ids, place=len(out)))
        if measured:
            out.append(entry(session, which, "measure", {"values": measured}, on, parts=ids, place=len(out)))
    return out


def _refuse_moves(trees: Sequence[Tree], operation: str) -> None:
    """Refuse a move that does not say where to: where a tree stands is what everything else goes by."""
    if operation in (INTO, OUT):
        label = trees[0].label if trees else "TREE"
        raise Refusal(
            f"'{operation}' does not say where {label} stands now; right would be: "
            f"leafclock tree change '{label}' --spot SPOT, or --day DAY as well"
        )


def _against(
    session: Session, trees: Sequence[Tree], operation: str, names: Sequence[str], on: date, share: float | None
) -> list[str]:  # fmt: skip
    """Return the codes of what speaks against work, as the log keeps them."""
    never = any(operation in session.knowledge.profiles[tree.species].never for tree in trees)
    of_parts = warned_of_parts(session, trees, operation, names, on)
    found = codes(warned(session, trees, operation, on, share)) + codes(of_parts)
    return ["never"] * never + found


def warned_of_parts(
    session: Session, trees: Iterable[Tree], operation: str, names: Iterable[str], on: date
) -> Warned:
    """Return what speaks against work on parts by their names, for the trees for which anything does."""
    wanted, form = {name.strip().lower() for name in names}, session.knowledge.operations[operation]
    out = {}
    for tree in trees:
        parts = [p for p in session.states[tree.id].open_parts if p.name.lower() in wanted]
        if reasons := kept(parts, operation, form.takes, on):
            out[tree.id] = reasons
    return out


def _parts_of(
    session: Session, tree: Tree, operation: str, names: Sequence[str], place: Mapping[str, Any], on: date, at: int
) -> tuple[list[Entry], list[UUID]]:  # fmt: skip
    """Return the entries that make the parts an operation begins, and the ids of all parts named."""
    makes = session.knowledge.operations[operation].makes
    made: list[Entry] = []
    ids: list[UUID] = []
    known = {part.name.lower(): part for part in session.states[tree.id].open_parts}
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
            lines.append(f"{tree.label}: {label} is never done to a {profile.common}: {why}")
    if lines and not yes:
        raise DoubtRefusal(lines, " If it was done, say so with --yes")
