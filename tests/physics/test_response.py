"""Responses of a strip of wall against ISO 13786's periodic matrices and a fine implicit march."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.sparse import coo_array, diags_array
from scipy.sparse.linalg import splu

from warmside.errors import InputError
from warmside.physics.assembly import Layer, Stack
from warmside.physics.conduction import ISO_FILMS, strip_response

# conductivity [W/(m K)], density [kg/m3], specific heat [J/(kg K)]: usual table values
GYPSUM, WOOD, FOAM = (0.16, 800.0, 1090.0), (0.12, 450.0, 1600.0), (0.024, 35.0, 1470.0)


def layer(role: str, thickness: float, values: tuple[float, float, float]) -> Layer:
    k, density, heat = values
    return Layer(
        name=role, material=role, role=role, thickness=thickness, conductivity=k,  # type: ignore[arg-type]
        permeability_dry=1e-12, permeability_wet=1e-12, density=density, specific_heat=heat,
        emissivity=0.9,
    )  # fmt: skip


def stacks() -> tuple[Stack, Stack]:
    inside, outside = layer("finish", 0.0127, GYPSUM), layer("sheathing", 0.019, WOOD)
    wood = Stack("stud", 1.0, (inside, layer("wood", 0.089, WOOD), outside))
    bay = Stack("bay", 9.0, (inside, layer("foam", 0.089, FOAM), outside))
    return wood, bay


def matrix(stack: Stack, period: float) -> np.ndarray:
    """Heat transfer matrix of a component between environments, ISO 13786:2017, 6.2 and 7.1."""

    def film(resistance: float) -> np.ndarray:
        return np.array([[1.0, -resistance], [0.0, 1.0]], complex)

    z = film(ISO_FILMS.outside)
    for one in reversed(stack.layers):
        k = one.conductivity or 0.0
        depth = np.sqrt(k * period / (np.pi * one.density * one.specific_heat))
        xi = one.thickness / depth
        wave = (1 + 1j) * xi
        z = z @ np.array([
            [np.cosh(wave), -depth / (k * (1 + 1j)) * np.sinh(wave)],
            [-(k * (1 + 1j) / depth) * np.sinh(wave), np.cosh(wave)],
        ])  # fmt: skip
    return z @ film(ISO_FILMS.inside)


@pytest.mark.parametrize("hours", [6.0, 24.0])
@pytest.mark.parametrize("which", [0, 1])
def test_periodic_response_against_iso_13786(hours: float, which: int):
    # published: dynamic thermal transmittance Y12 = -1 / Z12, its lag by its argument; with the
    # room held, the swing of its surface is that of the heat flow times the film. One stack on
    # both sides: nothing flows along the strip, and the standard's one dimension holds exactly
    stack = stacks()[which]
    found = strip_response(stack, replace(stack, kind="bay"), (0.038, 0.368))
    z = matrix(stack, hours * 3600.0)
    told = ISO_FILMS.inside * abs(1.0 / z[0, 1])  # K of surface for a K of outdoor air
    turn = 2.0 * np.pi / hours
    t = np.arange(-400.0, 1e-9, hours / 96.0)
    swing = []
    for phase in (0.0, np.pi / 2.0):
        air = np.cos(turn * t - phase)
        swing.append((1.0 - found.steady) * air[-1] + found.late("outside", t, air))
    amplitude = np.hypot(*swing)
    # cells 6 mm deep carry a wave of 6 h to 1 %
    np.testing.assert_allclose(amplitude, told, rtol=0.012)
    lag = np.arctan2(-swing[1], swing[0])
    np.testing.assert_allclose(
        np.angle(np.exp(1j * (lag + np.angle(-1.0 / z[0, 1])))), 0.0, rtol=0.0, atol=0.02
    )


def test_strip_with_stud_against_a_fine_implicit_march():
    # independent method: Crank and Nicolson's steps of a minute on a grid of 2 mm, no modes
    wood, bay = stacks()
    wide, between = 0.040, 0.200
    found = strip_response(wood, bay, (wide, between))
    dx = 0.002
    x = np.arange(dx / 2, (wide + between) / 2, dx)
    cut = [6, 40, 9]
    number = np.repeat(np.arange(3), cut)
    dy = np.array([wood.layers[q].thickness / cut[q] for q in number])
    n = dy.size
    k, heat = np.zeros((x.size, n)), np.zeros((x.size, n))
    for mask, stack in ((x < wide / 2, wood), (x > wide / 2, bay)):
        k[mask] = [stack.layers[q].conductivity for q in number]
        heat[mask] = [stack.layers[q].density * stack.layers[q].specific_heat for q in number]
    size = x.size * n
    rows, cols, vals = [], [], []
    at = np.arange(size).reshape(x.size, n)
    for a, b, g in (
        (at[:, :-1], at[:, 1:], 2 * dx / (dy[:-1] / k[:, :-1] + dy[1:] / k[:, 1:])),
        (at[:-1], at[1:], 2 * dy / dx / (1 / k[:-1] + 1 / k[1:])),
    ):
        rows += [a.ravel(), b.ravel(), a.ravel(), b.ravel()]
        cols += [a.ravel(), b.ravel(), b.ravel(), a.ravel()]
        vals += [g.ravel(), g.ravel(), -g.ravel(), -g.ravel()]
    films = [
        dx / (r + dy[q] / 2 / k[:, q]) for r, q in ((ISO_FILMS.inside, 0), (ISO_FILMS.outside, -1))
    ]
    for q, g in zip((0, -1), films, strict=True):
        rows.append(at[:, q])
        cols.append(at[:, q])
        vals.append(g)
    matrix = coo_array((np.concatenate(vals), (np.concatenate(rows), np.concatenate(cols)))).tocsc()
    step = 60.0
    store = (heat * dx * dy).ravel() / step
    half = splu((diags_array(store) + 0.5 * matrix).tocsc())
    share = dy[0] / 2 / k[:, 0] / (ISO_FILMS.inside + dy[0] / 2 / k[:, 0])
    for side in ("outside", "inside"):
        drive = np.zeros((x.size, n))
        drive[:, 0 if side == "inside" else -1] = films[0 if side == "inside" else 1]
        t, field, shown = 0.0, np.zeros(size), []
        while t < 8.0 * 3600.0:  # the air rises evenly over two hours, then stays
            now, then = (min(u / 7200.0, 1.0) for u in (t, t + step))
            right = store * field - 0.5 * (matrix @ field) + 0.5 * (now + then) * drive.ravel()
            field, t = half.solve(right), t + step
            if round(t) in (3600, 7200, 14400, 28800):
                first = field.reshape(x.size, n)[:, 0]
                air = min(t / 7200.0, 1.0)
                shown.append(first + share * (air * (side == "inside") - first))
        still = np.where(side == "inside", found.steady, 1.0 - found.steady)
        for hour, surface in zip((1.0, 2.0, 4.0, 8.0), shown, strict=True):
            times = np.array([-10.0, 0.0, min(hour, 2.0), hour + (hour <= 2.0) * 1e-6])
            air = np.array([0.0, 0.0, min(hour / 2.0, 1.0), min(hour / 2.0, 1.0)])
            told = still * air[-1] + found.late(side, times, air)  # type: ignore[arg-type]
            at_places = np.interp(found.places + wide / 2, x, surface)
            np.testing.assert_allclose(told, at_places, rtol=0.0, atol=0.004)


def test_air_that_never_changed_leaves_nothing():
    wood, bay = stacks()
    found = strip_response(wood, bay, (0.038, 0.368))
    hours = np.linspace(-48.0, 0.0, 20)
    for side in ("outside", "inside"):
        still = found.late(side, hours, np.full(20, -7.0))  # type: ignore[arg-type]
        np.testing.assert_allclose(still, 0.0, rtol=0.0, atol=1e-12)
    with pytest.raises(InputError, match="rising"):
        found.late("outside", hours[::-1], np.zeros(20))
    with pytest.raises(InputError, match="same depths"):
        strip_response(wood, replace(bay, layers=bay.layers[:2]), (0.038, 0.368))
