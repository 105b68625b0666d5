"""The text of a calendar event. It stands alone, and holds nothing that changes from day to day."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.planning.events import ComputedEvent
from calendar_core.planning.late import late_since
from calendar_core.wording.feeding_text import strengths
from calendar_core.wording.sentences import Speaker, middle, tree_list, tree_names

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from uuid import UUID

    from calendar_core.planning.aftercare.cut_card import Card
    from calendar_core.planning.groups import EventGroup
    from calendar_core.planning.items import Item
    from calendar_core.species.schema import Knowledge
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
) -> ComputedEvent:
    """Return a group as a calendar event; ``basis`` says what weather its dates rest on.

    ``cards`` are those of the trees of which something is to be looked at before the work.
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
            group, names, labels, knowledge, speaker, basis, _before(cards or {}, labels, speaker)
        ),
        reminder=_reminder(group.items[0], name, style),
        categories=tuple(one.replace(",", "") for one in (operation.label, *sorted(species.values()))),
        status="CONFIRMED" if (group.start - today).days <= NEAR_DAYS else "TENTATIVE",
    )


def _before(cards: Mapping[UUID, Card], labels: Mapping[UUID, str], speaker: Speaker) -> list[str]:
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
) -> str:
    item, style = middle(group.items), speaker.style
    say, given = style.translate, strengths(speaker, group.items, labels)
    parts = [
        say("Trees: {trees}.").format(trees=tree_list(names, most=40)),
        say("Do: {how}").format(how=style.text(item.how)),
        *([given] if given else []),
        *before,
        _when(group, speaker),
        "\n".join(
            [say("Why:"), *(f"- {speaker.reason(reason)}" for reason in speaker.group_reasons(group.items))]
        ),
        *_how_sure(item, style, basis),
        *(
            say("Caution: {text}").format(text=style.text(knowledge.cautions[key].text))
            for key in item.cautions
        ),
        say(REMINDER_NOTE),
    ]
    return "\n\n".join(parts)


def _when(group: EventGroup, speaker: Speaker) -> str:
    item, say = middle(group.items), speaker.style.translate
    if (since := late_since(group.items)) is not None:
        return say("When: {late}").format(late=speaker.late(since))
    if item.label:
        told = say("When: due {day}; in time until {last}.")
        return told.format(
            day=speaker.likely(item.opens), last=speaker.style.day(item.closes.likely, speaker.today)
        )
    return say("When: opens about {opens}; closes about {closes}. {safe}").format(
        opens=speaker.likely(item.opens),
        closes=speaker.likely(item.closes),
        safe=_safe(group, speaker.style),
    )


def _how_sure(item: Item, style: Style, basis: str) -> list[str]:
    """Return the chance of a window and what it rests on; the day of a look is counted, not forecast."""
    if item.label:
        return []
    told = style.translate("How sure: there is such a window {chance}. {basis}")
    return [told.format(chance=style.chance(item.chance), basis=basis)]


def _safe(group: EventGroup, style: Style) -> str:
    """Return until when the work is safe, or that an early year leaves no time after the likely opening."""
    last = min(item.closes.early for item in group.items)
    if last >= group.start:
        text = style.translate("Safe in nine years of ten until {day}.")
    else:
        text = style.translate("In one year of ten it has closed by {day} already: look early.")
    return text.format(day=style.day(last, group.start))
