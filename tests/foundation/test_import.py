"""Importing the library changes nothing outside it and loads no heavy room."""

from __future__ import annotations

import json
import subprocess
import sys

PROBE = """
import json, sys, warnings

before = set(sys.modules)
import solubility_stats as ss
new = {m for m in set(sys.modules) - before if "." not in m}
lazy = sorted(new - set(sys.stdlib_module_names))
# pandas and scipy set filters of their own when they load; ours are measured after theirs.
import matplotlib, pandas, scipy.sparse, scipy.special, scipy.stats
filters, rc = list(warnings.filters), dict(matplotlib.rcParams)
import solubility_stats.analysis, solubility_stats.cli, solubility_stats.report.figures
for name in ss.__all__:
    getattr(ss, name)
print(json.dumps({
    "filters": filters == list(warnings.filters),
    "rc": rc == dict(matplotlib.rcParams),
    "pyplot": "matplotlib.pyplot" in sys.modules,
    "lazy": lazy,
}))
"""


def test_import_has_no_side_effects():
    done = subprocess.run([sys.executable, "-c", PROBE], capture_output=True, text=True, check=True)
    seen = json.loads(done.stdout)
    assert seen["rc"], "matplotlib's settings changed"
    assert seen["filters"], "warning filters changed"
    assert not seen["pyplot"], "pyplot was imported before anybody plotted"
    assert seen["lazy"] == ["solubility_stats"], "the package loads more than itself at import"


def test_unknown_names_raise_and_known_ones_are_listed():
    import pytest

    import solubility_stats as ss

    with pytest.raises(AttributeError, match="nonsense"):
        _ = ss.nonsense
    assert {"read_class", "estimate", "pool", "curve", "compare", "diagnose"} <= set(dir(ss))


def test_rooms_list_what_they_load():
    from solubility_stats import bias, measurement, planning, pooling

    for room in (bias, measurement, planning, pooling):
        assert sorted(room.__all__) == sorted(room._HOMES), room.__name__
