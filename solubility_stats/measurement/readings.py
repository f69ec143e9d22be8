"""Readings of many runs as arrays, and how finely they were recorded."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.measurement.propagation import SQRT3, SQRT12
from solubility_stats.measurement.protocol import Protocol
from solubility_stats.measurement.settings import Array, Mask, RunSettings
from solubility_stats.quantities import fill_columns
from solubility_stats.records import ClassRecords
from solubility_stats.reference import glassware

_CYLINDERS = np.array([5.0, 10.0, 25.0, 50.0, 100.0, 250.0, 500.0, 1000.0])
_MASSES = {
    "residue": ("initial_mass_g", "recovered_mass_g", "recovered_with_paper_mass_g"),
    "evaporation": ("dish_mass_g", "dish_residue_mass_g"),
}
_PIPETTE_LIMITS = (1.0, 100.0)


@dataclass(frozen=True)
class Readings:
    """The runs with their recorded decimals and the settings that hold for each.

    Attributes
    ----------
    runs : DataFrame
        Runs with canonical columns and a plain integer index.
    decimals : DataFrame
        Recorded decimals, same index; may lack columns.
    settings : RunSettings
        Protocol as it applies to each run.
    """

    runs: pd.DataFrame
    decimals: pd.DataFrame
    settings: RunSettings

    @property
    def n(self) -> int:
        """Number of runs."""
        return len(self.runs)

    def column(self, name: str) -> Array:
        """Return a numeric column, shape (n,), not-a-number where there is none."""
        if name not in self.runs:
            return np.full(self.n, np.nan)
        return np.asarray(self.runs[name].to_numpy(dtype=float, na_value=np.nan))

    def step(self, name: str, instrument: float | Array) -> float | Array:
        """Return the resolution of a column: the recorded last digit, at least ``instrument``."""
        if name not in self.decimals or not self.decimals[name].notna().any():
            return instrument
        recorded = 10.0 ** -recorded_places(self.column(name), self.decimals[name])
        return np.where(np.isnan(recorded), instrument, np.maximum(recorded, instrument))

    def initial(self) -> Array:
        """Return the mass weighed out (g)."""
        return self.column("initial_mass_g")

    def with_paper(self) -> Mask:
        """Return where the residue is known only together with its paper."""
        together = self.column("recovered_with_paper_mass_g")
        return np.asarray(np.isnan(self.column("recovered_mass_g")) & ~np.isnan(together))

    def recovered(self) -> Array:
        """Return the mass recovered without paper (g)."""
        net = self.column("recovered_with_paper_mass_g") - self.column("paper_mass_g")
        return np.where(self.with_paper(), net, self.column("recovered_mass_g"))

    def temperature(self) -> tuple[Array, Array]:
        """Return the temperature of the mixture (degC) and its standard uncertainty (K)."""
        number = self.settings.number
        recorded = self.column("temperature_c")
        step = self.step("temperature_c", number("thermometer.readability_k"))
        u = np.hypot(number("thermometer.tolerance_k") / SQRT3, step / SQRT12)
        missing = np.isnan(recorded)
        return (
            np.where(missing, number("lab.temperature_c"), recorded),
            np.where(missing, number("lab.u_temperature_k"), u),
        )

    def water_temperature(self) -> tuple[Array, Array]:
        """Return the temperature at which the water was measured out (degC) and its u (K).

        That is the mixture's own where it is within 8 K of the room; hotter or colder mixtures
        were brought there after the water had been measured at room temperature.
        """
        mixture, u = self.temperature()
        room = self.settings.number("lab.temperature_c")
        ambient = np.abs(mixture - room) <= 8.0
        u_room = self.settings.number("lab.u_temperature_k")
        return np.where(ambient, mixture, room), np.where(ambient, np.maximum(u, 1.0), u_room)

    def from_protocol(self, column: str, setting: str) -> Mask:
        """Return where a reading is missing and the protocol's own statement stands in.

        Only a setting the user gave does: a default must not pass for a reading.
        """
        given = setting in self.settings.protocol.given
        stated = np.asarray(self.settings.number(setting)) > 0
        return np.asarray(np.isnan(self.column(column)) & stated & given)

    def stated(self, column: str, setting: str) -> Array:
        """Return a reading, or what the protocol states where there is none."""
        stands_in = self.from_protocol(column, setting)
        return np.where(stands_in, self.settings.number(setting), self.column(column))

    def water(self) -> Array:
        """Return the water poured (mL)."""
        return self.stated("water_volume_ml", "lab.water_volume_ml")

    def aliquot(self) -> Array:
        """Return the aliquot titrated (mL)."""
        return self.stated("aliquot_ml", "lab.aliquot_ml")

    def fills(self) -> tuple[Array, Array, Array]:
        """Return how many fills were poured, the cylinder's capacity (mL) and the volume (mL)."""
        volume = self.water()
        names = fill_columns(self.runs.columns)
        given = self.settings.number("cylinder.capacity_ml")
        count = np.zeros(self.n)
        largest = volume
        if names:
            each = self.runs[names].to_numpy(dtype=float, na_value=np.nan)
            count = (~np.isnan(each)).sum(axis=1).astype(float)
            largest = np.where(count > 0, np.fmax.reduce(each, axis=1), volume)
        capacity = np.where(np.asarray(given) > 0, given, standard_capacity(largest))
        with np.errstate(invalid="ignore"):
            # A reading up to 2 % above the top line still counts as one filling.
            poured = np.ceil(np.where(volume > 0, volume, 1.0) / (1.02 * capacity))
        return np.where(count > 0, count, poured), capacity, volume

    def cylinder_limits(self, capacity: Array) -> tuple[Array, Array]:
        """Return calibration limit and half-width of a reading of the cylinder (mL)."""
        number = self.settings.number
        grade = self.settings.word("cylinder.grade")
        limit, half = np.full(self.n, np.nan), np.full(self.n, np.nan)
        for size in np.unique(capacity[~np.isnan(capacity)]):
            here = capacity == size
            listed = float(min(max(size, _CYLINDERS[0]), _CYLINDERS[-1]))
            half[here] = 0.5 * glassware.cylinder_division(listed)
            for letter in ("A", "B"):
                limit[here & (grade == letter)] = glassware.cylinder_tolerance(listed, letter)
        own_limit, own_half = number("cylinder.tolerance_ml"), number("cylinder.reading_ml")
        return (
            np.where(np.asarray(own_limit) > 0, own_limit, limit),
            np.where(np.asarray(own_half) > 0, own_half, half),
        )

    def fill_step(self) -> float | Array:
        """Return the last recorded digit of the fills (mL), 0 where it is not known."""
        names = [c for c in ("fill_1_ml", "water_volume_ml") if c in self.decimals]
        return self.step(names[0], 0.0) if names else 0.0

    def pipette_limit(self, aliquot: Array) -> Array:
        """Return the calibration limit of the pipette (mL)."""
        own = self.settings.number("pipette.tolerance_ml")
        grade = self.settings.word("pipette.grade")
        limit = np.full(self.n, np.nan)
        for size in np.unique(aliquot[aliquot > 0]):
            listed = float(np.clip(size, *_PIPETTE_LIMITS))
            for letter in ("A", "B"):
                per_ml = glassware.pipette_tolerance(listed, letter)
                # Larger aliquots take several fillings with the same error.
                here = (aliquot == size) & (grade == letter)
                limit[here] = per_ml * max(1.0, float(size) / listed)
        return np.where(np.asarray(own) > 0, own, limit)

    def burette_limit(self) -> Array:
        """Return the calibration limit of the burette (mL)."""
        own = self.settings.number("burette.tolerance_ml")
        capacity = np.broadcast_to(
            np.asarray(self.settings.number("burette.capacity_ml"), dtype=float), (self.n,)
        )
        grade = self.settings.word("burette.grade")
        limit = np.full(self.n, np.nan)
        for size in np.unique(capacity):
            listed = float(np.clip(size, 10.0, 50.0))
            for letter in ("A", "B"):
                here = (capacity == size) & (grade == letter)
                limit[here] = glassware.burette_tolerance(listed, letter) * max(1.0, size / listed)
        return np.where(np.asarray(own) > 0, own, limit)


def with_recorded_balance(protocol: Protocol, records: ClassRecords, route: str) -> Protocol:
    """Return the protocol with its default balance adapted to the decimals the class recorded.

    A dish is often weighed on a finer balance than the solid, so each route has its own. Three
    decimals cannot come from a balance that shows two. Nothing is changed where the user gave any
    setting of the balance, or where fewer than half the masses have known decimals. The default
    figures are multiples of the step shown, so they all scale with it.
    """
    names = [c for c in _MASSES.get(route, ()) if c in records.runs and c in records.decimals]
    if any(path.startswith("balance.") for path in protocol.given) or not names:
        return protocol
    places = np.concatenate(
        [
            recorded_places(records.runs[c].to_numpy(dtype=float), records.decimals[c])[
                records.runs[c].notna().to_numpy()
            ]
            for c in names
        ]
    )
    known = places[~np.isnan(places)]
    if not known.size or known.size < 0.5 * places.size:
        return protocol
    usual, counts = np.unique(known, return_counts=True)
    ratio = 10.0 ** -float(usual[np.argmax(counts)]) / protocol.balance.readability_g
    if math.isclose(ratio, 1.0):
        return protocol
    b = protocol.balance
    balance = dataclasses.replace(
        b,
        readability_g=b.readability_g * ratio,
        linearity_g=b.linearity_g * ratio,
        repeatability_g=b.repeatability_g * ratio,
        drift_g=b.drift_g * ratio,
        basis=f"step from the decimals the class recorded; {b.basis}",
    )
    return dataclasses.replace(protocol, balance=balance)


def standard_capacity(volume: npt.ArrayLike) -> Array:
    """Return the smallest standard cylinder that holds ``volume`` (mL) in one filling.

    A reading up to 2 % above the top line is let pass; above 1000 mL it is several fillings.
    """
    v = np.asarray(volume, dtype=float)
    place = np.searchsorted(_CYLINDERS * 1.02, np.where(np.isnan(v), 0.0, v))
    return np.where(np.isnan(v), np.nan, _CYLINDERS[np.minimum(place, len(_CYLINDERS) - 1)])


def recorded_places(values: Array, decimals: pd.Series) -> Array:
    """Return the recorded decimals of a column, not-a-number where they are not known.

    Software that writes 2.50 as 2.5 would make a tenth of all readings look ten times coarser.
    Where eight or more readings share the finest decimals and not one of them ends in a zero,
    while shorter ones are present, zeros were dropped: the shorter ones then count as fine.
    """
    places = decimals.to_numpy(dtype=float, na_value=np.nan)
    known = places[~np.isnan(places)]
    if not known.size:
        return np.asarray(places)
    finest = known.max()
    at_finest = places == finest
    last_digit = np.round(np.abs(values[at_finest]) * 10.0**finest) % 10
    dropped = at_finest.sum() >= 8 and not np.any(last_digit == 0)
    rare = np.sum(known < finest) <= 0.25 * known.size
    return np.where(~np.isnan(places) & dropped & rare, finest, places)
