"""The season line in words: sun, day length, heat."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.planning.seasons.season_line import HEAT_BASE_C

if TYPE_CHECKING:
    from datetime import date

    from calendar_core.planning.seasons.season_line import Chill, SeasonLine
    from calendar_core.wording.style import Style

MOST_DAYS_AHEAD = 40  # no year stands further from a usual one; more is heat that late autumn no longer counts in days (estimate)
LITTLE_HEAT = 20.0  # degC d: about two days of early summer; below it a year is as usual


def season_sentences(season: SeasonLine, style: Style, today: date) -> list[str]:
    """Return a sentence on the sun, one on the year's heat, and in winter one on its chill."""
    out = [_sun(season, style)]
    if season.heat is not None and season.bud_break is not None:
        text = style.translate("Heat since bud break about {day}: {heat} above {base}").format(
            day=style.day(season.bud_break, today),
            heat=style.heat(season.heat),
            base=style.temperature(HEAT_BASE_C),
        )
        out.append(f"{text}{_ahead(season, style)}.")
    elif season.more_heat is not None:
        text = style.translate("Heat this year above {base}").format(base=style.temperature(HEAT_BASE_C))
        out.append(f"{text}{_ahead(season, style)}.")
    if season.chill is not None:
        out.append(_chill(season.chill, style, today))
    return out


def short_season(season: SeasonLine, style: Style) -> list[str]:
    """Return the same in a few words: the sun, and where the year stands if that is known."""
    minutes = round(season.sun.length_h * 60)
    if season.sun.rise is None or season.sun.set is None or not 0 < season.sun.length_h < 24:
        out = [_sun(season, style)]
    else:
        out = [
            style.translate("Sun {rise} to {set}, {h} h {m} min.").format(
                rise=style.clock(season.sun.rise),
                set=style.clock(season.sun.set),
                h=minutes // 60,
                m=minutes % 60,
            )
        ]
    days = season.ahead_days
    if days is None or abs(days) > MOST_DAYS_AHEAD:  # days that bring little heat say nothing
        return out
    if abs(days) >= 2:
        which = style.translate("ahead of") if days > 0 else style.translate("behind")
        told = style.translate("{n} days {which} a usual year.").format(n=style.count(abs(days)), which=which)
        out.append(f"{told[:1].upper()}{told[1:]}")
    else:
        out.append(style.translate("The year stands where a usual one does."))
    return out


def _chill(chill: Chill, style: Style, today: date) -> str:
    text = style.translate(
        "Chill since {day}: {portions} portions (Dynamic model), {hours} hours from {low} to {high}, {utah} Utah units."
    )
    return text.format(
        day=style.day(chill.since, today), portions=f"{chill.portions:.0f}", hours=f"{chill.hours:.0f}",
        low=style.temperature(0.0), high=style.temperature(7.2), utah=f"{chill.utah_units:.0f}",
    )  # fmt: skip


def _sun(season: SeasonLine, style: Style) -> str:
    sun = season.sun
    if sun.length_h >= 24:
        return style.translate("The sun does not set today.")
    if sun.length_h <= 0:
        return style.translate("The sun does not rise today.")
    minutes = round(sun.length_h * 60)
    change = round(season.change_min)
    if change == 0:
        than = style.translate("as long as yesterday")
    else:
        than = style.translate("{n} min {which} than yesterday").format(
            n=abs(change), which="more" if change > 0 else "less"
        )
    if sun.rise is None or sun.set is None:
        return style.translate("Daylight {h} h {m} min, {than}.").format(
            h=minutes // 60, m=minutes % 60, than=than
        )
    return style.translate("Sun {rise} to {set}, {h} h {m} min, {than}.").format(
        rise=style.clock(sun.rise), set=style.clock(sun.set), h=minutes // 60, m=minutes % 60, than=than
    )


def _ahead(season: SeasonLine, style: Style) -> str:
    days, more = season.ahead_days, season.more_heat
    if more is None:
        return ""
    if days is None:
        if abs(more) < LITTLE_HEAT:
            return style.translate(", as in a usual year")
        which = style.translate("more") if more > 0 else style.translate("less")
        return style.translate(", {heat} {which} than in a usual year").format(
            heat=style.heat(abs(more)), which=which
        )
    if abs(days) < 2:
        return style.translate("; the year stands where a usual one does")
    which = style.translate("ahead of") if days > 0 else style.translate("behind")
    return style.translate("; the year stands {n} days {which} a usual one").format(
        n=style.count(abs(days)), which=which
    )
