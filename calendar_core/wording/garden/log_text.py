"""Words of the log: an entry, a part and what is known of it, what is answered when something is written down."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from calendar_core.wording.messages import AGAINST
from calendar_core.wording.sentences import ROUND_NAMES, stage_words, tree_list

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.garden.model import Entry, EntryKind, Spot
    from calendar_core.garden.parts import Measure, Part
    from calendar_core.garden.state import TreeState
    from calendar_core.knowledge.forms.aftercare import FollowUp
    from calendar_core.knowledge.forms.operations import Operation
    from calendar_core.wording.sentences import Speaker
    from calendar_core.wording.style import Style

ENTRIES: dict[str, str] = {
    "share": ", {percent} % of the leaves",
    "regret": ". Regretted: {regret}",
    "against": ", in spite of a warning: {warnings}",
    "seen": "saw {stage}",
    "wish": "wished for {work}",
    "put off": "put off until {day}",
    "not this cycle": "not this year",
    "badly": "went badly",
    "well": "well",
    "measure": "measured",
    "review": "{round} {cycle}, {depth}{answers}",
    "broken_off": "{round} {cycle}, broken off{answers}",
    "full": "full look",
    "glance": "glance",
    "minutes": "{minutes} min",
    "walk": "walk of {off} moved to {on}",
    "gone": "gone: {why}",
}
"""What an entry of the log says, by its kind or its answer."""

PARTS: dict[str, str] = {
    "named": "named {name}",
    "directive": "{directive} at {pairs}",
    "decide": "decide by {stage}",
    "decided": "decided: {work}",
    "undecided": "nothing decided any more",
    "height": "{mm} mm high",
    "gone": "gone",
    "changed": "changed",
}
"""What an entry says of a part."""

FOLLOWED: dict[str, str] = {
    "hold": "hold at {pairs}",
    "decide": "decide by {stage}",
    "decided": "decided: {work}",
    "height": "{size} high",
    "measured": "{what} {size} on {day}",
    "since": "since {day}",
    "none": "No part is followed yet. Write one down with: leafclock part add TREE KIND NAME",
}
"""What is known of a part that is followed."""

WRITTEN: dict[str, str] = {
    "work": "{done}: {trees}{parts}, {day}. Entry {entry}.",
    "lines": "{entries} written.",
    "before": "This was written down before; it stands once.",
    "against": "{trees}: {told}.",
    "ask_before": "Ask before you work, with: leafclock what-if",
    "void": "Void: {told}, {day}.",
    "void_of": "Void: {told}: {trees}, {day}.",
    "unread": "an entry that could not be read",
    "void_part": "With it goes what was written down of that part.",
    "nothing": "Nothing is written down yet.",
    "not_yet": "Not yet: {stage} of {trees}, {day}.",
    "seen": "Seen: {stage} of {trees}, {day}.",
    "wished": "Wished: {work} for {trees}.",
    "not_now": "{tree} cannot have it yet: {reason}",
    "part": "{part}: {told}. Entry {entry}.",
    "measured": "Measured: {part}: {values}.",
}
"""What is answered when something is written down."""

HISTORY: dict[str, str] = {
    "title": "{tree}, {species}.",
    "measured": "Measured",
    "tree": "tree",
}


@dataclass(frozen=True)
class LogSpeaker:
    """Tells entries of one garden: its ``spots`` and ``states`` by id, the names of work and of looks."""

    style: Style
    operations: Mapping[str, Operation]
    aftercare: Mapping[str, FollowUp]
    spots: Mapping[UUID, Spot]
    states: Mapping[UUID, TreeState]

    def told(self, entry: Entry, tree: UUID | None = None) -> str:
        """Return what an entry says, with the parts it names; of a tree, if it names several."""
        kind, data, say = entry.kind, entry.data, self.style.say
        note = f" ({data['note']})" if data.get("note") else ""
        parts = self._parts(entry, tree)
        values = _values(self.style, data)
        if kind == "work":
            return self._work(data, parts, note)
        if kind == "look":
            rule = self.aftercare.get(str(data["rule"]))
            went = say(ENTRIES["badly" if data.get("went") == "badly" else "well"])
            return f"{rule.label if rule else data['rule']}{parts}: {went}{values}{note}"
        if kind == "measure":
            return f"{say(ENTRIES['measure'])}{parts}{values}{note}"
        if kind == "part":
            told = part_words(self.style, data)
            return f"{told}{values}{note}" if "kind" in data else f"{parts.lstrip(', ')}: {told}"
        return self._of_the_whole(kind, data) + note

    def _of_the_whole(self, kind: EntryKind, data: Mapping[str, Any]) -> str:
        """Return what an entry says of a tree, or of the garden, without a part or a measurement."""
        say = self.style.say
        if kind == "seen":
            return say(ENTRIES["seen"], stage=stage_words(str(data["stage"])))
        if kind == "wish":
            return say(ENTRIES["wish"], work=self.operations[str(data["operation"])].label.lower())
        if kind == "gone":
            return say(ENTRIES["gone"], why=data["why"])
        if kind == "choice":
            return f"{data['question']}: {data['option']}"
        if kind == "answer":
            answer = "put off" if data["answer"] == "put off" else "not this cycle"
            return say(ENTRIES[answer], day=data.get("until"))
        if kind == "review":
            return self._review(data)
        if kind == "walk":
            return say(ENTRIES["walk"], off=data["off"], on=data["on"])
        spots = {str(key): spot.name for key, spot in self.spots.items()}
        return ", ".join(
            f"{key.replace('_', ' ')} {spots.get(str(value), value)}"
            for key, value in data.items()
            if key not in ("asked", "note")
        )

    def _review(self, data: Mapping[str, Any]) -> str:
        """Return that a tree was looked at in a round, with the answers that no other entry holds."""
        say, answers = self.style.say, data.get("answers", {})
        told = [
            f"{key} {value:g}" if isinstance(value, int | float) else f"{key} {say(value)}"
            for key, value in answers.items()
        ]
        minutes = data.get("minutes")
        told += [] if minutes is None else [say(ENTRIES["minutes"], minutes=max(1, round(float(minutes))))]
        listed = f": {', '.join(told)}" if told else ""
        code = "broken_off" if data.get("broken_off") else "review"
        depth, name = say(ENTRIES[str(data["depth"])]), say(ROUND_NAMES[data["round"]]).lower()
        return say(ENTRIES[code], round=name, cycle=data["cycle"], depth=depth, answers=listed)

    def _work(self, data: Mapping[str, Any], parts: str, note: str) -> str:
        say, share, regret = self.style.say, data.get("share"), data.get("regret")
        told = f"{self._done(str(data['operation']))}{parts}"
        if share:
            told += say(ENTRIES["share"], percent=round(100 * float(share)))
        told += _against(self.style, data.get("against") or ()) + note
        return told + (say(ENTRIES["regret"], regret=regret) if regret else "")

    def _done(self, key: str) -> str:
        """Return the verb of an operation, or its label where several share the verb."""
        verb = self.operations[key].done
        alone = [operation.done for operation in self.operations.values()].count(verb) == 1
        return self.style.translate(verb if alone else self.operations[key].label)

    def _parts(self, entry: Entry, tree: UUID | None) -> str:
        which = [tree] if tree is not None else entry.tree_ids
        known = {
            part.id: part.name
            for tree_id in which
            if tree_id in self.states
            for part in self.states[tree_id].parts.values()
        }
        names = [known[part] for part in entry.part_ids if part in known]
        return f", {', '.join(names)}" if names else ""


def _against(style: Style, codes: Iterable[str]) -> str:
    """Return which warnings work was done in spite of; a code of another version stands for itself."""
    words = dict.fromkeys(style.translate(AGAINST.get(code, code.replace("_", " "))) for code in codes)
    return style.say(ENTRIES["against"], warnings=", ".join(words)) if words else ""


def part_words(style: Style, data: Mapping[str, Any]) -> str:
    """Return what an entry says of a part."""
    say = style.say
    words = [f"{data['kind']} {data.get('name', '')}".strip()] if "kind" in data else []
    words += [say(PARTS["named"], name=data["name"])] if "name" in data and "kind" not in data else []
    if "directive" in data and "pairs" in data:
        words.append(say(PARTS["directive"], directive=data["directive"], pairs=data["pairs"]))
    elif "directive" in data:
        words.append(style.translate(str(data["directive"])))
    if "decide_by" in data:
        words.append(say(PARTS["decide"], stage=str(data["decide_by"]).replace("_", " ")))
    if "decided" in data:
        words.append(say(PARTS["decided" if data["decided"] else "undecided"], work=data["decided"]))
    words += [say(PARTS["height"], mm=f"{data['height_mm']:g}")] if "height_mm" in data else []
    words += [str(data["side"])] if data.get("side") else []
    words += [say(PARTS["gone"])] if data.get("gone") else []
    return ", ".join(words) or say(PARTS["changed"])


def _values(style: Style, data: Mapping[str, Any]) -> str:
    values = data.get("values") or {}
    return "".join(f", {what} {size(style, what, float(value))}" for what, value in values.items())


def size(style: Style, what: str, value: float) -> str:
    """Return what was measured: pairs are counted, all else is a length."""
    return f"{value:g}" if what == "pairs" else style.length(value)


def course(style: Style, measures: Sequence[Measure], today: date) -> str:
    """Return what was measured of one thing, each with its day."""
    return ", ".join(f"{size(style, m.what, m.value)} ({style.day(m.on, today)})" for m in measures)


def followed(style: Style, part: Part, today: date) -> str:
    """Return what is known of a part in a few words: directive, place, last measurements, since when."""
    say = style.say
    words = [] if part.directive == "no directive" else [style.translate(part.directive)]
    if part.directive == "hold":
        pairs = f"{style.count(part.pairs)} {style.translate('pair' if part.pairs == 1 else 'pairs')}"
        words = [say(FOLLOWED["hold"], pairs=pairs)]
    if part.directive == "undecided" and part.decide_by:
        words.append(say(FOLLOWED["decide"], stage=part.decide_by.replace("_", " ")))
    words += [say(FOLLOWED["decided"], work=part.decided)] if part.decided else []
    if part.height_mm is not None:
        words.append(say(FOLLOWED["height"], size=style.length(part.height_mm)))
    words += [part.side] if part.side else []
    for what, last in {m.what: m for m in part.measures}.items():
        measured, day = size(style, what, last.value), style.day(last.on, today)
        words.append(say(FOLLOWED["measured"], what=what, size=measured, day=day))
    return ", ".join([*words, say(FOLLOWED["since"], day=style.day(part.since, today))])


def sighting(speaker: Speaker, stage: str, trees: Sequence[str], on: date, *, not_yet: bool) -> str:
    """Return what is answered to a stage that was seen, or had not come."""
    return speaker.style.say(
        WRITTEN["not_yet" if not_yet else "seen"],
        stage=stage_words(stage), trees=tree_list(trees), day=speaker.style.day(on, speaker.today),
    )  # fmt: skip


def measured(style: Style, part: Sequence[str], values: Mapping[str, float]) -> str:
    """Return what was measured; ``part`` are the tree and the parts meant."""
    told = ", ".join(f"{what} {size(style, what, value)}" for what, value in values.items())
    return style.say(WRITTEN["measured"], part=", ".join(part), values=told)
