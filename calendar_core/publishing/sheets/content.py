"""What a sheet of a review shows: its words and its rows, in the order in which they are printed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

Paper = Literal["a4", "letter"]
PAPERS: tuple[Paper, ...] = get_args(Paper)


@dataclass(frozen=True, slots=True)
class QuestionRow:
    """One question: a box for each of the ``answers``, or where there are none a wide one for a number of ``unit``.

    ``key`` is what the answer is typed under, ``last`` what was measured last, empty where nothing was.
    """

    asked: str
    key: str
    answers: tuple[str, ...] = ()
    unit: str = ""
    last: str = ""


@dataclass(frozen=True, slots=True)
class PlaceRows:
    """The questions about one place of a tree, such as its soil."""

    place: str
    rows: tuple[QuestionRow, ...]


@dataclass(frozen=True, slots=True)
class TreeBlock:
    """One tree; ``code`` is what a camera reads off, ``facts`` and ``why`` are short sentences."""

    label: str
    facts: tuple[str, ...]
    why: tuple[str, ...]
    places: tuple[PlaceRows, ...]
    code: str


@dataclass(frozen=True, slots=True)
class WalkPages:
    """One walk, on pages of its own; ``mark`` tells it from others, ``cautions`` stand at its foot."""

    title: str
    mark: str
    facts: tuple[str, ...]
    trees: tuple[TreeBlock, ...]
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SheetWords:
    """The words that every tree has: titles of the room that is left, and the ``decisions`` there are."""

    how: str
    last: str
    decisions: tuple[str, ...]
    notes: str
    minutes: str
    cautions: str


@dataclass(frozen=True, slots=True)
class ReviewSheet:
    """A sheet; ``language`` as in ``en-GB``."""

    title: str
    language: str
    words: SheetWords
    walks: tuple[WalkPages, ...]
    paper: Paper = "a4"
