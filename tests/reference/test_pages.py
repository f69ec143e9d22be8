"""The documentation pages say what the curves say, and importing the room stays light."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from solubility_stats.display import with_uncertainty
from solubility_stats.reference import ReferenceCurve, curve, solute_names

PAGES = Path(__file__).parents[2] / "docs" / "solutes"


@pytest.fixture(scope="module")
def index():
    if not PAGES.is_dir():
        pytest.skip("installed without documentation")
    return (PAGES / "index.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", solute_names())
def test_every_solute_has_a_page_that_is_up_to_date(index, name):
    # Regenerate with docs/make_solute_pages.py after a change of data or method.
    target = re.search(rf"\[{re.escape(name)}\]\(([a-z_]+\.md)\)", index)
    assert target, name
    page = (PAGES / target.group(1)).read_text(encoding="utf-8")
    found = curve(name)
    assert with_uncertainty(*found.at(25.0)) in page
    for source in found.data.sources:
        assert source.citation in page
    assert (PAGES / target.group(1)).with_suffix(".svg").stat().st_size > 10_000


def test_the_example_of_an_own_curve_works(index, tmp_path):
    example = re.search(r"```toml\n(.*?)```", index, flags=re.DOTALL)
    assert example
    path = tmp_path / "own.toml"
    path.write_text(example.group(1), encoding="utf-8")
    own = ReferenceCurve.from_toml(path)
    value, u = own.at(25.0)
    assert abs(value - curve("lithium carbonate").at(25.0).value) < u


def test_import_pays_for_no_plotting_and_no_statistics():
    code = (
        "import sys, solubility_stats.reference as r; r.curve('NaCl').at(25.0); "
        "print(*{'matplotlib', 'scipy.stats', 'statsmodels', 'seaborn'} & set(sys.modules))"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == ""
