"""What a grower reads stands in wording/: app places it, and what a phrase leaves open is filled in."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path
from string import Formatter
from typing import TYPE_CHECKING, NamedTuple

import pytest

import alerts
import calendar_core.app
import calendar_core.pages
import calendar_core.wording

if TYPE_CHECKING:
    from collections.abc import Iterator

APP, PAGES, WORDING, ALERTS = (
    Path(str(room.__file__)).parent
    for room in (calendar_core.app, calendar_core.pages, calendar_core.wording, alerts)
)
PRINTED = {"say", "heading", "columns", "line", "notice", "progress", "input"}
REFUSALS = {"Refusal", "ValueError", "StoreError"}
COMMAND_LINE = {"Option", "Argument", "Typer", "command", *REFUSALS}  # help, refusals, commands to be copied
TYPED = {
    "--lat ",
    " --lon ",
    "--elevation ",
}
CODES = {"can wait", "warn ", "pg_dump --format=custom"}
DATA = {
    "My garden",  # what is suggested as a garden's name is the grower's to change
    "NOAA station data for Seattle 2012-2015, as packaged in vega-datasets",
    "the station's own days, as if foreseen",
    "Harbour Lane bench",
}
OF_REFUSALS = {
    " is never done to a ",
    "leafclock species show '",
    " is not known for a ",
    "; what is, shows: ",
}
"""Parts of refusals that are put together before they are raised."""
ALLOWED = TYPED | CODES | DATA | OF_REFUSALS


def _called(node: ast.AST) -> str:
    """Return the last name of what is called, empty for all else."""
    return ast.unparse(node.func).rpartition(".")[2] if isinstance(node, ast.Call) else ""


def _sentences(tree: ast.AST) -> Iterator[str]:
    """Yield strings with a blank and a word that are no docstring, help or refusal."""
    if isinstance(tree, ast.Expr) and isinstance(tree.value, ast.Constant):
        return
    if _called(tree) in COMMAND_LINE or isinstance(tree, ast.Raise):
        return
    if isinstance(tree, ast.Constant) and isinstance(tree.value, str):
        if " " in tree.value and re.search("[a-z]{2}", tree.value):
            yield tree.value
        return
    for child in ast.iter_child_nodes(tree):
        yield from _sentences(child)


def _printing_modules() -> list[Path]:
    """Return the modules of app that print: commands and views."""
    return [path for path in sorted(APP.rglob("*.py")) if {"commands", "views"} & {*path.parts, path.stem}]


@pytest.mark.parametrize(
    "text",
    [
        'say(f"Late since {day}.")',
        'text = "Nothing is due."\nsay(text)',
        'heading("Open now")',
        'columns([(name, f"since {day}")])',
    ],
)
def test_a_sentence_is_found(text: str) -> None:
    assert list(_sentences(ast.parse(text)))


@pytest.mark.parametrize("text", ['"""A docstring."""', 'raise Refusal(f"no {x} here")', 'say(PLAN["open"])'])
def test_help_and_refusals_are_no_sentences(text: str) -> None:
    assert list(_sentences(ast.parse(text))) == []


def test_commands_and_views_hold_no_sentence() -> None:
    modules = _printing_modules()
    assert len(modules) > 20
    found = {
        f"{path.relative_to(APP)}: {text}"
        for path in modules
        for text in _sentences(ast.parse(path.read_text(encoding="utf-8")))
        if text not in ALLOWED
    }
    assert found == set()


def test_what_is_allowed_is_there() -> None:
    found = {
        text
        for path in _printing_modules()
        for text in _sentences(ast.parse(path.read_text(encoding="utf-8")))
    }
    assert found >= ALLOWED


def test_nothing_of_app_prints_a_sentence_of_its_own() -> None:
    found = {
        f"{path.relative_to(APP)}: {text}"
        for path in sorted(APP.rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if _called(node) in PRINTED
        for argument in ast.iter_child_nodes(node)
        for text in _sentences(argument)
    }
    colour = "shell/output.py: bold red"
    assert found - {colour, "weather/fetch_with_progress.py: Past days"} == set()


# Catalogues


class Use(NamedTuple):
    """A phrase that is filled in: its catalogue, the keys it may have, none where that is worked out, and the names given."""

    where: str
    catalogue: str
    keys: frozenset[str]
    names: frozenset[str]


@cache
def catalogues() -> dict[str, dict[str, dict[str, str]]]:
    """Return the phrases of each module of wording: by the name of the catalogue and its keys."""
    found: dict[str, dict[str, dict[str, str]]] = {}
    for path in sorted(WORDING.rglob("*_text.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.AnnAssign) and ast.unparse(node.annotation) == "dict[str, str]":
                assert node.value is not None
                found.setdefault(path.stem, {})[ast.unparse(node.target)] = ast.literal_eval(node.value)
    return found


def _imports(tree: ast.Module, stem: str) -> dict[str, str]:
    """Return the modules of wording that the catalogues named in a module come from."""
    known = dict.fromkeys(catalogues().get(stem, {}), stem)
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("calendar_core.wording."):
            known |= {alias.asname or alias.name: str(node.module).rpartition(".")[2] for alias in node.names}
    return known


def _keys(node: ast.expr) -> frozenset[str]:
    """Return the keys a subscript may have: a constant or either of two, none where that is worked out."""
    if isinstance(node, ast.Constant):
        return frozenset([str(node.value)])
    if isinstance(node, ast.IfExp):
        sides = [_keys(node.body), _keys(node.orelse)]
        return frozenset().union(*sides) if all(sides) else frozenset()
    return frozenset()


def _uses() -> Iterator[Use]:
    """Yield each phrase of a catalogue that is taken, with the names it is filled with where that is on the spot."""
    for path in (
        *sorted(APP.rglob("*.py")),
        *sorted(PAGES.rglob("*.py")),
        *sorted(WORDING.rglob("*_text.py")),
    ):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        known = _imports(tree, path.stem if WORDING in path.parents else "")
        for node in ast.walk(tree):
            if _called(node) in ("say", "words") and isinstance(node, ast.Call) and node.args:
                phrase = node.args[0]
                if isinstance(phrase, ast.Subscript) and ast.unparse(phrase.value) in known:
                    name = ast.unparse(phrase.value)
                    names = frozenset(str(word.arg) for word in node.keywords)
                    yield Use(
                        f"{path.name}:{node.lineno}", f"{known[name]}.{name}", _keys(phrase.slice), names
                    )


def _braces(phrase: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(phrase) if name}


def test_what_a_phrase_leaves_open_is_filled_in() -> None:
    uses = [use for use in _uses() if use.keys]
    assert len(uses) > 150
    for use in uses:
        module, _, name = use.catalogue.partition(".")
        phrases = catalogues()[module][name]
        wanted = [_braces(phrases[key]) for key in use.keys]
        assert set().union(*wanted) == use.names, use


def _taken(tree: ast.Module, known: dict[str, str]) -> Iterator[tuple[str, frozenset[str]]]:
    """Yield each use of a catalogue by its keys; by none where a key is worked out or all are gone through."""
    by_key = {id(node.value): _keys(node.slice) for node in ast.walk(tree) if isinstance(node, ast.Subscript)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load) and node.id in known:
            yield f"{known[node.id]}.{node.id}", by_key.get(id(node), frozenset())


def test_no_phrase_is_left_over() -> None:
    taken: dict[str, list[frozenset[str]]] = {}
    for path in (p for root in (APP, PAGES, WORDING, ALERTS) for p in sorted(root.rglob("*.py"))):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for name, keys in _taken(tree, _imports(tree, path.stem if WORDING in path.parents else "")):
            taken.setdefault(name, []).append(keys)
    by_key = {name: frozenset().union(*uses) for name, uses in taken.items() if all(uses)}
    assert len(by_key) > 20
    left = {
        f"{name}: {key}"
        for module, found in catalogues().items()
        if module != "warning_text"  # named as a whole, by alerts
        for catalogue, phrases in found.items()
        for name in [f"{module}.{catalogue}"]
        for key in phrases
        if name not in taken or (name in by_key and key not in by_key[name])
    }
    assert left == set()
