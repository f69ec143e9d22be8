"""From the sheets of a semester to a page, one stage at a time (invented data)."""

import tempfile

import solubility_stats as ss

demo = ss.datasets.demo_semester()

# Every filled cell of every file ends in the ledger, with what became of it.
records = ss.read_class(demo.files)
print(records.account["text"])
print(records.ledger["outcome"].value_counts().to_string(), "\n")

# What was used decides the uncertainty budget; what the file leaves out are sourced defaults.
protocol = ss.Protocol.from_toml(demo.protocol)
est = ss.estimate(records, protocol)
print(est.headline())

# Does the reported value follow from the group's own readings?
print(ss.find_slips(records, est).headline())

# The class's value. Causes that groups share set a floor that more groups do not lower.
pooled = ss.pool(est)
print(pooled.headline(), f"(shared part of u: {pooled.u_shared:.2g})")

# Against the literature, at each group's own temperature.
comparison = ss.compare(est, ss.curve(protocol.solid.name))
print(comparison.headline())
print(comparison.contrast.headline())

# Which causes, and which of them these data cannot tell apart.
diagnosis = ss.diagnose(comparison)
print(diagnosis.separability.sentence)
print(diagnosis.next_measurement[["term", "reduction_percent"]].head(3).to_string(index=False))

with tempfile.TemporaryDirectory() as folder:
    page = ss.write_report(diagnosis, folder)
    print(f"page of {page.stat().st_size // 1000} kB")
