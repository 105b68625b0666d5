"""Words of the audit: what the numbers rest on, and which weak ones decide most of a plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.wording.messages import BASES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.knowledge.profiles.numbers import Number
    from calendar_core.wording.style import Style

AUDIT: dict[str, str] = {
    "title": "What the numbers rest on",
    "numbers": "numbers",
    "together": "all together",
    "moving": "Moving each number by its doubt",
    "weak": "Weak numbers that decide most",
    "moved": (
        "At {place}: days by which the windows of all work but wishes move, both ends together, "
        "if the number is off by its doubt, and of how many windows."
    ),
    "number": "{days}, {windows}: {file}: {key} = {value} give or take {doubt}",
    "shared": "{text}, shared by {n} species",
    "sources": "Sources",
    "cited": "{n} sources stand behind numbers.",
    "unused": "Cited for statements only, not for a number: {sources}.",
}


def titles(style: Style) -> tuple[str, ...]:
    """Return the titles of the columns: a species, its numbers, the share of each basis."""
    return ("", style.say(AUDIT["numbers"]), *(style.translate(basis) for basis in BASES))


def number_line(
    style: Style, where: tuple[str, str], number: Number, moves: tuple[float, int], species: int
) -> str:
    """Return a number by the file and key ``where`` it stands, and what it ``moves``: days, of so many windows."""
    days, windows = moves
    told = f"{days:.0f} {style.translate('day' if round(days) == 1 else 'days')}"
    text = style.say(
        AUDIT["number"], days=told, windows=style.number_of(windows, "window", "windows"),
        file=where[0], key=where[1], value=f"{number.value:g}", doubt=f"{number.doubt:.2g}",
    )  # fmt: skip
    return style.say(AUDIT["shared"], text=text, n=species) if species > 1 else text


def basis_line(style: Style, number: Number) -> str:
    """Return what a number rests on, with its note."""
    return style.text(f"{style.translate(BASES[number.basis])}. {number.note}".strip())


def unused(style: Style, sources: Sequence[str]) -> str:
    """Return the sources that stand behind no number."""
    return style.say(AUDIT["unused"], sources=", ".join(sources))
