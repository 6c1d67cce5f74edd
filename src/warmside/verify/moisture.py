"""Heat and moisture hour by hour, against solutions found without time stepping."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_bvp
from scipy.special import erfc

from warmside.physics.moisture import (
    NODES,
    Forcing,
    HygroMaterial,
    Mesh,
    Run,
    Settings,
    Slab,
    mesh,
    simulate,
    suction_of_u,
    u_of_suction,
)
from warmside.verify.case import Case, Check, table

Floats = NDArray[np.float64]
RHO_R = 1000.0 * 461.5
_USUAL = Settings()
_DEPTHS = np.array([0.005, 0.01, 0.02, 0.03, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0])  # [m]
_DAYS = (7, 30, 365)


def saturation(t: Floats | float) -> Floats:
    """Saturation pressure as the annex writes it [Pa]."""
    return np.asarray(610.5 * np.exp(17.269 * t / (237.3 + t)))


# --- EN 15026:2007 annex A: semi-infinite body, step in temperature and humidity ----------------
# Functions of the annex, as restated in secondary sources; written here on their own.


def annex_storage(s: Floats) -> Floats:
    """Water content [kg/m3] at a suction [Pa]."""
    return np.asarray(146.0 / (1.0 + (8e-8 * s) ** 1.6) ** 0.375)


def annex_liquid(w: Floats) -> Floats:
    """Liquid conductivity [s]."""
    d = w - 73.0
    return np.asarray(np.exp(
        -39.2619 + 0.0704 * d - 1.7420e-4 * d**2 - 2.7953e-6 * d**3 - 1.1566e-7 * d**4
        + 2.5969e-9 * d**5
    ))  # fmt: skip


def annex_vapour(w: Floats, kelvin: Floats | float) -> Floats:
    """Vapour permeability [kg/(m s Pa)]."""
    v = 1.0 - w / 146.0
    return np.asarray(26.1e-6 / 200.0 / (461.5 * kelvin) * v / (0.503 * v**2 + 0.497))


@cache
def annex_material() -> HygroMaterial:
    """The annex's material."""
    return HygroMaterial.from_functions(
        "annex", density=1824.0, specific_heat=1000.0, storage=annex_storage,
        permeability=lambda w: annex_vapour(w, 293.15), conductivity=1.5, conductivity_wet=0.0158,
        liquid_conductivity=annex_liquid, permeability_over_t=1.0,
    )  # fmt: skip


def _slopes(eta: Floats, y: Floats) -> Floats:
    """Fluxes and balances over eta = x / sqrt(t): water and heat together."""
    latent, c_v, c_w = 2.5e6, 1850.0, 4187.0
    z, t, water, heat = y
    s, kelvin = np.exp(z), t + 273.15
    w = annex_storage(s)
    delta = annex_vapour(w, kelvin)
    a = s / (RHO_R * kelvin)
    p = saturation(t) * np.exp(-a)
    p_t = p * (17.269 * 237.3 / (237.3 + t) ** 2 + a / kelvin)
    k = annex_liquid(w) * s
    h_v, h_l = latent + c_v * t, c_w * t
    # [water; heat] = [[a11, a12], [a21, a22]] [z'; t']
    a11, a12 = delta * p * a + k, -delta * p_t
    a21, a22 = delta * p * a * h_v + k * h_l, -delta * p_t * h_v - (1.5 + 0.0158 * w)
    det = a11 * a22 - a12 * a21
    dz = (water * a22 - a12 * heat) / det
    dt = (a11 * heat - a21 * water) / det
    base = 1.0 + (8e-8 * s) ** 1.6
    dw = -146.0 * 0.375 * base**-1.375 * 1.6 * (8e-8 * s) ** 1.6 * dz
    stored = (1.824e6 + c_w * w) * dt + c_w * t * dw
    return np.vstack([dz, dt, eta / 2 * dw, eta / 2 * stored])


@cache
def _similarity() -> tuple[Floats, Floats, Floats]:
    """eta, logarithm of suction, temperature: everything depends on x / sqrt(t) alone."""
    z0 = np.log(-RHO_R * 303.15 * np.log(0.95))
    z1 = np.log(-RHO_R * 293.15 * np.log(0.50))
    eta = np.concatenate([np.linspace(0.0, 2e-4, 200), np.geomspace(2.1e-4, 0.02, 400)])
    guess = np.zeros((4, eta.size))
    guess[0] = z1 + (z0 - z1) * np.exp(-eta / 2e-5)
    guess[1] = 20.0 + 10.0 * np.exp(-eta / 1e-3)
    found = solve_bvp(
        _slopes,
        lambda a, b: np.array([a[0] - z0, a[1] - 30.0, b[0] - z1, b[1] - 20.0]),
        eta, guess, tol=1e-5, max_nodes=100_000,
    )  # fmt: skip
    if not found.success:
        raise ArithmeticError(f"the boundary-value solver stopped: {found.message}")
    dense = np.concatenate([[0.0], np.geomspace(1e-7, 0.02, 20_000)])
    z, t, _, _ = found.sol(dense)
    return dense, z, t


def similar(x: Floats, days: float) -> tuple[Floats, Floats]:
    """Temperature [degC] and water content [kg/m3] at depths ``x`` [m] after ``days``."""
    eta, z, t = _similarity()
    at = x / np.sqrt(days * 86400.0)
    return np.interp(at, eta, t), annex_storage(np.exp(np.interp(at, eta, z)))


@cache
def annex_run(days: int) -> Run:
    """The same by the hourly model."""
    width: Floats = 1e-3 * np.power(1.03, np.arange(215, dtype=np.float64))
    slab = Slab(annex_material(), float(width.sum()))
    cells = Mesh((slab,), width, np.zeros(width.size, dtype=np.int64))
    warm = Forcing(30.0, float(0.95 * saturation(30.0)), 20.0, 0.0, out_transfer=0.0)
    return simulate(
        cells, warm, 24 * days, temperature=20.0, humidity=0.5, faces=("surface", "film"),
        watch=np.array([0]),
    )  # fmt: skip


def _annex_temperature() -> Iterator[Check]:
    for days in _DAYS:
        run, (expected, _) = annex_run(days), similar(_DEPTHS, days)
        found = np.interp(_DEPTHS, run.mesh.centre, run.final_temperature)
        yield from table([f"{days} d, {x:g} m" for x in _DEPTHS], expected, found, 0.0, 1e-3)


def _annex_water() -> Iterator[Check]:
    for days in _DAYS:
        run, (_, expected) = annex_run(days), similar(_DEPTHS, days)
        found = np.interp(_DEPTHS, run.mesh.centre, run.final_water)
        yield from table([f"{days} d, {x:g} m" for x in _DEPTHS], expected, found, 0.0, 1e-2)


def _annex_functions() -> Iterator[Check]:
    """The material as the program holds it, sampled at its nodes, read between them."""
    held = annex_material()
    suction = suction_of_u(NODES[1:])
    slope = -np.diff(held.liquid[1:]) / np.diff(suction)  # K between two nodes
    between = 0.5 * (held.storage[1:-1] + held.storage[2:])
    for water, printed in ((43.0, 8.48e-19), (100.0, 4.84e-17), (128.0, 2.03e-16)):
        found = np.exp(np.interp(water, between, np.log(slope)))
        yield Check(f"liquid, {water:g} kg/m³ [s]", printed, float(found), 0.0, 1e-2)
    at = float(u_of_suction(-RHO_R * 303.15 * np.log(0.95)))
    yield Check("water at 95 % [kg/m³]", 128.30, float(np.interp(at, NODES, held.storage)), 0.0,
                1e-3)  # fmt: skip
    vapour = np.interp(73.0, held.storage, held.permeability)
    yield Check("permeability [s]", 7.74e-13, float(vapour), 0.0, 1e-3)


# --- HAMSTAD case 2: isothermal drying, a series ------------------------------------------------


def hamstad_2_storage(s: Floats) -> Floats:
    """Water content [kg/m3] at a suction [Pa]."""
    return np.asarray(116.0 / (1.0 + s / (RHO_R * 293.15) / 0.118) ** 0.869)


@cache
def hamstad_2_material() -> HygroMaterial:
    """A material of constant moisture diffusivity."""
    return HygroMaterial.from_functions(
        "HAMSTAD 2", density=525.0, specific_heat=800.0, storage=hamstad_2_storage,
        permeability=lambda w: np.full_like(w, 1e-15), conductivity=0.15,
        diffusivity=lambda w: np.full_like(w, 6e-10),
    )  # fmt: skip


def hamstad_2_series(x: Floats, seconds: float, terms: int = 4000) -> Floats:
    """Fourier series of the linear problem, water content [kg/m3]."""
    start, out, room = (
        float(hamstad_2_storage(np.array(-RHO_R * 293.15 * np.log(h)))) for h in (0.95, 0.45, 0.65)
    )
    k = np.arange(1, terms + 1)[:, None]
    b = 2.0 / (k * np.pi) * ((start - out) - (start - room) * (-1.0) ** k)
    waves = b * np.sin(k * np.pi * x / 0.2) * np.exp(-6e-10 * (k * np.pi / 0.2) ** 2 * seconds)
    return np.asarray(out + (room - out) * x / 0.2 + waves.sum(axis=0))


def hamstad_2_run(cells: int, hours: int, settings: Settings = _USUAL) -> Run:
    """A layer that dries to both sides at constant temperature."""
    vapour = float(saturation(20.0))
    return simulate(
        mesh((Slab(hamstad_2_material(), 0.2),), cells, uniform=cells < 100),
        Forcing(20.0, 0.45 * vapour, 20.0, 0.65 * vapour),
        hours, temperature=20.0, humidity=0.95, faces=("surface", "surface"), settings=settings,
    )  # fmt: skip


def _hamstad_2() -> Iterator[Check]:
    for hours in (100, 300, 1000):
        run = hamstad_2_run(240, hours)
        x = run.mesh.centre
        expected = hamstad_2_series(x, hours * 3600.0)
        names = [f"{hours} h, {depth * 1000:.1f} mm" for depth in x]
        yield from table(names, expected, run.final_water, 0.0, 5e-3)


def _hamstad_2_points() -> list[Check]:
    x = np.array([0.005, 0.05, 0.1, 0.195])
    printed = [31.94, 83.72, 84.77, 40.82]
    run = hamstad_2_run(240, 100)
    found = np.interp(x, run.mesh.centre, run.final_water)
    return table([f"{v * 1000:g} mm" for v in x], printed, found, 0.0, 5e-3)


def _pure_heat() -> list[Check]:
    dry = HygroMaterial.from_functions(
        "dry", density=1000.0, specific_heat=1000.0, storage=lambda s: 1e-6 / (1.0 + s / 1e8),
        permeability=lambda w: np.full_like(w, 1e-30), conductivity=1.0,
        diffusivity=lambda w: np.zeros_like(w),
    )  # fmt: skip
    width: Floats = 2e-3 * np.power(1.02, np.arange(200, dtype=np.float64))
    cells = Mesh((Slab(dry, float(width.sum())),), width, np.zeros(width.size, dtype=np.int64))
    warm = Forcing(30.0, float(0.5 * saturation(30.0)), 20.0, 0.0, out_transfer=0.0)
    run = simulate(cells, warm, 24, faces=("surface", "film"), watch=np.array([0]))
    exact = 20.0 + 10.0 * erfc(cells.centre / (2.0 * np.sqrt(1e-6 * 86400.0)))
    names = [f"{x * 1000:.0f} mm" for x in cells.centre]
    return table(names, exact, run.final_temperature, 0.005)


_ANNEX = "EN 15026:2007 annex A; its self-similar solution by scipy's boundary-value solver"
CASES = (
    Case("en-15026-functions", "moisture", "Material functions of the annex, at check points",
         "EN 15026:2007 annex A, as restated elsewhere; points computed from it", "other method",
         "SI", _annex_functions),
    Case("en-15026-temperature", "moisture", "Semi-infinite body: temperature at 7, 30, 365 days",
         _ANNEX, "other method", "°C", _annex_temperature),
    Case("en-15026-water", "moisture", "Semi-infinite body: water content at 7, 30, 365 days",
         _ANNEX, "other method", "kg/m³", _annex_water),
    Case("hamstad-2-points", "moisture", "Isothermal drying: four depths after 100 hours",
         "HAMSTAD benchmark 2, computed from its data", "other method", "kg/m³", _hamstad_2_points),
    Case("hamstad-2", "moisture", "Isothermal drying of a layer at 100, 300, 1000 hours",
         "HAMSTAD benchmark 2: Fourier series of the linear problem", "exact", "kg/m³", _hamstad_2),
    Case("error-function", "moisture", "Heat alone into a half-space: the error function", "erfc",
         "exact", "°C", _pure_heat),
)  # fmt: skip
