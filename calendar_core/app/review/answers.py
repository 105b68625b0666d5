"""What was found at a look of a review round, as entries of the log.

Of every question its last answer counts: what is sent again is not written again, and what is corrected takes the
place of what was written, which is voided. Ids are made of what is said, so that a form that two read at once is stored
once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from calendar_core.app.review.asked import text_of
from calendar_core.app.review.decisions import instead_of, next_cycle, removed
from calendar_core.app.review.written import Decided, Draft, Note, Value, entries_of
from calendar_core.garden.model import Entry
from calendar_core.knowledge.forms.operations import HEAVY
from calendar_core.planning.review.checklist import HEAVY_JOB, NO_JOB, WINTER

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator

    from calendar_core.app.review.asked import Asked
    from calendar_core.app.review.visits import Visit, Visits
    from calendar_core.knowledge.words import LookDepth
    from calendar_core.planning.items import Item
    from calendar_core.planning.review.checklist import Question

REPOT, FOUND = "repot", "pest found"
BAD = ("bad", "no", "found")
FALL = 2  # steps of vigour lost since it was last written down that are answered (estimate)


@dataclass(frozen=True)
class Answers:
    """What was answered about a tree: by key of question, each checked before; decisions; minutes the look took."""

    values: Mapping[str, Value] = field(default_factory=dict)
    decisions: Sequence[Decided] = ()
    minutes: float | None = None
    note: str = ""


@dataclass(frozen=True)
class Outcome:
    """What the answers about one tree make of the log: stored together or not at all.

    ``taken`` tells as what the look counts now, None where as none yet; ``answered`` of how many questions ``asked``.
    ``gone`` where the tree is no longer the grower's.
    """

    visit: Visit
    entries: tuple[Entry, ...]
    notes: tuple[Note, ...]
    taken: LookDepth | None
    answered: int
    asked: int
    gone: bool = False


def outcome(visits: Visits, asked: Asked, answers: Answers) -> Outcome:
    """Return what is written down of a look, and what follows from it.

    A look counts once half of its questions are answered, or the tree is gone; a glance also with its vigour, and with no
    more than that a full look counts as a glance. Before that it is broken off.
    """
    visit = asked.visit
    keys = {question.key for question in asked.questions}
    have = {*asked.known, *answers.values}
    count = len(keys & have)
    gone = any(decision.ends for decision in answers.decisions)
    before = visit.reviewed if visit.taken else None
    taken: LookDepth | None = before.depth if before is not None else None
    if gone or 2 * count >= len(keys):
        taken = visit.depth
    elif taken is None and "vigour" in have:
        taken = "glance"
    new = _new(asked, answers)
    drafts = [
        *_of_parts(asked, new),
        *_of_tree(asked, new),
        *_pests(asked, new),
        *_job(asked, new),
        *(draft for decision in answers.decisions if decision.key in new for draft in decision.drafts),
    ]
    look = _review(asked, answers, new, taken)
    voided = [*_touched(visit, new), *(_corrected(asked, answers, new) if look is not None else ())]
    entries = entries_of(visits, visit, [*drafts, *([look] if look is not None else [])], voided)
    notes = () if gone else _once((*_notes(asked, answers), *_of_decisions(asked, answers, new)))
    return Outcome(visit, entries, notes, taken, count, len(keys), gone)


def _new(asked: Asked, answers: Answers) -> dict[str, Value]:
    """Return what was not said before, decisions too."""
    said = {**answers.values, **{decision.key: decision.value for decision in answers.decisions}}
    return {key: value for key, value in said.items() if asked.known.get(key) != text_of(value)}


def _touched(visit: Visit, keys: Collection[str]) -> list[Entry]:
    """Return the entries that answered one of some questions otherwise."""
    return [logged for logged in visit.marked if set(keys) & set(logged.data["asked"]["answers"])]


def _whole(asked: Asked, new: Mapping[str, Value]) -> dict[str, Value]:
    """Return new answers with those that stand in one entry with what they correct."""
    out: dict[str, Value] = {}
    for logged in _touched(asked.visit, new):
        out |= logged.data["asked"]["answers"]
    return {key: value for key, value in out.items() if key in asked.every} | dict(new)


def _of_parts(asked: Asked, new: Mapping[str, Value]) -> Iterator[Draft]:
    """Yield looks and measurements: what was measured of a part that was looked at is the look's."""
    groups: dict[object, dict[str, Value]] = {}
    for key, value in new.items():
        question = asked.every.get(key)
        if question is not None and (question.what == "look" or question.measure is not None):
            groups.setdefault(question.part.id if question.part else question.rule, {})[key] = value
    for group in groups.values():
        yield _of_part(asked, _whole(asked, group))


def _of_part(asked: Asked, said: Mapping[str, Value]) -> Draft:
    questions = [asked.every[key] for key in said]
    values = {q.measure: float(said[q.key]) for q in questions if q.measure is not None}
    parts = () if questions[0].part is None else (questions[0].part.id,)
    data: dict[str, Any] = {"values": values} if values else {}
    look = next((question for question in questions if question.what == "look"), None)
    if look is None:
        return Draft("measure", data, said, parts)
    went = "well" if said[look.key] == "good" else "badly"
    return Draft("look", {"rule": look.rule, "of": str(look.of), "went": went, **data}, said, parts)


def _of_tree(asked: Asked, new: Mapping[str, Value]) -> Iterator[Draft]:
    for question, value in _questions(asked, new):
        said = {question.key: value}
        if question.answer == "vigour":
            yield Draft("state", {"vigour": int(value)}, said)
        elif question.what == "keep" and question.part is not None:
            # What waits to replace another, or to be replaced, waits on.
            told = question.part.directive
            kept = {"directive": "no directive" if told == "undecided" else told}
            data = kept if value == "yes" else removed(asked.session, asked.visit, question.part).data
            yield Draft("part", data, said, (question.part.id,))


def _pests(asked: Asked, new: Mapping[str, Value]) -> Iterator[Draft]:
    """Yield each pest that was found, and that the tree was looked over for the others, where the plan asks for that now."""
    every = {question.key: value for question, value in _questions(asked, new) if question.what == "pest"}
    some = {key: value for key, value in every.items() if value != "found"}
    for key in (key for key in every if key not in some):
        yield Draft("work", {"operation": FOUND, "note": asked.knowledge.pests[key].label}, {key: every[key]})
    now = {
        item.rule
        for item in asked.visit.items
        if item.operation == "pest look" and item.status != "possible" and item.opens.likely <= asked.visit.on
    }
    before = _whole(asked, every)
    left = {key: value for key, value in before.items() if value != "found"}
    if any(f"look for {key}" in now for key in some) or (left and _touched(asked.visit, every)):
        yield Draft("work", {"operation": "pest look"}, left)


def _job(asked: Asked, new: Mapping[str, Value]) -> Iterator[Draft]:
    """Yield the wish for next year's heavy job; none of them drops what the plan has ahead."""
    value, visit = new.get(HEAVY_JOB), asked.visit
    if value is not None and value != NO_JOB:
        data = {"operation": value, "cycle": next_cycle(visit, str(value)), "anyway": False}
        yield Draft("wish", data, {HEAVY_JOB: value})
    for item in _heavy_ahead(asked) if value == NO_JOB else ():
        yield Draft("answer", {"item": str(item.id), "answer": "not this cycle"}, {HEAVY_JOB: NO_JOB})


def _heavy_ahead(asked: Asked) -> list[Item]:
    """Return the heavy jobs on the whole tree that the plan has after the look."""
    return [
        item
        for item in asked.visit.items
        if asked.knowledge.operations[item.operation].weight >= HEAVY
        and item.status != "possible"
        and item.part_id is None
        and not item.label
        and item.opens.likely > asked.visit.on
    ]


def _review(
    asked: Asked, answers: Answers, new: Mapping[str, Value], taken: LookDepth | None
) -> Draft | None:
    """Return the entry of the look itself, with what it corrects; None where it says nothing new."""
    visit, before = asked.visit, asked.visit.reviewed
    own = {q.key: value for q, value in _questions(asked, answers.values) if _stands_in_review(q)}
    counted = answers.minutes is not None and (before is None or before.minutes != answers.minutes)
    notes = {logged.data.get("note") for logged in visit.written if logged.kind == "review"}
    noted = answers.note != "" and answers.note not in notes
    more = taken is not None and not (visit.taken and before is not None and before.depth == taken)
    if not (set(own) & set(new) or counted or noted or more):
        return None
    data: dict[str, Any] = {}
    for logged in _corrected(asked, answers, new):
        own = {**logged.data.get("answers", {}), **own}
        data |= {key: logged.data[key] for key in ("minutes", "note") if key in logged.data}
    data |= {"round": visit.round, "cycle": visit.cycle, "depth": taken or visit.depth}
    data |= {"timed_as": visit.depth} if taken not in (None, visit.depth) else {}
    data |= {"answers": own} if own else {}
    data |= {"minutes": answers.minutes} if answers.minutes is not None else {}
    data |= {"note": answers.note} if answers.note else {}
    data |= {"broken_off": True} if taken is None else {}
    return Draft("review", data, {})


def _corrected(asked: Asked, answers: Answers, new: Mapping[str, Value]) -> list[Entry]:
    """Return the entries of the look itself that said something else than is said now."""
    own = {question.key for question, _ in _questions(asked, new) if _stands_in_review(question)}
    return [
        logged
        for logged in asked.visit.written
        if logged.kind == "review"
        and (
            own & set(logged.data.get("answers", {}))
            or (
                answers.minutes is not None and logged.data.get("minutes", answers.minutes) != answers.minutes
            )
            or (answers.note and logged.data.get("note", answers.note) != answers.note)
        )
    ]


def _stands_in_review(question: Question) -> bool:
    """Tell whether the review's own entry holds an answer, since no other kind does, or it may leave no other."""
    return question.measure is None and question.what not in ("look", "keep") and question.answer != "vigour"


def _questions(asked: Asked, values: Mapping[str, Value]) -> Iterator[tuple[Question, Value]]:
    for key, value in values.items():
        if key in asked.every:  # a decision is no question
            yield asked.every[key], value


def _once(notes: Iterable[Note]) -> tuple[Note, ...]:
    out: list[Note] = []
    for note in notes:
        if note not in out:
            out.append(note)
    return tuple(out)


def _of_decisions(asked: Asked, answers: Answers, new: Collection[str]) -> Iterator[Note]:
    """Yield what follows from decisions that are new, and what they take the place of."""
    for decision in answers.decisions:
        if decision.key in new:
            yield from decision.notes
            if (instead := instead_of(asked.visit, decision, asked.known.get(decision.key))) is not None:
                yield instead


def _bad(asked: Asked, question: Question, value: Value) -> str | None:
    """Return what to do where the answer to a check of all trees is bad, None where it is not."""
    check, rules = asked.knowledge.review.check.get(question.key), asked.knowledge.review
    if check is None or check.if_bad is None:
        return None
    if question.answer == "vigour":
        weak = float(value) <= rules.full.weak_vigour.value or asked.visit.then.vigour - float(value) >= FALL
    elif check.bad_from is not None:
        weak = float(value) >= check.bad_from
    else:
        weak = value in BAD
    return check.if_bad if weak else None


def _notes(asked: Asked, answers: Answers) -> Iterator[Note]:
    for question, value in _questions(asked, answers.values):
        do = _bad(asked, question, value)
        if do is not None and question.key == "drainage":
            code = "drains" if _repotted(asked, answers) else "drains_ask"
            yield Note(code, {"seconds": float(value), "why": do})
        elif do is not None:
            yield Note("bad", {"do": do})
        elif question.what == "look" and value == "bad":
            yield Note("badly", {"do": asked.knowledge.aftercare[question.rule].if_bad})
        elif question.what == "pest" and value == "found":
            rules = (form.if_bad for form in asked.knowledge.aftercare.values() if FOUND in form.after)
            yield Note(
                "pest",
                {"pest": asked.knowledge.pests[question.key].label, "do": " ".join(filter(None, rules))},
            )
        elif question.key == WINTER and value == "no":
            yield Note("winter")
        elif question.key == HEAVY_JOB and value == NO_JOB:
            for operation in dict.fromkeys(item.operation for item in _heavy_ahead(asked)):
                yield Note("dropped", {"work": asked.knowledge.operations[operation].label.lower()})


def _repotted(asked: Asked, answers: Answers) -> bool:
    """Tell whether a repotting is asked for already, or due."""
    said = answers.values.get(HEAVY_JOB) == REPOT or any(
        d.key == f"decide {REPOT}" for d in answers.decisions
    )
    wished = any(wish.operation == REPOT for wish in asked.visit.now.wishes)
    return said or wished or any(i.operation == REPOT and i.status != "possible" for i in asked.visit.items)
