"""Error limits of volumetric glassware and the expansion of glass.

Limits are ± mL at 20 °C for any point of the scale. A limit is not a standard uncertainty:
divide by √3 (rectangular) or √6 (triangular) as the measurement room does.
"""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from solubility_stats.errors import InputError

# ASTM E1272-02(2012) Table 1, class A; class B is twice class A (clause on class B). The 1000 mL
# figure is from memory.
_CYLINDER_ASTM = {5: 0.05, 10: 0.10, 25: 0.17, 50: 0.25, 100: 0.50, 250: 1.0, 500: 2.0, 1000: 3.0}
# ISO 4788:2005, class A; class B is twice class A. The whole column is from memory.
_CYLINDER_ISO = {5: 0.05, 10: 0.10, 25: 0.25, 50: 0.5, 100: 0.5, 250: 1.0, 500: 2.5, 1000: 5.0}
# ASTM E969 transfer pipettes, class A; class B is twice class A.
_PIPETTE = {1: 0.006, 5: 0.01, 10: 0.02, 25: 0.03, 50: 0.05, 100: 0.08}
# Burettes, class A; class B is twice class A (ASTM E287): 50 mL as in ISO 385, 10 and 25 mL from
# memory.
_BURETTE = {10: 0.02, 25: 0.03, 50: 0.05}
# Volumetric flasks, class A, as tabulated in general handbooks; class B is twice class A.
_FLASK = {25: 0.03, 50: 0.05, 100: 0.08, 250: 0.12, 500: 0.15, 1000: 0.30}

_TABLES: dict[tuple[str, str], tuple[Mapping[int, float], str, frozenset[int]]] = {
    ("cylinder", "ASTM E1272"): (_CYLINDER_ASTM, "ASTM E1272-02(2012), Table 1", frozenset({1000})),
    ("cylinder", "ISO 4788"): (_CYLINDER_ISO, "ISO 4788:2005", frozenset(_CYLINDER_ISO)),
    ("pipette", "ASTM E969"): (_PIPETTE, "ASTM E969", frozenset()),
    ("burette", "ISO 385"): (_BURETTE, "ISO 385; class B after ASTM E287", frozenset({10, 25})),
    ("flask", "ASTM E288"): (_FLASK, "handbook table of class A flasks", frozenset()),
}
# Smallest scale division in mL, ASTM E1272-02(2012) Table 1 (the coarser where two are allowed).
_CYLINDER_DIVISION = {5: 0.1, 10: 0.2, 25: 0.5, 50: 1.0, 100: 1.0, 250: 2.0, 500: 5.0, 1000: 10.0}

# Cubic expansion in 1/K: three times the linear 3.3e-6 (borosilicate 3.3) and 9.1e-6 (soda-lime).
GLASS_EXPANSION = {"borosilicate": 9.9e-6, "soda-lime": 27e-6}


def cylinder_tolerance(
    capacity_ml: float, grade: str = "B", *, standard: str = "ASTM E1272"
) -> float:
    """Return the error limit of a graduated cylinder in ± mL.

    Parameters
    ----------
    capacity_ml : float
        Nominal capacity in mL. A capacity between two listed ones gets the limit of the next
        smaller one, as ASTM E1272 lays down; below the smallest the smallest holds.
    grade : {"A", "B"}
        Accuracy class. Class B is the cautious assumption for unmarked teaching glassware.
    standard : {"ASTM E1272", "ISO 4788"}
        Which standard's limits (the ISO column is from memory).

    Raises
    ------
    InputError
        If capacity, class or standard is not known.
    """
    return _limit("cylinder", standard, capacity_ml, grade)


def cylinder_division(capacity_ml: float) -> float:
    """Return the smallest scale division of a graduated cylinder in mL (ASTM E1272, Table 1).

    Raises
    ------
    InputError
        If the capacity is not between 5 and 1000 mL.
    """
    return _listed(_CYLINDER_DIVISION, capacity_ml, "graduated cylinder")


def pipette_tolerance(capacity_ml: float, grade: str = "B") -> float:
    """Return the error limit of a transfer pipette in ± mL (ASTM E969).

    Raises
    ------
    InputError
        If capacity or class is not known.
    """
    return _limit("pipette", "ASTM E969", capacity_ml, grade)


def burette_tolerance(capacity_ml: float = 50.0, grade: str = "B") -> float:
    """Return the error limit of a burette in ± mL (ISO 385; ASTM E287 for class B).

    Raises
    ------
    InputError
        If capacity or class is not known.
    """
    return _limit("burette", "ISO 385", capacity_ml, grade)


def flask_tolerance(capacity_ml: float, grade: str = "B") -> float:
    """Return the error limit of a volumetric flask in ± mL.

    Raises
    ------
    InputError
        If capacity or class is not known.
    """
    return _limit("flask", "ASTM E288", capacity_ml, grade)


def table() -> pd.DataFrame:
    """Return every error limit with its source: one row per kind, standard and capacity.

    Columns ``kind, standard, capacity_ml, class_a_ml, class_b_ml, source, from_memory``.
    """
    rows = [
        (kind, standard, size, limit, 2 * limit, source, size in remembered)
        for (kind, standard), (limits, source, remembered) in _TABLES.items()
        for size, limit in limits.items()
    ]
    names = [
        "kind",
        "standard",
        "capacity_ml",
        "class_a_ml",
        "class_b_ml",
        "source",
        "from_memory",
    ]
    return pd.DataFrame(rows, columns=names)


def _limit(kind: str, standard: str, capacity_ml: float, grade: str) -> float:
    if (kind, standard) not in _TABLES:
        known = [s for k, s in _TABLES if k == kind]
        raise InputError(
            "unknown standard", where=kind, found=standard, expected=" or ".join(known)
        )
    letter = str(grade).strip().upper()
    if letter not in {"A", "AS", "B"}:
        raise InputError(
            "unknown accuracy class",
            where=kind,
            found=grade,
            expected="'A' or 'B'",
            remedy="Unmarked glassware is best taken as class B.",
        )
    limit = _listed(_TABLES[kind, standard][0], capacity_ml, kind)
    return 2 * limit if letter == "B" else limit


def _listed(limits: Mapping[int, float], capacity_ml: float, kind: str) -> float:
    sizes = sorted(limits)
    size = float(capacity_ml)
    if not 0 < size <= sizes[-1]:
        raise InputError(
            "no error limit is listed for this capacity",
            where=kind,
            found=capacity_ml,
            expected=f"above 0 and up to {sizes[-1]} mL",
        )
    return limits[max((s for s in sizes if s <= size), default=sizes[0])]
