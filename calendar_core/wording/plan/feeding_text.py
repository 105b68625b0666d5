"""Sentences about fertilizing: how strong, how much for a can, when, and what it waits for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from calendar_core.science.tree.nutrients import (
    GRAMS_PER_OUNCE,
    LITRES_PER_GALLON,
    ML_PER_FLUID_OUNCE,
)
from calendar_core.wording.sentences import Speaker, tree_list

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date
    from uuid import UUID

    from calendar_core.planning.feeding.cakes import Cakes
    from calendar_core.planning.feeding.dose import Dose, Product
    from calendar_core.planning.feeding.strength import Feeding, Pair
    from calendar_core.planning.items import Given, Item


def strengths(speaker: Speaker, items: Sequence[Item], labels: Mapping[UUID, str]) -> str:
    """Return how strong fertilizer is given to the trees of some items, in one line; empty for other work."""
    trees: dict[str, list[str]] = {}
    given = {item.tree_id: item.given for item in items}
    for tree in labels if len(given) > 1 else given:  # in the garden's order
        if (mine := given.get(tree)) is not None:
            trees.setdefault(_given(speaker, mine), []).append(labels[tree])
    if len(trees) < 2:
        told = "; ".join(trees)
    else:
        told = "; ".join(f"{tree_list(names)}: {text}" for text, names in trees.items())
    return f"{speaker.style.translate('Strength')}: {told}." if told else ""


def short_strengths(speaker: Speaker, items: Sequence[Item], labels: Mapping[UUID, str]) -> str:
    """Return how strong fertilizer is given, in few words, and who gets none; empty for other work."""
    given = {item.tree_id: item.given for item in items if item.given is not None}
    fed = [mine for mine in given.values() if not mine.hold]
    told = []
    if fed:
        spans = {mine.percent for mine in fed}
        low, high = min(low for low, _ in spans), max(high for _, high in spans)
        phrase = SHORT["rate" if len(spans) == 1 else "rates"]
        told.append(speaker.style.say(phrase, percent=_span(low, high, "{:.0f}")))
    told += _none_for(
        speaker, [(tree, mine) for tree, mine in given.items() if mine.hold], labels, others=bool(fed)
    )
    return "; ".join(told)


def _none_for(
    speaker: Speaker, held: Sequence[tuple[UUID, Given]], labels: Mapping[UUID, str], *, others: bool
) -> list[str]:
    """Return that trees get nothing, until when, and which they are where others get some."""
    until: dict[date | None, list[str]] = {}
    for tree, mine in held:
        until.setdefault(mine.not_before, []).append(labels[tree])
    named, out = others or len(until) > 1, []
    for day, names in until.items():
        nothing = speaker.style.translate(SHORT["nothing"])
        if day is not None:
            nothing = speaker.style.say(
                SHORT["nothing_before"], day=speaker.style.short_day(day, speaker.today)
            )
        trees = tree_list(names, most=2)
        out.append(speaker.style.say(SHORT["for"], nothing=nothing, trees=trees) if named else nothing)
    return out


def _given(speaker: Speaker, given: Given) -> str:
    style = speaker.style
    if not given.hold:
        percent = _span(*given.percent, "{:.0f}")
        text = style.translate("{percent} % of the label's rate").format(percent=percent)
        return f"{text}, {style.translate('low in nitrogen')}" if given.low_nitrogen else text
    why = " ".join(speaker.reason(reason) for reason in given.hold).removesuffix(".")
    if given.not_before is None:
        return f"{style.translate('nothing')}. {why}"
    day = style.day(given.not_before, speaker.today)
    return f"{style.translate('nothing before {day}').format(day=day)}. {why}"


SHORT: dict[str, str] = {
    "rate": "at {percent} % rate",
    "rates": "at {percent} % rate by tree",
    "nothing": "nothing",
    "nothing_before": "nothing before {day}",
    "for": "{nothing} for {trees}",
}
"""How strong, in few words."""

FERTILIZING: dict[str, str] = {
    "no_trees": "There are no trees yet.",
    "cautions": "Take care",
}


@dataclass(frozen=True)
class FeedingSpeaker:
    """Makes the sentences for one reader."""

    speaker: Speaker

    def strength(self, found: Feeding, days: Sequence[date]) -> str:
        """Return how strong, how often and when."""
        style = self.speaker.style
        say = style.translate
        text = say("{phase}: {percent} % of the label's rate, but no more than {n} of nitrogen; {every}").format(
            phase=self._since(found, say(found.phase)),
            percent=_span(*found.percent, "{:.0f}"),
            n=self.concentration(found.n_mg_l).removeprefix("up to "),
            every=say("every week") if found.every_weeks == 1 else say("every {n} weeks").format(n=style.count(found.every_weeks)),
        )  # fmt: skip
        if days:
            text += ": " + tree_list([style.day(day, self.speaker.today) for day in days], most=8)
        return f"{text}."

    def _since(self, found: Feeding, what: str) -> str:
        """Return since when something is so, if that lies ahead."""
        style = self.speaker.style
        if found.day > self.speaker.today:
            day = style.day(found.day, self.speaker.today)
            return style.translate("From {day}, {what}").format(day=day, what=what)
        return what[:1].upper() + what[1:]

    def waits(self, found: Feeding) -> str:
        """Return why nothing is given, and until when."""
        style = self.speaker.style
        why = " ".join(self.speaker.reason(reason) for reason in found.hold)
        if found.not_before is None:
            nothing = self._since(found, style.translate("nothing"))
        else:
            day = style.day(found.not_before, self.speaker.today)
            nothing = self._since(found, style.translate("nothing before {day}").format(day=day))
        return f"{nothing}. {why}"

    def less(self, found: Feeding) -> str:
        """Return what makes it less than usual, empty where nothing does."""
        return " ".join(self.speaker.reason(reason) for reason in found.reasons[1:])

    def why(self, found: Feeding) -> list[str]:
        """Return all that the strength comes from, and what that rests on."""
        say = self.speaker.style.translate
        bases = [self.speaker.basis(reason) for reason in (*found.hold, *found.reasons) if reason.basis]
        told = [self.speaker.reason(reason) for reason in found.reasons[:1]]
        return [*told, *(say("Rests on: {basis}").format(basis=basis) for basis in dict.fromkeys(bases))]

    def dose(self, made: Dose, product: Product, litres: float) -> str:
        """Return how much product goes into so much water, and what that makes."""
        style = self.speaker.style
        low, high = made.made
        text = style.translate("{amount} in {water}: nitrogen {n}, phosphorus {p}, potassium {k}.").format(
            amount=self.amount(made, product, litres),
            water=self.volume(litres),
            n=self.concentration((low.n, high.n)),
            p=self.concentration((low.p, high.p)),
            k=self.concentration((low.k, high.k)),
        )
        bound = style.translate("The label's rate bounds it.")
        return f"{text} {bound}" if made.by_label else text

    def pots(self, made: Dose, product: Product, pots: int, litres: float) -> str:
        """Return how much solution some pots take."""
        text = self.speaker.style.translate("{pots} about {water} of it at a time, with {amount}.")
        whose = self.speaker.style.translate(
            "The pot written down takes" if pots == 1 else "The {n} pots written down take"
        )
        return text.format(
            pots=whose.format(n=pots), water=self.volume(litres), amount=self.amount(made, product, litres)
        )

    def unfit(self, share_percent: float) -> str:
        """Return that a product holds too much nitrogen for the time."""
        text = "Not with this product: take one whose nitrogen is at most {share} % of its N-P-K, such as 0-10-10."
        return self.speaker.style.translate(text).format(share=f"{share_percent:g}")

    def cakes(self, found: Cakes, day: date) -> str:
        """Return how many cakes, and when those on the pot are replaced or come off."""
        say, style, today = self.speaker.style.translate, self.speaker.style, self.speaker.today
        if found.since is None:
            if found.number[1] == 0:
                return say("No cakes yet.")
            return say("Cakes: {n} a pot, replaced after {weeks} weeks.").format(
                n=_span(*found.number, "{:.0f}"), weeks=_span(*found.weeks, "{:g}")
            )
        text = say("Cakes since {day}").format(day=style.day(found.since, today))
        if found.take_off is not None and found.take_off <= day:
            return say("{cakes}: take them off now.").format(cakes=text)
        if found.replace_from is not None and found.replace_by is not None:
            days = list(
                dict.fromkeys(style.day(change, today) for change in (found.replace_from, found.replace_by))
            )
            return say("{cakes}: put on {n} new ones on {days}.").format(
                cakes=text, n=_span(*found.number, "{:.0f}"), days=" to ".join(days)
            )
        if found.take_off is not None:
            return say("{cakes}: take them off about {day}.").format(
                cakes=text, day=style.day(found.take_off, today)
            )
        return f"{text}."

    # -- values ---------------------------------------------------------------------------------------

    def concentration(self, mg_l: Pair) -> str:
        """Return a concentration: mg/L, which American labels call ppm."""
        unit = "ppm" if self.speaker.style.units == "us" else "mg/L"
        return f"{_span(*mg_l, '{:.0f}')} {unit}"

    def volume(self, litres: float) -> str:
        """Return a volume of water."""
        if self.speaker.style.units == "us":
            return f"{figures(litres / LITRES_PER_GALLON)} gal"
        return f"{figures(litres)} L"

    def amount(self, made: Dose, product: Product, litres: float) -> str:
        """Return an amount of product: grams, of a liquid millilitres, with ounces where those are used."""
        if product.density is None:
            pair, unit, ounce, name = made.grams(litres), "g", GRAMS_PER_OUNCE, "oz"
        else:
            pair = made.millilitres(litres, product.density)
            unit, ounce, name = "mL", ML_PER_FLUID_OUNCE, "fl oz"
        text = f"{_figures(pair)} {unit}"
        if self.speaker.style.units == "us":
            text += f" ({_figures((pair[0] / ounce, pair[1] / ounce))} {name})"
        return text


def figures(value: float) -> str:
    """Return a number as finely as it can be measured: three figures, at most two of them behind the point.

    >>> figures(0.26666), figures(17.5), figures(1234.0), figures(0.002)
    ('0.27', '17.5', '1230', 'less than 0.01')
    """
    rounded = round(float(f"{value:.3g}"), 2)
    return "less than 0.01" if value > 0 and rounded == 0 else f"{rounded:g}"


def _figures(pair: Pair) -> str:
    return _join(figures(pair[0]), figures(pair[1]))


def _span(low: float, high: float, form: str) -> str:
    return _join(form.format(low), form.format(high))


def _join(low: str, high: str) -> str:
    if low == high:
        return low
    return f"up to {high}" if low == "0" else f"{low} to {high}"
