"""Whole semesters with known truth, for tests, calibration and teaching."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.display import Result
from solubility_stats.errors import InputError
from solubility_stats.records import ClassRecords
from solubility_stats.simulation import bench
from solubility_stats.simulation.causes import CAUSES, check_causes, draw_sizes, gamma_with
from solubility_stats.simulation.crew import Crew, muster
from solubility_stats.simulation.habits import Instruments
from solubility_stats.simulation.writing import (
    Columns,
    fill_frame,
    pour,
    recorded_decimals,
    write_conditions,
    write_evaporation,
    write_masses,
    write_reports,
    write_titration,
)

if TYPE_CHECKING:
    from solubility_stats.measurement import Protocol

Vector = npt.NDArray[np.float64]
Words = npt.NDArray[np.str_]
ROUTES = ("residue", "titration", "evaporation")
# Whole-run mishaps, at most one per run; a calculation slip can come on top of any of them.
MISHAPS = ("missed_fill", "extra_fill", "paper_tare_missed", "decimal_slip", "transposed_digits")


@dataclass(frozen=True)
class Recipe:
    """What the groups were told to use.

    Attributes
    ----------
    initial_mass_g : float or tuple of float
        Solid to weigh out; several values are given to the groups in turn (a designed class).
    fills : int or tuple of int
        Number of cylinder fills, likewise.
    fill_ml : float
        Volume of one fill.
    aliquot_ml, acid_mol_per_l : float
        For the titration.
    dish_aliquot_ml : float
        For the evaporation.
    extras : tuple of str
        Further readings asked for: ``wet_cake``.
    """

    initial_mass_g: float | tuple[float, ...] = 2.0
    fills: int | tuple[int, ...] = 4
    fill_ml: float = 50.0
    aliquot_ml: float = 25.0
    acid_mol_per_l: float = 0.05
    dish_aliquot_ml: float = 50.0
    extras: tuple[str, ...] = ()


@dataclass(frozen=True, repr=False)
class Simulation(Result):
    """A simulated semester and the truth behind it.

    Attributes
    ----------
    records : ClassRecords
        What the class wrote down.
    truth : DataFrame
        One row per run: ``run_id``, true temperature and solubility, the true size of each
        cause (column named as the cause), ``mishap`` and ``calculation_slip`` (empty: none).
    causes : DataFrame
        ``cause, size, unit, meaning``: class sizes used, stated and usual ones alike.
    seed : int
        Seed of the random numbers.
    """

    records: ClassRecords
    truth: pd.DataFrame
    causes: pd.DataFrame
    seed: int

    def headline(self) -> str:
        """Return what was simulated."""
        return f"Simulated (invented) semester: {self.records.headline()}, seed {self.seed}"

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the causes and the runs."""
        return {"Causes": self.causes, "Truth": self.truth}


def simulate(
    protocol: Protocol | None = None,
    *,
    groups: int = 24,
    causes: Mapping[str, float] | None = None,
    seed: int = 0,
    sections: int = 3,
    runs_per_group: int = 1,
    recipe: Recipe | None = None,
    routes: Sequence[str] = ("residue",),
    usual: bool = True,
    solubility_offset: float = 0.0,
    temperature_c: float = 22.0,
    vacuum_share: float = 0.5,
    instruments: Instruments | None = None,
    semester: str = "",
) -> Simulation:
    """Simulate a semester of the lab at the bench.

    Parameters
    ----------
    protocol : Protocol, optional
        Whose solute and expected effects the class has; the default protocol of calcium
        hydroxide where not given.
    groups, sections, runs_per_group : int
        Size of the class. Groups are spread evenly over the sections.
    causes : mapping of str to float, optional
        Class size of each stated cause, in the unit of :data:`CAUSES`; replaces the usual size.
        Events take a probability per run.
    seed : int
        Seed of all random numbers; equal arguments give an equal semester.
    recipe : Recipe, optional
        Solid and water the groups were told to use.
    routes : sequence of str
        Any of ``residue``, ``titration``, ``evaporation``; the residue is always simulated.
    usual : bool
        Whether the protocol's expected effects act: class means are drawn from their stated
        uncertainty, groups vary as stated. ``False`` leaves only the stated causes.
    solubility_offset : float
        Relative deviation of the true solubility from the reference curve.
    temperature_c : float
        Mean true temperature; sections differ by 0.5 K and groups by 0.4 K (standard deviation).
    vacuum_share : float
        Share of groups that filter by vacuum.
    instruments : Instruments, optional
        Taken from the protocol where not given.
    semester : str
        Written into the records.

    Returns
    -------
    Simulation

    Raises
    ------
    InputError
        For an impossible class, an unknown route or an impossible cause.
    """
    _check(groups, sections, runs_per_group, routes)
    rng = np.random.default_rng(seed)
    recipe = recipe or Recipe()
    protocol = protocol or _default_protocol()
    tools = instruments or Instruments.of(protocol, recipe.fill_ml)
    stated = check_causes(causes or {})
    crew = muster(
        groups,
        sections,
        runs_per_group,
        vacuum_share=vacuum_share,
        temperature_c=temperature_c,
        fill_ml=recipe.fill_ml,
        tools=tools,
        rng=rng,
    )
    sizes, class_sizes = _sizes(protocol, crew, stated, usual, rng)
    mishap = _mishaps(stated, crew.n, rng)
    solubility = _true_solubility(protocol, crew, solubility_offset)
    written, slip = _bench_day(
        protocol,
        crew,
        recipe,
        sizes,
        solubility,
        mishap,
        routes,
        stated.get("calculation_slip", 0.0),
        tools,
        rng,
    )
    frame = pd.DataFrame({**_who(crew, semester), **written})
    frame["solute"] = protocol.solid.name
    frame["reported_unit"] = "g/100 mL"
    records = ClassRecords.from_frame(frame, decimals=recorded_decimals(frame, tools))
    truth = pd.DataFrame(
        {
            "run_id": records.runs["run_id"],
            "temperature_c": crew.temperature_c,
            "solubility_g_per_100g": solubility,
            **sizes,
            "mishap": mishap,
            "calculation_slip": slip,
        }
    )
    return Simulation(records, truth, _cause_table(class_sizes), seed)


def _check(groups: int, sections: int, runs_per_group: int, routes: Sequence[str]) -> None:
    if min(groups, sections, runs_per_group) < 1 or sections > groups:
        raise InputError(
            "the class is impossible",
            where="simulate",
            found={"groups": groups, "sections": sections, "runs_per_group": runs_per_group},
            expected="at least one of each, and a group in every section",
        )
    unknown = set(routes) - set(ROUTES)
    if unknown:
        raise InputError(
            "not a route", where="routes", found=sorted(unknown), expected=", ".join(ROUTES)
        )


def _default_protocol() -> Protocol:
    from solubility_stats.measurement import Protocol

    return Protocol.default("calcium hydroxide")


def _sizes(
    protocol: Protocol,
    crew: Crew,
    stated: Mapping[str, float],
    usual: bool,
    rng: np.random.Generator,
) -> tuple[dict[str, Vector], dict[str, float]]:
    """Return the size of each cause per run, and the class sizes they vary around."""
    means: dict[str, float] = {}
    spreads: dict[str, float] = {}
    if usual:
        for effect in protocol.effects:
            if effect.name in CAUSES and effect.expected and effect.name not in stated:
                means[effect.name] = float(gamma_with(effect.mean, effect.u_shared, 1, rng)[0])
                spreads[effect.name] = effect.sd_between
        if "acid_error" not in stated:
            means["acid_error"] = float(rng.normal(0.0, protocol.titrant.u_relative))
    means |= {k: v for k, v in stated.items() if CAUSES[k].scope != "event"}
    sizes = draw_sizes(means, spreads, crew.group, rng)
    if "retained_liquor" in means and "retained_liquor" not in stated:
        sizes["retained_liquor"] = _liquor_by_filtration(protocol, crew, rng)
    return sizes, {**means, **stated}


def _liquor_by_filtration(protocol: Protocol, crew: Crew, rng: np.random.Generator) -> Vector:
    """Draw liquor per cake, each filtration around a class size of its own."""
    out = np.empty(crew.n)
    base = protocol.effect("retained_liquor")
    for word, chosen in (("vacuum", crew.vacuum), ("gravity", ~crew.vacuum)):
        size = {"mean": base.mean, "u_shared": base.u_shared, "sd_between": base.sd_between}
        for override in protocol.overrides:
            if override.when == (("filtration", word),):
                for path, value in override.settings:
                    effect, _, part = path.removeprefix("effects.").partition(".")
                    if effect == base.name and part in size:
                        size[part] = float(str(value))
        mean = float(gamma_with(size["mean"], size["u_shared"], 1, rng)[0])
        groups = int(crew.group.max()) + 1
        out[chosen] = gamma_with(mean, size["sd_between"], groups, rng)[crew.group[chosen]]
    return out


def _mishaps(stated: Mapping[str, float], n: int, rng: np.random.Generator) -> Words:
    """Draw at most one mishap per run."""
    chance = np.array([stated.get(m, 0.0) for m in MISHAPS])
    if chance.sum() > 1:
        raise InputError(
            "the mishaps are more than certain",
            where="causes",
            found=dict(zip(MISHAPS, chance.tolist(), strict=True)),
            expected="probabilities that add up to one at most",
        )
    names = np.array([*MISHAPS, ""])
    drawn = rng.choice(names.size, size=n, p=[*chance, max(0.0, 1.0 - chance.sum())])
    return np.asarray(names[drawn])


def _true_solubility(protocol: Protocol, crew: Crew, offset: float) -> Vector:
    from solubility_stats.reference import curve

    reference = curve(protocol.solid.name)
    return np.asarray(reference.at(crew.temperature_c)[0]) * (1.0 + offset)


def _material(protocol: Protocol) -> bench.Material:
    from solubility_stats.reference.molar_mass import molar_mass

    solid = protocol.solid
    is_lime = solid.formula == "Ca(OH)2"
    mass = float(molar_mass(solid.formula)[0]) if solid.formula else float("nan")
    return bench.Material(mass, int(solid.equivalents), is_lime)


def _bench_day(
    protocol: Protocol,
    crew: Crew,
    recipe: Recipe,
    sizes: dict[str, Vector],
    solubility: Vector,
    mishap: Words,
    routes: Sequence[str],
    slip_chance: float,
    tools: Instruments,
    rng: np.random.Generator,
) -> tuple[Columns, Words]:
    """Do the experiment and write it down."""
    from solubility_stats.reference.water import density

    material = _material(protocol)
    aim = np.resize(np.atleast_1d(recipe.initial_mass_g), crew.group.max() + 1)[crew.group]
    fills = np.resize(np.atleast_1d(recipe.fills), crew.group.max() + 1)[crew.group]
    # People stop tipping near the mark, and not at the same place each time.
    solid = np.maximum(aim * (1.0 + rng.normal(0.0, 0.01, crew.n)), 0.01)
    poured = pour(crew, fills, recipe.fill_ml, sizes, mishap, tools, rng)
    rho = np.asarray(density(crew.temperature_c)[0])
    flask = bench.prepare(solid, poured.true_ml * rho, solubility, sizes, material)
    wet, recovered = bench.recover_solid(flask, sizes, material)
    masses = write_masses(solid, recovered, wet, crew, sizes, mishap, tools, rng)
    wet_cake = masses.pop("wet_cake_mass_g")
    reported, slip = write_reports(masses, poured.read_ml, slip_chance, rng)
    columns: Columns = {
        **write_conditions(crew, sizes, tools, rng),
        **masses,
        **fill_frame(poured.read_ml),
        "reported_solubility": reported,
    }
    if "wet_cake" in recipe.extras:
        columns["wet_cake_mass_g"] = wet_cake
    solute, fines, water = bench.filtrate_content(flask, sizes, material)
    volume = water / rho + protocol.solid.specific_volume_ml_per_g * solute
    concentration = (solute + fines) / volume
    if "titration" in routes and material.equivalents:
        columns |= write_titration(
            concentration, recipe.aliquot_ml, recipe.acid_mol_per_l, sizes, material, tools, rng
        )
    if "evaporation" in routes:
        columns |= write_evaporation(
            concentration,
            flask.impurity_g / volume,
            recipe.dish_aliquot_ml,
            crew,
            sizes,
            material,
            tools,
            rng,
        )
    return columns, slip


def _who(crew: Crew, semester: str) -> Columns:
    days = np.array(["Mon", "Tue", "Wed", "Thu", "Fri"])
    many = int(crew.section.max()) + 1
    names = days if many <= days.size else np.array([f"S{i + 1}" for i in range(many)])
    return {
        "semester": np.full(crew.n, semester),
        "section": names[crew.section],
        "group": crew.number_in_section().astype("str"),
        "run": (crew.run + 1).astype("str"),
    }


def _cause_table(sizes: Mapping[str, float]) -> pd.DataFrame:
    rows = [(name, size, CAUSES[name].unit, CAUSES[name].meaning) for name, size in sizes.items()]
    return pd.DataFrame(rows, columns=["cause", "size", "unit", "meaning"])
