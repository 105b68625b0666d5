"""The page of a species: its year at a place, its work, what it stands, and what every number rests on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.app.shell.output import columns, heading, line, say
from calendar_core.knowledge.profiles.answers import asked_of
from calendar_core.planning.items import Reason
from calendar_core.wording.sentences import Speaker, stage_words, work_name
from calendar_core.wording.strips import MONTHS, strip
from calendar_core.wording.style import Style

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.app.knowledge.outlook import Outlook
    from calendar_core.knowledge.forms.based import Based, Quantity, Span
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
        p = self.profile
        say(f"{p.common} ({p.latin})")
        if p.also:
            say(f"Also called {', '.join(p.also)}.")
        if p.note:
            say(self.style.text(p.note))
        say(
            f"Its year at {self.at.garden.name}, cycle of {self.year.cycle}, for a tree of which nothing is written down."
        )
        if self.at.credit:
            say(f"Weather: {self.at.credit}.")

    def _rests(self, based: Based | Quantity, indent: int = 4) -> None:
        """Print what a table's numbers rest on."""
        reason = Reason("", basis=based.basis, source=based.source or "", note=based.note or "")
        say(f"Rests on: {self.speaker.basis(reason)}", indent=indent, hanging=2)

    def _stages(self) -> None:
        heading("Stages")
        for name, stage in self.profile.stages.items():
            found = self.year.stages[name]
            when = "does not come here" if found is None else self.speaker.likely(found)
            code = f" (BBCH {stage.bbch:02d})" if stage.bbch is not None else ""
            say(f"{stage_words(name)}{code}: {when}", indent=2, hanging=2)
            say(self.style.text(stage.sign), indent=4)
            self._rests(stage)

    def _coming(self) -> list[WorkYear]:
        works = [w for w in self.year.works if w.opens and w.closes and w.chance >= PROBABLE]
        return sorted(
            works, key=lambda w: (w.opens.likely.timetuple().tm_yday, w.work.key) if w.opens else (0, "")
        )

    def _strips(self) -> None:
        heading("The year's work")
        works = self._coming()
        widest = max((len(self._name(w.work)) for w in works), default=0)
        line(" " * (widest + 4) + MONTHS)
        for one in works:
            if one.opens and one.closes:
                line(f"  {self._name(one.work).ljust(widest)}  {strip(one.opens, one.closes)}")
        line(" " * (widest + 4) + "# likely open   : perhaps open (once in 10 each way)")
        absent = [self._name(w.work) for w in self.year.works if w not in works]
        if absent:
            say(f"Hardly ever here: {', '.join(absent)}.", indent=2, hanging=2)

    def _places(self) -> None:
        """Print when it is moved and shaded in a usual year."""
        heading("Where it stands")
        for one in self.places:
            label = self.known.operations[one.operation].label
            if one.opens is None or one.by is None:
                say(
                    f"{label}: not for the season here; the forecast warns of single days.",
                    indent=2,
                    hanging=2,
                )
                continue
            days = (
                f"from {self.style.day(one.opens, self.at.today)}, by {self.style.day(one.by, self.at.today)}"
            )
            say(f"{label}: {days}", indent=2, hanging=2)
            say(self.style.text(one.how), indent=4)
            self._rests(one.rule)

    def _name(self, work: Work) -> str:
        """Return a work's name: its operation, and what tells it from another window of it."""
        return work_name(self.known.operations[work.operation], work.operation, work.key)

    def _works(self) -> None:
        heading("Each work")
        for one in self._coming():
            work = one.work
            say()
            say(f"{self._name(work)}: {self._due(work)}", indent=2, hanging=2)
            say(self.style.text(work.how), indent=4)
            say(" ".join(self.speaker.reason(reason) for reason in one.reasons), indent=4)
            if wanted := self._wanted(work):
                say(wanted, indent=4)
            self._rests(work)
            for hold in work.holds:
                label = self.known.operations[hold.after].label.lower()
                within = self.style.counted(hold.weeks or 0, "week", "weeks")
                how_long = "in the same cycle" if hold.weeks is None else f"within {within}"
                say(f"Not {how_long} of: {label}.", indent=4)
                self._rests(hold, indent=6)

    def _due(self, work: Work) -> str:
        if work.due == "interval" and work.every_years:
            e = work.every_years
            return f"every {min(e.small, e.medium)} to {e.large} years, a small tree sooner than a large one"
        if work.due == "programme":
            return f"each year for the aim {_or(work.programme)}"
        return "each year" if work.due == "season" else "when you wish it"

    def _wanted(self, work: Work) -> str:
        need, out = work.requires, []
        if need.vigour_min > 1:
            out.append(f"vigour {need.vigour_min} at least")
        if len(need.aims) < 5:
            out.append(f"the aim {_or(need.aims)}")
        if need.fed_since:
            out.append(f"feeding since {stage_words(need.fed_since)}")
        if need.since:
            out.append(f"{self.known.operations[need.since].label.lower()} in the log")
        return f"Wants {'; '.join(out)}." if out else ""

    def _tolerances(self) -> None:
        heading("Sun, heat, cold and water")
        p, t = self.profile, self.style.temperature
        line_of = {
            "Foliage is harmed slowly from": p.tolerance.leaf_caution_c,
            "Foliage is harmed fast from": p.tolerance.leaf_danger_c,
            "Shade when the day passes": p.tolerance.shade_from_c,
            "Protect the root ball below": p.tolerance.roots_protect_below_c,
            "Outside while nights stay above": p.tolerance.chill_nights_c,
            "Roots reported killed at": p.tolerance.roots_killed_c,
        }
        for text, quantity in line_of.items():
            if quantity is not None:
                say(f"{text} {t(quantity.value)}", indent=2)
                self._rests(quantity)
        if (chill := p.tolerance.chill) is not None:
            say(f"Cold nights harm it below {t(chill.caution_c)}, badly below {t(chill.danger_c)}", indent=2)
            self._rests(chill)
        spans: list[tuple[str, Span | None, str]] = [
            ("Hours of sun a day", p.tolerance.sun_hours, ""),
            ("Shade cloth", p.tolerance.shade_cloth_percent, " %"),
            ("New foliage is there within weeks", p.aftercare.releaf_weeks, ""),
            ("Seasons before a graft may be severed", p.aftercare.graft_seasons, ""),
            ("Weeks before a graft may be severed", p.aftercare.graft_weeks, ""),
            ("New foliage is hard within weeks after that", p.aftercare.hardening_weeks, ""),
        ]
        for text, span, unit in spans:
            if span is not None:
                say(f"{text}: {_span(span)}{unit}", indent=2)
                self._rests(span)
        dry = "may dry a little between" if p.water.may_dry else "never dry"
        say(f"Water: {p.water.thirst} thirst, {dry}", indent=2)
        self._rests(p.water)
        w = p.aftercare.wire_looks_weeks
        say(
            f"Weeks from one look at wire to the next: {w.extending:g} while shoots extend, {w.hardened:g} once "
            f"they are hard, {w.autumn:g} in autumn, {w.winter:g} in winter",
            indent=2, hanging=2,
        )  # fmt: skip
        self._rests(w)

    def _cautions(self) -> None:
        heading("Take care")
        toxic, toxicity = self.profile.toxic, self.profile.toxicity
        say(self.style.text(self.known.cautions[toxic].text if toxic else toxicity.text), indent=2)
        self._rests(self.known.cautions[toxic] if toxic else toxicity)
        for operation, never in self.profile.never.items():
            label = self.known.operations[operation].label
            say(f"{label}: never; {never.why}", indent=2, hanging=2)
            self._rests(never)
        say("Cautions of the work itself stand in the plan and in each calendar event.", indent=2)

    def _choices(self) -> None:
        if not self.questions:
            return
        heading("Where growers differ")
        rows = []
        for key in self.questions:
            choice = self.known.choices[key]
            answer = self.at.answers.get(key, choice.default)
            rows.append((key, f"{choice.question} Here: {choice.options[answer].text} {choice.why}"))
        columns([(key, self.style.text(text)) for key, text in rows])
        say("Change an answer with: leafclock choices", indent=2)


def _or(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"


def _span(span: Span) -> str:
    return f"{span.low:g}" if span.low == span.high else f"{span.low:g} to {span.high:g}"
