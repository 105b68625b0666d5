"""Decisions made at a look, as they are typed: what becomes of a part, of the tree, and where it goes."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from calendar_core.app.log.parts import decision, refuse_early
from calendar_core.app.review.written import Decided, Draft, Note
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import shortened
from calendar_core.garden.state import valid_entries
from calendar_core.knowledge.words import AIMS, DEPARTURES
from calendar_core.storage import gardens

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from calendar_core.app.review.visits import Visit
    from calendar_core.app.shell.session import Session
    from calendar_core.garden.parts import Part

OF_PARTS: Mapping[str, tuple[str, ...]] = {
    "sever": ("sever graft", "separate air layer"),
    "unwire": ("unwire",),
    "recut": ("recut wound",),
    "remove": ("structural prune",),
}
"""By verb what a part may get: the first that its kind allows."""
SPOKEN: Mapping[str, str] = {
    "take wire off": "unwire",
    "take the wire off": "unwire",
    "cut again": "recut",
    "change aim": "aim",
    "give away": "given away",
    "sell": "sold",
}
"""Decisions as the printed sheet names them, by what is typed for them."""
SUCH_AS = "sever PART, unwire, recut PART, remove PART, replace PART by PART, repot, aim AIM, move SPOT, sold, given away, died"


def decided(session: Session, visit: Visit, typed: str) -> Decided:
    """Return a decision as typed, its spaces and case made even.

    Raises
    ------
    Refusal
        Where it is none, or the part, the aim or the work does not fit.
    StoreError
        Where there is no such spot.
    """
    typed = _plain(session, visit, typed)
    verb, _, rest = typed.partition(" ")
    if typed in DEPARTURES:
        return _gone(session, visit, typed)
    if typed == "repot":
        return _wished(session, visit, typed)
    if typed == "unwire":
        return _unwired(session, visit)
    if verb in OF_PARTS and rest:
        part = part_of(visit, rest)
        notes = _no_wire(visit, part) if verb == "unwire" else ()
        return _of_parts(part, verb, [_draft(session, visit, part, verb)], notes)
    if verb == "replace" and rest:
        return _replaced(session, visit, rest)
    if verb == "aim" and rest:
        return _aim(rest)
    if verb == "move" and rest:
        return _moved(session, rest)
    raise Refusal(f"found {shortened(typed)}; right would be one of {SUCH_AS}")


def choices(session: Session, visit: Visit) -> list[str]:
    """Return the decisions that may be taken at a look, as they are typed; which part takes another's place is not among them."""
    operations, profile = session.knowledge.operations, session.knowledge.profiles[visit.tree.species]
    known = {work.operation for work in profile.work} - set(profile.never)
    of_parts = [
        f"{verb} {part.name}"
        for part in visit.state.open_parts
        for verb, keys in OF_PARTS.items()
        if any((form := operations[key].of_part) is not None and part.kind in form.kinds for key in keys)
    ]
    spots = (spot for spot in session.spots.values() if spot.id != visit.state.spot)
    return [
        *of_parts,
        *(work for work in ("unwire", "repot") if work in known),
        *(f"aim {aim}" for aim in AIMS if aim != visit.state.aim),
        *(f"move {spot.name}" for spot in sorted(spots, key=lambda spot: spot.name)),
        *DEPARTURES,
    ]


def _spoken(session: Session) -> Mapping[str, str]:
    """Return what is typed for a decision by other words for it: also those of the work that it asks for."""
    out = dict(SPOKEN)
    for verb, keys in OF_PARTS.items():
        for key in keys:
            out |= {key: verb, session.knowledge.operations[key].label.casefold(): verb}
    return out


def _plain(session: Session, visit: Visit, typed: str) -> str:
    """Return a decision in the words that are understood; what names a part as it stands is one already."""
    verb, _, rest = typed.partition(" ")
    if verb in OF_PARTS and rest in _named(visit):
        return typed
    spoken = _spoken(session)
    found = after_words(typed, spoken)
    return typed if found is None else f"{spoken[found[0]]} {found[1]}".strip()


def decision_words(session: Session, text: str) -> tuple[str, str] | None:
    """Return the words of a decision that a text begins with, and what follows; None where it begins with none."""
    return after_words(
        text, ["decide", *OF_PARTS, "replace", "aim", "move", "repot", *DEPARTURES, *_spoken(session)]
    )


def after_words(text: str, words: Iterable[str]) -> tuple[str, str] | None:
    """Return the longest of some words that a text begins with, and what follows; None where it begins with none.

    >>> after_words("low left width: 12", ["low", "low left width"])
    ('low left width', '12')
    >>> after_words("pot-bound", ["pot"])
    """
    even = " ".join(text.replace("_", " ").casefold().split())
    for word in sorted(words, key=len, reverse=True):
        if even.startswith(word) and even[len(word) : len(word) + 1] in ("", " ", ":", ",", "."):
            return word, even[len(word) :].strip(" :,.")
    return None


def _named(visit: Visit) -> Mapping[str, Part]:
    """Return the parts of a tree by their names: of two the one that is followed still."""
    known = {" ".join(part.name.casefold().split()): part for part in visit.state.parts.values()}
    return known | {" ".join(part.name.casefold().split()): part for part in visit.state.open_parts}


def part_of(visit: Visit, name: str) -> Part:
    """Return a part of the tree by its name. Raises Refusal where there is none, or it is gone."""
    part = _named(visit).get(name)
    if part is None:
        right = ", ".join(part.name for part in visit.state.open_parts) or "none yet"
        raise Refusal(f"no part {shortened(name)}; right would be one of: {right}")
    if part.gone is not None:
        raise Refusal(f"{part.name} is gone since {part.gone}; right would be to leave it out")
    refuse_early([part], visit.on)
    return part


def removed(session: Session, visit: Visit, part: Part) -> Draft:
    """Return what is written of a part that is not kept. Raises Refusal where its kind is not taken off."""
    return _draft(session, visit, part, "remove")


def next_cycle(visit: Visit, operation: str) -> int:
    """Return the cycle for which work is wished: the first in which it opens after the look, else the next."""
    ahead = [i.cycle for i in visit.items if i.operation == operation and i.opens.likely >= visit.on]
    return min(ahead, default=visit.cycle + (visit.round != "yearly"))


def _draft(session: Session, visit: Visit, part: Part, verb: str) -> Draft:
    operations = session.knowledge.operations
    forms = [(key, operations[key].of_part) for key in OF_PARTS[verb]]
    fit = [key for key, form in forms if form is not None and part.kind in form.kinds]
    if not fit:
        kinds = ", ".join(kind for _, form in forms if form is not None for kind in form.kinds)
        raise Refusal(f"{part.name} is a {part.kind}; right for '{verb}' would be one of: {kinds}")
    data = decision(session, visit.tree, part.kind, fit[0])
    return Draft("part", data, {f"decide {part.name}": verb}, (part.id,))


def _of_parts(part: Part, value: str, drafts: list[Draft], notes: tuple[Note, ...] = ()) -> Decided:
    key = f"decide {part.name}"
    return Decided(key, value, tuple(Draft(d.kind, d.data, {key: value}, d.parts) for d in drafts), notes)


def _no_wire(visit: Visit, part: Part | None) -> tuple[Note, ...]:
    """Return that no wire was ever written down on a part or the tree, where so; None is the tree with all its parts."""
    wired = [done for done in visit.state.done if done.operation == "wire"]
    on_it = [done for done in wired if part is None or not done.parts or part.id in done.parts]
    known = on_it or any(each.kind == "wire" for each in visit.state.parts.values())
    return () if known else (Note("no_wire", {"part": "" if part is None else part.name}),)


def instead_of(visit: Visit, decision: Decided, before: str | None) -> Note | None:
    """Return what a decision takes the place of: another at this look, ``before``, else one of its part's."""
    verbs = {key: verb for verb, keys in OF_PARTS.items() for key in keys}
    had = {
        verbs.get(visit.now.parts[part].decided, visit.now.parts[part].decided)
        for draft in decision.drafts
        for part in draft.parts
        if "decided" in draft.data and visit.now.parts[part].decided not in ("", draft.data["decided"])
    }
    other = before if before not in (None, decision.value) else ", ".join(sorted(had))
    what = decision.key.removeprefix("decide ")
    return Note("instead", {"what": what, "now": decision.value, "before": other}) if other else None


def _replaced(session: Session, visit: Visit, rest: str) -> Decided:
    old, by, new = rest.partition(" by ")
    if not by:
        raise Refusal(f"found {shortened(f'replace {rest}')}; right would be: replace PART by PART")
    goes, stays = part_of(visit, old), part_of(visit, new)
    if goes.id == stays.id:
        raise Refusal(f"{goes.name} cannot take its own place; right would be two parts")
    kept = Draft("part", {"directive": "no directive"}, {}, (stays.id,))
    return _of_parts(goes, f"replace by {stays.name}", [kept, removed(session, visit, goes)])


def _unwired(session: Session, visit: Visit) -> Decided:
    """Return that all wire comes off: that of each part that is wire, else the work on the whole tree."""
    wires = [part for part in visit.state.open_parts if part.kind == "wire"]
    if not wires:
        notes = (*_no_wire(visit, None), Note("unwire_now"))
        return replace(_wished(session, visit, "unwire"), notes=notes)
    refuse_early(wires, visit.on)
    drafts = [_draft(session, visit, part, "unwire") for part in wires]
    key = {"decide unwire": "yes"}
    return Decided("decide unwire", "yes", tuple(Draft(d.kind, d.data, key, d.parts) for d in drafts))


def _wished(session: Session, visit: Visit, operation: str) -> Decided:
    profile = session.knowledge.profiles[visit.tree.species]
    label = session.knowledge.operations[operation].label.lower()
    if operation in profile.never:
        raise Refusal(f"{label} is never done to a {profile.common}: {profile.never[operation].why}")
    if operation not in {work.operation for work in profile.work}:
        raise Refusal(
            f"{label} is not known for {profile.common}; right would be one listed by: leafclock species show '{profile.common}'"
        )
    data = {"operation": operation, "cycle": next_cycle(visit, operation), "anyway": False}
    key = f"decide {operation}"
    return Decided(key, "yes", (Draft("wish", data, {key: "yes"}),))


def _gone(session: Session, visit: Visit, why: str) -> Decided:
    there = [entry.happened for entry in valid_entries(visit.before.entries, session.today)]
    if max(there, default=visit.on) > visit.on:
        raise Refusal(
            f"it was still there on {max(there)}, by its log; right would be a day from then on, not {visit.on}"
        )
    return Decided("decide gone", why, (Draft("gone", {"why": why}, {"decide gone": why}),), ends=True)


def _aim(text: str) -> Decided:
    if text not in AIMS:
        raise Refusal(f"{shortened(text)} is no aim; right would be one of: {', '.join(AIMS)}")
    return Decided("decide aim", text, (Draft("state", {"aim": text}, {"decide aim": text}),))


def _moved(session: Session, text: str) -> Decided:
    """Return that a tree stands in another spot: what is decided at a look is carried out with it."""
    with session.store.read() as connection:
        spot = gardens.find_spot(connection, session.garden.id, text)
    draft = Draft("state", {"spot": str(spot.id)}, {"decide move": spot.name})
    return Decided("decide move", spot.name, (draft,), (Note("moved", {"spot": spot.name}),))
