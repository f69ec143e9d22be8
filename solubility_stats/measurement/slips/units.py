"""The unit a group wrote behind its result, as one or more forms the number may be meant in."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

Kind = Literal["volume", "water", "solution"]


@dataclass(frozen=True)
class UnitForm:
    """One way to state a solubility.

    Attributes
    ----------
    name : str
        The unit as printed.
    kind : str
        What the solute is referred to: ``volume`` (of liquid), ``water`` or ``solution`` (mass).
    per : float
        The number stated for one gram of solute per millilitre (``volume``) or per gram of water
        or solution; for amounts of substance before division by the molar mass.
    amount : bool
        Whether moles are counted instead of grams.
    """

    name: str
    kind: Kind
    per: float
    amount: bool = False


FORMS: dict[str, UnitForm] = {
    form.name: form
    for form in (
        UnitForm("g/100 mL", "volume", 100.0),
        UnitForm("g/L", "volume", 1e3),
        UnitForm("g/mL", "volume", 1.0),
        UnitForm("mg/mL", "volume", 1e3),
        UnitForm("mg/L", "volume", 1e6),
        UnitForm("mg/100 mL", "volume", 1e5),
        UnitForm("µg/mL", "volume", 1e6),
        UnitForm("g/100 g water", "water", 100.0),
        UnitForm("g/kg water", "water", 1e3),
        UnitForm("g/g water", "water", 1.0),
        UnitForm("mg/g water", "water", 1e3),
        UnitForm("g/100 g solution", "solution", 100.0),
        UnitForm("g/kg solution", "solution", 1e3),
        UnitForm("mol/L", "volume", 1e3, amount=True),
        UnitForm("mmol/L", "volume", 1e6, amount=True),
        UnitForm("mol/kg", "water", 1e3, amount=True),
        UnitForm("mmol/kg", "water", 1e6, amount=True),
    )
}

# Where no unit was written: the units a lab sheet of this kind asks for (judgement).
USUAL = ("g/100 mL", "g/L", "g/100 g water", "mol/L")

_WORDS = (
    (r"\bmilligrams?\b|\bmgs\b", "mg"),
    (r"\bmicrograms?\b|\bug\b|μg", "µg"),
    (r"\bkilograms?\b", "kg"),
    (r"\bgrams?\b|\bgm\b|\bgms\b|\bgr\b", "g"),
    (r"\bmillilit(?:er|re)s?\b|\bcm\^?[3³]|\bccs?\b|\bmls\b", "ml"),
    (r"\bdm\^?(?:-3|⁻³)", "l-1"),
    (r"\blit(?:er|re)s?\b|\bdm\^?[3³]|\bltr\b", "l"),
    (r"\bmillimoles?\b|\bmmoles?\b", "mmol"),
    (r"\bmoles?\b", "mol"),
    (r"\bmolality\b|\bmolal\b", "molal"),
    (r"\bmolarity\b|\bmolar\b", "molar"),
    (r"\bper\s?cent\b|\bprocent\b", "%"),
    (r"\bper\b", "/"),
    (r"\bsolution\b|\bsoln\.?|\bsol'n\b|\bsol\.", "solution"),
    (r"\bwater\b|\bh2o\b|\bh₂o\b|\bwasser\b|\beau\b|\bsolvent\b", "water"),
)
_SOLUTE = re.compile(r"ca\(oh\)[2₂]|\bsolute\b|\bsolid\b|\bof\b|\bin\b|[\s()\[\]·*.]")
_INVERSE = re.compile(r"(?<=[a-zµ])(?P<unit>l|ml|kg)\^?[-−]1\Z")

_PLAIN: dict[str, tuple[str, ...]] = {
    "g/100ml": ("g/100 mL",),
    "g/dl": ("g/100 mL",),
    "g/l": ("g/L",),
    "kg/m3": ("g/L",),
    "g/ml": ("g/mL",),
    "g/1ml": ("g/mL",),
    "g/1l": ("g/L",),
    "g/1000ml": ("g/L",),
    "mg/ml": ("mg/mL",),
    "mg/l": ("mg/L",),
    "ppm": ("mg/L",),
    "mg/100ml": ("mg/100 mL",),
    "mg/dl": ("mg/100 mL",),
    "µg/ml": ("µg/mL",),
    "g/100gwater": ("g/100 g water",),
    "g/100g": ("g/100 g water", "g/100 g solution"),
    "g/100gsolution": ("g/100 g solution",),
    "g/kgwater": ("g/kg water",),
    "g/1000gwater": ("g/kg water",),
    "g/kg": ("g/kg water", "g/kg solution"),
    "g/kgsolution": ("g/kg solution",),
    "g/g": ("g/g water",),
    "g/gwater": ("g/g water",),
    "mg/g": ("mg/g water",),
    "mg/gwater": ("mg/g water",),
    "mol/l": ("mol/L",),
    "molar": ("mol/L",),
    "mol/kg": ("mol/kg",),
    "mol/kgwater": ("mol/kg",),
    "molal": ("mol/kg",),
    "mmol/l": ("mmol/L",),
    "mmol/kg": ("mmol/kg",),
    "mm": ("mmol/L",),
    "%": ("g/100 mL", "g/100 g water", "g/100 g solution"),
    "%w/v": ("g/100 mL",),
    "%m/v": ("g/100 mL",),
    "w/v%": ("g/100 mL",),
    "%w/w": ("g/100 g solution", "g/100 g water"),
    "%m/m": ("g/100 g solution", "g/100 g water"),
    "w/w%": ("g/100 g solution", "g/100 g water"),
    "wt%": ("g/100 g solution", "g/100 g water"),
    "mass%": ("g/100 g solution", "g/100 g water"),
    "%mass": ("g/100 g solution", "g/100 g water"),
}


def read_unit(text: str) -> tuple[tuple[UnitForm, ...], bool]:
    """Return the forms a written unit may stand for, and whether it was understood.

    Parameters
    ----------
    text : str
        The unit as written, e.g. ``"g per 100mL H2O"``, ``"M"``, ``"%"``; empty if none.

    Returns
    -------
    forms : tuple of UnitForm
        Every form the text allows. Without a usable text, the usual ones (:data:`USUAL`).
    written : bool
        ``False`` where the forms had to be assumed.
    """
    names = _PLAIN.get(_plain(text))
    if names is None and text.strip() in ("M", "m"):  # molarity and molality differ by case only
        names = ("mol/L",) if text.strip() == "M" else ("mol/kg",)
    written = names is not None
    return tuple(FORMS[name] for name in (names or USUAL)), written


def _plain(text: str) -> str:
    plain = text.strip().lower().replace("−", "-").replace("⁻¹", "-1")
    for pattern, word in _WORDS:
        plain = re.sub(pattern, word, plain)
    plain = _SOLUTE.sub("", plain)
    plain = _INVERSE.sub(r"/\g<unit>", plain)
    if plain in ("g/100mlwater", "g/lwater", "g/mlwater", "mg/mlwater", "mg/lwater"):
        plain = plain.removesuffix("water")  # per volume of water is how the residue route counts
    if plain in ("g/100mlsolution", "g/lsolution", "mol/lsolution", "g/mlsolution"):
        plain = plain.removesuffix("solution")
    return plain
