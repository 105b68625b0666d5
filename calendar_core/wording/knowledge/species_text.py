"""Words of the page of a species: its year, its work, what it stands, and what every number rests on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.planning.items import Reason
from calendar_core.wording.sentences import stage_words

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from calendar_core.knowledge.forms.based import Based, Quantity, Span
    from calendar_core.knowledge.forms.choices import Choice
    from calendar_core.knowledge.forms.species.profile import Profile, Water, WireLooks
    from calendar_core.knowledge.forms.species.stages import Stage
    from calendar_core.knowledge.forms.species.work import Hold, Requires, Work
    from calendar_core.planning.items import Range
    from calendar_core.planning.places.usual import PlaceYear
    from calendar_core.wording.sentences import Named, Speaker
    from calendar_core.wording.style import Style

PAGE: dict[str, str] = {
    "also": "Also called {names}.",
    "year": "Its year at {place}, cycle of {cycle}, for a tree of which nothing is written down.",
    "weather": "Weather: {credit}.",
    "basis": "Rests on: {basis}",
    "stages": "Stages",
    "work": "The year's work",
    "strips": "# likely open   : perhaps open (once in 10 each way)",
    "hardly": "Hardly ever here: {works}.",
    "places": "Where it stands",
    "works": "Each work",
    "tolerances": "Sun, heat, cold and water",
    "cautions": "Take care",
    "never": "{work}: never; {why}",
    "more_cautions": "Cautions of the work itself stand in the plan and in each calendar event.",
    "choices": "Where growers differ",
    "change": "Change an answer with: leafclock choices",
}
"""Titles of the page and the lines around what is told."""

STAGES: dict[str, str] = {
    "dated": "{stage}: {when}",
    "with_code": "{stage} (BBCH {code}): {when}",
    "never": "does not come here",
}

MOVES: dict[str, str] = {
    "not_here": "{work}: not for the season here; the forecast warns of single days.",
    "dated": "{work}: from {opens}, by {by}",
}

WORKS: dict[str, str] = {
    "due": "{work}: {when}",
    "interval": "every {least} to {most} years, a small tree sooner than a large one",
    "programme": "each year for the aim {aims}",
    "season": "each year",
    "wish": "when you wish it",
    "wants": "Wants {what}.",
    "vigour": "vigour {least} at least",
    "aim": "the aim {aims}",
    "fed": "feeding since {stage}",
    "logged": "{work} in the log",
    "hold": "Not within {weeks} of: {work}.",
    "hold_cycle": "Not in the same cycle of: {work}.",
}
"""How often a work comes, what it wants of a tree, and what it waits after."""

LINES: dict[str, str] = {
    "leaf_caution_c": "Foliage is harmed slowly from {value}",
    "leaf_danger_c": "Foliage is harmed fast from {value}",
    "shade_from_c": "Shade when the day passes {value}",
    "roots_protect_below_c": "Protect the root ball below {value}",
    "chill_nights_c": "Outside while nights stay above {value}",
    "roots_killed_c": "Roots reported killed at {value}",
}
"""Temperatures of a species, by their name in its profile."""

CHILL = "Cold nights harm it below {caution}, badly below {danger}"

SPANS: dict[str, str] = {
    "sun_hours": "Hours of sun a day: {span}",
    "shade_cloth_percent": "Shade cloth: {span} %",
    "releaf_weeks": "New foliage is there within weeks: {span}",
    "graft_seasons": "Seasons before a graft may be severed: {span}",
    "graft_weeks": "Weeks before a graft may be severed: {span}",
    "hardening_weeks": "New foliage is hard within weeks after that: {span}",
}
"""Ranges of a species, by their name in its profile."""

WATER: dict[str, str] = {
    "may_dry": "Water: {thirst} thirst, may dry a little between",
    "never_dry": "Water: {thirst} thirst, never dry",
}

WIRE = (
    "Weeks from one look at wire to the next: {extending} while shoots extend, {hardened} once they are hard, "
    "{autumn} in autumn, {winter} in winter"
)


def rests_on(speaker: Speaker, based: Based | Quantity) -> str:
    """Return what a table's numbers rest on."""
    reason = Reason("", basis=based.basis, source=based.source or "", note=based.note or "")
    return speaker.style.say(PAGE["basis"], basis=speaker.basis(reason))


def stage_line(speaker: Speaker, name: str, stage: Stage, found: Range | None) -> str:
    """Return a stage with its code and its dates here."""
    style = speaker.style
    when = style.say(STAGES["never"]) if found is None else speaker.likely(found)
    if stage.bbch is None:
        return style.say(STAGES["dated"], stage=stage_words(name), when=when)
    return style.say(STAGES["with_code"], stage=stage_words(name), code=f"{stage.bbch:02d}", when=when)


def move_line(speaker: Speaker, move: PlaceYear) -> str:
    """Return when a tree is moved or shaded in a usual year."""
    style, work = speaker.style, speaker.operations[move.operation].label
    if move.opens is None or move.by is None:
        return style.say(MOVES["not_here"], work=work)
    opens, by = (style.day(day, speaker.today) for day in (move.opens, move.by))
    return style.say(MOVES["dated"], work=work, opens=opens, by=by)


def how_often(style: Style, work: Work) -> str:
    """Return when a work is due."""
    if work.due == "interval" and work.every_years:
        every = work.every_years
        return style.say(WORKS["interval"], least=min(every.small, every.medium), most=every.large)
    if work.due == "programme":
        return style.say(WORKS["programme"], aims=_or(style, work.programme))
    return style.say(WORKS["season" if work.due == "season" else "wish"])


def wanted(style: Style, need: Requires, operations: Mapping[str, Named]) -> str:
    """Return what a work wants of a tree, empty where that is nothing."""
    out = []
    if need.vigour_min > 1:
        out.append(style.say(WORKS["vigour"], least=need.vigour_min))
    if len(need.aims) < 5:
        out.append(style.say(WORKS["aim"], aims=_or(style, need.aims)))
    if need.fed_since:
        out.append(style.say(WORKS["fed"], stage=stage_words(need.fed_since)))
    if need.since:
        out.append(style.say(WORKS["logged"], work=operations[need.since].label.lower()))
    return style.say(WORKS["wants"], what="; ".join(out)) if out else ""


def hold_line(style: Style, hold: Hold, operations: Mapping[str, Named]) -> str:
    """Return what a work waits after."""
    work = operations[hold.after].label.lower()
    if hold.weeks is None:
        return style.say(WORKS["hold_cycle"], work=work)
    return style.say(WORKS["hold"], weeks=style.counted(hold.weeks, "week", "weeks"), work=work)


def tolerance_lines(style: Style, profile: Profile) -> list[tuple[str, Based | Quantity]]:
    """Return what a species stands, each line with what its numbers rest on."""
    stands, after = profile.tolerance, profile.aftercare
    out: list[tuple[str, Based | Quantity]] = []
    for name, text in LINES.items():
        quantity: Quantity | None = getattr(stands, name)
        if quantity is not None:
            out.append((style.say(text, value=style.temperature(quantity.value)), quantity))
    if (chill := stands.chill) is not None:
        caution, danger = (style.temperature(value) for value in (chill.caution_c, chill.danger_c))
        out.append((style.say(CHILL, caution=caution, danger=danger), chill))
    for name, text in SPANS.items():
        span: Span | None = getattr(stands if hasattr(stands, name) else after, name)
        if span is not None:
            out.append((style.say(text, span=_span(style, span)), span))
    return [*out, (water_line(style, profile.water), profile.water)]


def water_line(style: Style, water: Water) -> str:
    """Return how a species wants water."""
    return style.say(WATER["may_dry" if water.may_dry else "never_dry"], thirst=style.translate(water.thirst))


def wire_line(style: Style, looks: WireLooks) -> str:
    """Return how often wire is looked at."""
    return style.say(
        WIRE, extending=f"{looks.extending:g}", hardened=f"{looks.hardened:g}",
        autumn=f"{looks.autumn:g}", winter=f"{looks.winter:g}",
    )  # fmt: skip


CHOICES: dict[str, str] = {
    "here": "{question} Here: {answer} {why}",
    "usual": "{name}: {answer} The usual answer.",
    "other": "{name}: {answer}",
    "answered": "{question} {answer} Entry {entry}.",
}
"""Questions on which growers differ, with the answers of a garden."""


def choice_here(style: Style, choice: Choice, answer: str) -> str:
    """Return a question with the answer of this garden, and why growers differ."""
    told = (style.text(text) for text in (choice.question, choice.options[answer].text, choice.why))
    question, here, why = told
    return style.say(CHOICES["here"], question=question, answer=here, why=why)


def option_line(style: Style, choice: Choice, name: str) -> str:
    """Return an answer to a question by its name."""
    text = CHOICES["usual" if name == choice.default else "other"]
    return style.say(text, name=name, answer=style.text(choice.options[name].text))


def _or(style: Style, names: Sequence[str]) -> str:
    last = style.translate(" or ")
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])}{last}{names[-1]}"


def _span(style: Style, span: Span) -> str:
    if span.low == span.high:
        return f"{span.low:g}"
    return style.say("{low} to {high}", low=f"{span.low:g}", high=f"{span.high:g}")
