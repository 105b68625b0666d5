"""Decisions made at a look, as they are typed: what becomes of a part, of the tree, and where it goes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.log.parts import decision, refuse_early
from calendar_core.app.review.written import Decided, Draft, Note
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.forms import shortened
from calendar_core.garden.state import valid_entries
from calendar_core.knowledge.words import AIMS, DEPARTURES
from calendar_core.storage import gardens

if TYPE_CHECKING:
    from collections.abc import Mapping

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
    said = next((phrase for phrase in SPOKEN if f"{typed} ".startswith(f"{phrase} ")), None)
    if said is not None:
        typed = SPOKEN[said] + typed.removeprefix(said)
    verb, _, rest = typed.partition(" ")
    if typed in DEPARTURES:
        return _gone(session, visit, typed)
    if typed == "repot":
        return _wished(session, visit, typed)
    if typed == "unwire":
        return _unwired(session, visit)
    if verb in OF_PARTS and rest:
        part = part_of(visit, rest)
        return _of_parts(part, verb, [_draft(session, visit, part, verb)])
    if verb == "replace" and rest:
        return _replaced(session, visit, rest)
    if verb == "aim" and rest:
        return _aim(rest)
    if verb == "move" and rest:
        return _moved(session, rest)
    raise Refusal(f"found {shortened(typed)}; right would be one of {SUCH_AS}")


def part_of(visit: Visit, name: str) -> Part:
    """Return a part of the tree by its name. Raises Refusal where there is none, or it is gone."""
    known = {" ".join(part.name.casefold().split()): part for part in visit.state.parts.values()}
    known |= {" ".join(part.name.casefold().split()): part for part in visit.state.open_parts}
    part = known.get(name)
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


def _of_parts(part: Part, value: str, drafts: list[Draft]) -> Decided:
    key = f"decide {part.name}"
    return Decided(key, value, tuple(Draft(d.kind, d.data, {key: value}, d.parts) for d in drafts))


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
        return _wished(session, visit, "unwire")
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
