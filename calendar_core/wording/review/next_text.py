"""Words of what comes out of a round: the heavy work of the coming year, what rests, and what is to be had for it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from calendar_core.planning.items import Reason
from calendar_core.planning.review.next_year import REPOT
from calendar_core.wording.sentences import tree_list, tree_names
from calendar_core.wording.tree_sets import MOST_NAMES

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence
    from uuid import UUID

    from calendar_core.knowledge.forms.based import Based
    from calendar_core.knowledge.forms.review import SupplyRules
    from calendar_core.knowledge.profiles.knowledge import Knowledge
    from calendar_core.planning.review.next_year import HeavyJob, NextYear, SoilSigns, WeekJob
    from calendar_core.planning.review.supplies import Fertilizer, Paste, PotToBuy, Soil, Supplies, WireRoll
    from calendar_core.wording.sentences import Speaker
    from calendar_core.wording.style import Style

NEXT: dict[str, str] = {
    "nothing": "No heavy work is due in the coming year.",
    "head": "Heavy work of the coming year: {jobs} for {trees}, {time}.",
    "unproven": "There are too many to try every choice: a better one may exist.",
    "usual": "Your free time is not written down: 20 minutes on working days and two hours on each day of the weekend are assumed. Write yours with: {program} hours",
    "week": "Week of {day}",
    "job": "{trees}: {work}, {time}; last safe day {day}.",
    "job_late": "{trees}: {work}, {time}; its last safe day was {day}, so as soon as can be.",
    "job_unsure": "{trees}: {work}, {time}; by {last}, and it may open as early as {early}: watch for it.",
    "beside": "Besides another heavy job, as you asked.",
    "no_time": "No week has time for",
    "more_time": "More free time would help; write yours with: {program} hours",
    "no_time_line": "{trees}: {work}, {time}, from {first} to {last}.",
    "put_off": "Put off",
    "put_off_line": "{trees}: {work} of {cycle}. {why}",
    "spared": "Leave alone next year",
    "spared_line": "{trees}: {why}",
    "soil": "Soil and pots that speak for repotting, though none is planned",
    "soil_line": "{tree}: {signs}. Ask for it with: leafclock wish",
    "drained": "drained in {n} s",
    "roots": "roots lift it or leave the pot",
    "pot": "pot bad",
}

SUPPLIES: dict[str, str] = {
    "title": "To have ready",
    "soil": "Soil, {mix}: {litres} for {pots}",
    "assumed": " (size of {n} assumed from the tree's)",
    "parts": "{line}: {parts}.",
    "part": "{litres} {name}",
    "wire": "Wire of {mm}: {metres} for {branches}",
    "wire_unmeasured": "; {n} more without a length",
    "wire_no_length": "Wire of {mm}: for {branches} without a length",
    "wire_unknown": "Wire: {n} of which no diameter is written down; measure the branches before you buy",
    "pot": "Pots: {trees}",
    "pot_size": "{tree} (was {litres})",
    "pot_unknown": "{tree} (size not written down)",
    "fertilizer": "Fertilizer: {nitrogen} of nitrogen in {litres} of solution for {trees} over the year",
    "fertilizer_unknown": "; {n} whose pot size is not written down",
    "fertilizer_none": "Fertilizer: the pot size of {n} to be fed is not written down, so it cannot be added up",
    "paste": "Cut paste: {what}",
    "wounds": "for {n} planned",
    "works": "for {n} on whole trees, each of several wounds",
    "nothing": "Nothing.",
    "to": "{low} to {high}",
    "rests": "What that rests on",
    "cautions": "Take care",
    "soil_rests": "Soil, {share} times what the pot holds: {basis}",
    "mix_rests": "Soil, {mix}: {basis}",
    "wire_share_rests": "Wire {share} times as thick as the branch: {basis}",
    "wire_length_rests": "Wire {low} to {high} times as long as the branch: {basis}",
    "solution_rests": "Solution, {share} % of the pot at a time: {basis}",
}


@dataclass(frozen=True)
class NextSpeaker:
    """Makes the sentences of the coming year for one reader; ``labels`` are those of the trees."""

    speaker: Speaker
    labels: Mapping[UUID, str]

    @property
    def style(self) -> Style:
        """How values are written."""
        return self.speaker.style

    # -- the year -------------------------------------------------------------------------------------

    def head(self, year: NextYear) -> str:
        """Return how much heavy work there is."""
        if not year.jobs:
            return "" if year.no_time else self.style.say(NEXT["nothing"])
        trees = len({placed.job.tree_id for placed in year.jobs})
        return self.style.say(
            NEXT["head"], jobs=self.style.number_of(len(year.jobs), "job", "jobs"),
            trees=self.style.number_of(trees, "tree", "trees"), time=self.style.minutes(year.minutes),
        )  # fmt: skip

    def weeks(self, year: NextYear) -> Iterator[tuple[str, list[str]]]:
        """Yield each week with its jobs."""
        soil = {signs.tree_id: signs for signs in year.soil}
        for week, some in groupby(year.jobs, key=lambda placed: placed.week):
            title = self.style.say(NEXT["week"], day=self.style.day(week, self.speaker.today))
            yield title, [self._job(placed, soil) for placed in some]

    def _job(self, placed: WeekJob, soil: Mapping[UUID, SoilSigns]) -> str:
        job = placed.job
        near, early = self.speaker.today, max(item.opens.early for item in job.items)
        how = (
            "job"
            if job.safe >= max(placed.week, job.first)
            else "job_late"
            if job.safe < near
            else "job_unsure"
        )
        days = {"day": job.safe, "last": job.last, "early": early}
        text = self.style.say(
            NEXT[how], **self._named(job), **{name: self.style.day(day, near) for name, day in days.items()}
        )
        if job.operation == REPOT and job.tree_id in soil:
            signs = self._signs(soil[job.tree_id])
            text += f" {signs[:1].upper()}{signs[1:]}."
        return f"{text} {self.style.say(NEXT['beside'])}" if job.beside else text

    def _named(self, job: HeavyJob) -> dict[str, str]:
        work = self.speaker.name(job.items[0])
        return {
            "trees": tree_list(tree_names(job.items, self.labels)),
            "work": work[:1].lower() + work[1:],
            "time": self.style.minutes(job.minutes),
        }

    def no_time(self, job: HeavyJob) -> str:
        """Return a job that has no week."""
        named, near = self._named(job), self.speaker.today
        return self.style.say(
            NEXT["no_time_line"], trees=named["trees"], work=named["work"], time=named["time"],
            first=self.style.day(job.first, near), last=self.style.day(job.last, near),
        )  # fmt: skip

    def put_off(self, year: NextYear) -> list[str]:
        """Return the work that rests, and why; trees of which the same is true together."""
        alike: dict[tuple[str, int, str], list[str]] = {}
        for absent in year.put_off:
            what = self.speaker.name(absent), absent.cycle, self._why(absent.reasons)
            alike.setdefault(what, []).append(self.labels[absent.tree_id])
        return [
            self.style.say(
                NEXT["put_off_line"], trees=tree_list(trees, most=MOST_NAMES), work=work[:1].lower() + work[1:],
                cycle=cycle, why=why,
            )
            for (work, cycle, why), trees in alike.items()
        ]  # fmt: skip

    def spared(self, year: NextYear) -> list[str]:
        """Return the trees that are left alone, and why."""
        alike: dict[str, list[str]] = {}
        for spared in year.spared:
            alike.setdefault(self._why(spared.reasons), []).append(self.labels[spared.tree_id])
        return [
            self.style.say(NEXT["spared_line"], trees=tree_list(trees, most=MOST_NAMES), why=why)
            for why, trees in alike.items()
        ]

    def _why(self, reasons: Sequence[Reason]) -> str:
        return " ".join(self.speaker.reason(reason) for reason in reasons)

    def soil(self, year: NextYear) -> list[str]:
        """Return the trees whose soil or pot speaks for repotting, of which none is planned."""
        repotted = {placed.job.tree_id for placed in year.jobs if placed.job.operation == REPOT}
        repotted |= {job.tree_id for job in year.no_time if job.operation == REPOT}
        return [
            self.style.say(NEXT["soil_line"], tree=self.labels[signs.tree_id], signs=self._signs(signs))
            for signs in year.soil
            if signs.tree_id not in repotted
        ]

    def _signs(self, signs: SoilSigns) -> str:
        told = [] if signs.seconds is None else [self.style.say(NEXT["drained"], n=f"{signs.seconds:g}")]
        return ", ".join([*told, *(self.style.say(NEXT[check]) for check in signs.bad)])

    # -- what it takes --------------------------------------------------------------------------------

    def supplies(self, bought: Supplies) -> list[str]:
        """Return what to have ready, a line each."""
        lines = [
            *(self._soil(soil) for soil in bought.soil),
            *(self._wire(roll) for roll in bought.wire),
            *self._pots(bought.pots),
            *self._fertilizer(bought.fertilizer),
            *self._paste(bought.paste),
        ]
        return lines or [self.style.say(SUPPLIES["nothing"])]

    def _soil(self, soil: Soil) -> str:
        say, volume = self.style.say, self.style.volume
        line = say(
            SUPPLIES["soil"], mix=say(soil.mix), litres=volume(soil.litres),
            pots=self.style.number_of(soil.pots, "pot", "pots"),
        )  # fmt: skip
        if soil.assumed:
            line += say(SUPPLIES["assumed"], n=self.style.count(soil.assumed))
        parts = [
            say(SUPPLIES["part"], litres=volume(litres), name=say(name))
            for name, litres in soil.parts.items()
        ]
        return say(SUPPLIES["parts"], line=line, parts=tree_list(parts))

    def _wire(self, roll: WireRoll) -> str:
        say = self.style.say
        if roll.mm is None:
            wirings = self.style.number_of(roll.branches, "wiring", "wirings")
            return say(SUPPLIES["wire_unknown"], n=wirings) + "."
        branches = self.style.number_of(roll.branches, "branch", "branches")
        mm, measured = self.style.length(roll.mm), roll.branches - roll.unmeasured
        if not measured:
            return say(SUPPLIES["wire_no_length"], mm=mm, branches=branches) + "."
        line = say(
            SUPPLIES["wire"], mm=mm, metres=self._pair(roll.metres, self.style.run),
            branches=self.style.number_of(measured, "branch", "branches"),
        )  # fmt: skip
        if roll.unmeasured:
            line += say(SUPPLIES["wire_unmeasured"], n=self.style.count(roll.unmeasured))
        return line + "."

    def _pots(self, pots: Sequence[PotToBuy]) -> Iterator[str]:
        told = [
            self.style.say(SUPPLIES["pot_unknown"], tree=self.labels[pot.tree_id])
            if pot.litres is None
            else self.style.say(
                SUPPLIES["pot_size"], tree=self.labels[pot.tree_id], litres=self.style.volume(pot.litres)
            )
            for pot in pots
        ]
        if told:
            yield self.style.say(SUPPLIES["pot"], trees=tree_list(told, most=len(told))) + "."

    def _fertilizer(self, given: Fertilizer) -> Iterator[str]:
        if not given.trees:
            if given.unknown_pots:
                unknown = self.style.number_of(given.unknown_pots, "tree", "trees")
                yield self.style.say(SUPPLIES["fertilizer_none"], n=unknown) + "."
            return
        line = self.style.say(
            SUPPLIES["fertilizer"], nitrogen=self._pair(given.nitrogen_g, self.style.mass),
            litres=self.style.volume(given.litres), trees=self.style.number_of(given.trees, "tree", "trees"),
        )  # fmt: skip
        if given.unknown_pots:
            more = self.style.number_of(given.unknown_pots, "more tree", "more trees")
            line += self.style.say(SUPPLIES["fertilizer_unknown"], n=more)
        yield line + "."

    def _paste(self, paste: Paste) -> Iterator[str]:
        told = []
        if paste.wounds:
            told.append(
                self.style.say(SUPPLIES["wounds"], n=self.style.number_of(paste.wounds, "wound", "wounds"))
            )
        if paste.works:
            told.append(
                self.style.say(SUPPLIES["works"], n=self.style.number_of(paste.works, "work", "works"))
            )
        if told:
            yield self.style.say(SUPPLIES["paste"], what=tree_list(told)) + "."

    def _pair(self, pair: tuple[float, float], written: Callable[[float], str]) -> str:
        low, high = written(pair[0]), written(pair[1])
        return low if low == high else self.style.say(SUPPLIES["to"], low=low, high=high)

    def rests(self, bought: Supplies, knowledge: Knowledge) -> list[str]:
        """Return what the figures of the supplies rest on, a line for each that was used."""
        rules, pots = knowledge.review.supplies, knowledge.growth.pots.soil_share
        out = []
        if bought.soil:
            used = {soil.mix for soil in bought.soil}
            out.append(
                self.style.say(SUPPLIES["soil_rests"], share=f"{pots.value:g}", basis=self._basis(pots))
            )
            out += [
                self.style.say(SUPPLIES["mix_rests"], mix=self.style.say(mix.name), basis=self._basis(mix))
                for mix in rules.mix
                if mix.name in used
            ]
        if bought.wire:
            out += self._wire_rests(rules)
        if bought.fertilizer.trees:
            share, basis = knowledge.feeding.pot.solution_percent, self._basis(knowledge.feeding.pot)
            out.append(self.style.say(SUPPLIES["solution_rests"], share=f"{share:g}", basis=basis))
        return out

    def _wire_rests(self, rules: SupplyRules) -> list[str]:
        span = rules.wire_length
        return [
            self.style.say(
                SUPPLIES["wire_share_rests"], share=f"{rules.wire_share.value:.2g}", basis=self._basis(rules.wire_share)
            ),
            self.style.say(
                SUPPLIES["wire_length_rests"], low=f"{span.low:g}", high=f"{span.high:g}", basis=self._basis(span)
            ),
        ]  # fmt: skip

    def _basis(self, based: Based) -> str:
        return self.speaker.basis(
            Reason("", basis=based.basis, source=based.source or "", note=based.note or "")
        )
