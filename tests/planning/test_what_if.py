"""The chance that new leaves are hard before a frost takes them."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from calendar_core.garden.state import states
from calendar_core.planning.planner import axis_of
from calendar_core.planning.seasons.species_stages import Grove
from calendar_core.planning.what_if import consequences
from tests.planning.made_up import bench_on_normals, knowledge

FROST_C = 0.0  # a frost is a screen minimum of 0 degC or less (config/hazards.toml, first frost)


@pytest.mark.parametrize("on", [date(2015, 3, 20), date(2015, 7, 1), date(2015, 9, 20), date(2015, 11, 25)])
def test_a_frost_counts_whenever_it_comes_before_the_leaves_are_hard(on: date) -> None:
    """Counted in the possible years one by one, also those whose first frost comes after New Year, or in spring."""
    bench = bench_on_normals("Seattle")
    tree = bench.tree("it", "acer-palmatum", aim="ramification", vigour=5)
    grove = Grove(bench.garden, bench.spots, bench.trees, states([tree.id], bench.entries, on))
    sky = bench.sky_on(on, axis_of(bench.garden, on))
    found = consequences(grove, grove, sky, knowledge(), on, "full defoliation")
    assert found.hard_by is not None
    first, last = ((day - sky.traces.start).days for day in (on, found.hard_by))
    spared = [float(row[first : last + 1].min()) > FROST_C for row in sky.traces.t_min_c]
    assert found.chance == pytest.approx(np.mean(spared))
