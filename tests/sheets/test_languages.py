"""Sheets in Turkish, Finnish and Czech, and what no English sheet does.

The quantities are invented; the ways of writing are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss
from solubility_stats.quantities import quantity
from solubility_stats.sheets.beam import beam_said
from solubility_stats.sheets.cells import parse_cell
from solubility_stats.sheets.headings import understand
from solubility_stats.sheets.model import CellContext, RawCell
from solubility_stats.sheets.texts import decode

Write = Callable[..., Path]

HEADINGS = {
    # Turkish
    "Tartılan katı (g)": "initial_mass_g",
    "BAŞLANGIÇ KÜTLESİ (g)": "initial_mass_g",
    "Alınan Ca(OH)2 (g)": "initial_mass_g",
    "1. mezür (mL)": "fill_1_ml",
    "ikinci mezür (mL)": "fill_2_ml",
    "su 3 (mL)": "fill_3_ml",
    "Toplam su (mL)": "water_volume_ml",
    "Suyun sıcaklığı (°C)": "temperature_c",
    "Karıştırma (dk)": "stir_min",
    "KARIŞTIRMA SÜRESİ (dk)": "stir_min",
    "Bekletme süresi (dk)": "settle_min",
    "Kurutma (dk)": "dry_min",
    "Süzme yöntemi": "filtration",
    "Süzgeç kâğıdı (g)": "paper_mass_g",
    "Kâğıt + kuru katı (g)": "recovered_with_paper_mass_g",
    "Kuru kalıntı (g)": "recovered_mass_g",
    "Islak katı (g)": "wet_cake_mass_g",
    "İkinci kurutmadan sonra (g)": "second_dry_mass_g",
    "Büret ilk okuma (mL)": "burette_start_ml",
    "Büret son okuma (mL)": "burette_end_ml",
    "Harcanan HCl (mL)": "titrant_ml",
    "HCl derişimi (M)": "titrant_mol_per_l",
    "Buldukları çözünürlük (g/L)": "reported_solubility",
    "Işın göründü mü?": "scatter",
    "Sabit tartım mı?": "constant_mass",
    "Grup": "group",
    "Şube": "section",
    "Açıklama": "comment",
    # Finnish
    "Kalsiumhydroksidin massa alussa (g)": "initial_mass_g",
    "Alkumassa (g)": "initial_mass_g",
    "Punnittu Ca(OH)2 (g)": "initial_mass_g",
    "1. mittalasillinen (ml)": "fill_1_ml",
    "toinen mittalasi (ml)": "fill_2_ml",
    "Vettä yhteensä (ml)": "water_volume_ml",
    "Veden lämpötila (°C)": "temperature_c",
    "Sekoitus (min)": "stir_min",
    "Sekoitusaika (min)": "stir_min",
    "Seisotusaika (min)": "settle_min",
    "Kuivausaika (min)": "dry_min",
    "Suodatustapa": "filtration",
    "Suodatinpaperi (g)": "paper_mass_g",
    "Suodatinpaperi + kuiva jäännös (g)": "recovered_with_paper_mass_g",
    "Kuiva jäännös (g)": "recovered_mass_g",
    "Märkä jäännös (g)": "wet_cake_mass_g",
    "2. kuivauksen jälkeen (g)": "second_dry_mass_g",
    "Suodosta titraukseen (ml)": "aliquot_ml",
    "Byretti alussa (ml)": "burette_start_ml",
    "Byretti lopussa (ml)": "burette_end_ml",
    "HCl-kulutus (ml)": "titrant_ml",
    "HCl:n konsentraatio (mol/l)": "titrant_mol_per_l",
    "Tyhjä haihdutusmalja (g)": "dish_mass_g",
    "Liukoisuus (g/l)": "reported_solubility",
    "Lasersäde suodoksessa": "scatter",
    "Ryhmä": "group",
    "Luokka": "section",
    "Huomautuksia": "comment",
    # Czech
    "navážka (g)": "initial_mass_g",
    "hmotnost hydroxidu na začátku (g)": "initial_mass_g",
    "1. odměrný válec (ml)": "fill_1_ml",
    "druhý válec (ml)": "fill_2_ml",
    "voda celkem (ml)": "water_volume_ml",
    "teplota vody (°C)": "temperature_c",
    "doba míchání (min)": "stir_min",
    "usazování (min)": "settle_min",
    "doba sušení (min)": "dry_min",
    "způsob filtrace": "filtration",
    "filtrační papír (g)": "paper_mass_g",
    "papír + suchý zbytek (g)": "recovered_with_paper_mass_g",
    "suchý zbytek (g)": "recovered_mass_g",
    "suchý zbytek bez papíru (g)": "recovered_mass_g",
    "vlhký zbytek (g)": "wet_cake_mass_g",
    "po druhém sušení (g)": "second_dry_mass_g",
    "pipetováno filtrátu (ml)": "aliquot_ml",
    "byreta na začátku (ml)": "burette_start_ml",
    "byreta na konci (ml)": "burette_end_ml",
    "spotřeba HCl (ml)": "titrant_ml",
    "koncentrace HCl (mol/l)": "titrant_mol_per_l",
    "rozpustnost (g/l)": "reported_solubility",
    "laserový paprsek": "scatter",
    "skupina": "group",
    "třída": "section",
    "poznámka": "comment",
    # Those known before
    "Tª agua (ºC)": "temperature_c",
    "Solubilidad que obtuvieron (con unidades)": "reported_solubility",
    "Löslichkeit (mit Einheit)": "reported_solubility",
    "tørt stof skrabet af papiret (g)": "recovered_mass_g",
    "Volume équivalent (mL)": "titrant_ml",
    "Stała masa": "constant_mass",
}
OTHER_THINGS = (
    "Kap + kalıntı (g)",
    "Çözünen kütle (g)",
    "Ortalama çözünürlük sapması",
    "Beherin kütlesi (g)",
    "Liuennut massa (g)",
    "Dekantterilasin massa (g)",
    "rozdíl hmotností (g)",
    "hmotnost kádinky (g)",
)


@pytest.mark.parametrize(("heading", "column"), [(h, c) for h, c in HEADINGS.items()])
def test_headings(heading: str, column: str) -> None:
    assert understand((heading,)).column == column


@pytest.mark.parametrize("heading", OTHER_THINGS)
def test_headings_of_other_things(heading: str) -> None:
    assert understand((heading,)).column is None


def test_a_turkish_class(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Kalsiyum hidroksitin sudaki çözünürlüğü"],
        ["Şube: 11-C"],
        ["Süzme: V = vakumlu (su trompu), H = huniyle, kendi kendine süzülerek"],
        [],
        ["Grup", "Tartılan katı (g)", "1. mezür (mL)", "2. mezür (mL)", "Süzme",
         "Süzgeç kâğıdı (g)", "Kâğıt + kuru katı (g)", "Kurutma (dk)", "Lazer"],
        [1, "2,84", 100, 100, "V", "0,88", "3,36", "yarım saat", "ışın görünmedi"],
        [2, "2,90", 100, 50, "H", "0,85", "3,47", 30, "ışın göründü"],
        [3, "2,70", 100, 50, "V", "0,86", "3,30", 30, "bakılmadı"],
        ["3 (tekrar)", "2,71", 100, 50, "V", "0,86", "3,31", 30, "ışın yok"],
        ["Ortalama", "2,79"],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"Sonuçlar": rows})).runs
    assert runs["section"].unique().tolist() == ["11-C"]
    assert runs["group"].tolist() == ["1", "2", "3", "3"]
    assert runs["initial_mass_g"].tolist() == [2.84, 2.90, 2.70, 2.71]
    assert runs["water_volume_ml"].tolist() == [200, 150, 150, 150]
    assert runs["filtration"].tolist() == ["vacuum", "gravity", "vacuum", "vacuum"]
    assert runs["dry_min"].tolist() == [30, 30, 30, 30]
    assert runs["scatter"].fillna("").tolist() == ["clear", "visible", "", "clear"]


def test_a_finnish_class(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Kalsiumhydroksidin liukoisuus, luokka 2B"],
        ["Kaikki suodattivat imulla (Büchner-suppilo). Veden lämpötila 20,5 °C"],
        [],
        ["Ryhmä", "Punnittu Ca(OH)2 (g)", "Vettä yhteensä (ml)", "Sekoitus (min)",
         "Paperi (g)", "Paperi + kuiva jäännös (g)", "Kuivausaika", "Lasersäde näkyy?"],
        [1, 2.84, 200, 12, 0.88, 3.36, "puoli tuntia", "ei"],
        [2, 2.90, 150, 10, 0.85, 3.47, "1 tunti", "kyllä"],
        ["Keskiarvo", 2.87],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"Tulokset": rows})).runs
    assert runs["section"].unique().tolist() == ["2B"]
    assert runs["recovered_with_paper_mass_g"].tolist() == [3.36, 3.47]
    assert runs["filtration"].tolist() == ["vacuum"] * 2
    assert runs["temperature_c"].tolist() == [20.5] * 2
    assert runs["dry_min"].tolist() == [30, 60]
    assert runs["scatter"].tolist() == ["clear", "visible"]


CZECH = (
    "třída:;3.B\nodměrný roztok HCl;0,0498 mol/l\n\n"
    "skupina;navážka (g);1. válec (ml);2. válec (ml);filtrace;suchý zbytek (g);"
    "byreta na začátku (ml);byreta na konci (ml);laser\n"
    "1;2,653;50,0;50,0;za atmosférického tlaku;2,418;0,00;21,78;paprsek není vidět\n"
    "2;2,058;50,0;50,0;vakuová;1,831;0,20;21,71;paprsek je vidět\n"
)


@pytest.mark.parametrize("encoding", ["cp1250", "utf-8", "utf-16"])
def test_a_czech_class_in_each_encoding(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "rozpustnost.csv"
    path.write_bytes(CZECH.encode(encoding))
    runs = ss.read_class(path).runs
    assert runs["section"].tolist() == ["3.B"] * 2
    assert runs["titrant_mol_per_l"].tolist() == [0.0498] * 2
    assert runs["burette_start_ml"].tolist() == [0.0, 0.20]
    assert runs["filtration"].tolist() == ["gravity", "vacuum"]
    assert runs["scatter"].tolist() == ["clear", "visible"]


def test_turkish_letters_of_code_page_1254() -> None:
    text = "Şube;Tartılan katı (g);Kâğıt;Açıklama;Karıştırma"
    assert decode(text.encode("cp1254"), "x") == (text, "cp1254")


@pytest.mark.parametrize(
    "text",
    ["Gruppe;Rückstand (g);für Löslichkeit", "gâteau;pesée;équivalent", "prøve;tørt;måleglas"],
)
def test_western_letters_stay_western(text: str) -> None:
    assert decode(text.encode("cp1252"), "x")[0] == text


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("ışın görünmedi", "clear"), ("Işın görüldü", "visible"), ("ışın yok", "clear"),
        ("ei näy", "clear"), ("säde näkyi", "visible"), ("paprsek není vidět", "clear"),
        ("paprsek je vidět", "visible"), ("pas de trace", "clear"), ("strålen syns", "visible"),
        ("no se ve", "clear"), ("se ve el haz", "visible"), ("on voit le faisceau", "visible"),
        ("bakılmadı", None), ("lazer bozuktu", None), ("filtratet var klart", "clear"),
    ],
)  # fmt: skip
def test_what_was_seen_of_the_beam(said: str, meant: str | None) -> None:
    assert beam_said(said) == meant


@pytest.mark.parametrize(
    ("text", "minutes"),
    [("½ time", 30), ("1½ time", 90), ("1/2 stunde", 30), ("2 timer", 120), ("yarım saat", 30),
     ("1,5 saat", 90), ("15 dk", 15), ("půl hodiny", 30), ("puoli tuntia", 30)],
)  # fmt: skip
def test_times(text: str, minutes: float) -> None:
    cell = RawCell(1, 1, text, text)
    assert parse_cell(cell, quantity("dry_min"), CellContext("dry_min")).value == minutes


@pytest.mark.parametrize("text", ["1/2", "1/2 pages", "natten over"])
def test_no_times(text: str) -> None:
    cell = RawCell(1, 1, text, text)
    assert parse_cell(cell, quantity("dry_min"), CellContext("dry_min")).value is None


def test_a_timer_is_no_unit_of_hours() -> None:
    assert understand(("stir timer",)).unit is None
