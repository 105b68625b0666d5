"""An invented garden in Nagano with two years of reviews: wounds that close, a graft, a tree that dies, stages seen."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid5

from tests.app.stored_bench import keep
from tests.planning.made_up import ROOT, Bench, bench_on_normals

if TYPE_CHECKING:
    from pathlib import Path

    from calendar_core.garden.model import EntryKind, Units

NAME = "two years"
TODAY = date(2015, 12, 1)
MAPLES = tuple(f"Maple {n}" for n in range(1, 5))
WEAK, FIG, LOST = "Pine 2", "Fig", "Larch"
ROUNDS = {2014: (date(2014, 9, 14), date(2014, 11, 23)), 2015: (date(2015, 9, 13), date(2015, 11, 22))}
"""Days of the late summer and the leaf-fall round of each year."""
BUD_BREAK = {2014: date(2014, 4, 18), 2015: date(2015, 4, 10)}
WIDTHS = {"low cut": (20.0, 18.0, 17.0, 15.0), "high cut": (8.0, 4.0, 2.0, 0.0)}
"""[mm] on the four days of the rounds."""
HEIGHTS_MM = {"low cut": 50.0, "high cut": 380.0}


def lived(units: Units = "metric") -> Bench:
    """Return the garden."""
    bench = bench_on_normals("Nagano", units=units)
    for n, label in enumerate(MAPLES):
        bench.tree(label, "acer-palmatum", vigour=4, aim="ramification", size="medium", pot_litres=2.0 + n)
    bench.tree("Pine 1", "pinus-thunbergii", vigour=5, aim="refinement", size="large")
    bench.tree(WEAK, "pinus-thunbergii", vigour=3, aim="structure")
    bench.tree(FIG, "ficus-microcarpa", vigour=4, aim="structure", pot_litres=3.0)
    bench.tree(LOST, "larix-kaempferi", vigour=3)
    for year, label in ((2011, "Maple 1"), (2012, "Maple 2"), (2010, "Pine 1"), (2013, "Fig")):
        bench.did(date(year, 3, 25), "repot", label)
    bench.did(date(2015, 3, 25), "repot", LOST)
    bench.did(date(2015, 5, 2), "wire", LOST)
    bench.write(date(2015, 7, 20), "gone", LOST, why="died", note="soaked for a week")
    bench.write(date(2015, 6, 1), "state", WEAK, vigour=2)
    bench.write(date(2015, 6, 1), "state", "Maple 2", vigour=5)
    for day in BUD_BREAK.values():
        bench.write(day, "seen", *MAPLES[:3], stage="bud_break")
    _parts(bench)
    for year, (summer, autumn) in ROUNDS.items():
        for name, day, cycle in (("late summer", summer, year), ("after leaf fall", autumn, year + 1)):
            for label in (*MAPLES, "Pine 1"):
                slow = label == "Maple 1" and year == 2015
                answers = {"drainage": 95.0 if slow else 25.0, "pot": "bad" if label == "Pine 1" else "good"}
                data: dict[str, Any] = {
                    "round": name, "cycle": cycle, "depth": "full", "answers": answers,
                }  # fmt: skip
                bench.write(day, "review", label, **data, **({"minutes": 9.0} if label != "Maple 4" else {}))
    return bench


def _parts(bench: Bench) -> None:
    """Write down two wounds of a maple with their widths, a graft that is severed, and a branch to be wired."""
    days = [day for round_ in ROUNDS.values() for day in round_]
    _of_part(bench, "Maple 1", date(2014, 1, 1), "measure", values={"height": 400.0})
    for name, widths in WIDTHS.items():
        _of_part(
            bench,
            "Maple 1",
            date(2014, 5, 1),
            "part",
            name,
            kind="wound",
            name=name,
            height_mm=HEIGHTS_MM[name],
        )
        for day, width in zip(days, widths, strict=True):
            _of_part(bench, "Maple 1", day, "measure", name, values={"width": width})
    _of_part(bench, "Maple 2", date(2013, 3, 1), "part", "graft", kind="graft", name="graft")
    for day in days[:3]:
        _of_part(bench, "Maple 2", day, "measure", "graft", values={"entry": 5.0, "exit": 7.0})
    _of_part(bench, "Maple 2", date(2015, 10, 1), "work", "graft", operation="sever graft")
    _of_part(bench, "Maple 3", date(2014, 5, 1), "part", "first left", kind="branch", name="first left")
    _of_part(bench, "Maple 3", days[3], "measure", "first left", values={"diameter": 9.0, "length": 250.0})
    _of_part(bench, "Maple 3", days[3] + timedelta(days=1), "part", "first left", decided="structural prune")


def _of_part(
    bench: Bench, label: str, on: date, of: EntryKind, part: str | None = None, /, **data: Any
) -> None:
    ids: tuple[UUID, ...] = () if part is None else (uuid5(ROOT, part),)
    made = bench.write(on, of, label)
    bench.entries[-1] = replace(made, part_ids=ids, data=data)


def stored(database: Path, units: Units = "metric") -> Path:
    """Store the garden in a database."""
    keep(lived(units), database, NAME)
    return database
