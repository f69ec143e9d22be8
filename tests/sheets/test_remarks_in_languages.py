"""Remarks against a reading in the languages that sheets come in; the wording is our own."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import solubility_stats as ss

Write = Callable[..., Path]
HEADS = ["Group", "Ca(OH)2 start (g)", "Water (mL)", "Dry solid left (g)", "T (°C)", "Remarks"]
ROWS: list[list[Any]] = [
    [1, 2.33, 150, 2.04, 21, None], [2, 2.30, 150, 2.08, 21, None], [3, 2.26, 200, 1.92, 21, None],
    [4, 2.41, 200, 2.09, 21, None],
]  # fmt: skip
PLAIN = {"initial_mass_g": 2.26, "water_volume_ml": 200.0, "recovered_mass_g": 1.92,
         "recovered_with_paper_mass_g": None, "temperature_c": 21.0}  # fmt: skip
DRY = {"recovered_mass_g": 1.72}
NOT_DRY: dict[str, Any] = {"recovered_mass_g": None}
NEITHER = {"initial_mass_g": None, "recovered_mass_g": None}
PAPER = {"recovered_mass_g": None, "recovered_with_paper_mass_g": 1.92}
WATER = {"water_volume_ml": 250.0}


def _third(workbook: Write, remark: str) -> tuple[pd.Series, pd.DataFrame]:
    rows = [list(row) for row in ROWS]
    rows[2][-1] = remark
    records = ss.read_class(workbook({"5C": [HEADS, *rows]}))
    run = records.runs.set_index("group").loc["3"]
    return run, records.flags[records.flags["run_id"] == run["run_id"]]


def _changed(run: pd.Series) -> dict[str, Any]:
    read = {c: run.get(c) for c in PLAIN}
    read = {c: None if pd.isna(v) else v for c, v in read.items()}
    return {c: v for c, v in read.items() if v != PLAIN[c]}


@pytest.mark.parametrize(
    ("remark", "changed"),
    [
        ("nicht 1,92 sondern 1,72", DRY), ("1,92 ist falsch, richtig ist 1,72", DRY),
        ("statt 1,92 muss es 1,72 heißen", DRY), ("Trockenmasse falsch abgelesen", NOT_DRY),
        ("Wasser waren eigentlich 250 mL", WATER), ("Uhrglas nicht abgezogen", NEITHER),
        ("Trockenmasse stimmt nicht", NOT_DRY), ("Anfang und Ende vertauscht", NEITHER),
        ("Papier nicht abgezogen", PAPER), ("pas 1,92 mais 1,72", DRY),
        ("on a mis 250 mL au lieu de 200", WATER), ("erreur sur la masse sèche", NOT_DRY),
        ("masse sèche fausse", NOT_DRY), ("oublié de tarer la coupelle", NEITHER),
        ("masses inversées", NEITHER), ("papier non déduit", PAPER),
        ("on n'a pas enlevé la masse du papier", PAPER), ("no es 1,92 sino 1,72", DRY),
        ("1,92 está mal, es 1,72", DRY), ("masa seca mal anotada", NOT_DRY),
        ("no taramos el vidrio de reloj", NEITHER), ("masas al revés", NEITHER),
        ("falta restar el papel", PAPER), ("non 1,92 ma 1,72", DRY),
        ("usati 250 mL invece di 200", WATER), ("massa secca sbagliata", NOT_DRY),
        ("tara del vetrino non sottratta", NEITHER), ("carta non sottratta", PAPER),
        ("1,72 em vez de 1,92", DRY), ("massa seca errada", NOT_DRY),
        ("esqueceram de descontar o papel", PAPER), ("niet 1,92 maar 1,72", DRY),
        ("droge massa klopt niet", NOT_DRY), ("horlogeglas niet getarreerd", NEITHER),
        ("papier niet afgetrokken", PAPER), ("inte 1,92 utan 1,72", DRY),
        ("papperet inte bortdraget", PAPER), ("1,72 ikke 1,92", DRY), ("vejet med papir", PAPER),
        ("nie 1,92 tylko 1,72", DRY), ("ważone z sączkiem", PAPER), ("váženo s papírem", PAPER),
        ("1,72 eikä 1,92", DRY), ("punnittu paperin kanssa", PAPER), ("1,92 değil 1,72", DRY),
        ("kağıtla tartıldı", PAPER),
    ],
)  # fmt: skip
def test_a_reading_is_put_right_or_left_out(
    workbook: Write, remark: str, changed: dict[str, Any]
) -> None:
    run, flags = _third(workbook, remark)
    assert _changed(run) == changed
    assert {*flags["column"]} >= {c for c, v in changed.items() if v is not None}


@pytest.mark.parametrize(
    "remark", ["ungültig", "Messung verworfen", "ne pas prendre en compte", "résultat non valable",
               "no tomar en cuenta", "anulado", "da scartare", "não considerar", "niet meetellen",
               "räkna inte med", "nie liczyć", "nepočítat", "falsches Salz verwendet"],
)  # fmt: skip
def test_a_run_taken_back_is_set_aside(workbook: Write, remark: str) -> None:
    assert remark in _third(workbook, remark)[0]["set_aside"]


@pytest.mark.parametrize(
    "remark", ["nicht ganz trocken", "noch nass gewogen", "pas tout à fait sec", "pesado húmedo",
               "ancora bagnato", "ainda úmido", "nog nat", "osad jeszcze wilgotny"],
)  # fmt: skip
def test_a_solid_weighed_damp_is_kept_and_flagged(workbook: Write, remark: str) -> None:
    run, flags = _third(workbook, remark)
    assert _changed(run) == {}
    assert flags["column"].to_list() == ["recovered_mass_g"]


@pytest.mark.parametrize(
    "remark", ["Papier beim Abkratzen gerissen", "probeta mal enrasada", "papel rasgou; refeito",
               "se rompió el papel, se repitió", "erreur de calcul", "Rechenfehler", "carta piegata"
               " male", "calculée avec la masse sèche", "used tap water by mistake",
               "ausgetropft, dann Papier gewechselt", "papier changé avant de filtrer",
               "Waage erst nicht tariert, nochmal gewogen", "un peu de solide perdu",
               "forgot to zero the balance for the paper but fixed it", "spildt lidt vand"],
)  # fmt: skip
def test_a_remark_on_how_it_went_changes_nothing(workbook: Write, remark: str) -> None:
    run, flags = _third(workbook, remark)
    assert _changed(run) == {}
    assert run["set_aside"] == ""
    assert flags.empty
