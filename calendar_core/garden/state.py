"""The state of a tree on a day: a fold over the log."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import TYPE_CHECKING, NamedTuple
from uuid import UUID

from calendar_core.garden.parts import Look, Measure, Part, carry_out, change, measure

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from calendar_core.garden.model import Entry
    from calendar_core.knowledge.forms.species.work import Work
    from calendar_core.knowledge.words import Aim, LookDepth, PotKind, RoundName, SizeClass

NOT_YET = "not yet "  # before a stage's name in a ``seen`` entry: looked, and it had not come


@dataclass(frozen=True, slots=True)
class Done:
    """An operation that was carried out, on the tree as a whole or on ``parts`` of it.

    ``share`` is that of the foliage it took, where written down; ``regret`` what the grower would not do again.
    """

    operation: str
    on: date
    entry: UUID
    parts: tuple[UUID, ...] = ()
    share: float | None = None
    regret: str = ""


class Sight(NamedTuple):
    """A stage that was seen on a day; of one season's the one ``written`` last (UTC) corrects those before."""

    stage: str
    on: date
    written: datetime


@dataclass(frozen=True, slots=True)
class Reviewed:
    """A look of a review round at a tree; ``minutes`` where they were counted, ``answers`` by the key of what was asked.

    One that was asked as full and counts as a glance was ``timed_as`` a full one.
    """

    round: RoundName
    cycle: int
    depth: LookDepth
    on: date
    minutes: float | None = None
    answers: Mapping[str, str | float] = field(default_factory=dict)
    timed_as: LookDepth | None = None


@dataclass(frozen=True, slots=True)
class Wish:
    """An operation the grower asks for; ``anyway`` lets it stand beside another heavy job.

    ``after`` are the entries of work and the items dropped that were there before it: it asks in spite of them.
    """

    operation: str
    cycle: int | None
    anyway: bool = False
    after: frozenset[UUID] = frozenset()


@dataclass(slots=True)
class TreeState:
    """What the log says of one tree on a day.

    ``moves`` are (day, spot) in order; ``seen`` are stages that had come, ``not_yet`` are (stage, day) of those
    looked for in vain; ``put_off`` maps an item to the day until which it rests; ``dropped``
    maps items answered with "not this year" to the day of the answer. ``measures`` are of the tree as a whole.
    ``broken_off`` are looks of a round that were begun, and do not count as taken before the rest of them is.
    """

    aim: Aim = "structure"
    vigour: int = 3
    size: SizeClass = "medium"
    spot: UUID | None = None
    pot: PotKind | None = None
    pot_litres: float | None = None
    moves: list[tuple[date, UUID]] = field(default_factory=list)
    done: list[Done] = field(default_factory=list)
    seen: list[Sight] = field(default_factory=list)
    not_yet: list[tuple[str, date]] = field(default_factory=list)
    wishes: list[Wish] = field(default_factory=list)
    put_off: dict[UUID, date] = field(default_factory=dict)
    dropped: dict[UUID, date] = field(default_factory=dict)
    parts: dict[UUID, Part] = field(default_factory=dict)
    measures: list[Measure] = field(default_factory=list)
    looks: list[Look] = field(default_factory=list)
    reviews: list[Reviewed] = field(default_factory=list)
    broken_off: list[Reviewed] = field(default_factory=list)

    @property
    def open_parts(self) -> list[Part]:
        """The parts that are still followed, the highest on the tree first."""
        here = [part for part in self.parts.values() if part.gone is None]
        return sorted(here, key=lambda part: (-(part.height_mm or 0.0), part.name))

    @property
    def decided(self) -> frozenset[str]:
        """The operations that some part is to get."""
        return frozenset(part.decided for part in self.open_parts if part.decided)

    def last(self, operation: str) -> Done | None:
        """Return the latest time ``operation`` was done."""
        times = [done for done in self.done if done.operation == operation]
        return max(times, key=lambda done: done.on) if times else None


def valid_entries(entries: Iterable[Entry], on: date) -> list[Entry]:
    """Return the entries that count on a day, in order: voided ones and the voids themselves are gone.

    A void of a void restores nothing: voiding is final, write the entry again.
    """
    by_id = {e.id: e for e in entries if e.happened <= on}  # an entry that came twice is one entry
    listed = sorted(by_id.values(), key=lambda e: (e.happened, e.recorded_at, e.id))
    voided = {e.voids for e in listed if e.voids is not None}
    return [e for e in listed if e.id not in voided and e.voids is None]


def chosen(entries: Iterable[Entry], on: date) -> dict[str, str]:
    """Return the garden's answers to questions on which growers differ, as of a day."""
    return {
        str(entry.data["question"]): str(entry.data["option"])
        for entry in valid_entries(entries, on)
        if entry.kind == "choice"
    }


def states(tree_ids: Sequence[UUID], entries: Iterable[Entry], on: date) -> dict[UUID, TreeState]:
    """Return the state of every tree at the end of day ``on``."""
    out = {tree: TreeState() for tree in tree_ids}
    for entry in valid_entries(entries, on):
        apply = _FOLD.get(entry.kind)  # other kinds are of the garden, not of a tree
        for tree in entry.tree_ids:
            if apply is not None and tree in out:
                apply(out[tree], tree, entry)
    return out


def _state(state: TreeState, _tree: UUID, entry: Entry) -> None:
    for name in ("aim", "vigour", "size", "pot", "pot_litres"):
        if name in entry.data:
            setattr(state, name, entry.data[name])
    if "spot" in entry.data:
        state.spot = UUID(str(entry.data["spot"]))
        state.moves.append((entry.happened, state.spot))


def _work(state: TreeState, _tree: UUID, entry: Entry) -> None:
    operation, share = str(entry.data["operation"]), entry.data.get("share")
    taken = None if share is None else float(share)
    # What was done to a part that is not (or not yet) written down was done to a part, not to the whole tree.
    regret = str(entry.data.get("regret", ""))
    state.done.append(Done(operation, entry.happened, entry.id, entry.part_ids, taken, regret))
    carry_out(state.parts, entry)
    # A wish for a named cycle is met by work of that cycle; one without by the first work after it.
    state.wishes = [w for w in state.wishes if w.operation != operation or w.cycle is not None]


def _seen(state: TreeState, _tree: UUID, entry: Entry) -> None:
    stage = str(entry.data["stage"])
    if stage.startswith(NOT_YET):
        state.not_yet.append((stage.removeprefix(NOT_YET), entry.happened))
    else:
        state.seen.append(Sight(stage, entry.happened, entry.recorded_at))


def _wish(state: TreeState, _tree: UUID, entry: Entry) -> None:
    data, before = entry.data, frozenset({*(done.entry for done in state.done), *state.dropped})
    state.wishes.append(Wish(data["operation"], data.get("cycle"), bool(data.get("anyway", False)), before))


def _answer(state: TreeState, _tree: UUID, entry: Entry) -> None:
    """Each answer takes the place of the one before: put off after all, or not wanted after all."""
    item = UUID(str(entry.data["item"]))
    state.put_off.pop(item, None)
    state.dropped.pop(item, None)
    if entry.data["answer"] == "put off":
        state.put_off[item] = date.fromisoformat(str(entry.data["until"]))
    else:
        state.dropped[item] = entry.happened
        state.wishes = [replace(wish, after=wish.after - {item}) for wish in state.wishes]


def _part(state: TreeState, tree: UUID, entry: Entry) -> None:
    change(state.parts, tree, entry)


def _measure(state: TreeState, _tree: UUID, entry: Entry) -> None:
    measure(state.parts, state.measures, entry)


def _look(state: TreeState, tree: UUID, entry: Entry) -> None:
    _measure(state, tree, entry)  # what was measured at a look counts as measured
    rule, of, well = str(entry.data["rule"]), UUID(str(entry.data["of"])), entry.data.get("went") != "badly"
    state.looks += [Look(rule, of, entry.happened, well, part) for part in entry.part_ids or (None,)]


def _review(state: TreeState, _tree: UUID, entry: Entry) -> None:
    """Take what was written at one look together: a form may come in several pieces, the later with more of it."""
    data, both = entry.data, [*state.reviews, *state.broken_off]
    same = [r for r in both if (r.round, r.cycle) == (data["round"], data["cycle"])]
    taken = not data.get("broken_off") or any(review in state.reviews for review in same)
    answers = {key: value for review in same for key, value in review.answers.items()}
    counted = [review.minutes for review in same if review.minutes is not None]
    minutes = data.get("minutes", counted[-1] if counted else None)
    state.reviews = [review for review in state.reviews if review not in same]
    state.broken_off = [review for review in state.broken_off if review not in same]
    (state.reviews if taken else state.broken_off).append(
        Reviewed(
            data["round"], data["cycle"], data["depth"], same[0].on if same else entry.happened,
            None if minutes is None else float(minutes), {**answers, **data.get("answers", {})},
            data.get("timed_as"),
        )
    )  # fmt: skip


_FOLD: Mapping[str, Callable[[TreeState, UUID, Entry], None]] = {
    "state": _state, "work": _work, "seen": _seen, "wish": _wish, "answer": _answer, "part": _part,
    "measure": _measure, "look": _look, "review": _review,
}  # fmt: skip


def asked_for_anyway(operation: str, state: TreeState, cycle: int) -> bool:
    """Tell whether the grower wants an operation of a cycle beside another heavy job."""
    return any(w.anyway for w in state.wishes if w.operation == operation and w.cycle in (None, cycle))


def asked_after(entry_or_item: UUID, work: Work, state: TreeState, cycle: int) -> bool:
    """Tell whether a work is wished for a cycle since an entry was written, or an item dropped."""
    return any(
        entry_or_item in wish.after
        for wish in state.wishes
        if wish.operation == work.operation and wish.cycle in (None, cycle)
    )
