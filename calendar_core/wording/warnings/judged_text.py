"""Words around warnings as a command shows them: what was judged, what was sent, and over which channels."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from calendar_core.wording.sentences import tree_list

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime, time

    from calendar_core.wording.sentences import Speaker
    from calendar_core.wording.style import Style

JUDGED: dict[str, str] = {
    "no_hours": "There is no forecast hour by hour, so nothing can be judged. Get one with:",
    "other_days": (
        "The newest forecast hour by hour was made on {issued}, up to {last}: it is not of this day, so "
        "nothing can be judged. Ask for a day of it, or get a newer one with: leafclock weather fetch"
    ),
    "moved": "Moved since: {trees}.",
    "gone": "Gone since: {trees}.",
    "goes_on": "It goes on: what was asked for the day before lasts through it.",
    "helped": "What is asked for against {hazard} helps against this too, and is told there.",
    "shown": "Judged as of another day than today, so this is only shown: nothing was stored or sent.",
    "moves": "When a move is made, write it down with:",
}

SENT: dict[str, str] = {
    "sent": "{messages} sent.",
    "not_sent": "Not sent to {channel}: {why}; {then}.",
    "off": "the channel is off until it is mended and switched on with leafclock channel on",
    "again": "it is tried again by leafclock watch",
    "gone": "warnings come there again once they are allowed on its own page anew",
    "no_channel": "No channel is on, so this is told here alone. Add one with: leafclock channel add",
    "would_one": "{messages} would be sent over the channel; nothing was stored.",
    "would_each": "{messages} would be sent over each of the {n} channels; nothing was stored.",
}
"""How messages went, or would go."""

WATCHING: dict[str, str] = {
    "begins": "watching {name}; stop with Ctrl-C, twice to stop at once",
    "no_weather": "LEAFCLOCK_WEATHER is off: no weather is fetched",
    "stopped": "stopped",
    "days": "{garden}, days to come",
    "hours": "{garden}, hours to come",
    "past": "{garden}, days that have passed",
    "sending": "sending to {channel}",
    "nobody": "no heartbeat, since warnings of {gardens} reach nobody",
    "heartbeat": "the heartbeat was not taken: {why}",
    "trouble": "{about}: {why}",
    "over": "{about}: works again",
}

"""What ``watch`` tells while it runs: a trouble by what it is about, and when it is over."""

CHANNELS: dict[str, str] = {
    "added": "Channel added: {name}, {to}.",
    "secret": "The receiver checks signatures with this secret, which is not shown again:",
    "none": "No channel yet: warnings are shown by leafclock warn alone. Add one with: leafclock channel add",
    "is": "{name}: {channel}.",
    "on": "{name} is on.",
    "catching_up": "{messages} of warnings that stand: leafclock watch sends what is due.",
    "off": "{name} is off.",
    "removed": "Channel removed: {name}, {to}.",
    "phone": "Warnings reach {to} from now on.",
    "by_hand": "switched off by hand",
    "test_subject": "Test from {garden}",
    "test": "This is a test: warnings of your garden will come this way. Nothing is to be done.",
    "tested": "Sent to {to}: look whether it has come.",
    "quiet": ", quiet {begins} to {ends}",
    "away": ", only while you are away",
    "why_off": "; off: {why}",
    "failing": "; failing since {since}: {why}",
    "off_since": ", nothing taken since {since}",
    "waiting": "; {messages} waiting",
    "last_try": ", last try: {why}",
}


CUT_OFF: dict[str, str] = {
    "subject": "Warnings do not reach {to}",
    "text": "Nothing from {garden} has been taken there since {since}. Last answer: {why}",
    "failing": "It is tried again as long as a warning lasts. To try it yourself:",
    "off": "It was refused again and again, so the channel is off now. Once it is mended:",
    "line": "Warnings have not reached {to} since {since}: {why}",
    "gone_subject": "Warnings do not reach {to} any more",
    "gone": "{garden} is forgotten there: {why}. To have warnings on it again, allow them on its own page anew.",
}
"""What is told of a channel that fails: over the others, and on the first screen."""


def messages(style: Style, n: int) -> str:
    """Return a number of messages."""
    return style.number_of(n, "message", "messages")


def other_days(speaker: Speaker, issued: date, last: date) -> str:
    """Return that the newest forecast is of other days."""
    days = [speaker.style.day(day, speaker.today) for day in (issued, last)]
    return speaker.style.say(JUDGED["other_days"], issued=days[0], last=days[1])


def moved_since(style: Style, trees: Sequence[str]) -> str:
    """Return which trees were moved since they were warned of, all by name."""
    return style.say(JUDGED["moved"], trees=tree_list(trees, len(trees)))


def gone_since(style: Style, trees: Sequence[str]) -> str:
    """Return which trees have left the garden since they were warned of, all by name."""
    return style.say(JUDGED["gone"], trees=tree_list(trees, len(trees)))


def would_be_sent(style: Style, n: int, channels: int) -> str:
    """Return over how many channels messages would go."""
    if channels == 1:
        return style.say(SENT["would_one"], messages=messages(style, n))
    return style.say(SENT["would_each"], messages=messages(style, n), n=channels)


def catching_up(style: Style, n: int) -> str:
    """Return that a channel is sent what stands."""
    return style.say(CHANNELS["catching_up"], messages=messages(style, n))


def not_sent(style: Style, channel: str, why: str, then: Literal["off", "again", "gone"]) -> str:
    """Return that a message was not sent, and what becomes of it."""
    return style.say(SENT["not_sent"], channel=channel, why=why, then=style.say(SENT[then]))


def moment(style: Style, local: datetime, today: date) -> str:
    """Return a moment of the last days: its hour if it was today, else with its day."""
    hour = style.clock(local)
    return hour if local.date() == today else f"{style.day(local.date(), today)}, {hour}"


def cut_off_line(style: Style, to: str, since: str, why: str) -> str:
    """Return that warnings do not reach somebody."""
    return style.say(CUT_OFF["line"], to=to, since=since, why=why)


def cut_off_told(
    style: Style, garden: str, to: str, since: str, why: str, command: str, *, off: bool
) -> tuple[str, str]:
    """Return subject and text of what is told of a channel that fails; ``command`` is what helps."""
    text = style.say(CUT_OFF["text"], garden=garden, since=since, why=why)
    then = style.say(CUT_OFF["off" if off else "failing"])
    return style.say(CUT_OFF["subject"], to=to), f"{text}\n\n{then}\n{command}"


def gone_told(style: Style, garden: str, to: str, why: str) -> tuple[str, str]:
    """Return subject and text of what is told of a channel that leads nowhere any more."""
    return style.say(CUT_OFF["gone_subject"], to=to), style.say(CUT_OFF["gone"], garden=garden, why=why)


def channel_words(
    style: Style, to: str, quiet: tuple[time, time] | None, *, while_away: bool, why_off: str,
    failing: tuple[str, str] | None, waiting: int, why_waiting: str,
) -> str:  # fmt: skip
    """Return where a channel leads, when it is quiet, whether it is off or since when and why it fails, and what waits."""
    told = to
    if quiet:
        begins, ends = (f"{hour:%H:%M}" for hour in quiet)
        told += style.say(CHANNELS["quiet"], begins=begins, ends=ends)
    told += style.say(CHANNELS["away"]) if while_away else ""
    told += style.say(CHANNELS["why_off"], why=why_off) if why_off else ""
    if failing:
        since, why = failing
        told += style.say(CHANNELS["off_since" if why_off else "failing"], since=since, why=why)
    if waiting:
        told += style.say(CHANNELS["waiting"], messages=messages(style, waiting))
        told += style.say(CHANNELS["last_try"], why=why_waiting) if why_waiting and not failing else ""
    return told
