"""Slips of the residue route: (initial - recovered mass) over the volume of water."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from solubility_stats.measurement.slips.digits import (
    Counts,
    Vector,
    mistyped_columns,
    round_figures,
    significant_figures,
)
from solubility_stats.measurement.slips.readings import Readings
from solubility_stats.measurement.slips.route import Cases, Route, Variant, Words

# A difference of exactly zero would make every ratio infinite; this stands for it.
NOTHING_G = 1e-12
CAPACITIES_ML = (10.0, 25.0, 50.0, 100.0, 250.0, 500.0, 1000.0, 2000.0)
# Without recorded fills, the numbers of fills tried (judgement).
FILLS_TRIED = (2, 3, 4)


def dissolved(readings: Readings) -> Vector:
    """Return initial minus recovered mass, g, never exactly zero."""
    y = readings.value["initial_mass_g"] - readings.value["recovered_mass_g"]
    return np.where(y == 0, NOTHING_G, y)


def residue(cases: Cases) -> Route:
    """Return the residue route of the cases with the slips of its masses and volumes."""
    r = cases.readings
    y, total = dissolved(r), r.value["water_volume_ml"]
    volume = np.where(total > 0, total, np.nan)
    half_y = r.half["initial_mass_g"] + r.half["recovered_mass_g"]
    decimals = np.minimum(r.decimals["initial_mass_g"], r.decimals["recovered_mass_g"])
    # A zero dropped by a program is rarely dropped from both weighings, made on one balance.
    told = np.maximum(r.told["initial_mass_g"], r.told["recovered_mass_g"])
    volume_figures = significant_figures(np.nan_to_num(volume, nan=1.0), _counted(r, volume))
    moles = np.where(cases.amount, 1 / cases.molar, 1.0)
    words: dict[str, Words] = {
        "mass": lambda i: f"({r.text('initial_mass_g', i)} − {r.text('recovered_mass_g', i)}) g",
        "volume": lambda i: f"÷ {_total(r, i)} mL",
    }
    route = Route(
        name="residue",
        right=y / volume,
        half={"mass": half_y / np.abs(y), "volume": r.half["water_volume_ml"] / volume},
        words=words,
        steps=((y, 1 / volume, moles), (y, moles, 1 / volume)),
        figures=np.minimum(
            significant_figures(y, np.minimum(told, decimals)), np.maximum(volume_figures, 2)
        ),
    )
    variants = (
        *_masses(r, y),
        *_volumes(r, volume),
        *_rounding(y, volume, decimals),
        *_digits(r, y),
    )
    return replace(route, variants=variants)


def _counted(r: Readings, volume: Vector) -> Counts:
    """Return decimals of the volume with the zeros that end a whole number left out."""
    decimals = r.told["water_volume_ml"].copy()
    for step in (1, 2):
        round_number = (volume % 10.0**step == 0) & (decimals == 1 - step)
        decimals = np.where(round_number, -step, decimals)
    return decimals


def _total(r: Readings, i: int) -> str:
    return f"{r.value['water_volume_ml'][i]:.{min(int(r.decimals['water_volume_ml'][i]), 4)}f}"


def _masses(r: Readings, y: Vector) -> list[Variant]:
    m0, mr = r.value["initial_mass_g"], r.value["recovered_mass_g"]
    h0, hr = r.half["initial_mass_g"], r.half["recovered_mass_g"]
    paper, half_paper = r.value["paper_mass_g"], r.half["paper_mass_g"]
    first, second, third, dish = (
        _text(r, f"{name}_mass_g") for name in ("initial", "recovered", "paper", "dish")
    )
    both = h0 + hr
    listed: list[tuple[str, Vector, Vector, Words]] = [
        ("S1", m0, h0, lambda i: f"{first(i)} g"),
        ("S2", mr, hr, lambda i: f"{second(i)} g"),
        ("S3", -y, both, lambda i: f"({second(i)} − {first(i)}) g"),
        ("S4", m0 + mr, both, lambda i: f"({first(i)} + {second(i)}) g"),
        (
            "S5",
            y - paper,
            both + half_paper,
            lambda i: f"({first(i)} − {second(i)} − {third(i)}) g",
        ),
        (
            "S6",
            y + paper,
            both + half_paper,
            lambda i: f"({first(i)} − {second(i)} + {third(i)}) g",
        ),
        (
            "S7",
            y + r.value["dish_mass_g"],
            both,
            lambda i: f"({first(i)} + {dish(i)} − {second(i)}) g",
        ),
    ]
    return [_mass(code, mass, half, words, y) for code, mass, half, words in listed]


def _mass(code: str, mass: Vector, half: Vector, words: Words, y: Vector) -> Variant:
    relative = half / np.where(mass == 0, np.nan, np.abs(mass))
    return Variant(code, "mass", mass / y, relative, words)


def _text(r: Readings, name: str) -> Words:
    return lambda i: r.text(name, i)


def _volumes(r: Readings, volume: Vector) -> list[Variant]:
    fills = r.fill_matrix()
    filled = np.isfinite(fills)
    count = filled.sum(axis=1).astype(float)
    half_total = r.half["water_volume_ml"]
    listed: list[tuple[str, Vector, Vector]] = []
    for k, name in enumerate(r.fills):
        v, h = fills[:, k], r.half[name]
        several = np.where(count > 1, v, np.nan)
        listed += [
            ("V1", several, h),
            ("V3", volume - several, half_total - h),
            ("V4", volume + np.where(filled[:, k], v, np.nan), half_total + h),
        ]
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = np.where(count > 1, volume / count, np.nan)
        half_mean = half_total / count
    listed.append(("V2", mean, half_mean))
    for n in FILLS_TRIED:
        listed.append(("V2", np.where(count == 0, volume / n, np.nan), half_total / n))
    none = np.zeros_like(volume)
    for step in (10.0, 50.0, 100.0):
        listed.append(("V5", _near(np.round(volume / step) * step, volume), none))
    if r.fills:
        for step in (5.0, 10.0):
            rounded = np.nansum(np.round(fills / step) * step, axis=1)
            listed.append(("V5", _near(rounded, volume), none))
        capacity = _capacity(fills)
        listed.append(("V7", np.where(count > 0, capacity * count, np.nan), none))
    for name in ("filtrate_volume_ml", "aliquot_ml"):
        listed.append(("V6", r.value[name], r.half[name]))
    return [_volume(code, v, half, volume) for code, v, half in listed]


def _volume(code: str, v: Vector, half: Vector, volume: Vector) -> Variant:
    usable = np.where((v > 0) & (np.abs(v / volume - 1) > 1e-9), v, np.nan)
    return Variant(code, "volume", volume / usable, half / usable, lambda i: f"÷ {v[i]:g} mL")


def _near(nominal: Vector, volume: Vector) -> Vector:
    return np.where(np.abs(nominal - volume) <= 0.1 * volume, nominal, np.nan)


def _capacity(fills: Vector) -> Vector:
    """Return the smallest usual cylinder that holds the largest fill, mL."""
    sizes = np.array(CAPACITIES_ML)
    largest = np.nan_to_num(np.nanmax(np.nan_to_num(fills, nan=0.0), axis=1), nan=0.0)
    place = np.minimum(np.searchsorted(sizes, largest), sizes.size - 1)
    return np.asarray(sizes[place])


def _rounding(y: Vector, volume: Vector, decimals: Counts) -> list[Variant]:
    early = [
        np.where(decimals > p, nearest(y, p), np.nan)
        for p in (0, 1, 2)
        for nearest in (_half_up, _half_down)
    ]
    x = y / volume
    quotients = [_half_up(x, p) for p in (2, 3, 4)] + [round_figures(x, f) for f in (1, 2)]
    return [_early("R1", "mass", e, y, "g") for e in early] + [
        _early("R2", "quotient", e, x, "g/mL (rounded)") for e in quotients
    ]


def _early(code: str, stage: str, rounded: Vector, exact: Vector, unit: str) -> Variant:
    none = np.zeros_like(exact)
    return Variant(code, stage, rounded / exact, none, lambda i: f"{rounded[i]:.6g} {unit}")


def _half_up(x: Vector, places: int) -> Vector:
    scale = 10.0**places
    return np.asarray(np.copysign(np.floor(np.abs(x) * scale + 0.5 + 1e-9), x) / scale)


def _half_down(x: Vector, places: int) -> Vector:
    """Round ties towards zero, as a program may that stores 0.35 a little too small."""
    scale = 10.0**places
    return np.asarray(np.copysign(np.ceil(np.abs(x) * scale - 0.5 - 1e-9), x) / scale)


def _digits(r: Readings, y: Vector) -> list[Variant]:
    m0, mr = r.value["initial_mass_g"], r.value["recovered_mass_g"]
    first, second = _text(r, "initial_mass_g"), _text(r, "recovered_mass_g")
    out = []
    for code, number in mistyped_columns(m0, r.decimals["initial_mass_g"]):
        out.append(_digit(code, number - mr, y, number, lambda new, i: f"({new} − {second(i)}) g"))
    for code, number in mistyped_columns(mr, r.decimals["recovered_mass_g"]):
        out.append(_digit(code, m0 - number, y, number, lambda new, i: f"({first(i)} − {new}) g"))
    return out


def _digit(
    code: str, mass: Vector, y: Vector, number: Vector, words: Callable[[str, int], str]
) -> Variant:
    none = np.zeros_like(y)
    return Variant(code, "mass", mass / y, none, lambda i: words(f"{number[i]:g}", i), "digit")
