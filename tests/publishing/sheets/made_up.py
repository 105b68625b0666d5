"""An invented sheet: trees with a question of each kind, each under a key that no other tree has."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from calendar_core.publishing.sheets.content import (
    PlaceRows,
    QuestionRow,
    ReviewSheet,
    SheetWords,
    TreeBlock,
    WalkPages,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calendar_core.publishing.sheets.content import Paper

WORDS = SheetWords(
    how="What is typed of this sheet begins with",
    last="last",
    decisions=("sever", "take wire off", "cut again", "replace by backup", "remove", "repot", "sell"),
    notes="Of which part, when; notes",
    minutes="Minutes",
    cautions="Mind",
)
CAUTION = "Wipe blades and tweezers between trees and let them dry away from flames."
MARK = "sheet: 0a1b2c3d 2015-09-18"
LONG = 'Äpfel & Birnen <b>"Größe"</b>: Großmutters Ahorn vom Teich \'7'
UNBROKEN = "Großmuttersahornvomteichhinterdemhausanderwandmitdemefeu" + "x" * 4
QUESTIONS = 13


def rows(key: str) -> tuple[PlaceRows, ...]:
    """Return a question of each kind, and as many more as a full look has."""
    firm = "Pot whole, holes free, ties firm"
    kinds = (
        QuestionRow("Half a litre poured on: seconds until no more stands", f"{key}q0", unit="s"),
        QuestionRow("low left: open width of the wound", f"{key}q1", (), "mm", "12 mm on 19 September 2014"),
        QuestionRow(firm, f"{key}q2", ("good", "bad")),
        QuestionRow("Top beside the low branches", f"{key}q3", ("too strong", "even", "too weak")),
        QuestionRow("Vigour: 1 dying, 3 steady, 5 strong", f"{key}q4", tuple("12345")),
    )
    more = tuple(QuestionRow(firm, f"{key}q{n}", ("good", "bad")) for n in range(5, QUESTIONS))
    return PlaceRows("Soil", kinds[:3]), PlaceRows("Branches", more), PlaceRows("Tree", kinds[3:])


def glance(number: int) -> TreeBlock:
    """Return a tree with few questions, of which one has more answers than go in a line."""
    jobs = ("repot", "structural pruning", "air layer", "decandling", "full defoliation", "none")
    choice = QuestionRow("Next year's one heavy job", "heavy job", jobs)
    return replace(tree(number), places=(PlaceRows("Tree", (*rows("x")[0].rows, choice)),))


def tree(number: int, label: str = "") -> TreeBlock:
    """Return a tree whose keys begin with its number."""
    named = label or f"Maple{number:02d}"
    code = f"{named}\nlate summer 2015\nleafclock review enter '{named}'"
    facts = ("Japanese maple", "south bench", "Full look, about 4 min")
    return TreeBlock(named, facts, ("Never looked over wholly.",), rows(f"t{number:02d}"), code)


def sheet(trees: Sequence[TreeBlock], paper: Paper = "a4") -> ReviewSheet:
    """Return a sheet of one walk."""
    facts = ("Saturday, 19 September 2015", "sunset 19:13", f"{len(trees)} trees, about 35 min")
    walk = WalkPages("Harbour Lane bench: Late summer review 2015", MARK, facts, tuple(trees), (CAUTION,) * 3)
    return ReviewSheet("Review", "en-GB", WORDS, (walk,), paper)
