"""The page of a species: its year at a place, its work, what it stands, and what every number rests on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.shell.output import columns, heading, line, say
from calendar_core.knowledge.profiles.answers import asked_of
from calendar_core.wording.knowledge.species_text import (
    PAGE,
    WORKS,
    choice_here,
    hold_line,
    how_often,
    move_line,
    rests_on,
    stage_line,
    tolerance_lines,
    wanted,
    wire_line,
)
from calendar_core.wording.plan.strips import MONTHS, strip
from calendar_core.wording.sentences import Speaker, work_name
from calendar_core.wording.style import Style

if TYPE_CHECKING:
    from calendar_core.app.knowledge.outlook import Outlook
    from calendar_core.knowledge.forms.based import Based, Quantity
    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.knowledge.forms.species.work import Work
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.works.species_year import SpeciesYear, WorkYear

PROBABLE = 0.5  # a window less likely is listed as hardly coming here


class SpeciesPage:
    """Prints what is known of one species, as it runs at a place in the year of a day."""

    def __init__(self, key: str, at: Outlook, raw: Knowledge) -> None:
        self.at, self.raw, self.known = at, raw, at.knowledge(key)
        self.profile: Profile = self.known.profiles[key]
        self.style = Style(at.garden.units)
        self.speaker = Speaker(self.style, at.today, self.known.operations, self.known.sources)
        self.year: SpeciesYear = at.year(self.known, self.profile)
        self.places = at.places(self.known, self.profile, self.year)
        self.questions = asked_of(raw.profiles[key], self.known.choices)

    def show(self) -> None:
        """Print the page."""
        self._head()
        self._stages()
        self._strips()
        self._places()
        self._works()
        self._tolerances()
        self._cautions()
        self._choices()

    def _head(self) -> None:
        p, words = self.profile, self.style.say
        say(f"{p.common} ({p.latin})")
        if p.also:
            say(words(PAGE["also"], names=", ".join(p.also)))
        if p.note:
            say(self.style.text(p.note))
        say(words(PAGE["year"], place=self.at.garden.name, cycle=self.year.cycle))
        if self.at.credit:
            say(words(PAGE["weather"], credit=self.at.credit))

    def _rests(self, based: Based | Quantity, indent: int = 4) -> None:
        """Print what a table's numbers rest on."""
        say(rests_on(self.speaker, based), indent=indent, hanging=2)

    def _stages(self) -> None:
        heading(self.style.say(PAGE["stages"]))
        for name, stage in self.profile.stages.items():
            say(stage_line(self.speaker, name, stage, self.year.stages[name]), indent=2, hanging=2)
            say(self.style.text(stage.sign), indent=4)
            self._rests(stage)

    def _coming(self) -> list[WorkYear]:
        works = [w for w in self.year.works if w.opens and w.closes and w.chance >= PROBABLE]
        return sorted(
            works, key=lambda w: (w.opens.likely.timetuple().tm_yday, w.work.key) if w.opens else (0, "")
        )

    def _strips(self) -> None:
        heading(self.style.say(PAGE["work"]))
        works = self._coming()
        widest = max((len(self._name(w.work)) for w in works), default=0)
        line(" " * (widest + 4) + MONTHS)
        for work_year in works:
            if work_year.opens and work_year.closes:
                line(
                    f"  {self._name(work_year.work).ljust(widest)}  {strip(work_year.opens, work_year.closes)}"
                )
        line(" " * (widest + 4) + self.style.say(PAGE["strips"]))
        absent = [self._name(w.work) for w in self.year.works if w not in works]
        if absent:
            say(self.style.say(PAGE["hardly"], works=", ".join(absent)), indent=2, hanging=2)

    def _places(self) -> None:
        """Print when it is moved and shaded in a usual year."""
        heading(self.style.say(PAGE["places"]))
        for move in self.places:
            say(move_line(self.speaker, move), indent=2, hanging=2)
            if move.opens is not None and move.by is not None:
                say(self.style.text(move.how), indent=4)
                self._rests(move.rule)

    def _name(self, work: Work) -> str:
        """Return a work's name: its operation, and what tells it from another window of it."""
        return work_name(self.known.operations[work.operation], work.operation, work.key)

    def _works(self) -> None:
        style, operations = self.style, self.known.operations
        heading(style.say(PAGE["works"]))
        for work_year in self._coming():
            work = work_year.work
            say()
            say(
                style.say(WORKS["due"], work=self._name(work), when=how_often(style, work)),
                indent=2,
                hanging=2,
            )
            say(style.text(work.how), indent=4)
            say(" ".join(self.speaker.reason(reason) for reason in work_year.reasons), indent=4)
            if wants := wanted(style, work.requires, operations):
                say(wants, indent=4)
            self._rests(work)
            for hold in work.holds:
                say(hold_line(style, hold, operations), indent=4)
                self._rests(hold, indent=6)

    def _tolerances(self) -> None:
        heading(self.style.say(PAGE["tolerances"]))
        for text, based in tolerance_lines(self.style, self.profile):
            say(text, indent=2)
            self._rests(based)
        looks = self.profile.aftercare.wire_looks_weeks
        say(wire_line(self.style, looks), indent=2, hanging=2)
        self._rests(looks)

    def _cautions(self) -> None:
        heading(self.style.say(PAGE["cautions"]))
        toxic, toxicity = self.profile.toxic, self.profile.toxicity
        say(self.style.text(self.known.cautions[toxic].text if toxic else toxicity.text), indent=2)
        self._rests(self.known.cautions[toxic] if toxic else toxicity)
        for operation, never in self.profile.never.items():
            label = self.known.operations[operation].label
            say(self.style.say(PAGE["never"], work=label, why=never.why), indent=2, hanging=2)
            self._rests(never)
        say(self.style.say(PAGE["more_cautions"]), indent=2)

    def _choices(self) -> None:
        if not self.questions:
            return
        heading(self.style.say(PAGE["choices"]))
        choices = {key: self.known.choices[key] for key in self.questions}
        given = {key: self.at.answers.get(key, choice.default) for key, choice in choices.items()}
        columns([(key, choice_here(self.style, choice, given[key])) for key, choice in choices.items()])
        say(self.style.say(PAGE["change"]), indent=2)
