"""``review``: the group of the commands about the review of a garden; each module adds its own."""

from __future__ import annotations

import typer

from calendar_core.app.review.commands import enter, plan, sheet, summary
from calendar_core.app.review.commands import next as next_year


def register(app: typer.Typer) -> None:
    """Add the commands of this room."""
    group = typer.Typer(name="review", help="Look at every tree, round by round.", no_args_is_help=True)
    group.callback()(lambda: None)  # with one command alone typer would drop its name
    for module in (plan, sheet, enter, next_year, summary):
        module.register(group)
    app.add_typer(group)
