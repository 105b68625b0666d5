"""Sentences about spacing: what a tree has borne, the order of work that loses least, what a choice costs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.wording.sentences import tree_list

if TYPE_CHECKING:
    from calendar_core.planning.load.order import OrderChoice, Placed
    from calendar_core.planning.load.spacing import Load, Strain
    from calendar_core.wording.sentences import Speaker


def load_line(speaker: Speaker, load: Load) -> str:
    """Return what a tree has borne in its cycle, and what it has not recovered from."""
    say = speaker.style.translate
    text = say("The work of this cycle weighs {used}; a tree of this vigour bears {budget}.").format(
        used=load.used, budget=load.budget
    )
    return " ".join([text, *(_strain(speaker, one) for one in load.strains)])


def _strain(speaker: Speaker, one: Strain) -> str:
    style = speaker.style
    work = style.translate("{label} of {day} weighs {weight}").format(
        label=speaker.operations[one.job.operation].label,
        day=style.day(one.job.on, speaker.today),
        weight=one.job.weight,
    )
    if one.left == 0 or one.recovered is None:
        return f"{work}."
    left = style.translate("recovered about {day}").format(day=speaker.likely(one.recovered))
    return f"{work}, {left}."


def placed_row(speaker: Speaker, one: Placed) -> tuple[str, str]:
    """Return the day of a work in an order, and the work with the reasons why it waits."""
    style = speaker.style
    day = style.translate("no place") if one.on is None else style.day(one.on, speaker.today)
    return day, " ".join([f"{speaker.operations[one.operation].label}.", *map(speaker.reason, one.reasons)])


def cost_line(speaker: Speaker, choice: OrderChoice) -> str:
    """Return what a choice costs against the best order: which work waits longer, and how long."""
    say, count = speaker.style.translate, speaker.style.count
    best = {one.operation: one for one in choice.best.placed}
    told = []
    for one in choice.chosen.placed:
        label, more = speaker.operations[one.operation].label.lower(), one.waits - best[one.operation].waits
        if more > 0 and one.on is None:
            told.append(say("{label} finds no place").format(label=label))
        elif more > 0:
            years = say("a year") if more == 1 else say("{n} years").format(n=count(more))
            told.append(say("{label} waits {years} longer").format(label=label, years=years))
    if not told:
        return say("Against this order your choice makes no other work wait.")
    return say("Against this order your choice costs: {what}.").format(what=tree_list(told))
