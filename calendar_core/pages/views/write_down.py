"""Writing down what was done: first the trees, then the work, with the checks and questions of ``log``."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Annotated
from urllib.parse import urlencode
from uuid import UUID, uuid4

from fastapi import APIRouter, Query
from starlette.responses import RedirectResponse, Response

from calendar_core.app.log.entries import happened
from calendar_core.app.log.fitting_operations import fitting_operations
from calendar_core.app.log.work_entries import write_work
from calendar_core.app.plan.card import card_of
from calendar_core.app.shell.errors import DoubtRefusal, Refusal
from calendar_core.garden.parts import MEASURES
from calendar_core.knowledge.words import AIMS, DEPARTURES, DIRECTIVES, PART_KINDS, POT_KINDS, SIZES
from calendar_core.pages.shell.access import Worker
from calendar_core.pages.shell.answering import page, told
from calendar_core.pages.shell.entered import Entered, Sent, without_options
from calendar_core.pages.shell.keeping import BeingWorkedOutError
from calendar_core.pages.shell.plans import plan_of
from calendar_core.storage.errors import NotNowError, StoreError
from calendar_core.wording.pages.write_text import WriteSpeaker
from calendar_core.wording.sentences import stage_words

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Mapping, Sequence

    from calendar_core.app.shell.receipt import Receipt
    from calendar_core.app.shell.session import Session
    from calendar_core.garden.model import Tree

router = APIRouter()
MOST_SHOWN = (
    300  # trees of the list, the others are reached by their names (estimate: some 30 screens of a phone)
)
FEW = 20  # trees that are planned by themselves faster than the whole garden (estimate)
MEASURED_AT_ONCE = 3  # measurements that a form takes (estimate: width, entry, exit)


@router.get("/write", include_in_schema=False)
def choose(
    visit: Worker,
    tree: Annotated[list[UUID] | None, Query()] = None,
    spot: UUID | None = None,
    name: str = "",
) -> Response:
    """Show the trees to choose from, or what can be written down of those that are chosen."""
    session = visit.session
    if tree:
        return forms(visit, tree)
    if spot is not None:
        return forms(visit, [t.id for t in session.trees if session.states[t.id].spot == spot])
    found = named_or_alike(session, name)
    if name.strip() and len(found) == 1:
        return RedirectResponse(f"/write?tree={found[0].id}", 303)
    tells = WriteSpeaker(session.style)
    return page(
        visit,
        "write_choose.html",
        title="Write down",
        current="write",
        name=name.strip(),
        spots=by_spot(session, found[:MOST_SHOWN]),
        left=tells.left(len(found) - MOST_SHOWN) if len(found) > MOST_SHOWN else "",
        labels=[t.label for t in session.trees],
        found=len(found),
    )


def named_or_alike(session: Session, name: str) -> list[Tree]:
    """Return the trees of a label, else those whose label or species holds a text; all for no text."""
    wanted = name.strip().casefold()
    exact = [tree for tree in session.trees if tree.label.casefold() == wanted]
    profiles = session.knowledge.profiles
    return exact or [
        tree
        for tree in session.trees
        if wanted in tree.label.casefold() or wanted in profiles[tree.species].common.casefold()
    ]


def by_spot(session: Session, trees: Iterable[Tree]) -> list[tuple[UUID | None, str, list[tuple[Tree, str]]]]:
    """Return trees with their species, by the spots where they stand, in the order of the spots' names."""
    spots: dict[UUID | None, list[tuple[Tree, str]]] = {}
    for tree in trees:
        at = session.states[tree.id].spot
        common = session.knowledge.profiles[tree.species].common
        spots.setdefault(at if at in session.spots else None, []).append((tree, common))
    names = {at: session.spots[at].name if at is not None else "" for at in spots}
    return [(at, names[at], spots[at]) for at in sorted(spots, key=lambda at: names[at])]


@router.post("/write", include_in_schema=False)
def write(visit: Worker, entered: Sent) -> Response:
    """Write down work that was done."""
    return written(visit, "work", entered, _work)


def _work(session: Session, entered: Entered) -> Receipt:
    operation, share = entered.one("operation") or entered.one("other"), entered.one("share")
    if operation not in session.knowledge.operations:
        raise Refusal("no work is chosen; right would be one of those below")
    return write_work(
        session,
        session.trees,
        operation,
        happened(session, entered.one("day")),
        details={
            "note": entered.one("note"),
            "regret": entered.one("regret"),
            "share": f"{share.rstrip('% ')}%" if share else None,
        },
        parts=[*entered.every("part"), *filter(None, entered.every("new_part"))],
        values=entered.pairs("measure", "value"),
        place={"height_mm": entered.one("height") or None, "side": entered.one("side")},
        yes=bool(entered.one("yes")),
        entry_id=entered.entry_id,
    )


def written(
    visit: Worker, form: str, entered: Entered, write: Callable[[Session, Entered], Receipt]
) -> Response:
    """Write down what a form says of its trees, or show it again with why it cannot be."""
    try:
        receipt = write(visit.of_trees(entered.ids("tree")), entered)
    except (
        NotNowError
    ):  # no fault of the form: a phone that kept it without a network keeps it until it is taken
        raise
    except (Refusal, StoreError) as refusal:
        return refused(visit, form, entered, refusal)
    return told(visit, receipt.lines, receipt.entries, entered.one("back", "/write"))


def refused(visit: Worker, form: str, entered: Entered, refusal: Refusal | StoreError) -> Response:
    """Return the forms again with what was entered in one of them, and why it was not written down."""
    lines = refusal.lines if isinstance(refusal, Refusal) else [str(refusal)]
    doubts = refusal.doubts if isinstance(refusal, DoubtRefusal) else ()
    known = {tree.id for tree in visit.session.trees}
    trees = [tree for text in entered.every("tree") if (tree := _id(text)) in known and tree is not None]
    if not trees:
        raise refusal
    said = [] if doubts else without_options(lines)
    return forms(visit, trees, form, entered, said, doubts)


def _id(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None


def forms(
    visit: Worker,
    trees: Sequence[UUID],
    form: str = "",
    entered: Entered | None = None,
    refusal: Sequence[str] = (),
    doubts: Sequence[str] = (),
) -> Response:
    """Return what can be written down of trees; in one ``form`` of it with what was ``entered`` and why it is refused."""
    session = _planned(visit, set(trees), needed=entered is None)
    which = [tree for tree in session.trees if tree.id in set(trees)]
    fit, tells = fitting_operations(session, which), WriteSpeaker(session.style)
    verbs = verbs_of(session)
    state = session.states[which[0].id] if len(which) == 1 else None
    return page(
        visit,
        "write_down.html",
        status=422 if form else 200,
        title="Write down",
        current="write",
        trees=which,
        named=tells.trees([tree.label for tree in which]),
        choose_again=f"/write?{urlencode({'name': which[0].label})}" if state else "/write",
        due=[(key, verbs[key]) for key in fit.due],
        open=[(key, verbs[key]) for key in fit.open],
        others=[(key, session.knowledge.operations[key].label) for key in fit.others],
        wishes=[(key, session.knowledge.operations[key].label) for key in _wishes(session, which)],
        verbs=verbs,
        cards=_cards(session, which[0], (*fit.due, *fit.open)) if state else [],
        stages=[(key, stage_words(key)) for key in _stages(session, which)],
        state=state,
        parts=[part.name for part in state.open_parts] if state else [],
        spots=sorted(spot.name for spot in session.spots.values()),
        measures=MEASURES,
        rows=MEASURED_AT_ONCE,
        words={
            "kinds": PART_KINDS, "directives": DIRECTIVES, "aims": AIMS, "sizes": SIZES,
            "pots": POT_KINDS, "departures": DEPARTURES,
        },
        today=session.today.isoformat(),
        entry_ids={name: uuid4() for name in ("work", "seen", "measured", "part", "wished", "changed", "gone")},
        form=form,
        entered=entered or Entered(),
        nothing=Entered(),
        refusal=list(refusal),
        doubts=list(doubts),
    )  # fmt: skip


def _planned(visit: Worker, trees: Collection[UUID], *, needed: bool) -> Session:
    """Return a session with a plan of some trees: of few of them alone, of many the whole garden's, which is kept.

    What was entered is shown at once with the trees planned alone where that takes long and is not ``needed``.
    """
    if len(trees) > FEW:
        try:
            kept = visit.site.kept(visit.session, plan_of).session
            if {tree.id for tree in kept.trees}.issuperset(
                trees
            ):  # it may be as it stood before some were added
                return kept
        except BeingWorkedOutError:
            if needed:
                raise
    return visit.of_trees(list(trees))


def _cards(
    session: Session, tree: Tree, operations: Iterable[str]
) -> list[tuple[str, list[tuple[str, list[str]]]]]:
    """Return what to know of a tree before work that takes what cannot be put back, once where it is the same."""
    known: list[tuple[list[str], list[tuple[str, list[str]]]]] = []
    for key in operations:
        form = session.knowledge.operations[key]
        told = session.speaker.card(card_of(session, tree, key)) if form.takes is not None else []
        same = next((names for names, others in known if others == told), None)
        if same is not None:
            same.append(form.label)
        elif told:
            known.append(([form.label], told))
    return [(", ".join(names), told) for names, told in known]


def verbs_of(session: Session) -> Mapping[str, str]:
    """Return what a button says of each operation: its verb, with its name where others have the same verb."""
    operations, translate = session.knowledge.operations, session.style.translate
    shared = Counter(operation.done for operation in operations.values())
    return {
        key: translate(operation.done)
        if shared[operation.done] == 1
        else f"{translate(operation.done)}: {operation.label.lower()}"
        for key, operation in operations.items()
    }


def _stages(session: Session, trees: Sequence[Tree]) -> list[str]:
    """Return the stages that all of some trees have, those first that are expected next."""
    known = [session.knowledge.profiles[tree.species].stages for tree in trees]
    shared = [stage for stage in known[0] if all(stage in stages for stages in known)] if known else []
    near = {
        dated.stage: abs((dated.range.likely - session.today).days)
        for tree in trees
        for dated in session.plan.stages.get(tree.id, ())
        if dated.range is not None and not dated.seen
    }
    return sorted(shared, key=lambda stage: (near.get(stage, 366), shared.index(stage)))


def _wishes(session: Session, trees: Sequence[Tree]) -> list[str]:
    """Return the operations that can be wished for all of some trees, by their names."""
    profiles = [session.knowledge.profiles[tree.species] for tree in trees]
    works = [{work.operation for work in profile.work} - set(profile.never) for profile in profiles]
    shared = set.intersection(*works) if works else set()
    return sorted(shared, key=lambda key: session.knowledge.operations[key].label)
