"""A researcher's clean table: every stage takes a plain DataFrame (invented numbers)."""

import pandas as pd

import solubility_stats as ss
from solubility_stats import pooling

# Canonical column names carry their unit. One row per run.
runs = pd.DataFrame(
    {
        "section": ["A"] * 4 + ["B"] * 4,
        "group": [str(i) for i in (1, 2, 3, 4, 1, 2, 3, 4)],
        "temperature_c": [21.5, 21.5, 22.0, 21.0, 23.0, 23.5, 23.0, 23.5],
        "initial_mass_g": [2.012, 1.994, 2.005, 2.021, 1.987, 2.003, 2.010, 1.999],
        "recovered_mass_g": [1.702, 1.655, 1.711, 1.690, 1.688, 1.640, 1.713, 1.671],
        "water_volume_ml": [200.0, 199.5, 200.5, 200.0, 201.0, 200.0, 199.0, 200.0],
        "filtration": ["vacuum", "gravity"] * 4,
    }
)
est = ss.estimate(runs, ss.Protocol.default("calcium hydroxide"))
print(est.table[["run_id", "apparent_g_per_100g", "value_g_per_100g", "u_g_per_100g"]].round(4))

# All estimators side by side, with a sentence when the choice matters.
print(pooling.compare_estimators(est))

# For shared causes sections are the replicates, not groups.
print(pooling.replication(est, by="section"))

# Any frame with a value and its uncertainty pools the same way.
published = pd.DataFrame({"value": [10.1, 9.7, 10.4], "u": [0.2, 0.1, 0.3]})
print(ss.pool(published, value="value", u="u", method="pm"))
