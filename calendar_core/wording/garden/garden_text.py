"""Words of the garden's trees and spots."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calendar_core.wording.sentences import tree_list

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from calendar_core.garden.departures import Gone
    from calendar_core.garden.model import Spot, Tree
    from calendar_core.garden.state import TreeState
    from calendar_core.wording.style import Style

GARDEN: dict[str, str] = {"changed": "Changed: the garden {name}."}

TREES: dict[str, str] = {
    "added": "Added: {trees}.",
    "changed": "Changed: {trees}.",
    "went": "Gone since {day}: {trees} ({why}). What was written stays: leafclock history. Entry {entry}.",
    "gone": "Gone since {day}: {why}.",
    "none_gone": "No tree is gone.",
    "none": "No trees yet. Add some with: leafclock tree add '3 Japanese maple'",
    "vigour": "vigour {n}",
    "litres": "{n} l",
    "no_pot": "no pot named",
    "done": "{day}  {done}",
    "seen": "{day}  saw {stage}",
}

SPOTS: dict[str, str] = {
    "added": "Spot added: {spot}.",
    "made": "Spot added: {name}, {profile}.",
    "made_for_winter": "Spot added: {name}, {profile}. Trees are asked to it when their time comes.",
    "changed": "Spot changed: {spot}.",
    "removed": "Spot removed: {spot}.",
    "sun": "sun {begins} to {ends}",
    "horizon": "horizon up to {height}°",
    "cloth": "cloth {percent} %",
    "roof": "roof",
    "quarantine": "quarantine",
}


def of_trees(style: Style, phrase: str, trees: Sequence[str]) -> str:
    """Return what was done to some trees of the garden."""
    return style.say(phrase, trees=tree_list(trees))


def gone_line(style: Style, gone: Gone, today: date) -> str:
    """Return since when a tree is gone, and why."""
    why = style.translate(gone.why) + (f" ({gone.note})" if gone.note else "")
    return style.say(TREES["gone"], day=style.day(gone.on, today), why=why)


def gone_row(style: Style, tree: Tree, species: str, gone: Gone) -> tuple[str, ...]:
    """Return a tree that is gone: its label, its species, the day, why."""
    return tree.label, species, gone.on.isoformat(), style.translate(gone.why), gone.note


def pot_words(style: Style, state: TreeState) -> str:
    """Return a tree's pot: its size and what it is made of."""
    words = [style.say(TREES["litres"], n=f"{state.pot_litres:g}")] if state.pot_litres else []
    words += [style.translate(state.pot)] if state.pot else []
    return " ".join(words) or style.say(TREES["no_pot"])


def state_row(style: Style, species: str, state: TreeState, spot: str) -> tuple[str, ...]:
    """Return how a tree is: its species, aim, vigour, size, where it stands, its pot."""
    aim, size = style.translate(state.aim), style.translate(state.size)
    vigour = style.say(TREES["vigour"], n=state.vigour)
    return species, aim, vigour, size, spot, pot_words(style, state)


def seen_line(style: Style, day: date, stage: str) -> str:
    """Return a stage that was seen, with its day."""
    return style.say(TREES["seen"], day=day, stage=stage.replace("_", " "))


def spot_words(style: Style, spot: Spot) -> str:
    """Return a spot with all that is known of it."""
    say = style.say
    said = [style.translate(spot.profile)]
    if spot.sun_from and spot.sun_to:
        said.append(say(SPOTS["sun"], begins=f"{spot.sun_from:%H:%M}", ends=f"{spot.sun_to:%H:%M}"))
    if spot.horizon:
        said.append(say(SPOTS["horizon"], height=f"{max(height for _, height in spot.horizon):g}"))
    if spot.cloth_percent:
        said.append(say(SPOTS["cloth"], percent=spot.cloth_percent))
    if spot.surface != "bench":
        said.append(style.translate(spot.surface))
    if spot.wind != "normal":
        said.append(style.translate(spot.wind))
    said += [say(SPOTS["roof"])] if spot.roof else []
    said += [say(SPOTS["quarantine"])] if spot.quarantine else []
    return f"{spot.name}: {', '.join(said)}"
