"""Forms of one group, heading lines with counted fills, and notes on ovens, beams and voids.

The quantities are invented; the ways of writing are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss
from solubility_stats.sheets.beam import beam_said
from solubility_stats.sheets.headings import understand
from solubility_stats.sheets.sentences import said_by

Write = Callable[..., Path]
HEAD = ["Group", "initial mass (g)", "water (mL)", "dry solid (g)"]


def counted(records: Any) -> Any:
    return records.runs[records.runs["set_aside"] == ""]


def test_both_trials_of_a_form_whose_group_stands_once(workbook: Write) -> None:
    def form(group: int) -> list[list[Any]]:
        return [["How much slaked lime dissolves?"], ["Section", "B"], ["Group", group], [],
                [None, "Trial 1", "Trial 2"], ["Names", "two of them"],
                ["Mass of Ca(OH)2 used (g)", 2.5 + group / 100, 2.4],
                ["Total water (mL)", 200, 199], ["Temperature (°C)", 20, 20.5],
                ["Mass of dried residue (g)", 2.15, 2.05]]  # fmt: skip

    runs = ss.read_class(workbook({f"Group {g}": form(g) for g in (1, 2, 3)})).runs
    assert runs["group"].tolist() == ["1", "1", "2", "2", "3", "3"]
    assert runs["run"].tolist() == ["1", "2"] * 3
    assert runs["initial_mass_g"].tolist() == [2.51, 2.4, 2.52, 2.4, 2.53, 2.4]


def test_fills_counted_in_a_second_heading_line_above_units(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", "Ca(OH)2", "Cylinder fills", None, None, "Filter paper", None, "Drying", None],
        [None, "weighed", "1", "2", "3", "empty", "with residue, dry", "time in oven", "constant?"],
        [None, "g", "mL", "mL", "mL", "g", "g", "h", None],
        *([g, 2.5, 60, 61, 62, 0.8, 2.95, 1.5, "yes"] for g in (1, 2, 3)),
    ]
    runs = ss.read_class(workbook({"s": rows}, merge={"s": ["C1:E1"]})).runs
    assert runs["dry_min"].tolist() == [90.0] * 3  # no 1.5 minutes
    assert runs["paper_mass_g"].tolist() == [0.8] * 3
    assert runs["recovered_with_paper_mass_g"].tolist() == [2.95] * 3
    assert runs["fill_3_ml"].tolist() == [62] * 3


def test_a_bare_drying_time_of_a_minute_is_a_question(workbook: Write) -> None:
    head = [*HEAD, "Drying"]
    rows = [[g, 2.5, 200, 2.1, t] for g, t in ((1, 1), (2, 1.5), (3, 2))]
    runs = ss.read_class(workbook({"s": [head, *rows]})).runs
    assert runs["dry_min"].isna().all()


@pytest.mark.parametrize("domain", ["g1@college.example", "for example yellow, but fine"])
def test_the_word_example_in_a_remark_makes_none(workbook: Write, domain: str) -> None:
    head = [*HEAD, "note"]
    rows = [[g, 2.5, 200, 2.1, domain] for g in (1, 2, 3)]
    assert len(counted(ss.read_class(workbook({"s": [head, *rows]})))) == 3


def test_a_group_that_was_voided_and_done_again(workbook: Write) -> None:
    rows: list[list[Any]] = [
        [None, "Grp 1", "Grp 2", "Grp 3 - IGNORE, beaker broke", "Grp 3 redo"],
        ["Ca(OH)2 weighed out / g", 3.03, 2.98, 3.02, 2.97],
        ["water / cm³", 200, 199, 200, 201],
        ["dry residue / g", 2.69, 2.62, None, 2.63],
    ]
    runs = counted(ss.read_class(workbook({"s": rows})))
    assert runs["group"].tolist() == ["1", "2", "3"]
    assert runs["initial_mass_g"].tolist() == [3.03, 2.98, 2.97]


def test_codes_listed_by_the_heading_they_stand_below(workbook: Write) -> None:
    codes = [
        ["code", "meaning"],
        ["Filt V", "vacuum"],
        ["Filt G", "gravity filtration"],
        ["Beam C", "laser beam not visible, clear"],
        ["Beam S", "laser beam visible"],
    ]
    head = [*HEAD, "Filt", "Beam"]
    rows = [[g, 2.5, 200, 2.1, f, b] for g, f, b in ((1, "V", "C"), (2, "G", "S"), (3, "V", "C"))]
    runs = ss.read_class(workbook({"MASTER": [head, *rows], "codes": codes})).runs
    assert runs["filtration"].tolist() == ["vacuum", "gravity", "vacuum"]
    assert runs["scatter"].tolist() == ["clear", "visible", "clear"]


@pytest.mark.parametrize(
    ("answer", "said"),
    [("A clear bright line", "visible"), ("clear beam", None), ("clearly visible beam", "visible"),
     ("no beam in the filtrates of either section", "clear")],
)  # fmt: skip
def test_what_is_clear_in_an_answer(answer: str, said: str | None) -> None:
    assert beam_said(answer, "What did the laser show?") == said


@pytest.mark.parametrize(
    ("text", "column", "said"),
    [("paper + solid weighed after 1 h in the 110 C oven, cooled (all groups)", "dry_min", "1 h"),
     ("Nota: todos secaron el residuo 2 h en la estufa a 105 °C.", "dry_min", "2 h"),
     ("Papiere mit Rückstand im Trockenschrank bis zur Massenkonstanz getrocknet.",
      "constant_mass", "yes"),
     ("Alle Gruppen: vorher 15 min gerührt und 20 min absitzen lassen.", "settle_min", "20 min"),
     ("Laser test: no beam in any of the filtrates of either section.", "scatter", "clear"),
     ("Group 3 was in the oven for 2 h.", "dry_min", None)],
)  # fmt: skip
def test_what_a_line_says_of_all(text: str, column: str, said: str | None) -> None:
    assert said_by(text, set()).get(column) == said


def test_what_stands_behind_a_footnote_for_all(workbook: Write) -> None:
    head = [*HEAD, "remark"]
    rows: list[list[Any]] = [[g, 2.5, 200, "2.1*" if g == 2 else 2.1, None] for g in (1, 2, 3)]
    note = [["* group 2 dried only once. First drying 30 min for all."]]
    runs = ss.read_class(workbook({"s": [head, *rows, [], *note]})).runs
    assert runs["dry_min"].tolist() == [30] * 3


def test_a_unit_that_says_more_and_fills_counted_twice() -> None:
    assert understand(("residue", "g (no paper)")).column == "recovered_mass_g"
    assert understand(("Water (4 grad. cylinders, mL each)", "2")).column == "fill_2_ml"


def test_baths_over_the_same_headings_are_runs_of_each_group(workbook: Write) -> None:
    block = ["Temp.", "Solid in", "Water", "Residue"]
    rows = [
        [None, "Ice bath", None, None, None, "Room temperature", None, None, None],
        ["Group", *block, *block],
        [None, *["K", "mg", "L", "mg"] * 2],
        [1, 277, 3025, 0.25, 2529, 295, 2980, 0.25, 2347],
        [2, 278, 2965, 0.25, 2461, 293, 2965, 0.2, 2480],
        [3, 277, 2980, 0.25, 2482, 294, 3020, 0.25, 2416],
    ]
    path = workbook({"s": rows}, merge={"s": ["B1:E1", "F1:I1", "A1:A3"]})
    runs = counted(ss.read_class(path))
    assert runs["group"].tolist() == ["1", "1", "2", "2", "3", "3"]
    assert runs["run"].tolist() == ["Ice bath", "Room temperature"] * 3
    assert runs["temperature_c"].round(2).tolist() == [3.85, 21.85, 4.85, 19.85, 3.85, 20.85]
    assert runs["recovered_mass_g"].tolist() == [2.529, 2.347, 2.461, 2.48, 2.482, 2.416]


def test_what_was_planned_gives_way_to_what_was_taken(workbook: Write) -> None:
    rows = [[None, "Planned", None, "Actual", None, None, None],
            ["Group", "solid", "water", "solid", "water", "temperature", "dry residue"],
            [None, "(g)", "(mL)", "(g)", "(mL)", "(°C)", "(g)"],
            *([g, 3.0, 250, 2.9 + g / 100, 250 - g, 21, 2.5] for g in (1, 2, 3))]  # fmt: skip
    records = ss.read_class(workbook({"s": rows}))
    runs = counted(records)
    assert runs["initial_mass_g"].round(3).tolist() == [2.91, 2.92, 2.93]
    assert runs["water_volume_ml"].tolist() == [249, 248, 247]
    planned = records.ledger[records.ledger["cell"].isin(["B4", "C4", "B6", "C6"])]
    assert set(planned["outcome"]) == {"ignored"}


@pytest.mark.parametrize("but", ["unless your tab says otherwise", "unless noted"])
def test_said_of_every_run_that_does_not_say_otherwise(workbook: Write, but: str) -> None:
    table = [HEAD, *([g, 2.5, 200, 2.1 + g / 100] for g in (1, 2))]
    other = [*HEAD, "filtration"]
    sheets = {
        "READ ME": [["General chemistry, week 6"], [f"Vacuum filtration {but}."]],
        "A": table,
        "B": [other, *([g, 2.5, 200, 2.1, "gravity"] for g in (3, 4))],
    }
    runs = counted(ss.read_class(workbook(sheets)))
    assert runs["filtration"].tolist() == ["vacuum", "vacuum", "gravity", "gravity"]


def test_a_note_in_a_log_that_speaks_of_everybody(workbook: Write) -> None:
    rows: list[list[Any]] = [["time", "bench", "what", "reading", "unit", "remark"]]
    for what, unit, start in (("solid weighed out", "g", 2.4), ("water, total", "mL", 200)):
        rows += [["10:05", g, what, start + g / 100, unit, None] for g in (1, 2, 3)]
    rows += [["10:52", None, "NOTE", None, None, "everybody on gravity, aspirators are down"]]
    rows += [["11:30", g, "dry residue", 2.1, "g", None] for g in (1, 2, 3)]
    records = ss.read_class(workbook({"log": rows}))
    assert counted(records)["filtration"].tolist() == ["gravity"] * 3
    said = records.ledger[records.ledger["raw"].astype(str).str.startswith("everybody")]
    assert said["column"].tolist() == ["filtration"]


def test_the_day_beside_the_section_over_cards_is_no_section(text_table: Write) -> None:
    rows = [["Section D", "Friday 9-12", ""], ["", "", ""]]
    for group in (1, 2, 3):
        rows += [[f"Group {group}", "", ""], ["solid weighed", f"2.{group}65", "g"],
                 ["water 1", "50", "mL"], ["water 2", "49.7", "mL"], ["stirred", "10", "min"],
                 ["dry residue without paper", f"1.{group}04", "g"], ["", "", ""]]  # fmt: skip
    runs = ss.read_class(text_table(rows)).runs
    assert runs["section"].tolist() == ["D"] * 3
    assert runs["group"].tolist() == ["1", "2", "3"]


def test_who_it_was_stays_in_the_reader_and_their_answer_counts(workbook: Write) -> None:
    head = ["Bench", "Who", "Weighed out", "Water", "Dry solid", "Their answer"]
    rows = [[g, n, "2.5 g", "200 mL", "2.17 g", f"0.16{g} g/100 mL"]
            for g, n in ((1, "Tilda"), (2, "Ravi & Signe"), (3, "Ottoline"))]  # fmt: skip
    records = ss.read_class(workbook({"s": [head, *rows]}))
    assert records.runs["reported_solubility"].tolist() == [0.161, 0.162, 0.163]
    assert not records.ledger["raw"].astype(str).str.contains("Tilda|Ravi|Ottoline").any()


@pytest.mark.parametrize("heading", ["g dissolved /100 mL", "g dissolved per 100 mL"])
def test_the_word_between_a_unit_and_its_volume(workbook: Write, heading: str) -> None:
    rows = [[*HEAD, heading], *([g, 2.5, 200, 2.17, 0.165] for g in (1, 2, 3))]
    runs = ss.read_class(workbook({"s": rows})).runs
    assert runs["reported_solubility"].tolist() == [0.165] * 3
    assert runs["reported_unit"].tolist() == ["g/100 mL"] * 3


def test_a_remark_that_says_how_this_one_was_filtered(workbook: Write) -> None:
    said = [None, "switched to vacuum, paper kept clogging", "pump looked busy"]
    rows = [[*HEAD, "Comments"], *([g, 2.5, 200, 2.1, s] for g, s in enumerate(said, start=1))]
    path = workbook({"s": [["Wednesday labs. Gravity filtration, fast paper."], [], *rows]})
    assert ss.read_class(path).runs["filtration"].tolist()[:2] == ["gravity", "vacuum"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Oven 110 °C, 40 min.", {"dry_min": "40 min"}),
        ("All mixtures: 45 min settling.", {"settle_min": "45 min"}),
        ("We used gravity filtration here (pump being serviced).", {"filtration": "gravity"}),
    ],
)
def test_steps_said_in_few_words(text: str, said: dict[str, str]) -> None:
    assert said_by(text, set()) == said


def test_lines_above_the_first_card_are_not_of_its_group(text_table: Write) -> None:
    rows = [
        ["Notebook entries of section 4", " copied out"],
        ["Gravity filtration for all groups."],
    ]
    for group in (1, 2, 3):
        rows += [[""], [f"Group {group}"], ["Ca(OH)2 weighed", f"2.{group}2 g"],
                 ["Water added in total", "205 mL"], ["Temperature", "22 °C"],
                 ["Time stirred", "10 min"], ["Dry solid", "2.1 g"]]  # fmt: skip
    runs = ss.read_class(text_table(rows)).runs
    assert runs["group"].tolist() == ["1", "2", "3"]
    assert runs["section"].tolist() == ["4"] * 3
    assert runs["filtration"].tolist() == ["gravity"] * 3
