"""Groups named once over their trials, steps down the side; and what must not be taken for that."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from solubility_stats.records import ClassRecords
from solubility_stats.sheets import read_class
from solubility_stats.sheets.beam import beam_said
from solubility_stats.sheets.headings import understand

Write = Callable[..., Path]
Rows = list[list[object]]
STEPS: Rows = [
    ["Ca(OH)2 taken (g)", 2.122, 2.246, 2.280, 2.022, 2.442, 2.301],
    ["water (mL)", 200, 199, 201, 202, 198, 200],
    ["T / °C", 21, 20, 20.5, 20, 20, 21],
    ["dry solid back (g)", 1.781, 1.975, 1.935, 1.7, 2.112, 1.962],
]
MASSES = STEPS[0][1:]
THREE_BY_TWO = [["1", "1"], ["1", "2"], ["2", "1"], ["2", "2"], ["3", "1"], ["3", "2"]]


def keys(records: ClassRecords, columns: list[str]) -> Rows:
    runs = records.runs[records.runs["set_aside"] == ""]
    found: Rows = runs[columns].to_numpy(dtype=object).tolist()
    return found


def over(*names: object) -> list[object]:
    return [part for name in names for part in (name, None)]


@pytest.mark.parametrize(
    ("names", "trials"),
    [
        (["", *over("Group 1", "Group 2", "Group 3")], ["", *["1st go", "2nd go"] * 3]),
        (["", *over("Groep 1", "Groep 2", "Groep 3")], ["", *["meting 1", "meting 2"] * 3]),
        (["Bench", *over(1, 2, 3)], ["", *["A", "B"] * 3]),
        (["", *over("Table 1", "Table 2", "Table 3")], ["what you did", *[1, 2] * 3]),
        (
            ["", *over("Groupe 1", "Groupe 2", "Groupe 3")],
            ["grandeur", *["essai 1", "essai 2"] * 3],
        ),
    ],
)
def test_groups_over_trials(names: list[object], trials: list[object], workbook: Write) -> None:
    records = read_class(workbook({"Data": [["Lime"], [], names, trials, *STEPS]}))
    said = [[g, {"A": "1", "B": "2"}.get(r, r)] for g, r in keys(records, ["group", "run"])]
    assert said == THREE_BY_TWO
    assert records.runs["initial_mass_g"].tolist() == MASSES


def test_two_stacked_tables_in_mg_with_remarks_beside_them(text_table: Write) -> None:
    def table(first: int, masses: list[object], last: list[object]) -> Rows:
        return [
            ["", *over(f"Group {first}", f"Group {first + 1}"), "remarks"],
            ["", *["1st go", "2nd go"] * 2, ""],
            ["Ca(OH)2 taken", *masses, "12: spilled a pinch before weighing"],
            ["water", 200, 199, 201, 202, ""],
            ["dry solid back", *last, ""],
        ]

    rows = [
        ["Lime solubility, lab stream Q"],
        ["masses in mg (top-pan), volumes in mL, times in min"],
        [],
        *table(11, [2122, 2246, 2280, ""], [1781, 1975, 1935, ""]),
        [],
        *table(13, [2442, 2301, 2066, 2374], [2112, 1962, 1734, 2054]),
    ]
    rows[6][4] = ""  # the second go of group 12 was not done
    records = read_class(text_table(rows, name="demo.tsv", delimiter="\t"))
    assert keys(records, ["section", "group", "run", "initial_mass_g"]) == [
        ["Q", "11", "1", 2.122], ["Q", "11", "2", 2.246], ["Q", "12", "1", 2.28],
        ["Q", "13", "1", 2.442], ["Q", "13", "2", 2.301], ["Q", "14", "1", 2.066],
        ["Q", "14", "2", 2.374],
    ]  # fmt: skip
    assert records.runs["recovered_mass_g"].tolist()[-1] == 2.054


def test_mean_columns_and_gaps_between_the_groups_are_no_trials(workbook: Write) -> None:
    rows: Rows = [["", "Team A", None, None, None, "Team B", None, None]]
    rows += [["", "trial 1", "trial 2", "mean", None, "trial 1", "trial 2", "mean"]]
    for label, a, b, c, d, *_ in STEPS:
        means = [(float(str(x)) + float(str(y))) / 2 for x, y in ((a, b), (c, d))]
        rows.append([label, a, b, means[0], None, c, d, means[1]])
    records = read_class(workbook({"Data": rows}))
    expected = [["A", "1"], ["A", "2"], ["B", "1"], ["B", "2"]]
    assert keys(records, ["group", "run"]) == expected
    assert records.runs["initial_mass_g"].tolist() == MASSES[:4]


def test_trials_over_groups(workbook: Write) -> None:
    names = ["", "Trial 1", None, None, "Trial 2", None, None]
    groups = ["", *["Group 1", "Group 2", "Group 3"] * 2]
    records = read_class(workbook({"Data": [["Lime"], [], names, groups, *STEPS]}))
    assert keys(records, ["run", "group"]) == [
        ["1", "1"], ["1", "2"], ["1", "3"], ["2", "1"], ["2", "2"], ["2", "3"],
    ]  # fmt: skip


@pytest.mark.parametrize("label", ["Group", ""])
def test_sections_over_groups(label: str, workbook: Write) -> None:
    names = ["", "Section 03", None, None, "Section 04", None, None]
    rows = [["Lime"], [], names, [label, 1, 2, 3, 1, 2, 3], *STEPS]
    records = read_class(workbook({"Data": rows}))
    assert keys(records, ["section", "group"]) == [
        ["03", "1"], ["03", "2"], ["03", "3"], ["04", "1"], ["04", "2"], ["04", "3"],
    ]  # fmt: skip
    assert (records.runs["run"] == "").all() or records.runs["run"].isna().all()


def test_sections_over_groups_over_trials(workbook: Write) -> None:
    rows: Rows = [
        ["Lime"],
        [],
        ["", "Section A", None, None, "Section B", None, None],
        ["", "Group 1", None, "Group 2", "Group 1", None, "Group 2"],
        ["", "T1", "T2", "T1", "T1", "T2", "T1"],
        *STEPS,
    ]
    runs = keys(read_class(workbook({"Data": rows})), ["section", "group", "initial_mass_g"])
    groups = ["1", "1", "2", "1", "1", "2"]
    sections = ["A", "A", "A", "B", "B", "B"]
    assert runs == [list(run) for run in zip(sections, groups, MASSES, strict=True)]


def test_a_section_in_the_corner_is_kept(workbook: Write) -> None:
    names = ["Section B", *over("Group 1", "Group 2", "Group 3")]
    rows = [["Lime"], [], names, ["", *["Trial 1", "Trial 2"] * 3], *STEPS]
    runs = keys(read_class(workbook({"Data": rows})), ["section", "group", "run"])
    assert runs == [["B", *run] for run in THREE_BY_TWO]


@pytest.mark.parametrize(
    "below",
    [
        ["", "value", "error", "value", "error"],  # no trials
        ["", "Trial 1", "Trial 2", "Trial 1", "Trial 1"],  # whose the last is, nobody can tell
        ["Weighing", 1, 2, 1, 2],  # two weighings of one run
    ],
)
def test_what_stands_below_the_names_may_be_no_trials(below: list[object], workbook: Write) -> None:
    rows = [["", *over("Group 1", "Group 2")], below, *[row[:5] for row in STEPS]]
    runs = read_class(workbook({"Data": rows})).runs
    assert not {"1", "2"} & set(runs.get("group", []))


def test_a_name_in_the_middle_names_no_group(workbook: Write) -> None:
    names = ["", None, "Group 1", None, None, "Group 2", None]
    rows = [names, ["", *["Trial 1", "Trial 2", "Trial 3"] * 2], *STEPS]
    runs = read_class(workbook({"Data": rows})).runs
    assert set(runs["run"]) == {"1", "2", "3"}
    assert not {"1", "2"} & set(runs.get("group", []))


@pytest.mark.parametrize(
    ("heading", "column"),
    [
        (("Step 1  Ca(OH)2 in the cup (g)",), "initial_mass_g"),
        (("Step 2  water, cylinder fill #1 (mL)",), "fill_1_ml"),  # and not the second
        (("Schritt 3: 2. Zylinderfüllung (mL)",), "fill_2_ml"),
        (("Step 8  filter + dry powder (g)",), "recovered_with_paper_mass_g"),
        (("H2O pour b",), "fill_2_ml"),
        (("Dry solid, after 20 more min", "g"), "second_dry_mass_g"),
        (("Rückstand nach weiteren 20 min (g)",), "second_dry_mass_g"),
        (("Dry solid, 1st weighing",), "recovered_mass_g"),
        (("Dry solid, after 20 min", "g"), "recovered_mass_g"),
        (("Step 2 (g)",), None),
    ],
)
def test_headings_of_steps(heading: tuple[str, ...], column: str | None) -> None:
    assert understand(heading).column == column


def test_blocks_of_groups_with_units_means_and_a_second_drying(workbook: Write) -> None:
    def block(group: int, masses: list[float]) -> Rows:
        return [
            [f"Group {group}", "unit", "Trial 1", "Trial 2", "Mean"],
            ["Mass of solid used", "g", *masses, sum(masses) / 2],
            ["Water used (all)", "mL", 150, 149, None],
            ["Dry solid, 1st weighing", "g", *[m - 0.25 for m in masses], None],
            ["Dry solid, after 20 more min", "g", *[m - 0.26 for m in masses], None],
            [],
        ]

    rows: Rows = [
        ["CHM 1, Sec 402"],
        ["Lab: Solubility of calcium hydroxide (two trials each)"],
        [],
        *block(1, [1.5, 1.6]),
        *block(2, [1.7, 1.8]),
    ]
    records = read_class(workbook({"Data": rows}))
    columns = ["section", "group", "run", "recovered_mass_g", "second_dry_mass_g"]
    assert [[*run[:3], *(round(m, 3) for m in run[3:])] for run in keys(records, columns)] == [
        ["402", "1", "1", 1.25, 1.24], ["402", "1", "2", 1.35, 1.34],
        ["402", "2", "1", 1.45, 1.44], ["402", "2", "2", 1.55, 1.54],
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("heading", "answers", "expected"),
    [
        ("Buchner or plain funnel", ["plain", "Buchner"], ["gravity", "vacuum"]),
        ("pump or paper", ["paper", "pump"], ["gravity", "vacuum"]),
        ("Buchner or Hirsch funnel", ["Buchner", "Hirsch"], ["vacuum", "vacuum"]),
        ("filtration", ["plain", "Buchner"], [None, "vacuum"]),
    ],
)
def test_one_of_two_funnels(
    heading: str, answers: list[str], expected: list[str | None], workbook: Write
) -> None:
    rows = [["Bench", "m0 (g)", "water (mL)", "dry solid (g)", heading]]
    rows += [[str(n), 2.5, 200, 2.1, a] for n, a in enumerate(answers, start=1)]  # type: ignore[list-item]
    runs = read_class(workbook({"Data": rows})).runs
    said = runs["filtration"].tolist() if "filtration" in runs else [None, None]
    assert [w if isinstance(w, str) and w else None for w in said] == expected


def test_cards_in_a_grid_take_the_set_from_a_long_title(workbook: Write) -> None:
    def card(number: int, mass: float) -> Rows:
        return [[f"BENCH {number}", None], ["lime into beaker /g", mass], ["water /cm³", 200],
                ["dry solid, scraped off /g", mass - 0.3]]  # fmt: skip

    title = "LIMEWATER PRACTICAL  -  cards typed up from the paper ones"
    title += ", all of them.  Set: 1PT2   Thu pm"
    rows: Rows = [[title], []]
    rows += [[*a, None, *b] for a, b in zip(card(1, 2.4), card(2, 2.5), strict=True)]
    runs = keys(read_class(workbook({"cards": rows})), ["section", "group", "initial_mass_g"])
    assert runs == [["1PT2", "1", 2.4], ["1PT2", "2", 2.5]]


def test_results_with_their_unit_and_a_sentence_beside_the_title(workbook: Write) -> None:
    rows: Rows = [
        ["5b lime", None, "Alles met de waterstraalpomp (vacuüm) gefiltreerd, T = 19,5 °C"],
        [],
        [None, "groep A", "groep B", "groep C"],
        ["massa Ca(OH)2 begin", "2,01 g", "2,00 g", "2,03 g"],
        ["water erbij", "150 mL", "150 mL", "150 mL"],
        ["droge kalk", "1,74 g", "1,75 g", "1,77 g"],
        ["uitkomst", "1,8 g/L", None, "1,7 g/L"],
    ]
    runs = read_class(workbook({"kalk": rows})).runs
    assert runs["filtration"].tolist() == ["vacuum"] * 3
    assert runs["temperature_c"].tolist() == [19.5] * 3
    assert runs["reported_solubility"].tolist()[::2] == [1.8, 1.7]


def test_outcomes_without_a_unit_of_solubility_are_not_taken(workbook: Write) -> None:
    rows: Rows = [
        ["groep", "massa Ca(OH)2 begin (g)", "water (mL)", "droge kalk (g)", "uitkomst"],
        ["A", 2.01, 150, 1.74, "9"],
        ["B", 2.0, 150, 1.75, "1,8 g/L"],
    ]
    runs = read_class(workbook({"kalk": rows})).runs
    assert "reported_solubility" not in runs or runs["reported_solubility"].isna().all()


def test_nothing_to_be_seen_in_dutch() -> None:
    assert beam_said("niks te zien") == "clear"
    assert beam_said("niks") is None
