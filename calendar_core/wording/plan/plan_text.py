"""Words of the plan: its titles and questions, the stages of a species, why something is planned."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.planning.waits import late_since
from calendar_core.wording.messages import UNTOLD
from calendar_core.wording.sentences import stage_words

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.planning.items import Item, NotPlanned, Range, StageDate
    from calendar_core.wording.sentences import Speaker
    from calendar_core.wording.style import Style

PLAN: dict[str, str] = {
    "weather": "Weather: {credit}.",
    "open": "Open now",
    "opening": "Opening within {weeks}",
    "late": "Late",
    "more": "More of each: {program} plan --long; of one: {program} why NAME",
    "nothing": "Nothing is due within {weeks}. See further with --weeks, or what is possible with --all.",
    "possible": "Possible, not due: ask for it with leafclock wish",
    "unlikely": "Unlikely this time",
    "cautions": "Take care",
    "first": "Your first items",
    "nothing_ahead": "Nothing is due in the months ahead.",
    "no_trees": "No trees yet. Add some with: {program} tree add '3 Japanese maple'",
    "next": "Next: all that is possible, and the calendar for your phone.",
}

QUESTIONS: dict[str, str] = {
    "closed": "One question: are the buds of {tree} still closed? If so, or with the day you saw {stage}:",
    "past": "One question: when did you see {stage} of {tree}? Its dates are learned from it:",
    "ahead": "One question, for {day} or so: when do you see {stage} of {tree}? Its dates are learned from it:",
}
"""What is asked with a garden's first plan: of the sight that is nearest in time."""

STAGES: dict[str, str] = {
    "now": "Now: {what}",
    "before_all": "Now: {rest}, before {stage}.",
    "rare": "{stage}: comes {chance} here.",
    "no_spring": "No spring can be predicted here: {why}",
    "chart": "Season chart written: {file}",
}
RESTS: dict[str, str] = {"tropical": "rest"}
"""What a tree is in whose first stage of the year has not come, by its habit; others are in winter rest."""

WHY: dict[str, str] = {
    "title": "{work}, {tree}, cycle of {cycle}",
    "due": "Due.",
    "wished": "Wished.",
    "possible": "Possible, not due.",
    "before": "Before:",
    "not_planned": "Not planned.",
    "basis": "Rests on: {basis}",
}

CHART: dict[str, str] = {
    "about": "Heat sum and day length over twelve months from today, with the likely dates of stages and work as strips.",
    "today": "today",
    "heat": "heat this year",
    "heat_range": "8 times in 10",
    "past_heat": "past years",
    "day_length": "day length",
    "soft": "The soft part of a strip holds the day 8 times in 10: of work its first day, or its last.",
    "stroke": "The stroke of a stage is its likely day.",
    "pale": "The paler a strip, the fewer years have that work open on that day; what does not come every year says how often.",
    "beyond": "An arrow: begun before these months, or going on after them.",
    "summed": "Heat is summed from {day}, and begins anew then.",
    "credit": "{credit}.",
    "stages": "Stages",
    "work": "Work",
    "from_to": "{first} to {last}",
    "likely": "{day} ({first} to {last})",
    "until": "to {day}",
    "late": "late since {day}",
    "often": "{dates}, comes {chance}",
    "again": "; again ",
    "stage": "{stage} {day}",
    "of_trees": "{trees}: {dates}",
}
"""What the season chart is labelled with."""

CARDS: dict[str, str] = {
    "title": "Before you start: {work}, {tree}.",
    "against": "Against it today",
    "last": "Last done on {day}.",
    "empty": "Nothing written down or planned speaks against it. Walk round the tree once all the same.",
}
"""What stands around the lines of the card before a cut."""

SPACING: dict[str, str] = {
    "note": "Note, {trees}: {warning}",
    "title": "Spacing, {tree}",
    "against": "Against it: {reason}",
    "order": "The order in which least is lost:",
}

OBJECTIONS: dict[str, str] = {
    "never": "{work} is never done to a {species}: {why}",
    "not_known": "{work} is not among the works known for a {species}.",
    "hardly": "Hardly its season. {window}",
    "not_season": "Not its season. {window}",
    "not_followed": "No {parts} of this tree is followed.",
    "never_measured": "It was never measured, and nothing is cut on a date alone.",
    "hot": "{heat} is forecast for {day}. {caution}",
}
"""What speaks against work on a day; what it rests on follows as reasons."""


def within_weeks(style: Style, phrase: str, weeks: int) -> str:
    """Return a phrase of the plan about the next weeks."""
    return style.say(phrase, weeks=style.counted(weeks, "week", "weeks"))


def question(speaker: Speaker, stage: str, likely: date, tree: str, *, buds_closed: bool) -> str:
    """Return what is asked about a stage: whether buds are closed still, or when it was or will be seen."""
    key = "closed" if buds_closed else "past" if likely < speaker.today else "ahead"
    day = speaker.style.day(likely, speaker.today)
    return speaker.style.say(QUESTIONS[key], stage=stage_words(stage), tree=tree, day=day)


def standing(style: Style, profile: Profile, now: StageDate) -> str:
    """Return the stage that a tree is in by its sign; of one that ends something, what has begun with it."""
    stage = profile.stages[now.stage]
    if stage.state:
        what = style.say("{state}, since {stage}.", state=stage.state, stage=stage_words(now.stage))
    else:
        what = f"{stage_words(now.stage)}. {style.text(stage.sign)}"
    return style.say(STAGES["now"], what=what)


def before_all(style: Style, profile: Profile, first: StageDate) -> str:
    """Return what a tree is in whose first stage of the year has not come."""
    rest = style.translate(RESTS.get(profile.habit, "winter rest"))
    return style.say(STAGES["before_all"], rest=rest, stage=stage_words(first.stage))


def stage_row(speaker: Speaker, stage: StageDate) -> tuple[str, str, str]:
    """Return a stage, when it likely comes, and what that rests on."""
    assert stage.range is not None  # noqa: S101 - of stages that come
    return stage_words(stage.stage), speaker.likely(stage.range), f"({speaker.style.translate(stage.basis)})"


def why_title(speaker: Speaker, item: Item | NotPlanned, tree: str) -> str:
    """Return of what the reasons are told."""
    return speaker.style.say(WHY["title"], work=speaker.name(item), tree=tree, cycle=item.cycle)


def why_lines(speaker: Speaker, item: Item | NotPlanned) -> list[str]:
    """Return each reason of an item on a line; what its window tells is left out."""
    told = [reason for reason in item.reasons if reason.code not in ("overdue", *UNTOLD)]
    return [f"- {speaker.reason(reason)}" for reason in told]


def bases(speaker: Speaker, item: Item | NotPlanned) -> list[str]:
    """Return what the reasons of an item rest on, each once: the longer one says the shorter too."""
    found = list(dict.fromkeys(speaker.basis(reason) for reason in item.reasons if reason.basis))
    return [
        speaker.style.say(WHY["basis"], basis=basis)
        for basis in found
        if not any(other != basis and other.startswith(basis) for other in found)
    ]


def chart_note(style: Style, weather: str, credit: str, summed_from: date) -> str:
    """Return what stands below the chart beside how strips are read: its heat, and the weather it rests on."""
    summed = style.say(CHART["summed"], day=style.day(summed_from, summed_from))
    return " ".join([summed, weather, *([style.say(CHART["credit"], credit=credit)] if credit else [])])


def short_window(style: Style, item: Item, seen_from: date | None = None) -> str:
    """Return a window as short as it goes, of what is late since when, and how often it comes if not every year.

    Of what opened before ``seen_from`` only its end is told.
    """
    since = late_since([item])
    if since is not None:
        return style.say(CHART["late"], day=style.short_day(since))
    dates = short_span(style, item.opens.likely, item.closes.likely)
    if seen_from is not None and item.opens.late < seen_from:
        dates = style.say(CHART["until"], day=style.short_day(item.closes.likely))
    return how_often(style, dates, item.chance)


def how_often(style: Style, dates: str, chance: float) -> str:
    """Return dates with how often they come, if not every year."""
    if round(chance * 10) >= 10:
        return dates
    return style.say(CHART["often"], dates=dates, chance=style.chance(chance))


def short_span(style: Style, first: date, last: date) -> str:
    """Return two days as short as they go."""
    return style.say(CHART["from_to"], first=style.short_day(first), last=style.short_day(last))


def short_likely(style: Style, dates: Range) -> str:
    """Return a likely day with its range, as short as it goes."""
    day = style.short_day(dates.likely)
    if dates.early == dates.late:
        return day
    first, last = style.short_day(dates.early), style.short_day(dates.late)
    return style.say(CHART["likely"], day=day, first=first, last=last)


def either_part(style: Style, kinds: Sequence[str]) -> str:
    """Return that no part of some kinds is followed."""
    return style.say(OBJECTIONS["not_followed"], parts=style.translate(" or ").join(kinds))
