"""The text of a calendar event. It stands alone, and holds nothing that changes from day to day."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.planning.events import ComputedEvent
from calendar_core.planning.waits import late_since
from calendar_core.wording.plan.feeding_text import strengths
from calendar_core.wording.plan.move_text import move_sentence
from calendar_core.wording.sentences import Speaker, tree_list, tree_names
from calendar_core.wording.tree_sets import MOST_NAMES, alike, by_text, of_trees, reasons

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.aftercare.cut_card import Card
    from calendar_core.planning.groups import EventGroup
    from calendar_core.planning.items import Item
    from calendar_core.planning.moved_dates import DateMove
    from calendar_core.wording.style import Style

NEAR_DAYS = 14  # within this of its opening a window counts as confirmed, before it as tentative
REMINDER_NOTE = (
    "Reminders of subscribed calendars may fail or come late: look at the plan before the last day."
)


def event_of(
    group: EventGroup,
    labels: Mapping[UUID, str],
    knowledge: Knowledge,
    style: Style,
    today: date,
    basis: str,
    cards: Mapping[UUID, Card] | None = None,
    moved: Mapping[UUID, Sequence[DateMove]] | None = None,
) -> ComputedEvent:
    """Return a group as a calendar event; ``basis`` says what weather its dates rest on.

    ``cards`` are those of the trees of which something is to be looked at before the work, ``moved`` the last moves of
    the dates by item.
    """
    speaker = Speaker(style, group.start, knowledge.operations, knowledge.sources)
    operation = knowledge.operations[group.items[0].operation]
    species = {item.species: knowledge.profiles[item.species].common for item in group.items}
    names = tree_names(group.items, labels)
    trees, name = tree_list(names), speaker.name(group.items[0])
    return ComputedEvent(
        uid=group.uid,
        group=group.key,
        cycle=group.cycle,
        tree_ids=tuple(sorted({item.tree_id for item in group.items})),
        start=group.start,
        end=group.end,
        summary=f"{name}: {trees}",
        description=_description(
            group,
            names,
            labels,
            knowledge,
            speaker,
            basis,
            before_cut(cards or {}, labels, speaker),
            moved or {},
        ),
        reminder=_reminder(group.items[0], name, style),
        categories=tuple(
            category.replace(",", "") for category in (operation.label, *sorted(species.values()))
        ),
        status="CONFIRMED" if (group.start - today).days <= NEAR_DAYS else "TENTATIVE",
    )


def before_cut(cards: Mapping[UUID, Card], labels: Mapping[UUID, str], speaker: Speaker) -> list[str]:
    """Return a paragraph for each tree of which something is to be looked at before the cut."""
    out = []
    for tree, label in labels.items():
        if tree in cards and not cards[tree].empty:
            told = [f"{title}: {' '.join(lines)}" for title, lines in speaker.card(cards[tree])]
            head = speaker.style.translate("Before you cut, {tree}:").format(tree=label)
            out.append("\n".join([head, *(f"- {line}" for line in told)]))
    return out


def _reminder(item: Item, name: str, style: Style) -> str:
    told = (
        "{work}: due tomorrow, or late from today"
        if item.label
        else "{work}: the window opens tomorrow, or closes today"
    )
    return style.translate(told).format(work=name)


def _description(
    group: EventGroup,
    names: list[str],
    labels: Mapping[UUID, str],
    knowledge: Knowledge,
    speaker: Speaker,
    basis: str,
    before: list[str],
    moved: Mapping[UUID, Sequence[DateMove]],
) -> str:
    style, items = speaker.style, group.items
    say, given = style.translate, strengths(speaker, items, labels)
    why = [
        of_trees(speaker.reason(said.reason), said.items, items, labels) for said in reasons(items, speaker)
    ]
    parts = [
        say("Trees: {trees}.").format(trees=tree_list(names, most=MOST_NAMES)),
        *(
            say("Do: {how}").format(how=of_trees(how, some, items, labels))
            for how, some in by_text(items, lambda item: style.text(item.how)).items()
        ),
        *([given] if given else []),
        *before,
        _when(items, labels, speaker),
        *moved_lines(items, labels, speaker, moved),
        "\n".join([say("Why:"), *(f"- {text}" for text in why)]),
        *_how_sure(items, labels, style, basis),
        *(
            say("Caution: {text}").format(text=style.text(knowledge.cautions[key].text))
            for key in dict.fromkeys(key for item in items for key in item.cautions)
        ),
        say(REMINDER_NOTE),
    ]
    return "\n\n".join(parts)


def _when(items: Sequence[Item], labels: Mapping[UUID, str], speaker: Speaker) -> str:
    """Return when trees are due or their windows open and close: a line for each set of trees that are so alike."""
    lines = [of_trees(_window(some, speaker), some, items, labels) for some in alike(items)]
    head = speaker.style.translate("When:")
    return f"{head} {lines[0]}" if len(lines) == 1 else "\n".join([head, *(f"- {line}" for line in lines)])


def moved_lines(
    items: Sequence[Item],
    labels: Mapping[UUID, str],
    speaker: Speaker,
    moved: Mapping[UUID, Sequence[DateMove]],
) -> list[str]:
    """Return what moved the dates since they were told: a line for each set of trees of which it is true."""
    told: dict[str, list[Item]] = {}
    for item in items:
        for move in moved.get(item.id, ()):
            told.setdefault(move_sentence(speaker, move), []).append(item)
    lines = [of_trees(text, some, items, labels) for text, some in told.items()]
    return ["\n".join(lines)] if lines else []


def _window(alike_ones: Sequence[Item], speaker: Speaker) -> str:
    item, say = alike_ones[0], speaker.style.translate
    if (since := late_since(alike_ones)) is not None:
        return speaker.late(since)
    if item.label:
        told = say("due {day}; in time until {last}.")
        return told.format(
            day=speaker.likely(item.opens), last=speaker.style.day(item.closes.likely, speaker.today)
        )
    return say("opens about {opens}; closes about {closes}. {safe}").format(
        opens=speaker.likely(item.opens),
        closes=speaker.likely(item.closes),
        safe=_safe(alike_ones, speaker),
    )


def _how_sure(items: Sequence[Item], labels: Mapping[UUID, str], style: Style, basis: str) -> list[str]:
    """Return the chance of a window and what it rests on; the day of a look is counted, not forecast."""
    told = by_text(
        [item for some in alike(items) for item in some if not item.label], lambda i: style.chance(i.chance)
    )
    if not told:
        return []
    some = [
        chance
        if len(those) == len(items)
        else f"{chance} ({tree_list(tree_names(those, labels), most=MOST_NAMES)})"
        for chance, those in told.items()
    ]
    text = style.translate("How sure: there is such a window {chance}. {basis}")
    return [text.format(chance=", ".join(some), basis=basis)]


def _safe(alike_ones: Sequence[Item], speaker: Speaker) -> str:
    """Return until when the work is safe, or that an early year leaves no time after the likely opening."""
    last = min(item.closes.early for item in alike_ones)
    if last >= min(item.opens.likely for item in alike_ones):
        text = speaker.style.translate("Safe in nine years of ten until {day}.")
    else:
        text = speaker.style.translate("In one year of ten it has closed by {day} already: look early.")
    return text.format(day=speaker.style.day(last, speaker.today))
