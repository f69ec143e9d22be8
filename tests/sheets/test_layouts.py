"""Layouts people use, each with the runs it must give; hand-made, so the truth is in the rows."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from solubility_stats.records import ClassRecords
from solubility_stats.sheets import read_class

Write = Callable[..., Path]
HEAD = ["Group", "m0 (g)", "Volume (mL)", "m dry (g)", "T (°C)"]
BODY = [[1, 2.5, 200, 2.1, 21], [2, 2.51, 199, 2.12, 21], [3, 2.49, 201, 2.2, 22]]
MORE = [[4, 2.52, 198, 2.11, 20], [5, 2.53, 202, 2.13, 21], [6, 2.47, 200, 2.05, 22]]
COLUMNS = ["group", "initial_mass_g", "water_volume_ml", "recovered_mass_g", "temperature_c"]


def active(records: ClassRecords) -> pd.DataFrame:
    runs = records.runs
    return runs[runs["set_aside"] == ""].reset_index(drop=True)


def readings(records: ClassRecords, columns: list[str] = COLUMNS) -> list[list[object]]:
    rows: list[list[object]] = active(records)[columns].to_numpy(dtype=object).tolist()
    return rows


def truth(*bodies: list[list[object]]) -> list[list[object]]:
    return [[str(r[0]), *map(float, r[1:])] for body in bodies for r in body]


def outcomes(records: ClassRecords) -> dict[str, str]:
    return dict(zip(records.ledger["cell"], records.ledger["outcome"], strict=True))


def test_table_that_starts_away_from_the_corner(workbook: Write) -> None:
    rows = [[], [], [None, None, *HEAD], *[[None, None, *r] for r in BODY]]
    assert readings(read_class(workbook({"Data": rows}))) == truth(BODY)


def test_stacked_tables_take_their_captions_as_sections(workbook: Write) -> None:
    rows = [["Monday"], HEAD, *BODY, [], ["Tuesday"], HEAD, *MORE]
    records = read_class(workbook({"Data": rows}))
    assert readings(records) == truth(BODY, MORE)
    assert records.runs["section"].tolist() == ["Monday"] * 3 + ["Tuesday"] * 3


def test_stacked_tables_with_the_same_groups_and_no_caption_stay_apart(workbook: Write) -> None:
    again = [[r[0], *s[1:]] for r, s in zip(BODY, MORE, strict=True)]
    records = read_class(workbook({"Data": [HEAD, *BODY, [], HEAD, *again]}))
    assert len(active(records)) == 6
    assert records.runs["section"].nunique() == 2


@pytest.mark.parametrize("gap", [[None], [None, None], []])
def test_tables_side_by_side(workbook: Write, gap: list[None]) -> None:
    rows = [[*HEAD, *gap, *HEAD]]
    rows += [[*left, *gap, *right] for left, right in zip(BODY, MORE, strict=True)]
    records = read_class(workbook({"Data": rows}))
    assert readings(records) == truth(BODY, MORE)


def test_a_blank_column_inside_a_table_does_not_split_it(workbook: Write) -> None:
    spread = [[r[0], None, r[1], None, *r[2:]] for r in [HEAD, *BODY]]
    assert readings(read_class(workbook({"Data": spread}))) == truth(BODY)


def test_groups_as_columns_with_unit_column_and_mean(workbook: Write) -> None:
    rows = [
        ["Quantity", "Unit", "Group 1", "Group 2", "Group 3", "Mean"],
        ["m0", "g", 2.5, 2.51, 2.49, 2.5],
        ["Volume", "mL", 200, 199, 201, 200],
        ["m dry", "g", 2.1, 2.12, 2.2, 2.14],
        ["Temp", "°C", 21, 21, 22, 21.3],
    ]
    assert readings(read_class(workbook({"Data": rows}))) == truth(BODY)


def test_groups_as_columns_with_merged_group_over_trials(workbook: Write) -> None:
    rows = [
        ["", "Group 1", None, "Group 2", None],
        ["Trial", 1, 2, 1, 2],
        ["m0 (g)", 2.5, 2.6, 2.45, 2.44],
        ["Water (mL)", 100, 100, 100, 101],
        ["m dry (g)", 2.1, 2.2, 2.05, 2.0],
    ]
    path = workbook({"Data": rows}, merge={"Data": ["B1:C1", "D1:E1"]})
    found = active(read_class(path))
    assert found[["group", "run"]].to_numpy().tolist() == [
        ["1", "1"], ["1", "2"], ["2", "1"], ["2", "2"],
    ]  # fmt: skip
    assert found["recovered_mass_g"].tolist() == [2.1, 2.2, 2.05, 2.0]


def test_trials_side_by_side_become_runs(workbook: Write) -> None:
    rows = [
        ["Group", "Trial 1", None, None, "Trial 2", None, None],
        [None, "m0", "mr", "V", "m0", "mr", "V"],
        [1, 2.5, 2.1, 200, 2.53, 2.11, 199],
        [2, 2.51, 2.12, 199, 2.54, 2.13, 198],
    ]
    path = workbook({"Data": rows}, merge={"Data": ["B1:D1", "E1:G1"]})
    found = active(read_class(path))
    assert found["run"].tolist() == ["1", "2", "1", "2"]
    assert found["initial_mass_g"].tolist() == [2.5, 2.53, 2.51, 2.54]
    assert found["water_volume_ml"].tolist() == [200, 199, 199, 198]


def test_two_heading_lines_with_units_and_unmerged_parents(workbook: Write) -> None:
    rows = [
        ["Group", "Mass (g)", None, "Water", "Time (min)", None, "Temp"],
        [None, "before", "after", "mL", "stir", "dry", "°C"],
        [1, 2.5, 2.1, 200, 10, 30, 21],
        [2, 2.51, 2.11, 201, 12, 35, 21.5],
    ]
    columns = [*COLUMNS, "stir_min", "dry_min"]
    assert readings(read_class(workbook({"Data": rows})), columns) == [
        ["1", 2.5, 200, 2.1, 21, 10, 30],
        ["2", 2.51, 201, 2.11, 21.5, 12, 35],
    ]


def test_one_reading_per_line(workbook: Write) -> None:
    rows: list[list[object]] = [["Group", "Quantity", "Value", "Unit"]]
    for group, m0, volume, dry, _ in BODY:
        rows += [
            [group, "m0", m0, "g"],
            [group, "volume", volume, "mL"],
            [group, "m dry", dry, "g"],
        ]
    records = read_class(workbook({"Data": rows}))
    assert readings(records, COLUMNS[:4]) == [row[:4] for row in truth(BODY)]
    assert len(records.ledger) == 40


def test_one_sheet_per_group(workbook: Write) -> None:
    sheets = {
        f"Group {g}": [
            ["Initial mass", m0, "g"], ["Water", v, "mL"], ["Dry mass", dry, "g"],
            ["Temperature", t, "°C"],
        ]
        for g, m0, v, dry, t in BODY
    }  # fmt: skip
    assert readings(read_class(workbook(sheets))) == truth(BODY)


def test_what_stands_above_a_table_holds_for_its_runs(workbook: Write) -> None:
    rows = [
        ["Solubility lab"],
        ["Section:", "B", "Temperature:", "22.5 °C"],
        [],
        ["Team", "starting mass", "water", "leftover"],
        [None, "g", "mL", "g"],
        ["T1", 2.5, 200, 2.1],
        ["T2", 2.51, 200, 2.12],
    ]
    found = active(read_class(workbook({"Sheet1": rows})))
    assert found["section"].tolist() == ["B", "B"]
    assert found["temperature_c"].tolist() == [22.5, 22.5]


def test_sections_announced_by_lines_and_repeated_headings(workbook: Write) -> None:
    rows = [HEAD, ["Monday section"], *BODY, HEAD, ["Tuesday section"], *MORE]
    records = read_class(workbook({"Data": rows}))
    assert readings(records) == truth(BODY, MORE)
    assert records.runs["section"].tolist() == ["Monday"] * 3 + ["Tuesday"] * 3


def test_sections_from_file_names(workbook: Write, tmp_path: Path) -> None:
    workbook({"Sheet1": [HEAD, *BODY]}, name="mon.xlsx")
    workbook({"Sheet1": [HEAD, *MORE]}, name="tue.xlsx")
    records = read_class(str(tmp_path / "*.xlsx"))
    assert records.runs["section"].tolist() == ["mon"] * 3 + ["tue"] * 3


@pytest.mark.parametrize(
    "line",
    [
        ["Mean", 2.5, 200, 2.14, 21.3],
        ["Std. dev.", 0.01, 1, 0.05, 0.6],
        [None, 2.5, 200, 2.14, 21.333333],
        [None, "Total", 600, 6.42, 64],
        ["Class average:", 2.5, 200, 2.14, 21.3],
        ["n =", 3, 3, 3, 3],
    ],
)
def test_summaries_are_no_runs(workbook: Write, line: list[object]) -> None:
    records = read_class(workbook({"Data": [HEAD, *BODY, [], line]}))
    assert readings(records) == truth(BODY)
    assert outcomes(records)["C6"] == "ignored"


def test_readings_without_a_group_are_asked_about(workbook: Write) -> None:
    records = read_class(workbook({"Data": [HEAD, *BODY, [None, 2.4, 150, 1.9, 25]]}))
    assert readings(records) == truth(BODY)
    assert outcomes(records)["B5"] == "unclear"


def test_another_table_below_gives_no_runs(workbook: Write) -> None:
    below = [["Chemical", "Bottle", "Lot"], ["HCl", 0.1, 5], ["Lime", 3, 4]]
    records = read_class(workbook({"Data": [HEAD, *BODY, [], *below]}))
    assert readings(records) == truth(BODY)
    assert outcomes(records)["B7"] == "ignored"


def test_example_rows_are_set_aside(workbook: Write) -> None:
    records = read_class(workbook({"Data": [HEAD, ["EXAMPLE", 2.5, 200, 2.1, 20], *BODY]}))
    assert readings(records) == truth(BODY)
    assert records.runs["set_aside"].iloc[0] == "example row of the template"


def test_merged_data_cells_serve_every_line_they_cover(workbook: Write) -> None:
    rows = [
        ["Group", "Run", "m0 (g)", "Volume (mL)", "m dry (g)"],
        [1, 1, 2.5, 200, 2.1],
        [None, 2, 2.52, None, 2.12],
        [2, 1, 2.49, 201, 2.0],
    ]
    found = active(read_class(workbook({"Data": rows}, merge={"Data": ["A2:A3", "D2:D3"]})))
    assert found["group"].tolist() == ["1", "1", "2"]
    assert found["water_volume_ml"].tolist() == [200, 200, 201]


def test_a_blank_is_filled_only_where_the_run_number_goes_on(workbook: Write) -> None:
    rows = [
        ["Group", "Run", "m0 (g)", "m dry (g)"],
        [1, 1, 2.5, 2.1], [None, 2, 2.52, 2.12], [2, 1, 2.4, 2.0], [None, 7, 2.41, 2.01],
    ]  # fmt: skip
    records = read_class(workbook({"Data": rows}))
    assert active(records)["group"].tolist() == ["1", "1", "2"]
    assert outcomes(records)["C5"] == "unclear"


def test_volume_heading_over_nameless_numbers_is_not_one_volume(workbook: Write) -> None:
    rows = [["Group", "m0", "Volume (mL)", None, None, "mr"], [1, 2.5, 50, 50, 51, 2.1],
            [2, 2.51, 50, 49, 51, 2.12]]  # fmt: skip
    records = read_class(workbook({"Data": rows}))
    assert active(records)["water_volume_ml"].isna().all()
    assert outcomes(records)["C2"] == "unclear"


def test_volume_heading_merged_over_columns_means_fills(workbook: Write) -> None:
    rows = [["Group", "m0", "Volume (mL)", None, None, "mr"], [1, 2.5, 50, 50, 51, 2.1],
            [2, 2.51, 50, 49, 51, 2.12]]  # fmt: skip
    records = read_class(workbook({"Data": rows}, merge={"Data": ["C1:E1"]}))
    assert active(records)["water_volume_ml"].tolist() == [151, 150]


def test_an_unreadable_fill_leaves_the_water_unknown(workbook: Write) -> None:
    rows = [["Group", "m0 (g)", "V1 (mL)", "V2 (mL)", "m dry (g)"], [1, 2.5, 100, "1O0", 2.1],
            [2, 2.5, 100, "lost", 2.1], [3, 2.5, 100, 100, 2.1]]  # fmt: skip
    records = read_class(workbook({"Data": rows}))
    water = active(records)["water_volume_ml"]
    assert water.isna().tolist() == [True, True, False]
    marked = records.flags[records.flags["column"] == "water_volume_ml"]
    assert len(marked) == 2


def test_a_blank_fill_is_asked_about_where_the_others_have_one(workbook: Write) -> None:
    head = ["Group", "m0", "fill 1", "fill 2", "mr"]
    body = [[g, 2.5, 100, 100, 2.1] for g in range(1, 6)]
    records = read_class(workbook({"Data": [head, *body, [6, 2.5, 100, None, 2.1]]}))
    assert active(records)["water_volume_ml"].isna().tolist() == [False] * 5 + [True]
    assert (records.flags["flag"] == "incomplete").any()


def test_a_blank_fill_is_no_question_where_a_written_total_agrees(workbook: Write) -> None:
    head = ["Group", "m0", "fill 1", "fill 2", "total volume", "mr"]
    body = [[g, 2.5, 100, 100, 200, 2.1] for g in range(1, 6)]
    records = read_class(workbook({"Data": [head, *body, [6, 2.5, 100, None, 100, 2.1]]}))
    assert active(records)["water_volume_ml"].tolist() == [200.0] * 5 + [100.0]


def test_a_mass_column_is_settled_by_its_values_or_left_open(workbook: Write) -> None:
    plain = [r[:4] for r in BODY]
    told = read_class(workbook({"Data": [["Grp", "mass", "vol", "recovered"], *plain]}))
    assert active(told)["initial_mass_g"].tolist() == [2.5, 2.51, 2.49]
    assert told.headings.set_index("heading").loc["mass", "how"] == "values"
    both = read_class(workbook({"Data": [["Grp", "mass", "vol", "mass"], *plain]}, name="b.xlsx"))
    assert active(both)[["initial_mass_g", "recovered_mass_g"]].isna().all(axis=None)


def test_decimal_commas_cut_by_commas_are_noticed(text_table: Write) -> None:
    path = text_table([["x"]])
    path.write_text("group,m0,volume,mr\nA,2,50,200,2,11\nB,2,51,199,2,12\n")
    records = read_class(path)
    assert records.n == 0
    assert (records.ledger["outcome"] == "unclear").sum() == 12


def test_hidden_rows_are_read_and_marked(workbook: Write) -> None:
    import openpyxl

    path = workbook({"Data": [HEAD, *BODY]})
    book = openpyxl.load_workbook(path)
    book["Data"].row_dimensions[3].hidden = True
    book.save(path)
    records = read_class(path)
    assert readings(records) == truth(BODY)
    assert records.flags[records.flags["flag"] == "hidden"]["run_id"].tolist() == ["2"]


def test_thousands_of_formatted_blank_rows_cost_nothing(workbook: Write) -> None:
    import openpyxl
    from openpyxl.styles import Font

    path = workbook({"Data": [HEAD, *BODY]})
    book = openpyxl.load_workbook(path)
    for row in range(5, 4000):
        book["Data"].cell(row, 1).font = Font(bold=True)
    book.save(path)
    records = read_class(path)
    assert readings(records) == truth(BODY)
    assert len(records.ledger) == 20
