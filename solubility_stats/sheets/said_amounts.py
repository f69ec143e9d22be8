"""How much water, filtrate and acid everybody took, as the sentences around a table say."""

from __future__ import annotations

import re
from collections.abc import Iterator

from solubility_stats.sheets import concepts
from solubility_stats.sheets.durations import NUMBER_WORDS
from solubility_stats.sheets.heading_text import ACID_STRENGTH, normal
from solubility_stats.sheets.phrases import concepts_in
from solubility_stats.sheets.sentence_parts import FOR_ALL, NUMBER, parts_of

_VOLUME = re.compile(rf"({NUMBER})\s*(mL|ml|cm3|cm³|cc)\b")
_WITH = r"\b(?:with|against|versus|vs\.?|by|mit|gegen|avec|par|con|com|met|med)\s+"
_ACID = (
    "hcl|acid|salzsäure|acide(?: chlorhydrique)?|zoutzuur|[áa]cido(?: clorh[íi]drico| cloridrico)?|"
    "saltsyra|saltsyre|kwas\\w*"
)
_OF_ACID = rf"(?:-?\s*(?:d['e]\s*|di\s+|de\s+)?(?:{_ACID})\b)?"
_WITH_ACID = re.compile(  # "25 mL filtrate with 0.100 M HCl"
    rf"{_WITH}{ACID_STRENGTH.pattern}\s*{_OF_ACID}",
    re.IGNORECASE,
)
# "10,0 mL Filtrat mit Salzsäure", the strength behind a comma
_ACID_ALONE = re.compile(
    rf"{_WITH}(?:the\s+|l'|der\s+)?(?:{_ACID}|(?:hydrochloric|standard) acid)\b",
    re.IGNORECASE,
)
_ACID_FIRST = re.compile(  # "com HCl 0,0500 mol/L"
    r"\b(with|against|versus|vs\.?|by|mit|avec|con|com|met|med)\s+(?:the\s+)?(?:hcl|acid)\s+(?=\d)",
    re.IGNORECASE,
)
# "25 mL de filtrado": the word for filtering, behind a volume.
_OF_FILTRATE = re.compile(
    r"\b(mL|cm3|cm³) (?:de|do|del|di|du) (?:filtrado|filtrato|filtrat)\b", re.IGNORECASE
)
# "Titration of filtrate (10.00 mL) with 0.0500 M HCl"
_IN_BRACKETS = re.compile(
    rf"\b(filtrate|aliquots?|lime ?water|filtrat|filtrado|filtrato)\s*"
    rf"\((?=\s*{NUMBER}\s*(?:mL|cm3|cm³)\b)"
    r"([^()]*)\)",
    re.IGNORECASE,
)
_PORTIONS = re.compile(r"\bportions?\b", re.IGNORECASE)  # of the filtrate, not of the water
_BRACKETS = re.compile(r"\s*\([^()]*\)\s*")
_SUM = re.compile(rf"{NUMBER}\s*mL(?:\s*\+\s*{NUMBER}\s*mL)+", re.IGNORECASE)
_POURS = r"fills?|pours?|lots?|additions?|portions?|measures?"
_FILLS = re.compile(
    rf"\b(\d{{1,2}})\s*(?:x|×|(?:{_POURS}) of|times|[ée]prouvettes? d[e']|probetas? d[e']|"
    rf"provetas? d[e']|"
    rf"cilindri da|(?:mess)?zylinder (?:mit|zu|à)|maatcilinders? van|mätglas (?:à|om|med)|"
    rf"måleglas (?:à|på|med))\s*(?:the |a )?({NUMBER})\s*(mL|ml|cm3|cm³)\b",
    re.IGNORECASE,
)
_FILLED = re.compile(rf"\b(two|three|four|five|six) (?=(?:{_POURS}) of|times)", re.IGNORECASE)


_NORMAL = re.compile(rf"({NUMBER})\s*N\b")


_STANDARDISED = re.compile(
    r"\b(?:standardi[sz]ed|exact(?:ly)?|determined|actual(?:ly)?|true|measured|titrated against)\b",
    re.IGNORECASE,
)


def strengths(text: str) -> Iterator[str]:
    """Yield the concentrations of the acid that a text states, each with its unit."""
    told = [part for part in re.split(r"[;,.]\s", text) if ACID_STRENGTH.search(part)]
    exact = [part for part in told if _STANDARDISED.search(part)]
    if exact and len(exact) < len(told) and any("acid" in concepts_in(p) for p in told):
        yield from (f"{m['number']} {m['unit']}" for p in exact for m in ACID_STRENGTH.finditer(p))
        return  # "label says 0.05 M; standardised: 0.0487 M"
    if "hcl" in text.casefold():  # one proton: normality and molarity are the same
        yield from (f"{m[1]} M" for m in _NORMAL.finditer(text))
    for match in ACID_STRENGTH.finditer(text):
        around = normal(text[: match.start()] + " " + text[match.end() :])
        if any("acid" in concepts.concepts_of(word) for word in around.split()):
            yield f"{match['number']} {match['unit'].replace('N', 'M')}"


def aliquots(text: str) -> Iterator[str]:
    """Yield the volumes of filtrate that a text says were titrated."""
    text = _IN_BRACKETS.sub(r"\1 \2", text)
    for part in parts_of(text):
        part = _ACID_ALONE.sub(" ", _WITH_ACID.sub(" ", _ACID_FIRST.sub(r"\1 ", part)))
        part = _OF_FILTRATE.sub(r"\1 filtrate", _PORTIONS.sub("aliquots", part))
        part = _POUR_TOUS.sub("each ", _PRISES.sub("aliquots ", part))
        volumes = _VOLUME.findall(part)
        said = concepts_in(_VOLUME.sub(" ", part))
        other = said & {"evaporation", "dish", "acid", "water", "fill"} or "total" in part
        if len(volumes) == 1 and said & {"aliquot", "filtrate"} and not other:
            yield f"{volumes[0][0]} {volumes[0][1]}"


def evaporated(text: str) -> Iterator[str]:
    """Yield the volumes of filtrate that a text says were evaporated."""
    for part in parts_of(text):
        volumes = _VOLUME.findall(part)
        said = concepts_in(_VOLUME.sub(" ", part))
        taken = said & {"aliquot", "filtrate"} or "filtrate" in part.casefold()
        if len(volumes) == 1 and taken and said & {"evaporation", "dish"}:
            yield f"{volumes[0][0]} {volumes[0][1]}"
    if _DISH_THEN.search(text) and not concepts_in(text) & {"acid", "titration", "titre"}:
        yield from (f"{m[1]} {m[2]}" for m in _PIPETTED.finditer(text))
    titled = _TITLE_OF_DISHES.search(text)  # "Evaporating dish (10.00 mL of filtrate each)"
    if titled is not None and not concepts_in(text) & {"acid", "titration", "titre"}:
        yield f"{titled['volume']} {titled['unit']}"


# "filtrate evaporated in a dish, 50.00 mL pipetted by everyone"
_DISH_THEN = re.compile(
    r"\b(?:filtrate|lime ?water)\b.*\bevaporat\w+|\bevaporat\w+.*\bfiltrate\b", re.I
)
_PIPETTED = re.compile(rf"({NUMBER})\s*(mL|ml|cm3|cm³) (?:was |were )?pipett?ed\b", re.IGNORECASE)
_POUR_TOUS = re.compile(r"\bpour (?=tou[st]|chaque|les?\b)", re.IGNORECASE)
_PRISES = re.compile(r"\bprises?\s+(?:d'essai\s+)?(?:de\s+)?", re.IGNORECASE)
_TITLE_OF_DISHES = re.compile(
    rf"\b(?:dish|evaporat)\w*[^()]{{0,20}}\(\s*(?P<volume>{NUMBER})\s*(?P<unit>mL|ml|cm3|cm³) "
    r"(?:of )?(?:the )?(?:filtrate|lime ?water|solution)[^()]{0,20}\)",
    re.IGNORECASE,
)


def waters(text: str) -> Iterator[str]:
    """Yield the water every group took: "250 mL every time (5 fills of the 50 mL cylinder)"."""
    text = _FILLED.sub(lambda m: f"{NUMBER_WORDS[m[1].lower()]} ", text)
    text = _FOR_EACH_ASIDE.sub(r"\1", text)  # "200 ml (each group)"
    plain = _BRACKETS.sub(" ", text)  # "Water: 250 mL (one 250 mL cylinder) for every trial"
    for part in [*parts_of(text), *(parts_of(plain) if plain != text else ())]:
        volumes = _VOLUME.findall(part)
        said = concepts_in(_VOLUME.sub(" ", part))
        if len(volumes) > 1 and FOR_ALL.search(part) and "water" in said:
            yield from (m[0] for m in _SUM.finditer(part))
        poured = _FILLS.search(part)
        if poured is not None and len(volumes) == 2 and FOR_ALL.search(part) and "water" in said:
            whole = int(poured[1]) * float(poured[2])
            if whole in (float(volumes[0][0]), float(volumes[1][0])):
                yield f"{poured[1]} x {poured[2]} {poured[3]}"
        spoken = "water" in said or (poured is not None and "fill" in said)
        if _VOLUME_EACH.fullmatch(part) and not concepts_in(text) & _NO_WATER:
            spoken = True
        of_all = FOR_ALL.search(text if poured is not None and "water" in said else part)
        if len(volumes) != 1 or not of_all or not spoken:
            continue
        if said & {"aliquot", "filtrate", "acid", "temperature", "dish", "heat", "mass"}:
            continue
        total, unit = volumes[0]
        if poured is not None and (float(total) == float(poured[2]) or "water" not in said):
            yield f"{poured[1]} x {poured[2]} {unit}"
            continue
        poured = _FILLS.search(text)
        if poured and float(total) == int(poured[1]) * float(poured[2]):
            yield f"{poured[1]} x {poured[2]} {unit}"
        else:
            yield f"{total} {unit}"


_FOR_EACH_ASIDE = re.compile(
    r"\(\s*((?:each|every|all|per|für jede|par|por)\b[^()\d]{0,20})\)", re.I
)
# "Mine: vacuum, 200 mL each"
_VOLUME_EACH = re.compile(
    rf"\s*(?:all |always )?{NUMBER}\s*(?:mL|ml|cm3|cm³) "
    r"(?:each|in total|per (?:group|team|pair|bench|run|trial))\s*",
)
_NO_WATER = frozenset({"aliquot", "filtrate", "acid", "titration", "titre", "burette", "dish"})
