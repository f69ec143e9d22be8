"""A semester with known causes: what does the analysis say of them? (Invented data.)"""

import solubility_stats as ss

made = ss.simulate(
    groups=30,
    causes={"residual_moisture": 0.06, "missed_fill": 0.05},
    routes=("residue", "titration"),
    seed=5,
)
print(made.causes.to_string(index=False))

done = ss.analyse(made.records)
print(done.headline())
print(done.comparison.contrast.headline())
shown = done.diagnosis.mechanisms[["term", "effect_percent", "low_percent", "high_percent"]]
print(shown.head(5).round(1).to_string(index=False))
print("really missed a fill:", made.truth.query("mishap == 'missed_fill'")["run_id"].tolist())
marked = done.diagnosis.discrete.query("marked")
print("worth asking:", marked[["run_id", "term", "probability"]].round(2).to_dict("records"))
