"""How values are written: dates, temperatures and shares, in the grower's language and units."""

from __future__ import annotations

import gettext
import re
from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from typing import TYPE_CHECKING

from babel.dates import format_date, format_skeleton

from calendar_core.planning.items import Range
from calendar_core.science.tree.nutrients import GRAMS_PER_OUNCE, LITRES_PER_GALLON

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date, datetime

    from calendar_core.garden.model import Units

_COUNTS = (
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)


METRES_PER_FOOT = 0.3048  # exact (NIST Handbook 44, appendix C)


@dataclass(frozen=True)
class Style:
    """Language and units of shown text. Inside the program all is SI and English codes."""

    units: Units = "metric"
    translate: Callable[[str], str] = gettext.NullTranslations().gettext

    def say(self, phrase: str, **values: object) -> str:
        """Return a phrase of a catalogue in the reader's language, filled in.

        >>> Style().say("Late since {day}.", day="4 June")
        'Late since 4 June.'
        """
        return self.translate(phrase).format(**values)

    @property
    def locale(self) -> str:
        """The Babel locale: the order of day and month goes with the units."""
        return "en_US" if self.units == "us" else "en_GB"

    def day(self, day: date, near: date | None = None) -> str:
        """Return a date in words; with its year unless that is the year of ``near``.

        >>> from datetime import date
        >>> Style().day(date(2015, 6, 24), near=date(2015, 1, 1)), Style("us").day(date(2016, 6, 24))
        ('24 June', 'June 24, 2016')
        """
        if near is not None and day.year == near.year:
            return _written("MMMMd", day, self.locale)
        return format_date(day, "long", locale=self.locale)

    def short_day(self, day: date, near: date | None = None) -> str:
        """Return a date as short as it goes; without its year, as in charts, unless ``near`` is of another.

        >>> from datetime import date
        >>> Style().short_day(date(2015, 6, 24)), Style().short_day(date(2015, 6, 24), near=date(2016, 1, 1))
        ('24 Jun', '24 Jun 2015')
        """
        other_year = near is not None and day.year != near.year
        return _written("yMMMd" if other_year else "MMMd", day, self.locale)

    def month(self, day: date, near: date | None = None) -> str:
        """Return a month; with its year if that is not the year of ``near``.

        >>> from datetime import date
        >>> Style().month(date(2015, 6, 24), date(2015, 1, 1)), Style().month(date(2016, 6, 1), date(2015, 1, 1))
        ('June', 'June 2016')
        """
        other_year = near is not None and day.year != near.year
        return format_date(day, "LLLL y" if other_year else "LLLL", locale=self.locale)

    def weekday(self, day: date) -> str:
        """Return a date with its weekday and year."""
        return format_date(day, "full", locale=self.locale)

    def weekday_name(self, day: date) -> str:
        """Return the name of a day of the week."""
        return format_date(day, "EEEE", locale=self.locale)

    def days(self, first: date, last: date, near: date) -> str:
        """Return days from one to another; a whole month of the year of ``near`` by its name.

        >>> from datetime import date
        >>> may, near = (date(2015, 5, 1), date(2015, 5, 31)), date(2015, 6, 24)
        >>> Style().days(*may, near), Style().days(may[0], may[0], near), Style("us").days(may[0], near, near)
        ('May', '1 May', 'May 1 to June 24')
        """
        whole = first.day == 1 and last + timedelta(days=1) == (first + timedelta(days=31)).replace(day=1)
        if whole and first.year == near.year:
            return self.month(first)
        return self.span(Range(first, first, last), near)

    def clock(self, moment: datetime) -> str:
        """Return the time of day of a moment in its own zone."""
        return f"{moment.hour}:{moment.minute:02d}"

    def span(self, dates: Range, near: date) -> str:
        """Return a range.

        >>> from datetime import date
        >>> april, near = [date(2016, 4, day) for day in (2, 24)], date(2016, 1, 1)
        >>> Style().span(Range(april[0], *april), near), Style().span(Range(april[0], *april), date(2015, 6, 1))
        ('2 to 24 April', '2 to 24 April 2016')
        """
        if dates.early == dates.late:
            return self.day(dates.early, near)
        same = (dates.early.year, dates.early.month) == (dates.late.year, dates.late.month)
        if same and self.units == "metric":
            return f"{dates.early.day} to {self.day(dates.late, near)}"
        if dates.early.year == dates.late.year != near.year:
            return f"{self.day(dates.early, dates.early)} to {self.day(dates.late)}"
        return f"{self.day(dates.early, near)} to {self.day(dates.late, near)}"

    def temperature(self, celsius: float) -> str:
        """Return a temperature.

        >>> Style().temperature(-2.8), Style("us").temperature(-2.8)
        ('-2.8 °C', '27 °F')
        """
        value, unit = (celsius * 9 / 5 + 32, "°F") if self.units == "us" else (celsius, "°C")
        rounded = round(value, 0 if self.units == "us" else 1) + 0.0  # no minus before a nought
        return f"{rounded:g} {unit}"

    def length(self, millimetres: float) -> str:
        """Return a short length.

        >>> Style().length(12.5), Style("us").length(12.7)
        ('12.5 mm', '0.5 in')
        """
        if self.units == "us":
            return f"{millimetres / 25.4:.2f}".rstrip("0").rstrip(".") + " in"
        return f"{millimetres:g} mm"

    def volume(self, litres: float) -> str:
        """Return a volume, of three figures.

        >>> Style().volume(12.128), Style("us").volume(12.1), Style("us").volume(1.0)
        ('12.1 L', '3.2 gal', '1.06 qt')
        """
        if self.units == "us":
            gallons = litres / LITRES_PER_GALLON
            return f"{gallons:.3g} gal" if gallons >= 1 else f"{4 * gallons:.3g} qt"
        return f"{litres:.3g} L"

    def mass(self, grams: float) -> str:
        """Return a mass, of three figures.

        >>> Style().mass(12.34), Style("us").mass(56.7)
        ('12.3 g', '56.7 g (2 oz)')
        """
        return f"{grams:.3g} g" + (
            f" ({round(grams / GRAMS_PER_OUNCE, 2):g} oz)" if self.units == "us" else ""
        )

    def run(self, metres: float) -> str:
        """Return a long length, such as of wire, of two figures behind the point at most.

        >>> Style().run(1.234), Style("us").run(3.048)
        ('1.23 m', '10 ft')
        """
        value, unit = (metres / METRES_PER_FOOT, "ft") if self.units == "us" else (metres, "m")
        return f"{round(value, 2):g} {unit}"

    def difference(self, celsius: float) -> str:
        """Return a difference of temperatures, with its sign.

        >>> Style().difference(-1.5), Style("us").difference(1.0)
        ('-1.5 °C', '+1.8 °F')
        """
        value, unit = (celsius * 9 / 5, "°F") if self.units == "us" else (celsius, "°C")
        return f"{value + 0.0:+.1f} {unit}"

    def text(self, written: str) -> str:
        """Return a text of config/ with its temperatures, written as ``10 degC``, in the reader's unit.

        >>> Style().text("Out above 10 degC."), Style("us").text("Out above 10 degC.")
        ('Out above 10 °C.', 'Out above 50 °F.')
        """
        number = r"((?:(?<!\d)[-+])?\d+(?:\.\d+)?)"
        pair = rf"{number} (and|to|or) {number} degC"
        both = re.sub(pair, r"\1 degC \2 \3 degC", self.translate(written))
        return re.sub(rf"{number} degC", lambda m: self.temperature(float(m[1])), both)

    def heat(self, degree_days: float) -> str:
        """Return a heat sum; degree-days of Fahrenheit are 9/5 of those of Celsius."""
        if self.units == "us":
            return f"{degree_days * 9 / 5:.0f} °F·d"
        return f"{degree_days:.0f} °C·d"

    def count(self, number: float) -> str:
        """Return a small whole number in words, others in figures."""
        if float(number).is_integer() and 0 <= number < len(_COUNTS):
            return _COUNTS[int(number)]
        return f"{number:g}"

    def counted(self, number: float, one: str, many: str) -> str:
        """Return a count with its noun.

        >>> Style().counted(1, "week", "weeks"), Style().counted(2.5, "week", "weeks")
        ('one week', '2.5 weeks')
        """
        return f"{self.count(number)} {self.translate(one if number == 1 else many)}"

    def number_of(self, number: int, one: str, many: str) -> str:
        """Return a count in figures, with its noun.

        >>> Style().number_of(1, "entry", "entries"), Style().number_of(12, "entry", "entries")
        ('1 entry', '12 entries')
        """
        return f"{number} {self.translate(one if number == 1 else many)}"

    def minutes(self, minutes: int) -> str:
        """Return a time [min] in words.

        >>> [Style().minutes(minutes) for minutes in (20, 120, 95, 0)]
        ['20 min', '2 h', '1 h 35 min', 'none']
        """
        hours, rest = divmod(minutes, 60)
        words = [self.say("{n} h", n=hours)] if hours else []
        words += [self.say("{n} min", n=rest)] if rest else []
        return " ".join(words) or self.translate("none")

    def every(self, years: float) -> str:
        """Return how often something comes.

        >>> Style().every(1), Style().every(3)
        ('every year', 'every three years')
        """
        if years == 1:
            return self.translate("every year")
        return self.translate("every {n} years").format(n=self.count(years))

    def chance(self, share: float) -> str:
        """Return a share of members as a frequency.

        >>> Style().chance(0.84), Style().chance(1.0), Style().chance(0.02)
        ('8 times in 10', 'nearly always', 'hardly ever')
        """
        tenths = round(share * 10)
        if tenths >= 10:
            return self.translate("nearly always")
        if tenths <= 0:
            return self.translate("hardly ever")
        return (
            self.translate("{n} times in 10").format(n=tenths) if tenths > 1 else self.translate("once in 10")
        )


@cache
def _written(skeleton: str, day: date, locale: str) -> str:
    return format_skeleton(skeleton, day, locale=locale)
