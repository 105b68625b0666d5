"""How strong, how much and when to fertilize: ``fertilize``."""

from __future__ import annotations

from typing import Annotated

import typer

from calendar_core.app.shell.named import named_trees
from calendar_core.app.shell.options import Db, GardenName, Json, Today, day_or_none
from calendar_core.app.shell.output import print_json, say
from calendar_core.app.shell.session import open_session
from calendar_core.app.work.fertilizing import Can, advice, show
from calendar_core.app.work.mix import litres_of, product_of


def register(app: typer.Typer) -> None:
    """Add the command of this module."""
    app.command()(fertilize)


def fertilize(
    trees: Annotated[
        str, typer.Argument(metavar="[TREE]", help="Labels parted by commas, a species, or all.")
    ] = "all",
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
        say("There are no trees yet.")
    else:
        show(session, found, poured, with_cakes=cakes, with_why=why)
