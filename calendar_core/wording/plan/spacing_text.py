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
    return " ".join([text, *(_strain(speaker, strain) for strain in load.strains)])


def _strain(speaker: Speaker, strain: Strain) -> str:
    style = speaker.style
    work = style.translate("{label} of {day} weighs {weight}").format(
        label=speaker.operations[strain.job.operation].label,
        day=style.day(strain.job.on, speaker.today),
        weight=strain.job.weight,
    )
    if strain.left == 0 or strain.recovered is None:
        return f"{work}."
    left = style.translate("recovered about {day}").format(day=speaker.likely(strain.recovered))
    return f"{work}, {left}."


def placed_row(speaker: Speaker, placed: Placed) -> tuple[str, str]:
    """Return the day of a work in an order, and the work with the reasons why it waits."""
    style = speaker.style
    day = style.translate("no place") if placed.on is None else style.day(placed.on, speaker.today)
    return day, " ".join(
        [f"{speaker.operations[placed.operation].label}.", *map(speaker.reason, placed.reasons)]
    )


def cost_line(speaker: Speaker, choice: OrderChoice) -> str:
    """Return what a choice costs against the best order: which work waits longer, and how long."""
    say, count = speaker.style.translate, speaker.style.count
    best = {placed.operation: placed for placed in choice.best.placed}
    told = []
    for placed in choice.chosen.placed:
        label, more = (
            speaker.operations[placed.operation].label.lower(),
            placed.waits - best[placed.operation].waits,
        )
        if more > 0 and placed.on is None:
            told.append(say("{label} finds no place").format(label=label))
        elif more > 0:
            years = say("a year") if more == 1 else say("{n} years").format(n=count(more))
            told.append(say("{label} waits {years} longer").format(label=label, years=years))
    if not told:
        return say("Against this order your choice makes no other work wait.")
    return say("Against this order your choice costs: {what}.").format(what=tree_list(told))
