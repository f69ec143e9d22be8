"""What sheets in other languages do: repetitions named, sentences for all, few words that mislead.

The quantities are invented; the ways of writing are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss
from solubility_stats.quantities import quantity
from solubility_stats.sheets.choices import choice
from solubility_stats.sheets.places import says_again, section_named

Write = Callable[..., Path]
HEAD = ["Gruppe", "Einwaage (g)", "Wasser (mL)", "Rückstand trocken (g)"]
FIRST: list[list[Any]] = [[1, 2.51, 200, 2.17], [2, 2.50, 200, 2.14], [3, 2.03, 150, 1.77]]


def _runs(path: Path) -> Any:
    return ss.read_class(path).runs


@pytest.mark.parametrize(
    "code",
    ["3 (2. Versuch)", "3 (Wiederholung)", "3 (repetição)", "3 (ripetuta)", "3 – omtag", "3 bis",
     "3 (2e essai)", "3 (powtórzenie)", "3 (tekrar)", "3 (uusinta)", "3, opakování", "3 (redo)"],
)  # fmt: skip
def test_a_group_that_did_it_twice(workbook: Write, code: str) -> None:
    rows = [HEAD, *FIRST, [code, 2.48, 200, 2.12]]
    runs = _runs(workbook({"Werte": rows}))
    assert runs["group"].tolist() == ["1", "2", "3", "3"]
    assert runs["initial_mass_g"].tolist() == [2.51, 2.50, 2.03, 2.48]


def test_a_second_trial_replaces_nothing(workbook: Write) -> None:
    runs = _runs(workbook({"Werte": [HEAD, *FIRST, ["3 (2. Versuch)", 2.48, 200, 2.12]]}))
    assert (runs["set_aside"] == "").all()
    assert runs["run"].tolist()[-1] == "2"


@pytest.mark.parametrize("code", ["3 (Nord)", "3 (10b)", "3 (3 Personen)"])
def test_another_group_with_the_same_number_stays_apart(workbook: Write, code: str) -> None:
    runs = _runs(workbook({"Werte": [HEAD, *FIRST, [code, 2.48, 200, 2.12]]}))
    assert runs["group"].nunique() == 4


@pytest.mark.parametrize("text", ["north", "2", "neon", "essai 12", "2 g", "trial", "versuch 3"])
def test_what_says_nothing_of_a_second_time(text: str) -> None:
    assert not says_again(text)


@pytest.mark.parametrize(
    ("text", "code"),
    [("CLASSE 3B - SOLUBILITA' DELL'IDROSSIDO", "3B"), ("Klasse 10b", "10b"),
     ("Şube: 10-B", "10-B"),
     ("třída 3.B", "3.B"), ("luokka 2B", "2B"), ("CLASSES", ""), ("Class 4. All groups", "4")],
)  # fmt: skip
def test_the_class_in_a_title(text: str, code: str) -> None:
    assert section_named(text) == code


def test_a_blank_third_fill_gives_its_meaning_to_nothing_below(workbook: Write) -> None:
    card: list[list[Any]] = [
        ["Groupe 1"],
        ["Masse de Ca(OH)2 pesée", 3.012, "g"],
        ["Eau : 1er remplissage", 100, "mL"],
        ["Eau : 2e remplissage", 100, "mL"],
        ["Eau : 3e remplissage", None, None],
        ["Masse sèche", 2.673, "g"],
        ["Volume du glorp", 22.9, "mL"],
    ]
    runs = _runs(workbook({"fiche": card}))
    assert "fill_3_ml" not in runs or runs["fill_3_ml"].isna().all()
    assert "water_volume_ml" not in runs or 222.9 not in runs["water_volume_ml"].tolist()


def test_cards_side_by_side_with_units_in_a_column(workbook: Write) -> None:
    labels = ["Masse de Ca(OH)2 pesée", "Eau : 1er remplissage", "Eau : 2e remplissage",
              "Eau : 3e remplissage", "Masse sèche, 1re pesée", "Volume équivalent"]  # fmt: skip
    units = ["g", "mL", "mL", "mL", "g", "mL"]
    left, right = [3.012, 100, 100, None, 2.673, 22.9], [2.987, 100, 100, 50, 2.553, 23.0]
    rows: list[list[Any]] = [["POSTE 1", None, None, None, "POSTE 2"]]
    for label, a, b, unit in zip(labels, left, right, units, strict=True):
        rows.append([label, a, unit if a else None, None, label, b, unit])
    runs = _runs(workbook({"TP": rows})).sort_values("group")
    assert runs["group"].tolist() == ["1", "2"]
    assert runs["initial_mass_g"].tolist() == [3.012, 2.987]
    assert runs["water_volume_ml"].tolist() == [200, 250]
    assert runs["titrant_ml"].tolist() == [22.9, 23.0]


def test_a_few_groups_evaporated_below_the_runs_of_all(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Vattnets temperatur 20,0 °C. Sug = vakuumfiltrering, vanlig tratt = utan sug."],
        [],
        ["Grupp", "Invägd kalk", "Vatten från mätglas (ml)", None, "Filtrering", "Torr rest"],
        [None, "g", "1:a", "2:a", None, "g"],
        ["A", 2.50, 100, 100, "sug", 2.15],
        ["B", 2.46, 100, 50, "vanlig tratt", 2.10],
        ["C", 2.53, 100, 100, "sug", 2.18],
        [],
        ["Del 2 Indunstning"],
        ["Grupp", "Filtrat i skålen (ml)", "Tom skål (g)", "Skål + torr rest (g)"],
        ["B", 50, 41.17, 41.25],
    ]
    runs = _runs(workbook({"NA23": rows}, merge={"NA23": ["C3:D3"]}))
    assert runs["group"].tolist() == ["A", "B", "C"]
    assert runs["water_volume_ml"].tolist() == [200, 150, 200]
    assert runs["dish_mass_g"].fillna(0).tolist() == [0, 41.17, 0]
    # The key of the two words is no statement about all.
    assert runs["filtration"].tolist() == ["vacuum", "gravity", "vacuum"]


def test_a_second_class_with_fewer_groups_stays_apart(workbook: Write) -> None:
    again: list[list[Any]] = [HEAD, [1, 2.61, 200, 2.27], [2, 2.60, 200, 2.24]]
    runs = _runs(workbook({"Werte": [HEAD, *FIRST, [], [], *again]}))
    assert len(runs) == 5


def test_half_an_hour_is_no_mean(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Grupo", "Masa inicial (g)", "Agua (mL)", "Reposo", "Masa final seca (g)"],
        [1, 2.51, 200, "10 min", 2.17],
        [2, 2.50, 200, "media hora", 2.14],
        ["media", 2.505, None, None, 2.155],
    ]
    runs = _runs(workbook({"datos": rows}))
    assert runs["settle_min"].tolist() == [10, 30]


def test_the_class_of_the_teams_beside_them(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Marca temporal", "Grupo", "Número de equipo", "Masa inicial (g)", "Masa final seca (g)"],
        *(["12/3/2025 10:43:42", c, t, 2.4 + t / 10, 2.1] for c in (1501, 1502) for t in (1, 2, 3)),
    ]
    runs = _runs(workbook({"respuestas": rows}))
    assert runs["section"].tolist() == ["1501"] * 3 + ["1502"] * 3
    assert runs["group"].tolist() == ["1", "2", "3"] * 2


def test_two_pairs_in_each_group_make_no_class(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", "Pair", "Start mass (g)", "Dry mass left (g)"],
        *([g, p, 2.4 + g / 10, 2.1] for g in (1, 2, 3) for p in ("A", "B")),
    ]
    runs = _runs(workbook({"data": rows}))
    assert "section" not in runs or not set(runs["section"].dropna()) & {"1", "2", "3"}


@pytest.mark.parametrize(
    ("text", "meant"),
    [("Filtración a vacío con embudo Büchner", "vacuum"), ("entonnoir Büchner", "vacuum"),
     ("imbuto di Büchner", "vacuum"), ("embudo de vidrio", "gravity"),
     ("Büchnertrichter", "vacuum"),
     ("embudo Büchner, por gravedad", None)],
)  # fmt: skip
def test_a_buchner_funnel_is_no_plain_funnel(text: str, meant: str | None) -> None:
    assert choice(text, quantity("filtration"))[0] == meant


@pytest.mark.parametrize(
    "text",
    ["Trompe à eau en panne → filtration simple par gravité (filtre plissé) pour tout le monde",
     "Wasserstrahlpumpe kaputt, alle mit Faltenfilter filtriert",
     "Su trompu bozuk, herkes yerçekimiyle süzdü"],
)  # fmt: skip
def test_a_broken_pump_was_not_used(workbook: Write, text: str) -> None:
    runs = _runs(workbook({"Werte": [[text], [], HEAD, *FIRST]}))
    assert runs["filtration"].tolist() == ["gravity"] * 3


def test_a_yes_with_words_behind_it(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Grupo", "Masa inicial (g)", "Masa final seca (g)", "¿Se vio el rayo láser?"],
        [1, 2.51, 2.17, "Sí, se vio el rayo"],
        [2, 2.50, 2.14, "No, quedó transparente"],
    ]  # fmt: skip
    assert _runs(workbook({"datos": rows}))["scatter"].tolist() == ["visible", "clear"]
