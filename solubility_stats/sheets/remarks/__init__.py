"""What remarks, notes and footnotes say of readings, and what becomes of the readings.

A remark may put a reading right or doubt it (:mod:`own`, :mod:`put_right`), say that a solid was
weighed with its paper (:mod:`with_paper`), speak against what was stated for all
(:mod:`exceptions`) or tell what no column asks for (:mod:`told_only`). It stands in the line of
the run, beside a line of a turned table (:mod:`on_lines`) or elsewhere on the sheet
(:mod:`beside`). What it says (wrong, unsure, well now) is read in :mod:`sayings`; the words, in all
languages, are in :mod:`vocabulary`.
"""
