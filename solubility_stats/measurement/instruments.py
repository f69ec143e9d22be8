"""What was used on the bench, as small frozen records with units in the names."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Grade = Literal["A", "B"]


@dataclass(frozen=True)
class Balance:
    """A balance; both weighings of a run are taken to be on the same one.

    Attributes
    ----------
    readability_g : float
        Smallest step shown (g).
    linearity_g : float
        Half-width of the maker's linearity statement (g).
    repeatability_g : float
        Standard deviation of repeated weighings (g), with ``repeatability_dof`` degrees of freedom.
    drift_g : float
        Standard deviation of the balance's change between the first and the last weighing (g).
    """

    readability_g: float = 0.01
    linearity_g: float = 0.01
    repeatability_g: float = 0.005
    repeatability_dof: float = 9.0
    drift_g: float = 0.006
    basis: str = ""


@dataclass(frozen=True)
class Cylinder:
    """A graduated cylinder.

    Attributes
    ----------
    capacity_ml : float
        Nominal capacity (mL); 0 means the smallest standard size that holds the largest fill.
    grade : {"A", "B"}
        Accuracy class.
    tolerance_ml : float
        Half-width of the calibration error (mL); 0 means the published limit for the size.
    reading_ml : float
        Half-width of one meniscus reading (mL); 0 means half the least graduation of the size.
    """

    capacity_ml: float = 0.0
    grade: Grade = "B"
    tolerance_ml: float = 0.0
    reading_ml: float = 0.0
    basis: str = ""


@dataclass(frozen=True)
class Pipette:
    """What measured the aliquot.

    Attributes
    ----------
    grade : {"A", "B"}
        Accuracy class.
    tolerance_ml : float
        Half-width of the calibration error (mL); 0 means the published limit for the aliquot.
    filling_ml : float
        Standard deviation of repeated fillings (mL).
    """

    grade: Grade = "B"
    tolerance_ml: float = 0.0
    filling_ml: float = 0.03
    basis: str = ""


@dataclass(frozen=True)
class Burette:
    """The burette of the titration.

    Attributes
    ----------
    capacity_ml : float
        Nominal capacity (mL).
    grade : {"A", "B"}
        Accuracy class.
    tolerance_ml : float
        Half-width of the calibration error (mL); 0 means the published limit.
    reading_ml : float
        Standard deviation of one reading (mL); a titre is the difference of two.
    """

    capacity_ml: float = 50.0
    grade: Grade = "B"
    tolerance_ml: float = 0.0
    reading_ml: float = 0.022
    basis: str = ""


@dataclass(frozen=True)
class Thermometer:
    """The thermometer.

    Attributes
    ----------
    tolerance_k : float
        Half-width of its error (K).
    readability_k : float
        Smallest step read (K).
    """

    tolerance_k: float = 1.0
    readability_k: float = 1.0
    basis: str = ""


@dataclass(frozen=True)
class Titrant:
    """The acid or base of the titration.

    Attributes
    ----------
    mol_per_l : float
        Concentration where a run records none (mol/L); 0 means it has to be recorded.
    u_relative : float
        Standard uncertainty of the concentration divided by it.
    """

    mol_per_l: float = 0.0
    u_relative: float = 0.01
    basis: str = ""


@dataclass(frozen=True)
class Lab:
    """The room and the recipe, used where a run records nothing.

    Water and aliquot stand in for a missing reading only where the protocol file gives them.

    Attributes
    ----------
    temperature_c, u_temperature_k : float
        Assumed temperature of the mixture (degC) and its standard uncertainty (K).
    water_volume_ml : float
        Volume of water (mL). Where it is a default it only serves to spread fines over the
        filtrate of a run that records no volume.
    aliquot_ml : float
        Filtrate taken for titration or evaporation (mL); 0 means it has to be recorded.
    initial_mass_g : float
        Usual mass of solid (g); only for the soluble impurity of evaporated filtrate.
    """

    temperature_c: float = 22.0
    u_temperature_k: float = 2.0
    water_volume_ml: float = 300.0
    aliquot_ml: float = 0.0
    initial_mass_g: float = 3.0
    basis: str = ""


@dataclass(frozen=True)
class Solid:
    """The solid under study, as it lies in the bottle.

    Attributes
    ----------
    name, formula : str
        Name and formula; the formula may be empty for a solid nobody listed.
    equivalents : float
        Moles of titrant per mole of solid; 0 means it cannot be titrated that way.
    specific_volume_ml_per_g, u_specific_volume_ml_per_g : float
        Apparent specific volume of the dissolved solid (mL/g): water per mL of solution is
        ``density_of_water * (1 - specific_volume * concentration)``.
    insoluble_fraction : float
        Insoluble matter in the bottle (g/g). It is weighed twice and cancels.
    carbonation_gain : float
        Mass gained per gram on full conversion to carbonate (g/g).
    slurry_gain_g_per_mmol : float
        Mass the solids gain per mmol of carbon dioxide taken up before filtering (g/mmol).
    oxide_gain : float
        Mass that oxide in the bottle gains on turning into hydroxide (g/g).
    """

    name: str = ""
    formula: str = ""
    equivalents: float = 0.0
    specific_volume_ml_per_g: float = 0.35
    u_specific_volume_ml_per_g: float = 0.2
    insoluble_fraction: float = 0.0
    carbonation_gain: float = 0.0
    slurry_gain_g_per_mmol: float = 0.0
    oxide_gain: float = 0.0
    basis: str = ""
