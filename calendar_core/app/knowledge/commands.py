"""What the program knows, and how well: ``species``, ``audit``, ``choices``, ``about``."""

from __future__ import annotations

from typing import Annotated

import typer

from calendar_core.app.knowledge.answers import answer_question, given_answers
from calendar_core.app.knowledge.audit import Audit, shares_of_all
from calendar_core.app.knowledge.outlook import outlook
from calendar_core.app.knowledge.views import SpeciesPage
from calendar_core.app.shell.errors import Refusal
from calendar_core.app.shell.options import Db, GardenName, Json, Today, day_or_none
from calendar_core.app.shell.output import columns, command, heading, print_json, say, tell
from calendar_core.app.shell.session import knowledge, open_session
from calendar_core.knowledge.profiles.knowledge import Knowledge
from calendar_core.knowledge.profiles.names import UnknownSpeciesError, find_species
from calendar_core.knowledge.profiles.numbers import Number, shares
from calendar_core.storage.errors import StoreError
from calendar_core.wording.knowledge.about import PAGES, page, values
from calendar_core.wording.knowledge.audit_text import AUDIT, basis_line, number_line, titles, unused
from calendar_core.wording.knowledge.species_text import option_line
from calendar_core.wording.style import Style

species_app = typer.Typer(help="The species known.", no_args_is_help=True, rich_markup_mode=None)
Place = Annotated[
    str | None,
    typer.Option(help="A bundled place; see: leafclock places", show_default="that of your garden"),
]


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.add_typer(species_app, name="species")
    app.command()(audit)
    app.command()(choices)
    app.command()(about)


@species_app.command("list")
def list_species(as_data: Json = False) -> None:
    """List the species known, with the names they answer to."""
    known = knowledge()
    if as_data:
        print_json({key: profile.model_dump() for key, profile in known.profiles.items()})
        return
    rows = sorted((p.common, p.latin, ", ".join(p.also)) for p in known.profiles.values())
    columns(rows, indent=0)


@species_app.command("show")
def show_species(
    name: Annotated[str, typer.Argument(metavar="NAME", help="What growers call it.")],
    place: Place = None,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Show all that is known of a species: its year, its work, what it stands, and what each number rests on."""
    key, raw = species_named(name)
    if as_data:
        print_json(raw.profiles[key].model_dump())
        return
    SpeciesPage(key, outlook(place, db, garden, day_or_none(today)), raw).show()


def species_named(name: str) -> tuple[str, Knowledge]:
    """Return the key of a species and everything known, or refuse a name that none answers to."""
    known = knowledge()
    try:
        return find_species(name, known.profiles), known
    except UnknownSpeciesError as error:
        raise Refusal(str(error)) from None


def audit(
    name: Annotated[
        str | None, typer.Argument(metavar="[NAME]", help="A species; without it all of them.")
    ] = None,
    place: Place = None,
    most: Annotated[int, typer.Option(min=1, max=500, help="How many numbers to list.")] = 15,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """Tell what the numbers rest on, and which weak ones decide most of a plan."""
    only = None if name is None else species_named(name)[0]
    found = Audit(outlook(place, db, garden, day_or_none(today)), only, quiet=as_data)
    if as_data:
        print_json(found.data(most))
    else:
        audit_view(found, most)


def choices(
    question: Annotated[
        str | None, typer.Argument(metavar="[QUESTION]", help="The question to answer, by its name.")
    ] = None,
    option: Annotated[str | None, typer.Argument(metavar="[ANSWER]", help="The answer, by its name.")] = None,
    db: Db = None,
    garden: GardenName = None,
    today: Today = None,
    as_data: Json = False,
) -> None:
    """List the questions on which growers differ, or answer one for your garden."""
    session = open_session(db, garden, day_or_none(today))
    if question is not None:
        tell(answer_question(session, question, option))
        return
    given = given_answers(session)
    if as_data:
        print_json(given)
        return
    for key, choice in session.knowledge.choices.items():
        heading(key)
        say(choice.question, indent=2)
        for name in choice.options:
            mark = "> " if name == given[key] else "  "
            say(f"{mark}{option_line(session.style, choice, name)}", indent=2, hanging=4)
        say(session.style.text(choice.why), indent=4)


def about(
    topic: Annotated[
        str | None, typer.Argument(metavar="[PAGE]", help=f"One of: {', '.join(PAGES)}.")
    ] = None,
    db: Db = None,
    garden: GardenName = None,
) -> None:
    """Tell how dates, warnings and numbers come about, and how far to trust them."""
    if topic is None:
        for name, told in PAGES.items():
            say(Style().translate(told))
            command("about", name)
        return
    if topic not in PAGES:
        raise Refusal(f"no page '{topic}'; right would be one of: {', '.join(PAGES)}")
    style = _style(db, garden)
    for title, text in page(topic, values(knowledge(), shares_of_all(), style), style):
        heading(title)
        say(text, indent=2)


def _style(db: str | None, garden: str | None) -> Style:
    """Return the units of the garden; before there is one, those of the world."""
    try:
        return open_session(db, garden, None).style
    except (Refusal, StoreError):
        return Style()


def audit_view(audit: Audit, most: int) -> None:
    """Print an audit, with so many of the weakest numbers at ``most``."""
    style = Style()
    heading(style.say(AUDIT["title"]))
    rows = [(audit.known.profiles[key].common, found) for key, found in audit.numbers.items()]
    every = [number for found in audit.numbers.values() for number in found]
    if len(rows) > 1:
        rows.append((style.say(AUDIT["together"]), every))
    columns([titles(style), *(_shares(name, found) for name, found in rows)], indent=2)
    heading(style.say(AUDIT["weak"]))
    say(style.say(AUDIT["moved"], place=audit.at.garden.name), indent=2, hanging=2)
    for weak in audit.weakest[:most]:
        moves = weak.days, weak.windows
        say()
        say(number_line(style, (weak.file, weak.key), weak.number, moves, weak.species), indent=2, hanging=2)
        say(basis_line(style, weak.number), indent=4)
    _sources(style, audit)


def _shares(name: str, found: list[Number]) -> tuple[str, ...]:
    return (name, str(len(found)), *(f"{share * 100:.0f} %" for share in shares(found).values()))


def _sources(style: Style, audit: Audit) -> None:
    if len(audit.whole) == 1:
        return
    heading(style.say(AUDIT["sources"]))
    uncited = [key for key in audit.known.sources if key not in audit.cited]
    say(style.say(AUDIT["cited"], n=len(audit.cited)), indent=2)
    if uncited:
        say(unused(style, uncited), indent=2, hanging=2)
