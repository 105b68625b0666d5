"""The profiles against what was observed or published outside the project."""

from __future__ import annotations

from datetime import date, timedelta
from statistics import mean
from typing import TYPE_CHECKING, get_args

import numpy as np
import pytest

from calendar_core.app.shell.session import knowledge
from calendar_core.knowledge.forms.species.stages import LEAST_SPREAD
from calendar_core.knowledge.words import Aim
from calendar_core.science.year.daylight import day_length_h
from calendar_core.science.year.stages import chill, crossing, forcing, softened_heat
from tests.oracles.tables import rows

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from calendar_core.knowledge.forms.species.profile import Profile
    from calendar_core.knowledge.forms.species.stages import Stage
    from calendar_core.knowledge.forms.species.work import Work

KNOWLEDGE = knowledge()
MAPLE, PINE = KNOWLEDGE.profiles["acer-palmatum"], KNOWLEDGE.profiles["pinus-thunbergii"]
AZALEA, FIG = KNOWLEDGE.profiles["rhododendron-indicum"], KNOWLEDGE.profiles["ficus-microcarpa"]

# Monthly normals of daily maximum and minimum, January first [degC].
# Lisle, Illinois: GHCN station USC00115097 at the Morton Arboretum, 2008-2022.
LISLE = (
    (-0.7, 1.1, 8.8, 14.8, 21.6, 27.4, 29.1, 28.1, 24.8, 17.1, 9.3, 2.8),
    (-10.1, -9.3, -2.8, 2.3, 9.0, 14.6, 16.8, 15.6, 11.9, 4.9, -1.3, -6.1),
)
# Utsunomiya: Japan Meteorological Agency, daily data 1991-2020, processed.
UTSUNOMIYA = (
    (8.6, 9.7, 13.3, 18.8, 23.3, 25.9, 29.5, 30.9, 27.0, 21.4, 15.9, 10.8),
    (-2.2, -1.3, 2.1, 7.4, 13.0, 17.4, 21.4, 22.5, 18.8, 12.6, 5.7, 0.2),
)
FIRST_DAY = -60  # 1 November, counted from 1 January = 1
SOLSTICE = -10
Normals = tuple[tuple[float, ...], tuple[float, ...]]


def mean_year(normals: Normals) -> NDArray[np.float64]:
    """Daily means (365,) as two harmonics through the months."""
    months = (np.array(normals[0]) + np.array(normals[1])) / 2

    def waves(day: NDArray[np.float64]) -> NDArray[np.float64]:
        angle = 2 * np.pi * day / 365
        return np.column_stack([np.ones_like(day)] + [f(k * angle) for k in (1, 2) for f in (np.cos, np.sin)])

    middle = np.array([16, 45.5, 75, 105.5, 136, 166.5, 197, 228, 258.5, 289, 319.5, 350])
    fit, *_ = np.linalg.lstsq(waves(middle), months, rcond=None)
    return np.asarray(waves(np.arange(1.0, 366.0)) @ fit)


def mean_event(normals: Normals, latitude: float, stage: Stage, *, years: int = 600) -> float:
    """Mean day of the year of a need over made-up years: AR(1) around the normals, sd 5 degC, 0.7, seed 1.

    Made-up years and not the mean one, since heat sums above a base are convex.
    """
    assert stage.need is not None
    days, draw = np.arange(FIRST_DAY, 240), np.random.default_rng(1)
    noise = draw.normal(0.0, 5.0 * np.sqrt(1 - 0.7**2), (years, days.size))
    noise[:, 0] /= np.sqrt(1 - 0.7**2)
    for i in range(1, days.size):
        noise[:, i] += 0.7 * noise[:, i - 1]
    t_mean_c = mean_year(normals)[(days - 1) % 365] + noise
    daily = np.where(days >= SOLSTICE, forcing(t_mean_c, day_length_h(latitude, days)), 0.0)
    heat = softened_heat(np.cumsum(daily, axis=1), np.cumsum(chill(t_mean_c), axis=1))
    return float(crossing(heat, np.full((years, 1), np.exp(stage.need.ln_heat))).mean()) + FIRST_DAY


def work_of(name: str) -> Work:
    return next(work for work in PINE.work if work.key == name)


def test_calibration_maple_leaves_at_lisle() -> None:
    """Calibration, not a check: the need was fitted to this date, and 8 trees in 3 springs are behind it.

    Source: Morton Arboretum, weekly records 2023-2025, mean of A. palmatum leaves present 109 to 111.
    """
    assert mean_event(LISLE, 41.81, MAPLE.stages["leaves_present"]) == pytest.approx(110.0, abs=0.5)


def test_calibration_azalea_bloom_at_utsunomiya() -> None:
    """Calibration, not a check: ten days before the show at Kanuma (end of May) the first flowers open."""
    assert mean_event(UTSUNOMIYA, 36.55, AZALEA.stages["flowering"]) == pytest.approx(138.0, abs=1.0)


def test_calibration_leaf_fall_after_colour() -> None:
    """Calibration: pairs of Japanese normals, maple red and 80 % fallen (Japan Meteorological Agency).

    Sapporo, Hikone, Tottori 1991-2020; Tokyo, Tottori, Tsu 1981-2010.
    """
    pairs = [
        (date(2001, 10, 28), date(2001, 11, 5)),
        (date(2001, 11, 28), date(2001, 12, 11)),
        (date(2001, 11, 30), date(2001, 12, 11)),
        (date(2001, 11, 27), date(2001, 12, 11)),
        (date(2001, 11, 26), date(2001, 12, 8)),
        (date(2001, 11, 26), date(2001, 12, 15)),
    ]
    fall = MAPLE.stages["leaf_fall"].after
    assert fall is not None
    assert fall.days == pytest.approx(mean((down - red).days for red, down in pairs), abs=0.5)


def test_full_leaf_size_lies_in_the_range_of_the_harvard_maples() -> None:
    """Source: Harvard Forest HF003, three maples, 1990-2014."""
    seen = [
        float(row["days_to_full_size"])
        for row in rows("harvard-forest-leaves.csv")
        if row["species"].startswith("Acer")
    ]
    full = MAPLE.stages["leaves_full_size"].after
    assert full is not None
    assert len(seen) == 3
    assert min(seen) <= full.days <= max(seen)


@pytest.mark.parametrize(
    ("place", "first_frost", "published"),
    [
        # Median first day of frost in the screen: GHCN, Lisle 2008-2022 and Clemson 1991-2020.
        ("Lisle, Illinois", date(2001, 10, 11), (date(2001, 6, 15), date(2001, 6, 30))),
        ("Clemson, South Carolina", date(2001, 11, 4), (date(2001, 7, 1), date(2001, 7, 14))),
    ],
)
def test_decandling_holds_the_published_dates(
    place: str, first_frost: date, published: tuple[date, date]
) -> None:
    """Source: Boon Manakitivipart, June 2010: late June in the Mid-West, early July in the South.

    Both places have summers above 22 degC, so that the shift for cool summers is nil.
    """
    work = work_of("decandling")
    opens, closes = work.opens.before_first_frost, work.closes[0].before_first_frost
    assert opens is not None
    assert closes is not None
    assert first_frost - timedelta(opens.days) <= published[0]
    assert published[1] <= first_frost - timedelta(closes.days)


def test_calibration_decandling_without_frost() -> None:
    """Calibration: near Los Angeles, growth stop stands in for frost (same source, 8 to 21 June)."""
    opens, stop = work_of("decandling").opens.before_first_frost, PINE.stages["growth_stop"].day_length
    assert opens is not None
    assert stop is not None
    days = np.arange(173, 366)
    stops = int(days[(day_length_h(34.05, days) <= stop.below_h).argmax()])
    assert date(2001, 1, 1) + timedelta(stops - 1 - opens.days) <= date(2001, 6, 8)


def test_candles_rest_by_the_end_of_june_in_central_japan() -> None:
    """Source: a coastal-forest specialist, April 2017: its candles extend to about the end of June."""
    opened, firm = PINE.stages["needles_open"].after, PINE.stages["candles_firm"].after
    assert opened is not None
    assert firm is not None
    rests = mean_event(UTSUNOMIYA, 36.55, PINE.stages["needles_emerging"]) + opened.days + firm.days
    assert rests == pytest.approx(181, abs=10)  # day 181 is 30 June


@pytest.mark.parametrize(
    ("profile", "kill_c", "source"),
    [
        (MAPLE, -10.0, "Havis 1976, A. palmatum, mature roots, as quoted"),
        (
            AZALEA,
            -7.2,
            "Cornell 1977 in J. American Rhododendron Society 37(4), young roots of 'Hino Crimson'",
        ),
    ],
)
def test_roots_are_protected_above_the_published_killing_temperature(
    profile: Profile, kill_c: float, source: str
) -> None:
    assert profile.tolerance.roots_protect_below_c.value > kill_c


def test_spread_is_at_least_that_of_what_the_need_is_known_from() -> None:
    """A need read from a genus or from woody plants at large is known less well than one of the species.

    The least spreads come from leave-one-out trials on Harvard Forest HF003 and PhenoCam.
    """
    needs = [
        (key, stage.need)
        for key, profile in KNOWLEDGE.profiles.items()
        for stage in profile.stages.values()
        if stage.need
    ]
    assert {need.of for _, need in needs} == set(LEAST_SPREAD)
    for key, need in needs:
        assert need.spread >= LEAST_SPREAD[need.of], (key, need)


def test_full_defoliation_is_rarer_and_earlier_than_partial() -> None:
    """Rule of the trade: full on strong trees, not yearly, not in the season of a repot."""
    by_key = {work.key: work for work in MAPLE.work}
    full, part = by_key["full defoliation"], by_key["partial defoliation"]
    assert full.requires.vigour_min >= part.requires.vigour_min >= 4
    assert full.rest_years >= 1
    assert any(hold.after == "repot" and hold.same_cycle for hold in full.holds)
    ends = [work.closes[0].last_safe_day for work in (full, part)]
    assert [end and end.weeks_before_first_frost for end in ends] == [12, 10]


def test_every_profile_moves_its_trees_and_fertilizes_them() -> None:
    wanted = {"repot", "wire"}
    unwired = {"crassula-ovata"}  # its soft shoots are shaped with scissors alone (common practice)
    for key, profile in KNOWLEDGE.profiles.items():
        due = wanted - {"wire"} if key in unwired else wanted
        assert wanted & {work.operation for work in profile.work} == due, key
        assert profile.shelter, key
        assert profile.shade, key
        assert all(one.rests == (profile.habit != "tropical") for one in profile.shelter), key
        assert all(one.wakes is not None for one in profile.shelter if one.rests), key
        fed = {aim for work in profile.work if work.operation.startswith("feeding") for aim in work.programme}
        assert fed == set(get_args(Aim)), key


def test_figs_are_cut_in_warm_nights_only() -> None:
    """Figs are cut and defoliated in nights above 18 degC only (the Bonsai Society of Australia)."""
    warm = FIG.stages["warm_nights"].nights
    assert warm is not None
    assert warm.at_c == 18
    cut = [
        work
        for work in FIG.work
        if work.operation in ("structural prune", "partial defoliation", "full defoliation")
    ]
    assert len(cut) == 3
    assert {work.opens.stage for work in cut} == {"warm_nights"}


def test_repotting_that_hangs_on_bud_swell_is_open_as_it_is_seen() -> None:
    """Source: Boon Manakitivipart, February 2011: repot as the buds swell, before the leaves open."""
    for species, profile in KNOWLEDGE.profiles.items():
        for work in profile.work:
            if work.operation == "repot" and work.opens.stage == "bud_swell":
                assert work.opens.days <= 0, species
