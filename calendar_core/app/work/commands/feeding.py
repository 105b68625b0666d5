"""How strong, how much and when to fertilize: ``fertilize``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from calendar_core.app.shell.named import named_trees
from calendar_core.app.shell.options import Db, GardenName, Json, SomeTrees, Today, day_or_none
from calendar_core.app.shell.output import heading, print_json, say
from calendar_core.app.shell.session import open_session
from calendar_core.app.work.fertilizing import Can, FeedingAdvice, FeedingStep, advice
from calendar_core.app.work.mix import litres_of, product_of
from calendar_core.wording.plan.feeding_text import FERTILIZING, FeedingSpeaker
from calendar_core.wording.sentences import tree_list

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.app.shell.session import Session


def register(app: typer.Typer) -> None:
    """Add the command of this module."""
    app.command()(fertilize)


def fertilize(
    trees: SomeTrees = "all",
    label: Annotated[
        str | None, typer.Option(metavar="N-P-K", help="The product's three numbers, such as 20-20-20.")
    ] = None,
    rate: Annotated[
        str | None, typer.Option(metavar="RATE", help="The rate on its label, such as '1 g/L' or '5 mL/L'.")
    ] = None,
    can: Annotated[
        float | None, typer.Option(metavar="SIZE", help="Your can, in litres, or gallons where you use them.")
    ] = None,
    liquid: Annotated[
        float | None, typer.Option(metavar="DENSITY", help="It is a liquid of this density in kg/L.")
    ] = None,
    cakes: Annotated[
        bool, typer.Option("--cakes", help="Also how many cakes, and when to replace them.")
    ] = False,
    why: Annotated[bool, typer.Option("--why", help="Also what the figures rest on.")] = False,
    weeks: Annotated[int, typer.Option(min=1, max=52, help="How far ahead.")] = 6,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Tell how strong and when to fertilize each tree, how much goes into your can, and which trees wait."""
    product = product_of(label, rate, liquid, can)
    session = open_session(db, garden, day_or_none(today))
    which = named_trees(session, trees) if session.trees or trees != "all" else []
    poured = Can(product, litres_of(can, session.garden.units))
    found = advice(session, which, poured, weeks)
    if as_data:
        print_json(found)
    elif not found:
        say(session.style.say(FERTILIZING["no_trees"]))
    else:
        show(session, found, poured, with_cakes=cakes, with_why=why)


CAUTIONS = ("fertilizer_label", "hot_spell_feeding")


def show(
    session: Session, found: Sequence[FeedingAdvice], can: Can, *, with_cakes: bool, with_why: bool
) -> None:
    """Print the advice, once for all trees that get the same, and the cautions."""
    say(f"{session.garden.name}. {session.style.weekday(session.today)}")
    groups: dict[tuple[str, ...], list[FeedingAdvice]] = {}
    for advised in found:
        groups.setdefault(_lines(session, advised, can, with_cakes=with_cakes, with_why=with_why), []).append(
            advised
        )
    for lines, alike in groups.items():
        heading(tree_list([advised.label for advised in alike]))
        for text in (*lines, *_pots(session, alike, can)):
            say(text, indent=2, hanging=2)
    heading(session.style.say(FERTILIZING["cautions"]))
    for key in CAUTIONS:
        say(session.style.text(session.knowledge.cautions[key].text), indent=2, hanging=2)


def _lines(
    session: Session, advised: FeedingAdvice, can: Can, *, with_cakes: bool, with_why: bool
) -> tuple[str, ...]:
    """Return what is said of a tree: of each strength or wait, then of cakes."""
    speaker = FeedingSpeaker(session.speaker)
    lines: list[str] = []
    for step in advised.steps:
        lines += _step_lines(session, speaker, step, can)
        lines += speaker.why(step.feeding) if with_why else []
    if with_cakes:
        first = advised.steps[0].feeding
        lines.append(speaker.cakes(first.cakes, first.day))
    return tuple(lines)


def _step_lines(session: Session, speaker: FeedingSpeaker, step: FeedingStep, can: Can) -> list[str]:
    found = step.feeding
    if found.hold:
        return [speaker.waits(found)]
    lines = [speaker.strength(found, step.dates), speaker.less(found)]
    if not step.fits:
        lines.append(speaker.unfit(session.knowledge.feeding.low_nitrogen.most_share_percent))
    elif step.dose is not None and can.product is not None:
        lines.append(speaker.dose(step.dose, can.product, can.litres))
    return [line for line in lines if line]


def _pots(session: Session, alike: Sequence[FeedingAdvice], can: Can) -> list[str]:
    """Return how much solution the pots take together, where their size is written down."""
    made, takes = (
        alike[0].steps[0].dose,
        [advised.pot_takes_l for advised in alike if advised.pot_takes_l is not None],
    )
    if made is None or can.product is None or not takes:
        return []
    return [FeedingSpeaker(session.speaker).pots(made, can.product, len(takes), sum(takes))]
