"""The checklist of a tree: what a look of a round asks, made from the tree's own log, its species and all trees' checks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from calendar_core.garden.parts import MEASURES
from calendar_core.knowledge.forms.operations import HEAVY
from calendar_core.knowledge.words import CHECK_PLACES
from calendar_core.planning.aftercare.followed import ended, followed

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from datetime import date
    from uuid import UUID

    from calendar_core.garden.parts import Measure, Part
    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.knowledge.words import AnswerKind, CheckPlace, LookDepth, RoundName
    from calendar_core.planning.aftercare.followed import Followed
    from calendar_core.planning.items import Item

MOST: Mapping[str, float] = {
    "girth": 1500.0, "height": 1500.0, "length": 1500.0, "dry": 500.0, "diameter": 300.0, "width": 300.0, "leaf": 300.0,
    "entry": 100.0, "exit": 100.0, "bite": 10.0, "pairs": 12.0,
}  # fmt: skip
"""The most a measure of a tree in a pot is likely to be [mm, pairs: a count]; more is asked about (estimate)."""
USUAL_JOBS = ("repot", "structural prune")  # heavy jobs that a grower may choose though none is due
TOLD_BY_EYE = ("bite",)  # what is told by a look, and seldom measured
KEPT = ("undecided", "keep as backup", "remove when replaced")  # directives that a round asks about
HEAVY_JOB, NO_JOB, WINTER, WIRE = "heavy job", "none", "winter place", "wire"


@dataclass(frozen=True, slots=True)
class Question:
    """One question about a tree; ``key`` is what its answer is written under, unique for the tree.

    ``part`` is what it is about, if it is of one, ``what`` the code of its sentence: of a check its key, "measure",
    "look", "directive", "pest", or one of the tree as a whole. A ``measure`` brings the ``last`` reading beside the box.
    A look answers ``rule`` of the entry ``of``. A number is at most ``most``.
    """

    key: str
    place: CheckPlace
    what: str
    answer: AnswerKind
    text: str = ""
    unit: str = ""
    options: tuple[str, ...] = ()
    part: Part | None = None
    measure: str | None = None
    last: Measure | None = None
    rule: str = ""
    of: UUID | None = None
    most: float | None = None


def checklist(
    tree: UUID, state: TreeState, profile: Profile, items: Iterable[Item], depth: LookDepth, name: RoundName,
    knowledge: Knowledge, today: date,
) -> tuple[Question, ...]:  # fmt: skip
    """Return what is asked of a tree in a round: soil and base, trunk, branches from low to high, top, then the whole."""
    own = [item for item in items if item.tree_id == tree]
    questions = [
        *_of_all(state, profile, depth, name, knowledge, today),
        *_of_pests(profile, own, depth, name, knowledge, today),
        *_of_parts(state, knowledge, today),
        *_of_tree(state, knowledge, today),
        *_of_winter(profile, name),
        *_heavy_job(own, profile, knowledge),
    ]
    once = {
        question.key: question for question in reversed(questions)
    }  # what a check asks too stands as the check
    return tuple(sorted(reversed(list(once.values())), key=_hand))  # noqa: C414 - of one place as they come


def _hand(question: Question) -> tuple[int, float, str]:
    """Return what questions are asked by: as a hand moves up the tree, of all branches before each one."""
    height = 0.0 if question.part is None else question.part.height_mm or 0.0
    last = {"vigour": 1, HEAVY_JOB: 2}.get(question.key, 0)
    part = "" if question.part is None else question.part.name
    return CHECK_PLACES.index(question.place), last + height, part


def _of_all(
    state: TreeState, profile: Profile, depth: LookDepth, name: RoundName, knowledge: Knowledge, today: date
) -> Iterator[Question]:  # fmt: skip
    wired = any(WIRE in knowledge.aftercare[found.rule].after for found in _followed(state, knowledge, today))
    for key, check in knowledge.review.check.items():
        fits = name in check.rounds and profile.habit in check.habits and state.aim in check.aims
        if not fits or (check.full_only and depth != "full") or (key == WIRE and wired):
            continue
        last = next((m for m in reversed(state.measures) if m.what == check.measure), None)
        yield Question(
            key, check.place, key, check.answer, check.label, "mm" if check.measure else check.unit, check.options,
            measure=check.measure, last=last, most=MOST[check.measure] if check.measure else check.most,
        )  # fmt: skip


def _of_parts(state: TreeState, knowledge: Knowledge, today: date) -> Iterator[Question]:
    """Yield for each part followed what its open rules measure, else look at, and whether it is kept.

    What is measured needs no look beside it; what is undecided is decided.
    """
    every_rule = list(_followed(state, knowledge, today))
    for part in state.open_parts:
        place = _place(part)
        rules = [f for f in every_rule if f.part is not None and f.part.id == part.id]
        every = dict.fromkeys(what for f in rules for what in knowledge.aftercare[f.rule].measure)
        measured = [what for what in every if what not in TOLD_BY_EYE]
        for what in measured:
            yield Question(
                f"{part.name} {what}", place, "measure", "number", MEASURES[what], "" if what == "pairs" else "mm",
                part=part, measure=what, last=part.last(what), most=MOST[what],
            )  # fmt: skip
        looks = [f for f in rules if _by_eye(f, knowledge)]
        if looks and part.directive != "undecided":
            first = max(looks, key=lambda f: (f.concern, f.on))
            yield _look(first, part, place, knowledge)
        if part.directive in KEPT:
            yield Question(f"{part.name} keep", place, "keep", "yes or no", part=part)


def _by_eye(follow_up: Followed, knowledge: Knowledge) -> bool:
    """Tell whether a rule is answered by a look: not by work, nor by measuring."""
    form = knowledge.aftercare[follow_up.rule]
    return form.does is None and all(what in TOLD_BY_EYE for what in form.measure)


def _of_tree(state: TreeState, knowledge: Knowledge, today: date) -> Iterator[Question]:
    """Yield looks that follow work on the whole tree, one a rule."""
    for follow_up in _followed(state, knowledge, today):
        form = knowledge.aftercare[follow_up.rule]
        if follow_up.part is None and form.does is None:
            yield Question(
                follow_up.rule, "tree", "look", "good or bad", form.look_at, rule=follow_up.rule, of=follow_up.entry
            )  # fmt: skip


def _look(follow_up: Followed, part: Part, place: CheckPlace, knowledge: Knowledge) -> Question:
    form = knowledge.aftercare[follow_up.rule]
    return Question(
        f"{part.name} look", place, "look", "good or bad", form.look_at,
        part=part, rule=follow_up.rule, of=follow_up.entry,
    )  # fmt: skip


def _followed(state: TreeState, knowledge: Knowledge, today: date) -> Iterator[Followed]:
    for rule, form in knowledge.aftercare.items():
        for follow_up in followed(rule, form, state):
            if ended(follow_up, form, state, today) is None:
                yield follow_up


def _of_pests(
    profile: Profile, items: Iterable[Item], depth: LookDepth, name: RoundName, knowledge: Knowledge, today: date
) -> Iterator[Question]:  # fmt: skip
    """Yield what lives on the species where it can be seen then: at a full look all, at a glance what is looked for now."""
    bare = profile.habit == "deciduous" and name == "after leaf fall"
    looks = [item for item in items if item.operation == "pest look" and item.status != "possible"]
    now = {look.rule for look in looks if look.opens.likely <= today}
    for key in profile.pests:
        pest = knowledge.pests[key]
        there = [
            place
            for place in pest.seen_on
            if place in (("bark", "soil") if bare else ("foliage", "bark", "soil"))
        ]
        if there and (depth == "full" or f"look for {key}" in now):
            where: CheckPlace = "soil" if there == ["soil"] else "branches"
            yield Question(key, where, "pest", "none or found", f"{pest.label}: {pest.sign}")


def _of_winter(profile: Profile, name: RoundName) -> Iterator[Question]:
    """Yield whether a tree that needs one has a safe place for the winter."""
    if name != "late summer" and profile.shelter:
        yield Question(WINTER, "tree", WINTER, "yes or no")


def _heavy_job(items: Iterable[Item], profile: Profile, knowledge: Knowledge) -> Iterator[Question]:
    """Yield the choice of next year's one heavy job: what is due or wished, then what is usual for its kind."""
    heavy = [
        item for item in items if not item.label and knowledge.operations[item.operation].weight >= HEAVY
    ]
    jobs = sorted(heavy, key=lambda item: item.opens.likely)
    usual = (work.operation for work in profile.work if work.operation in USUAL_JOBS)
    names = dict.fromkeys([*(item.operation for item in jobs if item.status != "possible"), *usual])
    if names:
        yield Question(HEAVY_JOB, "tree", HEAVY_JOB, "choice", options=(*names, NO_JOB))


def _place(part: Part) -> CheckPlace:
    if part.kind == "apex":
        return "top"
    if part.kind in ("wound", "back bud", "air layer") and not part.height_mm:
        return "trunk"
    return "branches"
