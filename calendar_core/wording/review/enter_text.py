"""Words of entering what a walk found: what is asked in a terminal, and what is told after each tree."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from calendar_core.planning.items import Item
from calendar_core.wording.review.question_text import answer_words, last_words, question_words, unit_words

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from calendar_core.planning.items import NotPlanned
    from calendar_core.planning.review.checklist import Question
    from calendar_core.wording.sentences import Speaker
    from calendar_core.wording.style import Style

ASKING: dict[str, str] = {
    "how": "One key answers a choice; a number wants Enter. Enter alone leaves a question open, = keeps what was last, q breaks off.",
    "tree": "{tree}: {questions}, {depth}.",
    "full": "full look",
    "glance": "glance",
    "question": "{asked}{answers}{last}: ",
    "answers": " ({answers})",
    "last": " [last {last}; = keeps it]",
    "key": "{key} {word}",
    "decide": "Decide (such as sever PART, remove PART, repot, aim AIM; Enter for nothing more): ",
    "minutes": "Minutes it took: ",
    "note": "Note: ",
    "sure": "{odd}. Is that what you measured? (y/n): ",
    "skipped": "open",
    "wrong_key": "One of {keys}.",
    "broken_off": "Broken off. To go on: {program} review resume",
    "nothing_now": "No tree is to be looked at now.",
    "nothing_ahead": "The next round opens about {day}.",
    "nothing_open": "Nothing of the round is left open.",
}
"""What is asked of a grower who types, and around it."""

ENTERED: dict[str, str] = {
    "tree": "{tree}: {told}.",
    "nothing": "{tree}: nothing new.",
    "corrected": "{answers} replaced",
    "not_taken": "Not a look yet: {answered} of {asked} questions are answered.",
    "as_glance": "It counts as a glance: {answered} of {asked} questions are answered, a full look takes half of them.",
    "next": "In the plan now: {items}.",
    "more": "{items} and {number} more",
    "now": "now",
    "item": "{work}, {day}",
    "item_part": "{work} ({part}), {day}",
    "absent": "Not in the plan yet: {work}. {reason}",
    "drains": "Drainage {seconds} s. {why}",
    "drains_ask": "Drainage {seconds} s. {why} No repotting is planned; to ask for it: decide=repot.",
    "dropped": "Not next year: {work}.",
    "bad": "{do}",
    "instead": "{what}: {now}, in place of: {before}.",
    "unwire_now": "Wire that presses into the bark comes off today, whatever the plan says; what lies loose can wait for it.",
    "no_wire": "No wire was written down there.",
    "badly": "It stays open until it goes well. {do}",
    "pest": "{pest}: {do}",
    "winter": "What would serve, is told by: {program} due",
    "moved": "It stands in “{spot}” from that day on.",
    "sum": "{trees}, {entries} written.",
}
"""What is told once answers are written down."""
MOST_ITEMS = 3  # that are named after a tree; the plan has the rest


def prompt(style: Style, speaker: Speaker, question: Question, keys: Mapping[str, str], known: str) -> str:
    """Return a question with what answers it and what is known: "Top beside the low branches (s too strong, e even): "."""
    words = answer_words(style, speaker, question)
    if question.answer == "vigour":
        answers = "1-5"
    elif words and keys:
        named = [style.say(ASKING["key"], key=key, word=word) for key, word in zip(keys, words, strict=True)]
        answers = ", ".join(named) if question.answer == "choice" else "/".join(keys)
    else:
        answers = ", ".join(words) or unit_words(style, question)
    last = known or last_words(style, question)
    return style.say(
        ASKING["question"],
        asked=question_words(style, question),
        answers=style.say(ASKING["answers"], answers=answers) if answers else "",
        last=style.say(ASKING["last"], last=last) if last else "",
    )


def told(style: Style, tree: str, said: Sequence[str], replaced: int) -> str:
    """Return what was written down of a tree, in one sentence; ``replaced`` entries were corrected."""
    words = list(said)
    if replaced:
        words.append(style.say(ENTERED["corrected"], answers=style.number_of(replaced, "answer", "answers")))
    if not words:
        return style.say(ENTERED["nothing"], tree=tree)
    return style.say(ENTERED["tree"], tree=tree, told="; ".join(words))


def anew(speaker: Speaker, found: Sequence[Item | NotPlanned]) -> list[str]:
    """Return what the plan has anew, the first to come first, and what it cannot have yet."""
    style = speaker.style
    jobs: dict[tuple[str, str], Item] = {}  # the same job once, though it comes again
    for item in sorted((one for one in found if isinstance(one, Item)), key=lambda item: item.opens.likely):
        jobs.setdefault((speaker.name(item), item.part), item)
    out = []
    if jobs:
        named = "; ".join(_item(speaker, item) for item in list(jobs.values())[:MOST_ITEMS])
        more = len(jobs) - MOST_ITEMS
        out.append(
            style.say(
                ENTERED["next"],
                items=style.say(ENTERED["more"], items=named, number=more) if more > 0 else named,
            )
        )
    for absent in (one for one in found if not isinstance(one, Item)):
        work = speaker.operations[absent.operation].label.lower()
        out.append(style.say(ENTERED["absent"], work=work, reason=speaker.reason(absent.reasons[0])))
    return out


def _item(speaker: Speaker, item: Item) -> str:
    opens = item.opens.likely
    day = (
        speaker.style.day(opens, speaker.today)
        if opens > speaker.today
        else speaker.style.say(ENTERED["now"])
    )
    text = ENTERED["item_part" if item.part else "item"]
    return speaker.style.say(text, work=speaker.name(item), part=item.part, day=day)


def note_words(style: Style, code: str, values: Mapping[str, Any], program: str) -> str:
    """Return the sentence of what follows from an answer."""
    shown = {
        key: style.text(value) if isinstance(value, str) else f"{value:g}" for key, value in values.items()
    }
    return style.say(ENTERED[code], program=program, **shown).strip()
