"""Words that give a long heading away when it is not in the vocabulary word for word.

"What mass did you start with? (include units)" holds *mass* and *start*. Each rule names the
column, the concepts a heading must hold (one of each bracket) and the concepts it must not hold.
Concepts are lists of word beginnings (ending in ``*``) or whole words.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from functools import lru_cache

from solubility_stats.sheets.units import known_unit

# A column the group worked out itself; nothing of ours is filled from it.
DERIVED = "(worked out)"
# Beside a candidate: the heading holds a word that may change its meaning.
UNSURE = "(unsure)"

_CONCEPTS: dict[str, str] = {
    "mass": "mass masses vægt vikt gewogen weight weights wt weigh* masse gewicht gram grams m "
    "massa masa peso pesos pesad* poids endmasse anfangsmasse startmasse trockenmasse restmasse "
    "papiermasse",
    "reagent": "powder powdered reagent",
    "amount": "amount amounts quantity menge quantité cantidad quantità",
    "start": "początkow* versé versée pesée init* start* begin* began original* orig add added "
    "taken take took went placed used anfang* anfänglich* startmasse einwaage eingewogen* initiale dispensed inici* "
    "inizial* départ depart ajoutée añadid*",
    "begin": "początkow* init* start* begin* began original* anfang* anfänglich* startmasse "
    "initiale inici* inizial* départ depart",
    "used": "used taken take took went add added dispensed delivered consumed verbrauch* ajoutée añadid* "
    "withdrawn",
    "before": "pre vorher innan før voor before prior vor avant antes prima",
    "after": "post nachher po etter efter after nach après despu* dopo após depois",
    "residue": "sediment crust scrape scraped zurück* zurückgew* ppt precipitate deposit osad* stayed stuck kept "
    "unreact* retained caught recover* rec recd recov residu* undissolv* undiss leftover* left "
    "remain* remaining collected rückstand récupér* recuper* excess unlöst* ungelöst* auswaage "
    "rückwaage restmasse resto reste restant* restante",
    "final": "final finale finali fin out eind* end ending endmasse endgewicht",
    "dry": "wysusz* dry dried droog gedroog* torr* tørr* tør asciut* essic* drying dryed séch* "
    "sèch* sec seca seco secado secca secco trocken* getrocknet* trockenmasse",
    "wet": "wet damp moist undried nass feucht* humide húmed* úmid* umid*",
    "solid": "lump lumps chunk stuff gypsum chalk iodide sulfate sulphate reactant cal chaux slaked hydrated solid solids vaste soluto soluté powder lime "
    "calcium caoh salt sample compound hydroxide feststoff cake ca solute solide sólido solido "
    "kalk reagent material",
    "paper": "paper papers papieren filterpaper papier filterpapier papiermasse papel carta",
    "again": "second again reweigh* reheat* re 2nd zweite* twice",
    "time": "lasted last time times tijd tid duration long minute minutes min mins hour hours zeit dauer "
    "temps durée tiempo tempo trockenzeit rührzeit absetzzeit",
    "stir": "stir* mix* agitat* agitac* agitaç* swirl* rühr* magnetic",
    "settle": "settl* sink sank undisturbed stand standing stood wait* rest rested sit sat absetz* repos*",
    "heat": "heat* hot hotplate oven lamp dryer drier bake* baking incubator warming",
    "temperature": "warm cold degrees celsius thermometer termometer temperature* temperatuur temp tmp temperatur* "
    "température* tempera*",
    "vacuum": "vacuum vac büchner buchner buechner suction aspirat* saug* vide vacío vácuo vuoto "
    "vakuum",
    "gravity": "gravity grav fluted gravité gravedad gravidade gravità schwerkraft",
    "filtration": "filtrado filterart filtration* filt filter filtered filtering filtrier* "
    "filtraci* filtraç* filtrazion* filtrage",
    "funnel": "funnel trichter embudo",
    "filtrate": "filtrate filtrat limewater supernatant",
    "method": "filterart method type kind how which technique setup art méthode método metodo "
    "tipo modo",
    "water": "solvent wody vannvolum vattenvolym vandvolumen wasservolumen water vatten vann vand "
    "wasser eau water* h2o distilled deionized deionised agua água acqua",
    "volume": "objętość objętosc vannvolum vattenvolym vandvolumen wasservolumen volume* volym "
    "vol vols volumen* ml milliliter* millilitre* volum",
    "total": "whole entire combined total tot sum all overall altogether totaal totalt gesamt* insgesamt "
    "together totale",
    "fill": "fill* pour* portion* addition* cylinder cyl reading* füllung*",
    "aliquot": "aliquot* pipett* pipet",
    "acid": "hcl acid titrant säure acide ácido acido",
    "titrated": "titrated titrat* titriert*",
    "titre": "titre titer",
    "burette": "burette burettes buret bürette bureta",
    "concentration": "concentration conc molarity molar konzentration concentración concentrazione",
    "endpoint": "endpoint",
    "alone": "alone empty clean new itself unused plain blank",
    "dish": "dish crucible evaporating watchglass schale",
    "evaporation": "evaporat* evap boil* dryness",
    "solubility": "solubility solubilities löslichkeit solubilité solubili*",
    "solution": "suspension* slurry solution solutions soln lösung mischung mixture mélange "
    "mezcla solução solución soluzione oplossing disolución dissolução løsning lösningen",
    "unit": "unit units einheit* unité*",
    "constant": "constant",
    "scatter": "laser beam tyndall cloud* scatter turbid* hazy trübung",
    "group": "station table pair crew squad desk drużyna grupa binôme group groups grp gp groep grupp gruppe* groupe team bench "
    "grupo gruppo equipo équipe equipe",
    "section": "section sect demigroup weekday sección sezione turma",
    "comment": "comment* opmerking* note notes remark* observa* unusual problem problems "
    "bemerkung* anything anmerkung*",
    "timestamp": "tidsstempel tijdstempel zeitstempel horodateur timestamp submitted submission",
    "semester": "semester term",
    "balance": "balance scale waage",
    "instructor": "instructor ta teacher demonstrator",
    "run": "trial run replicate attempt",
    "derived": "calc disappeared vanished gone dissolved dissolve difference diff loss lost density calculated gelöst* "
    "change dissou* disuelt* dissolvid* disciolt* verlust",
    # What is said about the class's numbers, and never a reading of one group.
    "summary": "average avg mean sd rsd stdev std dev median error percent % uncertainty "
    "deviation grade score mark marks points literature lit accepted theoretical expected "
    "published reference durchschnitt mittelwert moyenne promedio",
    "count": "count many anzahl",
}

# column, all of these concepts (alternatives joined by |), none of these
_NO_READING = frozenset({"derived", "summary"})
_RULES: tuple[tuple[str, str, str], ...] = (
    ("recovered_with_paper_mass_g", "paper solid|residue", "time method wet dish before"),
    ("paper_mass_g", "paper mass", "solid residue time method wet dish dry after"),
    ("paper_mass_g", "paper mass alone|before|begin", "solid residue time method wet dish after"),
    ("paper_mass_g", "paper mass dry", "solid residue time method wet dish after final"),
    ("recovered_with_paper_mass_g", "paper mass after dry", "time method wet dish before alone begin"),
    ("recovered_with_paper_mass_g", "paper mass dry", "time method wet dish before alone begin"),
    ("wet_cake_mass_g", "wet mass|solid|residue", "time paper dish"),
    ("wet_cake_mass_g", "mass before dry", "time paper dish start"),
    ("second_dry_mass_g", "again mass dry|heat", "paper time dish start"),
    ("dish_residue_mass_g", "dish residue|solid|after", "time before volume filtrate"),
    ("dish_mass_g", "dish mass", "residue solid after time dry"),
    ("dish_mass_g", "dish mass alone", "residue solid after time"),
    ("second_dry_mass_g", "again mass residue", "paper time dish start"),
    ("initial_mass_g", "mass solid start", "residue paper time dry wet dish after final again"),
    ("recovered_mass_g", "mass|solid residue", "paper start time wet dish before again constant"),
    ("recovered_mass_g", "mass final|after|dry", "reagent paper start time wet dish before again "
     "stir settle constant"),
    ("recovered_mass_g", "solid dry", "reagent paper start time wet dish before again method"),
    ("recovered_mass_g", "solid final", "reagent paper start time wet dish before again method "
     "temperature volume solubility unit"),
    ("recovered_mass_g", "reagent final", "paper start time wet dish before again method temperature "
     "volume solubility unit"),
    ("recovered_mass_g", "constant mass residue|dry", "paper start time wet dish before again"),
    ("recovered_mass_g", "residue dry", "paper start time wet dish before again method"),
    ("initial_mass_g", "mass start|before", "residue paper time dry wet dish water after final "
     "acid burette again solubility"),
    ("initial_mass_g", "solid before water", "residue paper time dry wet dish after final acid "
     "again solubility volume"),
    ("initial_mass_g", "mass before water", "residue paper time dry wet dish after final acid "
     "again solubility volume"),
    ("initial_mass_g", "solid begin", "mass residue paper time dry wet dish water after final acid "
     "again solubility volume temperature method unit"),
    ("initial_mass_g", "mass reagent", "residue paper time wet dish water after final acid "
     "again solubility filtration"),
    ("initial_mass_g", "mass solid", "residue paper time dry wet dish water after final acid "
     "again solubility start before filtration"),
    ("initial_mass_g", "amount solid", "residue paper time dry wet dish water after final acid "
     "again solubility volume unit filtration"),
    ("recovered_mass_g", "amount residue", "paper time wet dish water acid before again volume "
     "unit"),
    ("water_volume_ml", "amount water", "aliquot acid titre titrated burette evaporation fill time "
     "temperature mass dish concentration filtrate before solid unit"),
    ("temperature_c", "temperature", "time dry heat derived"),
    ("stir_min", "stir time", "settle dry temperature mass begin final before after"),
    ("settle_min", "settle time", "stir dry temperature mass begin final after"),
    ("dry_min", "dry|heat time", "stir settle temperature mass constant begin final before"),
    ("filtration", "vacuum gravity", "time mass temperature"),
    ("filtration", "filtration", "time mass temperature paper volume solid residue dry "
     "water after before filtrate"),
    ("filtration", "filtration|funnel method", "time mass temperature paper volume filtrate"),
    ("filtration", "vacuum|gravity", "time mass temperature volume filtrate"),
    ("water_volume_ml", "water|total volume|water", "aliquot acid titre titrated burette "
     "evaporation fill time temperature mass dish concentration filtrate before"),
    ("water_volume_ml", "total volume", "aliquot acid titre titrated burette evaporation time "
     "temperature mass dish concentration filtrate before"),
    ("water_volume_ml", "total water fill", "aliquot acid titre titrated burette evaporation "
     "time temperature mass dish concentration filtrate before solid unit"),
    ("water_volume_ml", "water start", "aliquot acid titre titrated burette evaporation fill time "
     "temperature dish concentration mass filtrate before"),
    ("aliquot_ml", "aliquot", "acid titre dish concentration evaporation mass"),
    ("aliquot_ml", "solution titrated volume", "acid titre burette dish concentration "
     "evaporation mass water total"),
    ("aliquot_ml", "filtrate used|titrated", "acid titre burette dish concentration evaporation "
     "mass water total"),
    ("aliquot_ml", "solid titrated volume", "acid titre burette dish concentration evaporation "
     "mass water total"),
    ("evaporation_aliquot_ml", "evaporation volume", "mass time acid"),
    ("evaporation_aliquot_ml", "dish filtrate volume", "mass time acid"),
    ("evaporation_aliquot_ml", "aliquot evaporation|dish", "mass time acid"),
    ("titrant_mol_per_l", "acid concentration", "mass volume"),
    ("titrant_ml", "acid|titre volume|used", "concentration aliquot mass filtrate begin final "
     "before after"),
    ("titrant_ml", "titrated volume", "concentration aliquot mass filtrate begin final before after "
     "solution solid time temperature burette"),
    ("aliquot_ml", "titrated volume", "acid titre dish concentration evaporation mass burette "
     "time temperature total"),
    ("titrant_ml", "burette used|derived", "concentration aliquot mass filtrate begin final "
     "before after"),
    ("burette_start_ml", "burette begin|before", "concentration aliquot mass filtrate final after "
     "used time temperature"),
    ("burette_end_ml", "burette final|after|endpoint", "concentration aliquot mass filtrate begin before "
     "used time temperature"),
    ("reported_unit", "solubility unit", ""),
    ("reported_solubility", "solubility", "unit summary"),
    ("constant_mass", "constant mass", ""),
    ("scatter", "scatter", "mass time"),
    ("comment", "comment", "mass volume time"),
    ("submitted", "timestamp", ""),
    ("section", "section", "count group"),
    ("group", "group", "count comment section temperature mass volume time solubility"),
    ("semester", "semester", ""),
)  # fmt: skip
# Columns a heading may name although it speaks of something worked out or of a summary.
_DESPITE = {
    "temperature_c": "summary", "titrant_ml": "derived", "reported_solubility": "derived summary",
    "reported_unit": "derived summary", "scatter": "derived summary",
    "comment": "derived summary", "submitted": "derived summary", "semester": "derived summary",
}  # fmt: skip


def _plain(word: str) -> str:
    """Return a word without accents: people leave them out."""
    letters = unicodedata.normalize("NFKD", word)
    return "".join(c for c in letters if not unicodedata.combining(c))


def _words(text: str) -> frozenset[str]:
    return frozenset(_plain(text).split())


# A word that is in no concept may change the meaning ("wash water", "beaker + solid"), so a
# heading is only understood by keywords if nothing but these is left over.
_HARMLESS = _words(
    "a an the of in on at to by for from with per and or as is was were are be been did do does "
    "you your we our us it its this that which what how much many long have has had "
    "i my their used use using put got get give given enter state write please record recorded "
    "measured reading readings value values result approx about exact exactly "
    "lab laboratory class experiment each every one only also just here "
    "include units 1st 2nd oh oh2 h o le la les de des du d l un une der die das dem den von vom "
    "im in des zu am mit und et en el los las del no nr number needed required "
    "all any both each some most other than then so if i we they he she them me us our ours yours "
    "was had has having been being could would should will shall may might must can "
    "just into onto inside kind same together stayed started begun ended "
    "up let alone itself stopped spent "
    "weighed weigh measured measure noted note found find saw see read wrote written observed "
    "obtained added adding put placed ran used using made making "
    "lab bench work today session part approximate approximately exactly "
    "hva hvor mye hoeveel wieviel viel wie combien quelle quel cuánto cuánta cuál qual quanto "
    "avons avez utilisé utilisée mesuré mesurée nous vous votre vos notre nos "
    "wir haben habt ihr ihre euer eure verwendet verwendete gemessen gemessene eingesetzt "
    "eingesetzte zugegeben zugegebenes de het een van bij met av og med til i på er "
    "nuestro su sus usado usada medida medido utilizado utilizada seu sua usada do da "
    "nostro usata misurata misurato beim während zu zur zum "
    "dem kind do done make made would finally together there's "
    "white yellow brown grey gray clear pick choose select type enter tell say said show showed read "
    "u ur r ya b4 pls so now off straight already still completely fully really "
    "quite very just right down away keep leave let "
    "which type step own actual when while where once during there then "
    "di da del della dello do dos na no em au aux par avec per con para"
)
_HARMLESS_FOR = {
    "temperature_c": _words(
        "t bath room ambient solution mixture liquid filtrate saturated slurry"
    ),
    "recovered_mass_g": _words("filter undissolved solute over out on off tared net"),
    "initial_mass_g": _words(
        "calcium hydroxide tared net dissolve adding lösen auflösen mixing dissolving experiment"
    ),
    "filtration": _words("v g vac grav b"),
    "paper_mass_g": _words("empty clean filter weighing"),
    "dish_mass_g": _words("empty clean"),
    "fill": _words("graduated grad measuring step tap"),
    "titrant_ml": _words("difference end endpoint reach point"),
    "burette_start_ml": _words("titration point volume zero"),
    "burette_end_ml": _words("titration point endpoint volume"),
    "aliquot_ml": _words("portion solution clear saturated titration"),
    "evaporation_aliquot_ml": _words("solution saturated put dryness"),
    "water_volume_ml": _words("solvent tap pure di demin destilliertes dest dissolving"),
    "reported_solubility": _words("calcium hydroxide ca group answer reported experimental exp"),
    "group": _words("student students letter code id"),
    "comment": _words("any other further else"),
    "scatter": _words("visible test red green light"),
    "stir_min": _words("plate bar stirrer"),
}


# Concepts that may stand in the heading of a column; any other one may change its meaning ("mass of
# the funnel with dry solid"). Columns that are not listed hold words, not numbers.
_ALWAYS = "amount unit used start method total group run balance"
_MAY = {
    "initial_mass_g": "mass solid reagent dry begin before water stir filtration",
    "recovered_mass_g": "mass solid reagent constant residue final after dry heat "
    "filtration vacuum gravity",
    "recovered_with_paper_mass_g": "mass solid residue paper final after dry heat filtration",
    "paper_mass_g": "mass paper filtration begin before alone dry",
    "wet_cake_mass_g": "mass solid residue wet before dry after filtration paper",
    "second_dry_mass_g": "mass solid residue again dry heat after final",
    "dish_mass_g": "mass dish evaporation begin before alone dry",
    "dish_residue_mass_g": "mass dish evaporation solid residue after dry heat final",
    "temperature_c": "temperature water filtration filtrate solid begin final vacuum gravity "
    "summary stir settle before after solution",
    "stir_min": "stir time solid water solution",
    "settle_min": "settle time solid before filtration residue solution",
    "dry_min": "dry heat time solid residue paper",
    "water_volume_ml": "water volume begin solid fill stir",
    "fill": "fill water volume begin again run",
    "aliquot_ml": "aliquot volume filtrate solid titrated filtration solution",
    "evaporation_aliquot_ml": "aliquot volume filtrate evaporation dish solid dry filtration "
    "solution",
    "titrant_ml": "acid titre titrated burette volume derived endpoint solution",
    "burette_start_ml": "burette acid titre titrated volume begin before fill solution",
    "burette_end_ml": "burette acid titre titrated volume final after endpoint fill solution",
    "titrant_mol_per_l": "acid concentration titrated titre solid solution",
    "reported_solubility": "solubility solid derived water final solution",
}  # fmt: skip


def unexplained(words: list[str], column: str) -> list[str]:
    """Return the words of a heading that neither concepts nor the language account for."""
    # A sum of two weighings is neither of them.
    if "+" in words and column in ("initial_mass_g", "recovered_mass_g"):
        return ["+"]
    allowed = _HARMLESS | _HARMLESS_FOR.get(column, frozenset())
    fitting = _words(f"{_ALWAYS} {_MAY[column]}") if column in _MAY else None
    return [
        w
        for w in words
        if _plain(w) not in allowed
        and w != "+"
        and (not known_unit(w) or w == "second")
        and not (concepts_of(w) if fitting is None else concepts_of(w) & fitting)
    ]


# Things on the bench, fates and intentions that make a column something else than a reading of
# ours, whatever else its heading says. Not exhaustive: the values are asked as well.
# Where a volume was put or a temperature was taken these say nothing.
_VESSELS = _words(
    "beaker flask bottle jar vial tube boat weighboat tray cup container vessel erlenmeyer watch "
    "glass watchglass lid stopper spatula rod stirrer bar bead filterpaper tin foil bag funnel"
)
_OTHER_THINGS = _words(
    "spilled spilt spill lost missing stuck floor wasted discarded thrown poured-off leftover-water "
    "target planned plan recommended suggested should nominal ideal goal instructed predicted "
    "prediction estimate estimated est guess guessed aim maximum minimum max min "
    "other another previous last previously old year earlier next extra spare more less "
    "control blank standard stock wash washing washings rinse rinsed rinsing tap cooling ice waste "
    "points pts score rate rating cost price page room seat order "
    "impurity impurities purity moisture carbonate ash sand salt sugar "
    "ph conductivity absorbance humidity pressure density height length width diameter "
    "change changed gain gained evaporated disappeared"
)
_SUMS = _words("without minus plus")
# A strange word of one of these concepts turns the heading to another column.
_OTHER_CONCEPTS = frozenset(
    {"paper", "dish", "wet", "again", "acid", "titre", "burette", "aliquot", "evaporation",
     "derived", "summary", "count", "concentration", "titrated", "unit", "temperature",
     "solubility", "comment", "timestamp", "scatter", "total", "heat"}
)  # fmt: skip


def names_other(column: str, words: Iterable[str]) -> bool:
    """Tell whether words that do not fit a column name another thing than its reading."""
    fitting = _words(_MAY.get(column, ""))
    others = _OTHER_THINGS | (_VESSELS | _SUMS if column.endswith("_g") else frozenset())
    for word in words:
        if _plain(word) in others or word == "+" or (word.isdigit() and column in _MAY):
            return True
        if concepts_of(word) & (_OTHER_CONCEPTS - fitting):
            return True
    return False


def is_plain(word: str) -> bool:
    """Tell whether a word is one of the language, so that it is no misspelt other word."""
    word = _plain(word)
    return word in _HARMLESS or any(word in said for said in _HARMLESS_FOR.values())


@lru_cache(maxsize=1)
def _lexicon() -> tuple[dict[str, frozenset[str]], tuple[tuple[str, str], ...]]:
    whole: dict[str, set[str]] = {}
    beginnings: list[tuple[str, str]] = []
    for concept, words in _CONCEPTS.items():
        for word in map(_plain, words.split()):
            if word.endswith("*"):
                beginnings.append((word[:-1], concept))
            else:
                whole.setdefault(word, set()).add(concept)
    return {w: frozenset(c) for w, c in whole.items()}, tuple(beginnings)


def known_words() -> list[str]:
    """Return every word of the concepts, for mending misspelt words."""
    whole, beginnings = _lexicon()
    return sorted({*whole, *(b for b, _ in beginnings)})


def concepts_of(word: str) -> frozenset[str]:
    """Return the concepts a word stands for, empty for an unknown word."""
    whole, beginnings = _lexicon()
    word = _plain(word)
    found = set(whole.get(word, ()))
    found.update(concept for start, concept in beginnings if word.startswith(start))
    return frozenset(found)


def may_name(words: list[str], column: str) -> bool:
    """Tell whether no known word of a heading speaks against a column.

    Unknown words do not count; a sum of two weighings is none of them.
    """
    fitting = _words(f"{_ALWAYS} {_MAY[column]}")
    said = [concepts_of(w) for w in words if not known_unit(w)]
    return "+" not in words and all(c & fitting for c in said if c)


def tells_volume(words: list[str]) -> bool:
    """Tell whether a word of a heading speaks of water, of a volume or of a filling."""
    return any(concepts_of(w) & _FILL_NEEDS for w in words)


def tells_difference(words: list[str]) -> bool:
    """Tell whether a heading speaks of a mass that was lost or dissolved, not of a mean of it."""
    said = set().union(*map(concepts_of, words), set())
    return "derived" in said and not said & {"summary", "volume", "temperature", "time", "water"}


_FILL_NEEDS = {"fill", "water", "volume"}


def means_fill(words: list[str]) -> bool:
    """Tell whether the words of a numbered heading mean one filling of the cylinder."""
    present = set().union(*map(concepts_of, words), set())
    strange = [w for w in unexplained(words, "fill") if w not in ("no", "nr")]
    return bool(present & _FILL_NEEDS) and "total" not in present and not strange


def names_fill(words: list[str]) -> bool:
    """Tell whether the words name a filling or the water, and not a volume of anything."""
    return any(concepts_of(w) & {"fill", "water"} for w in words)


def match(words: list[str], dimension: str | None = None) -> list[str]:
    """Return the columns whose rule fits the words, none, one or several; or ``DERIVED``.

    The dimension of the heading's unit counts like a word: grams tell of a mass. A heading that
    says "mass" and nothing else may mean either mass of the experiment.
    """
    present: set[str] = {dimension} if dimension in _CONCEPTS else set()
    for word in words:
        present |= concepts_of(word)
    found = []
    for column, needed, forbidden in _RULES:
        wanted = [set(part.split("|")) for part in needed.split()]
        barred = _words(forbidden) | (_NO_READING - _words(_DESPITE.get(column, "")))
        if all(part & present for part in wanted) and not present & barred:
            found.append(column)
    unique = list(dict.fromkeys(found))
    if len(unique) > 1:  # "which filtration did your group use" is not about the group
        unique = [c for c in unique if c not in ("group", "section")] or unique
    if not unique and present & _NO_READING:
        return [DERIVED]
    if not unique and "mass" in present and present <= {"mass", "amount"}:
        return ["initial_mass_g", "recovered_mass_g"]
    return unique
