"""The root ball of a pot: how warm its wall and its middle get, how it freezes, and what heat kills its roots."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Numbers = float | Floats

FILM_W_M2_K = 8.0  # from memory: still air by a wall, 5 of it heat radiation and 3 the air's own rise
_FILM_PER_MS = 3.8  # from memory, McAdams 1954: what each m/s of wind adds to a wall's film

# Estimates: three shells are enough, thin ones outside where the frost comes in; and what lies between the mid-height of
# a ball and its top or bottom, as a share of half its height, lets finite cylinders follow a step as they do in truth.
EDGES = np.array([0.0, 0.35, 0.75, 1.0])  # shares of the radius
_TO_FACE = 0.6
_LEAST_STEPS = 3  # [1/h] estimate: what large pots need to be right; small ones need more to be stable

_HALVINGS = 10  # of an hour, where nothing freezes: 1024 steps are as good as the exact course

_FUSION_J_M3 = 334e6  # of ice, CRC Handbook
_HEAT_OF_WATER_J_M3_K = 4.19e6
_HEAT_OF_ICE_J_M3_K = 1.93e6  # as much water, frozen: 2.1 kJ/(kg K), from memory
_SOLIDS = 0.33  # estimate: litres of grains in a litre of substrate; the rest is pores
# From memory, Campbell & Norman 1998 table 8.2: 2.0 mineral grains, 2.5 organic ones.
_HEAT_OF_SOLIDS_J_M3_K = 2.0e6
_CONDUCTS_W_M_K = 0.4  # estimate: moist and airy, between 0.2 dry and 0.6 of water
_CONDUCTS_FROZEN_W_M_K = 0.9  # estimate: ice conducts four times as well as water

# Ilex crenata 'Helleri': critical 51.0 degC for 30 min, 43.9 degC for 300 min.
_CRITICAL_30_MIN_C = 51.0
_CRITICAL_PER_TENFOLD_C = 7.1
# Injury by hours begins at 40 degC (Handreck & Black 1984, as quoted); the line was seen above 43 only, and carried on
# downwards it would kill by any warm fortnight.
HARM_FROM_C = 40.0


@dataclass(frozen=True, slots=True, eq=False)
class Soil:
    """What a root ball is made of, thawed and frozen; arrays (n_pots,) or numbers for all.

    Conductivity [W m-1 K-1], heat [J m-3 K-1], heat of fusion [J m-3].
    """

    conducts: Numbers
    conducts_frozen: Numbers
    heat: Numbers
    heat_frozen: Numbers
    fusion: Numbers


class Ball(NamedTuple):
    """Root balls at the end of each hour: wall and middle [degC], (n_pots, n_members, n_hours).

    ``heat`` is what each shell holds at the very end [J m-3], (n_pots, n_shells, n_members), 0 where it is all water
    at 0 degC: a later run can go on from it.
    """

    wall: Floats
    middle: Floats
    heat: Floats


def wet_soil(water_share: Numbers) -> Soil:
    """Return a substrate that holds so many litres of water in a litre, 0 to 0.6.

    Source: heats of the parts; see the constants of this module.
    """
    solids = _SOLIDS * _HEAT_OF_SOLIDS_J_M3_K
    return Soil(
        _CONDUCTS_W_M_K,
        _CONDUCTS_FROZEN_W_M_K,
        solids + water_share * _HEAT_OF_WATER_J_M3_K,
        solids + water_share * _HEAT_OF_ICE_J_M3_K,
        water_share * _FUSION_J_M3,
    )


def radius_m(litres: Numbers, depth_share: Numbers) -> Floats:
    """Return the radius of a round pot [m] from its litres and its depth, a share of its width; the shapes broadcast.

    Source: volume of a cylinder.

    Examples
    --------
    >>> radius_m(np.array([0.2, 3.0]), np.array([1.0, 0.3])).round(3)
    array([0.032, 0.117])
    """
    return np.asarray(np.cbrt(np.asarray(litres) / 1000.0 / (2.0 * np.pi * np.asarray(depth_share))))


def around_c(t_air_c: Numbers, sunlight_w_m2: Numbers, sun_gain_c: Numbers) -> Floats:
    """Return the air [degC] that would warm a pot as air and sun do together; the shapes broadcast.

    ``sun_gain_c`` is how much 1000 W/m2 count: about 12 for white and glazed light pots, 18 for brown and unglazed
    ones, 25 for black plastic.

    Source: estimate, to be calibrated by whoever measures.
    """
    return np.asarray(t_air_c + sun_gain_c * sunlight_w_m2 / 1000.0)


def night_chill_c(loss_w_m2: Numbers, wind_ms: Numbers) -> Floats:
    """Return how much colder than the air a wall would get that loses so much heat to the sky [degC].

    Source: heat balance of a wall; its film in still air and wind as in the constants of this module.
    """
    return np.asarray(loss_w_m2 / (FILM_W_M2_K + _FILM_PER_MS * wind_ms))


def heat_at(t_c: Numbers, soil: Soil) -> Floats:
    """Return the heat of shells [J m-3], (n_pots, n_shells or 1, n_members or 1); at or below 0 degC they are frozen.

    ``t_c`` is a number, or (n_pots or 1, n_shells or 1, n_members or 1) [degC]. Source: definition of enthalpy, heat
    of fusion included; that of soil and water as in `wet_soil`.
    """
    frozen = t_c * _each(soil.heat_frozen) - _each(soil.fusion)
    return np.where(np.asarray(t_c) > 0.0, t_c * _each(soil.heat), frozen)


def root_ball(
    around: Floats,
    radius: Floats,
    height: Floats,
    soil: Soil,
    heat: Floats,
    *,
    edges: Floats = EDGES,
    film_w_m2_k: float = FILM_W_M2_K,
    steps: int | None = None,
) -> Ball:
    """Return the wall and the middle of root balls, as heat moves between the shells they are cut into.

    A shell rests at 0 degC while its water freezes or thaws. Neither order nor energy is lost: colder air never makes
    any shell warmer, and what leaves one shell is in the next. A pot's course does not depend on the others.

    Parameters
    ----------
    around : (n_pots or 1, n_members, n_hours) [degC]
        As `around_c`, mean of each hour.
    radius, height : (n_pots,) [m]
        A height of ``inf`` is a cylinder that loses nothing through its top and bottom.
    soil : as `wet_soil`
    heat : (n_pots or 1, n_shells or 1, n_members or 1) [J m-3]
        What each shell holds at the start, as `heat_at` or the end of an earlier run.
    edges : (n_shells + 1,)
        Where the shells end, as shares of the radius; nothing passes the first.
    film_w_m2_k
        Of the air on all faces.
    steps : steps in an hour; by default as many as it takes to be stable, and where nothing freezes the exact course

    Source
    ------
    Conduction of heat by finite volumes; freezing as heat content (enthalpy method), conductivities by Kirchhoff's
    transform. Top and bottom are joined to every shell, which is an estimate held against conduction in cylinders.
    """
    n_pots, (n_members, n_hours) = len(radius), around.shape[1:]
    air = np.broadcast_to(around, (n_pots, n_members, n_hours))
    held = np.array(np.broadcast_to(heat, (n_pots, len(edges) - 1, n_members)))
    wall, middle = np.empty((2, n_pots, n_members, n_hours))
    ball = Ball(wall, middle, held)
    pots = _Pots(radius, height, soil, edges, film_w_m2_k)
    freezes = (air < 0.0).any(axis=(1, 2)) | (held <= 0.0).any(axis=(1, 2))
    each = pots.steps() if steps is None else np.full(n_pots, steps)
    kinds = np.where(freezes | (steps is not None), each, 0)  # 0: all in one
    for kind in np.unique(kinds):
        alike = np.flatnonzero(kinds == kind)
        of = _Pots(radius[alike], height[alike], _part(soil, alike), edges, film_w_m2_k)
        run = of.stepped(air[alike], held[alike], int(kind)) if kind else of.thawed(air[alike], held[alike])
        for whole, part in zip(ball, run, strict=True):
            whole[alike] = part
    return ball


def _part(soil: Soil, pots: NDArray[np.intp]) -> Soil:
    """Return the soil of some pots."""
    parts = (soil.conducts, soil.conducts_frozen, soil.heat, soil.heat_frozen, soil.fusion)
    return Soil(*(of if np.size(of) == 1 else np.asarray(of)[pots] for of in parts))


def _each(of: Numbers) -> Floats:
    """Return a pot's value beside its shells and members, (n_pots or 1, 1, 1)."""
    return np.reshape(np.asarray(of, dtype=np.float64), (-1, 1, 1))


def _by_hour(air: Floats) -> Floats:
    """Return air as (n_hours, n_pots, 1, n_members): an hour's values side by side are read faster."""
    return np.ascontiguousarray(np.moveaxis(air, -1, 0))[:, :, None]


class _Pots:
    """Root balls cut into shells: what passes between these, and between them and the air."""

    def __init__(self, radius: Floats, height: Floats, soil: Soil, edges: Floats, film: float) -> None:
        self.soil = soil
        rim = radius[:, None] * edges
        middle = (rim[:, 1:] + rim[:, :-1]) / 2.0
        self.between = (
            2.0 * rim[:, 1:-1] / np.diff(middle)
        )  # each by 1 W m-1 K-1, as all that follow: of pi times a metre
        self.volume = np.diff(rim**2)
        self.film = film
        self.skin = rim[:, -1] - middle[:, -1]
        self.wall = 2.0 * rim[:, -1]
        self.half = _TO_FACE * np.where(np.isinf(height), 0.0, height) / 2.0
        self.faces = 2.0 / height

    def _kinds(self) -> tuple[tuple[Numbers, Numbers], tuple[Numbers, Numbers]]:
        """Return conductivity and heat, thawed and frozen."""
        return (self.soil.conducts, self.soil.heat), (self.soil.conducts_frozen, self.soil.heat_frozen)

    def _outward(self, conducts: Numbers) -> Floats:
        """Return what passes from each shell into the air for each degree and volume [W m-3 K-1], (n_pots, n_shells)."""
        faces = self.faces * self.film / (1.0 + self.film * self.half / conducts)
        out = np.repeat(faces[:, None], self.volume.shape[1], axis=1)
        out[:, -1] += self.wall * self._past_skin(conducts) * self.film / self.volume[:, -1]
        return out

    def _past_skin(self, conducts: Numbers) -> Floats:
        """Return the part of a difference between shell and air that lies between wall and air, (n_pots,)."""
        return np.asarray(1.0 / (1.0 + self.film * self.skin / conducts))

    def _losses(self, conducts: Numbers) -> Floats:
        """Return what a degree in one shell takes from each [W m-3 K-1], (n_pots, to, from)."""
        inner = np.arange(self.volume.shape[1] - 1)
        passing = np.broadcast_to(np.asarray(conducts), self.skin.shape)[:, None] * self.between
        out = np.zeros((*self.volume.shape, self.volume.shape[1]))
        out[:, inner, inner + 1] = passing
        out[:, inner + 1, inner] = passing
        own = np.arange(self.volume.shape[1])
        out[:, own, own] = -out.sum(axis=1)
        out /= self.volume[:, :, None]
        out[:, own, own] -= self._outward(conducts)
        return out

    def steps(self) -> NDArray[np.int_]:
        """Return the steps in an hour that keep colder air from ever making a shell warmer, (n_pots,): few numbers.

        Source: exact mathematics; no step may move more heat than a shell holds above its neighbours.
        """
        rates = [(-self._losses(conducts) / _each(heat)).max(axis=(1, 2)) for conducts, heat in self._kinds()]
        threes = np.ceil(3600.0 * np.maximum(*rates) / _LEAST_STEPS).astype(np.int_)
        return np.asarray(_LEAST_STEPS * threes)

    def _rates(self, steps: int) -> tuple[Floats, tuple[Floats, Floats, Floats]]:
        """Return what a step moves: by the heat of thawed and of frozen shells; by air above and below 0 degC.

        The heat of frozen shells is counted with that of fusion; what this adds is the third part of what is given.
        """
        seconds = 3600.0 / steps
        by_heat = [self._losses(conducts) / _each(heat) * seconds for conducts, heat in self._kinds()]
        above, below = (self._outward(conducts)[..., None] * seconds for conducts, _ in self._kinds())
        ice = by_heat[1].sum(axis=2, keepdims=True) * _each(self.soil.fusion)
        return np.concatenate(by_heat, axis=2), (above, below, ice)

    def stepped(self, air: Floats, held: Floats, steps: int) -> Ball:
        """Return balls in which water may freeze; that is not linear, and has no closed form over the hours.

        Source: conduction with change of phase by enthalpy (the Stefan problem), in explicit steps of time.
        """
        n_shells, all_ice = held.shape[1], -_each(self.soil.fusion) * np.ones_like(held)
        mix, (by_above, by_below, by_ice) = self._rates(steps)
        parts = np.empty((len(held), 2 * n_shells, held.shape[2]))
        thawed, frozen, moved = parts[:, :n_shells], parts[:, n_shells:], np.empty_like(held)
        hours = _by_hour(air)
        kept = np.empty((len(hours), 2, len(held), held.shape[2]))
        given = by_above * np.maximum(hours, 0.0) + by_below * np.minimum(hours, 0.0) + by_ice
        for hour, now in enumerate(given):
            for _ in range(steps):
                np.maximum(held, 0.0, out=thawed)
                np.minimum(held, all_ice, out=frozen)
                np.matmul(mix, parts, out=moved)
                moved += now
                held += moved
            kept[hour] = held[:, -1], held[:, 0]
        return self._shown(kept, hours[:, :, 0], held)

    def thawed(self, air: Floats, held: Floats) -> Ball:
        """Return balls in which nothing freezes: many small steps are made into one for each hour.

        Source: exact mathematics; steps of a linear system are joined by squaring their matrix.
        """
        mix, (by_air, _, _) = self._rates(2**_HALVINGS)
        whole = np.eye(held.shape[1]) + mix[..., : held.shape[1]]
        given = np.broadcast_to(np.eye(held.shape[1]), whole.shape)
        for _ in range(_HALVINGS):
            given, whole = given + whole @ given, whole @ whole
        by_air, hours = given @ by_air, _by_hour(air)
        kept = np.empty((len(hours), 2, len(held), held.shape[2]))
        for hour, outside in enumerate(hours):
            held = whole @ held + by_air * outside
            kept[hour] = held[:, -1], held[:, 0]
        return self._shown(kept, hours[:, :, 0], held)

    def _shown(self, held: Floats, outside: Floats, end: Floats) -> Ball:
        """Return balls by the heat of the outermost and the innermost shell, (n_hours, 2, n_pots, n_members)."""
        soil = self.soil
        heat, heat_frozen, fusion = (
            np.reshape(np.asarray(of, dtype=np.float64), (-1, 1))
            for of in (soil.heat, soil.heat_frozen, soil.fusion)
        )
        thawed, frozen = np.maximum(held, 0.0) / heat, np.minimum(held + fusion, 0.0) / heat_frozen
        above, below = (self._past_skin(conducts)[:, None] for conducts, _ in self._kinds())
        wall = outside - above * (np.maximum(outside, 0.0) - thawed[:, 0])
        wall -= below * (np.minimum(outside, 0.0) - frozen[:, 0])
        return Ball(np.moveaxis(wall, 0, -1), np.moveaxis(thawed[:, 1] + frozen[:, 1], 0, -1), end)


def root_heat_dose(
    t_c: Floats,
    critical_c: Numbers = _CRITICAL_30_MIN_C,
    per_tenfold_c: Numbers = _CRITICAL_PER_TENFOLD_C,
) -> Floats:
    """Return what part of a killing exposure each hour of heat makes up; where they come to 1, roots die.

    Parameters
    ----------
    t_c : (..., n_hours) [degC]
        Of the roots; hours below 40 degC do not count.
    critical_c : (...) [degC]
        Their critical temperature for 30 minutes.
    per_tenfold_c : (...) [degC]
        How much lower it is for ten times as long.

    Source
    ------
    Ingram and others (Ilex crenata 'Helleri', abstract): T(t) = 51.0 - 7.1 log10(t / 30 min). Adding up parts of
    exposures is an estimate (Miner's rule).

    Examples
    --------
    >>> round(float(root_heat_dose(np.full(5, 43.9)).sum()), 2)
    1.0
    """
    critical, step = (np.asarray(of, dtype=np.float64)[..., None] for of in (critical_c, per_tenfold_c))
    harms = t_c >= HARM_FROM_C
    part = np.power(
        10.0,
        (t_c - critical) / step,
        out=np.zeros(np.broadcast_shapes(t_c.shape, critical.shape)),
        where=harms,
    )
    return 2.0 * part  # an hour is twice 30 minutes
