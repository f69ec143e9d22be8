"""Web pages that a course system calls a spreadsheet."""

from __future__ import annotations

from pathlib import Path

import solubility_stats as ss

PAGE = """<html><head><title>Export</title><style>td {color: red}</style></head><body>
<h2>Section D</h2>
<table border="1">
<tr><th rowspan="2">Group</th><th colspan="2">Mass (g)</th><th rowspan="2">Water (mL)</th></tr>
<tr><th>start</th><th>dry, no paper</th></tr>
<tr><td>1</td><td>2.04</td><td>1.71</td><td>200</td></tr>
<tr><td>2</td><td>1.98 g</td><td>1.66</td><td>199</td></tr>
<tr><td>3</td><td>2.11</td><td>&nbsp;</td><td>201<br></td></tr>
</table>
<p>Exported for the instructor</p></body></html>
"""


def test_the_table_of_a_page(tmp_path: Path) -> None:
    path = tmp_path / "export.xls"
    path.write_text(PAGE, encoding="utf-8")
    records = ss.read_class(path)
    runs = records.runs
    assert runs["section"].tolist() == ["D"] * 3
    assert runs["group"].tolist() == ["1", "2", "3"]
    assert runs["initial_mass_g"].tolist() == [2.04, 1.98, 2.11]
    assert runs["recovered_mass_g"].tolist()[:2] == [1.71, 1.66]
    assert runs["recovered_mass_g"].isna().tolist() == [False, False, True]
    assert runs["water_volume_ml"].tolist() == [200.0, 199.0, 201.0]
    assert "color" not in " ".join(records.ledger["raw"])
    assert "web page" in str(records.account["text"])


def test_absurd_spans_are_cut(tmp_path: Path) -> None:
    path = tmp_path / "export.xls"
    path.write_text(PAGE.replace('rowspan="2"', 'rowspan="99999999"', 1), encoding="utf-8")
    assert len(ss.read_class(path).ledger) < 40
