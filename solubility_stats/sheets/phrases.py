"""The words of a heading, with those phrases made one word that mean more than their words.

People say "what came back dry" for the recovered mass and "until the pink was gone" for the end
point. Each saying below is put into the words that :mod:`keywords` knows, in the order given: what
a saying brings in, a later one may still turn.
"""

from __future__ import annotations

import re
from functools import lru_cache

from solubility_stats.sheets.concepts import concepts_among, sayings
from solubility_stats.sheets.heading_text import normal

_THE = r"(?:the |your |our |ur |a |an |its )?"
_VESSEL = r"(?:boat|paper|dish|beaker|container|cup|balance)"
_ORDINAL = r"(first|second|third|fourth|fifth|sixth|1st|2nd|3rd|4th|5th|6th)"
_PLACE = (
    r"(?:water|beaker|flask|erlenmeyer|watch ?glass|bottle|jar|cup|container|solution|mixture|"
    r"funnel|sheet|table|lab|bench|balance|boat|vial|tube|tub|board|label|drawer|schedule)"
)

_WEIGHING = (
    r"(?:weighing|vejning|vägning|veiing|wägung|pesée|pesada|pesata|pesagem|weging|ważenie|drying|tørring|"
    r"torkning|tørking|trocknung|trocknen|séchage|secado|secagem|asciugatura|essiccazione|drogen|suszeni\w+|"
    r"kurutma\w*|tartim\w*|(?:vy|u)?sušení\w*|vážení|kuivau\w+|kuivat\w+|punnitu\w+)\b"
)
_STAYED = r"(?:beaker|flask|bottle|jar|cup|container|boat|cylinder|jug|packet|spatula|vial|tube)"
_SCRAPED = (
    r"\b(?:skrab\w+|skrap\w+|avskrap\w+|abgekratzt\w*|abgeschabt\w*|gratt\w+|raspad\w|raschiat\w|"
    r"rascad\w|geschraapt|zdrapan\w+|zeskroban\w+|seškrában\w*)"
)
_DRIED = r"dr(?:y|ied|ying)|heat(?:ed|ing)?|bak(?:ed|ing)|warm(?:ed|ing)"
_DRY_ABROAD = (
    r"(?:sec|sèche?|seco|trocken\w*|getrocknet|droog|droge|gedroogd|asciutto|secco|essiccato|"
    r"such[ye]|suchá|torrt?|tørt?|kuiva|kuru)"
)
_SOME_MORE = (
    r"(?:(?:a |an )?(?:further|additional|extra|another) (?:\d+|few|five|ten|couple of)"
    r"|(?:\d+|few|five|ten) (?:more|further|extra|additional))"
)
_HEAT = (
    r"(?:heat|hot ?plate|oven|lamp|stove|burner|radiator|dr[iy]er|incubator|warm|plate|sand ?bath)"
)
_SOLID = r"(?:lime|solid|powder|salt|reagent|calcium|ca)"

_MASS_OF = r"mass|weight|wt|masse|masa|massa|peso|poids|m"

_SAID: tuple[tuple[str, str], ...] = (
    (r"\bh\s?2\s?o\b", " water "),
    (r"\A[tT]a (?=(?:del? )?agua\b)", " temperature "),  # "Tª agua"
    # "Solubilidad (con unidades)" is no unit.
    (r"\b(?:con|com|mit|avec|met|med|inkl|incl|ile|sekä) (?:l[ea]s? |die |de )?"
     r"(?:unidad\w*|unité\w*|einheit\w*|unità|eenheid|enhet\w*|enhed\w*|birim\w*|yksik\w+)", " "),
    # Scraped off its paper, in other languages.
    (rf"{_SCRAPED} (?:af|av|från|fra|vom|von|du|del|dal|do|da|van|z|ze)"
     r"(?: (?:het|dem|le|la|de))? (?:\w*papp?[ií]\w*|papel|carta|filtr[oe]|sącz\w+)", " residue "),
    (rf"\b(?:vom|von dem|van|van het) (?:filt\w*)?papier {_SCRAPED}", " residue "),
    (rf"\b(?:del|dal|do|da|du) (?:papel|carta|papier|filtr[oe]) {_SCRAPED}", " residue "),
    (r"\bsol'?y\b", " solubility "),
    (r"\b(?:nova|novo|nueva|nuevo|nouvelle|nouveau|nuova|neue\w*|nieuwe|ny|nytt|nowe\w*) "
     r"(?:secagem|secado|séchage|essiccazione|asciugatura|trocknung|droging|tørking|torkning|"
     r"suszeni\w+)\b", " second drying "),
    (r"\b(\w*(?:filter|papier|papir|papper)) m (?=[^\W\d_]{3})", r"\1 mit "),  # "Filter m. Rest"
    # "Volume put in dish (mL)"
    (r"\bvol(?:ume|umen|ym|um)?\.? (?:\w+ )?(?:in(?:to)?|en|dans|nella|na|i|w|im) "
     r"(?:the |la |a |die |de )?(?:(?:evaporating |porcelain )?(?:dish|crucible|basin)|cápsula|"
     r"capsule|coupelle|capsula|schale|abdampfschale|schaal|skål|parowni\w+)\b", " filtrate dish "),
    # A dry filter is one of paper, by itself or with what is on it.
    (r"(?<!papel de )(?<!papier )(?<!carta da )(?<!papier à )"
     rf"\b(?:filtr[eo]?|filter|filtret|filtern) {_DRY_ABROAD}\b", " paper dry "),
    (rf"\b{_DRY_ABROAD} (?:filtr[eo]?|filter|filtret)\b", " paper dry "),
    # "Ca(OH)2 prelevato": taken from the jar, and no aliquot.
    (r"\b(?:ca\s?oh\s?2|calce|cal|chaux|kalk|lime|solido|solide) (?:\w+ )?(?:prelev\w+|prélev\w+)",
     " initial mass solid "),
    (r"\bback on(?:to)? the (?:hot ?)?(?:plate|heat)(?: for)?(?: \d+ ?\w+)?,? (?:and )?"
     r"(?:re-?)?weighed(?: again)?\b", " second drying mass "),
    (r"\btorna\w* a (?:assecar|pesar)\b", " second drying "),
    (r"(?<!\bal )\b(?:volv|volt)\w+ a (?:secar|pesar)(?: [ey] (?:secar|pesar))?\b",
     " second drying "),
    (r"\b\w+ ?(?:\+|&) ?\w+ drying\b", " drying "),  # "after sun + stove drying"
    # "25 mL filtrate took mL HCl"
    (r"\bfiltrate (?:took|needed|required|used)(?: m?l)?(?: of)?(?: the)? (?:hcl|acid)\b",
     " titrant used "),
    # "Mass with paper" is of what was dried, and not of the paper.
    (rf"\A(?:{_MASS_OF}) (?:with|mit|avec|con|com|met|med|incl\w*|inkl\w*) "
     r"(?:the |de |le |dem |el |o )?"
     r"(?:(?:filter ?)?pap\w+|filtr[oe]|carta|filterpap\w+)\Z", " residue paper "),
    (r"\b(initial|final|first|last) b r\b", r" \1 burette reading "),
    (r"\bfiltrat vorgelegt\b|\bvorgelegtes filtrat\b", " aliquot filtrate "),
    (r"\bsamples? of (?:the |your )?(?:filtrate|lime ?water)\b", " aliquot filtrate "),
    (r"\b(?:filtrate|lime ?water) samples?\b", " aliquot filtrate "),
    (r"\bfiltrat (?:dosé|titré)\b|\bvol(?:ume)?\.? dosé\b", " aliquot volume "),
    (r"\b(?:ca oh 2|idrossido(?: di calcio)?|hidróxido(?: de calcio)?) (?:pesat|pesad)[ao]\b",
     " reagent initial mass "),
    (r"\A(?:m?mol|m?moles|n) (?:of )?(?:hcl|ca oh 2|caoh2|ca|h|oh|acid|base)\b.*", " calculated "),
    (r"\bseparated? (?:them |each )?(?:with|by|using) (?:a )?(?:commas?|semicolons?)\b", " "),
    (r"\bv(?:ol(?:ume)?)? versé à l[ '’]?équivalence\b", " titre volume "),
    (r"\b(mass|m|weight|wt) i\Z", r"\1 initial"),
    (r"\b(mass|m|weight|wt) f\Z", r"\1 final"),
    (r"\b(?:dried|dry|heated) to const(?:ant)? (?:mass|weight|wt)\b", " constant "),
    (r"\b(?:ab|ein)dampfprobe\b", " evaporation aliquot "),
    (r"\bal[ií]cuota (?:de|del) filtrado\b", " aliquot filtrate "),
    (r"\b(?:2nd|second) heating\b", " second drying "),
    (r"\bbur(?:et|ette|\.)? (?:i|init)\b", " burette start "),
    (r"\bbur(?:et|ette|\.)? f\b", " burette end "),
    (r"\bcream of tartar\b", " solid "),
    (r"\b(weighed|reweighed|weighing) again (?:the )?next (?:class|day|lesson|lab|time|period|week|"
     r"morning)\b", r" \1 again "),
    (r"\bm of (?:the )?(?=(?:hcl|acid)\b)", " molarity of "),
    (r"\b(evaporat\w+) (?:of (?:the )?)?filtrate(?= .*\bdish\b)", r" \1 "),
    # "Masse du filtre sec": a filter that is dry is paper.
    (r"\b(dry|dried|sec|seco|secco|clean|empty) (?:filter|filtre|filtro)\b"
     r"(?! (?:paper|residue|cake|solid))", r" \1 paper "),
    (rf"(?:\A|\b(?:{_MASS_OF}) (?:of |du |de |del |do |di )?(?:the |le |il )?)"
     r"(?:filter|filtre|filtro) (dry|dried|sec|seco|secco|clean|empty|vide|vuoto|vacío|vazio)\b",
     r" mass paper \1 "),
    (r"\b(?:each|every) time\b", " each "),
    (r"\b(cylinder|fill|pour|portion) after \1\b", r" \1 by \1 "),
    (r"\bfp\b", " paper "),
    (r"\b(?:2nd|second|2) time (?:in|on|under) (?:the )?(?:oven|hot ?plate|lamp)\b",
     " dried again "),
    (r"\b(?:straight|fresh|right) (?:from|off|out of) (?:the )?(?:funnel|filter|pump)\b", " wet "),
    (r"\A(?!.*\b(?:dry|dried|drying|after)\b)(.*)\bas it came (?:from|off|out of) (?:the )?"
     r"(?:funnel|filter|pump|paper)\b", r"\1 wet "),
    (r"\bpaper (?:and|with|plus|\+|&) (?:its )?contents\b", " paper and solid "),
    (r"\banother (?:(?:\d+|few) ?(?:min\w*)?|(?:half )?(?:an )?hour\b|round\b)", " again "),
    (r"\blight (?:path|ray|cone) (?=seen|visible|in\b)", " beam "),
    (r"\bbefore (?:the )?(?:(?:1st|first|1) )?weighing\b", " "),
    (r"\btemp(?:erature)? (?:probe|sensor)\b", " temperature "),
    (r"\Acard\W+(?=\w+\Z)", " "),  # "Card – team"
    (r"\b\w+ (?:und|en) (\w*temperatu?u?r)\b", r" \1 "),
    (r"\bg(?:rams?)? (?:of \w+ )?(?:that )?dissolv\w* (?:in|per) (?:each |every |a |one )?"
     r"(?:1000|100|1)? ?(?:ml|cm3|l|litre|liter|dm3)\b", " solubility "),
    (r"\b(?:did you|we|you) scoop(?:ed)?\b", " weighed out "),
    # What did not dissolve.
    (r"\b(?:(?:did|does|do|was|is|has)\s*n['o]?t|not|never|un)[\s-]*(?:been\s+)?dissolv\w*",
     " undissolved "),
    (r"\b(?:didn|doesn|wasn) t dissolv\w*|\bnicht gelöst\w*", " undissolved "),
    (r"\b(?:went|goes|go|gone|passed|passes) into (?:the )?solution\b", " dissolved "),
    (rf"\b(?:{_SOLID}|mass|amount)\s+(?:now\s+)?in (?:the )?solution\b", " dissolved "),
    (r"\b(?:grade|class|year|course|level)(?: level)? (?:and|&|\+|/) (?=section\b)", " "),
    (r"\b(?:mass of )?(?:the )?(?:weighing )?(?:bottle|boat|vial) contents\b", " mass "),
    # The balance was set to nothing under the boat.
    (r"\b(?:weigh(?:ing)? ?)?(?:boat|dish|paper|container|bottle) (?:was )?(?:zeroed|tared)\b",
     " tared "),
    (r"\b(?:tared|zeroed) (?:weigh(?:ing)? ?)?(?:boat|dish|paper|container|bottle)\b", " tared "),
    (r"\A(?:dry|dried) (?:wt|weight|mass|residue|solid) (?:no )?2\Z", " second dry weight "),
    (r"\bv(?:ol(?:ume)?)? (?:équivalente?|equivalente?)\Z|\bequivalence volume\b", " titre "),
    (r"\b(?:powder|stuff) (?:after (?:the )?(?:dry\w*|oven|heat\w*)|dried)\b", " dry residue "),
    (r"\bif (?:yes|so) (?:what (?:was|is|did)|how much)\b", " "),
    (r"\A(?:did|have) you (?=dr(?:y|ied) and (?:re)?weigh)", " "),
    (r"\b(?:low|gentle|medium|high) heat\b", " heat "),
    # "Vial of lime tipped in" is about the lime.
    (rf"\b(?:vial|packet|sachet|boat|cup|spoon(?:ful)?|scoop|portion) of (?=(?:the )?{_SOLID}\b)",
     " "),
    (r"\b(?:polvere secca|poudre sèche|polvo seco|trockenes pulver|droog poeder)\b", " drypowder "),
    # "Solubility from table" is a book's.
    (r"\bsolubility (?:from |in |of )?(?:the )?tables?\b", " solubility handbook "),
    # "Solubility from lime back" says how it was worked out.
    (rf"\b(?:from|by|via) (?:the )?{_SOLID} (?:back|recovered|left|out)\b", " "),
    (r"\b(?:massa|masa|masse|peso) (?:pesada|pesata|pesée|pesado)\b", " initial mass "),
    (r"\b(?:came|come|comes|got|get|getting|gotten|was|is|we) back\b", " recovered "),
    (r"\bfilter cake\b", " cake "),
    (r"\bcoffee filters?\b", " paper "),
    (r"\bweighed back\b", " recovered weight "),
    (r"\b(?:filtered|clear) (?:water|liquid|solution)\b", " filtrate "),
    (r"\bacid test\b", " titration "),
    (r"\bround filter\b|\bfilter (?:circle|disc|disk)s?\b", " paper "),
    (rf"\b(?:from|off|out of) {_THE}filter\b(?! paper)", " "),
    (r"\b(\d\w{0,3}|première|deuxième|seconde|dernière) pesée\b", r" \1 poids "),
    (r"\bpesée (?=après|avant|finale|initiale)", "poids "),
    (r"\b(water\b[^\d]*?) (?:with |by |using |in |from )?(?:a |the )?(?:measuring|graduated|grad) "
     r"cylinder\Z", r"\1"),
    # Solid weighed without its paper.
    (r"\b(?:ohne|sans|senza|sin|zonder|sem|utan|uten|uden|bez) (?:das |le |il |la |el |o |het )?"
     r"(?:filter|filtre |filtro )?"
     r"(?:filtro|filtre|filter|papier\w?|carta|papel|papper\w*|papir\w*|sączka)\b", " residue "),
    (r"\b(?:from|by|via|out of) (?:the )?"
     r"(?:part [a-h]|missing mass|"
     r"(?:mass|solid|lime) (?:that|which) (?:is|was|went) (?:missing|lost)|"
     r"mass (?:lost|missing|difference|balance)|(?:dry |the )?residue|"
     r"(?:the )?(?:left ?over|undissolved|dry) solid|"
     r"(?:the )?mass(?:es)?|weighings?|method 1|difference)\b", " "),
    (r"\bon (?:the|that) day\b", " "),
    # Lime "on the little scale" was weighed there.
    (rf"\b({_SOLID}) on (?:the|our|a) (?:(?:little|small|big|kitchen|digital) )?"
     r"(?:scales?|balance)\b", r"\1 mass "),
    (r"\bnot (?:incl\w*|count\w*|with)(?: the| your| any)? (?:filter ?paper|paper|filter)\b",
     " residue "),
    (r"\b(?:with no|no|without(?: the)?|w o|minus(?: the)?) (?:filter ?paper|paper|filter)\b",
     " residue "),
    (r"\b(?:excluding(?: the)?|less the) (?:filter ?)?paper\b", " residue "),
    (r"\b(?:filter ?)?paper (?:already )?(?:removed|subtracted|taken off|excluded|deducted)\b",
     " residue "),
    (r"\b(?:filter ?)?paper (?:is |was )?not incl\w*", " residue "),
    # A paper for weighing, where "weigh paper and dry lime" is what to do.
    (r"(?<!on )(?<!on the )\bweighing ?paper\b"
     r"|\bweigh ?paper\b(?!.*\b(?:dry|dried|residue|together)\b)", " boat "),
    (r"\b(?:after|once) (?:it (?:had|has) )?cool(?:ed|ing)(?: down)?\b", " "),
    (rf"\Abefore (?:drying )?dry (?={_SOLID})", " start "),
    (r"\b(?:and )?not (?:counting |including |incl |with )?(?:the )?"
     r"(?:rins\w*|wash\w*)(?: water)?\b", " "),
    (r"\Aplace\Z|\bplace in (?:the )?class\b", " rank "),
    (r"\b(titration|evaporation) route\b", r" \1 "),
    (r"\bresidue route\b", " "),
    (r"\bsoln? calc(?:ulated)?\b", " solubility "),
    (r"\b(mass|weight|wt) in ?\Z", r" initial \1 "),
    (rf"\Adry (?={_SOLID}\b.*\bbefore(?: m?g)?\Z)", " start "),
    # Symbols with the step in brackets: "t(Rühren)", "T (Wasser)".
    (r"\At (?=(?:rühr|absetz|trock|agit|d[ée]cant|séch|roer|bezink|droog|settl|dry|stand|mieszan|"
     r"suszen|mescol|asciug|essic|sec|repos|rör|omrør|rør|tork|tørr|tørk)\w*\b)", " time "),
    (r"\At (?=(?:wasser|eau|agua|acqua|água|woda|wody|vand|vann|vatten|lösung|raum)\b)",
     " temperature "),
    (r"\btime (?:on|under|in) (?:the )?(?:warmer|heat lamp|hot ?plate|heater|oven)\b",
     " dry time "),
    # "Filtrate clear? (Y/N)", and no amount of the clear filtrate.
    (r"\A(?:was |is |were )?(?:the |your )?"
     r"(?:filtrate|filtrat|filtered (?:solution|liquid)|lime ?water) (?:was |is |looks? |ist )?"
     r"(?:clear|klar)(?: (?:y n|yes no|y or n|yes or no|j n|ja nein))?\Z",
     " scatter "),
    (r"\blength of (?=stir|settl|dry|time|wait|rest)", " time "),
    (r"\bheat of (?=the water|water|the mix)", " temperature "),
    # "Dry lime weighed in" was dry before it met the water.
    (rf"\bdry (?={_SOLID}\b.*\b(?:weighed in|weighed out|at (?:the )?(?:start|beginning))\b)", " "),
    (r"\bgroup (?:within|in|of) (?:the |each |its )?section\b", " group "),
    (r"\bdry before\Z", " before "),
    # "Before drying" it is wet; "dry, before" is weighed at the start.
    (r"\b(?:before|prior to|avant|vor|antes|przed|före|voor|prima|før|innan)(?: \w{1,4}){0,2} "
     r"(?:drying|dried|(?:drying )?oven|heating|hot ?plate|trockn\w*|trocken\w+|séch\w*|l'étuve|"
     r"étuve|seca\w+|susz\w*|"
     r"tork\w+|tørk\w+|tørr\w+|drogen|essicc\w+)\b", " undried "),
    (r"\bf p\b", " paper "),
    (r"\b(?:nog een keer|nog eens|noch ?mals?|noch einmal|encore une fois|otra vez|outra vez|"
     r"un'altra volta|"
     r"di nuovo|de nuevo|de novo|de nouveau|mais uma vez|una vez más|(?:ännu )?en gång till|"
     r"en gang til|"
     r"jeszcze raz|à nouveau)\b", " again "),
    # The first and the second time that something was weighed or dried.
    (rf"\b(?:1\w{{0,3}}|first|erste[rs]?|première|primera|prima|primeira|eerste|første|första|"
     rf"pierwsze|první\w*|birinci|ensimmäi\w+) (?={_WEIGHING})",
     " "),
    (rf"\b(?:2\w{{0,3}}|second|zweite[rs]?|deuxième|seconde|segunda|seconda|tweede|anden|andre|"
     rf"andra|drugie|druhé\w?|ikinci|toinen|toisen) "
     rf"(?={_WEIGHING})", " again "),
    # Longer, or once more, on the heat.
    (rf"\b{_SOME_MORE} ?min(?:ute)?s?\b(?: (?:more|longer|later|extra|further))?", " again "),
    (r"\b\d+ ?min(?:ute)?s? (?:more|longer|later|extra|further)\b", " again "),
    (r"\b(?:more|further|extra|additional|longer) (?=(?:time (?:in|on|under) |dry|heat|bak|oven))",
     " again "),
    (rf"\b({_DRIED}) (?:it )?(?:for )?(?:(?:some|a (?:bit|little|while)|even) )?"
     r"(?:more|longer|further)\b", r" \1 again "),
    (rf"\b(?:back|returned) (?:in(?:to)?|on(?:to)?|to|under|over) (?:the )?(?={_HEAT})",
     " again "),
    (r"\bafter (?:\w+ ){0,2}(?:more|further|extra|additional|another) (?:\w+ ){0,3}(?:heat\w*|"
     r"dry\w*|oven|hot ?plate)",
     " again after dry "),
    (r"\befter en \w+ till\b", " again after "),
    (r"\b(?:after (?:a |the )?(?:\d+|few) (?:more|further|extra|additional)|nach weiteren \d+|"
     r"na nog \d+|efter (?:yderligere|ytterligare) \d+|après encore \d+|tras otros \d+|"
     r"dopo altri \d+|após mais \d+|po kolejnych \d+) (?:min\w*|h\b|hours?)",
     " again after "),
    (r"\b(?:veid|vejet|vägt|vägd|gewogen) (?:inn|ind|in|ein)\b", " initial weight "),
    (r"\bdry \+ paper\b|\bpaper \+ dry\b", " paper + residue "),
    (r"\Aminus (?:the )?(?=mass|weight)", " "),
    (r"\b(?:the )?(?:next|following) day\b", " "),
    (r"\bstod still\b|\bstod stille\b", " settled time "),
    (r"\As (?:trouvée|calculée|obtenue)\b", " solubility "),
    (r"\blp\b", " no "),
    (r"\bwhat (?:went|goes|was) wrong\b|\b(?:any|some)thing (?:go|went) wrong\b", " comment "),
    (r"\b(?:jug|mug|pitcher|beaker|cylinder|measuring \w+) (?=(?:pour|fill)\b)", " "),
    (r"\b(?:pour|fill) (?:number |no )?(one|two|three|four|five)\b", r" fill \1 "),
    (r"\bsame (?:both|two|three|2|3) (?:times|readings?)\b|\bno change\Z|\bsteady\Z", " constant "),
    (r"\bcyl(?:inder)? full\b", " fill "),
    # "Back on plate 10 more min, then" is about what was weighed afterwards.
    (r"\bback on (?:the )?(?:hot ?|warm ?)?plate\b(?: (?:for )?(?:another )?\d+ (?:more )?min\w*)?"
     r"(?: (?:and )?then\b)?", " again after heat "),
    (r"\bcomment (?=avez|as-tu|as |a-t|est|on |vous|tu |filtr)", " method "),
    (r"\blíquido filtrado\b", " filtrate "),
    (r"\b(paper|filter)( and| with| plus| &) (?:the )?((?:dry |dried )?\w+) together\b",
     r"paper + \3"),
    (r"\bsecond (?:go|turn|spell|round)\b", " again "),
    (r"\b(?:after|once|when) (?:all )?(?:of )?(?:the )?water (?:has |was |is |had )?(?:all )?"
     r"(?:gone|evaporated|boiled (?:off|away)|driven off)\b", " after dry "),
    # The burette: "acid start", "acid end".
    (r"\b(acid|hcl|titrant) (?:start|begin\w*)\b", r"\1 burette initial"),
    (r"\b(acid|hcl|titrant) (?:end|stop|finish)\b(?! ?point)", r"\1 burette final"),
    (r"\b(acid|hcl|titrant) (?:used |added |needed )?(?:for|to titrate|to neutrali[sz]e) (?:the |"
     r"our )?"
     r"(?:filtrate|aliquot|sample|lime ?water|solution)\b", r"\1 used"),
    (r"\b(?:without|ohne|sans|senza|sin|zonder|sem|utan|uten|uden|bez) (?:the |de |la |o )?"
     r"(?:solid|lime|residue|kalk|chaux|cal|calce|rückstand|osadu|solid[oe]|sólido)\b", " alone "),
    (r"\bfiltrado (?:para titular|titulado|valorado|tomado|pipeteado|pipetado)\b",
     " filtrate titrated "),
    (r"\bdried up filtrate\b", " residue "),
    (r"\b(?:en|dans|nel|no|im|i|w) (?:el |le |il |o |dem |un )?(?:vaso|bécher|becher(?:glas)?|"
     r"bicchiere|"
     r"copo|béquer|bægerglas\w*|bägare\w*|zlewce)\b", " "),
    (r"\b(?:seco|sec|asciutto|trocken|dry) (?:y|et|e|und|and) (?:vacío|vide|vuoto|vazio|leer|"
     r"empty)\b",
     " empty "),
    (r"\Ain the (?:evaporating )?(?:dish|basin)\Z", " evaporation aliquot "),
    # What did not dissolve, and a vessel or paper with nothing in it, in other languages.
    (r"\b(?:non|no|não|niet|nicht|nie|inte|ikke) (?:se )?(?:dissou\w*|disuel\w*|disolvi\w*|"
     r"dissolv\w*|"
     r"disciolt\w*|opgelost\w*|(?:auf)?gelöst\w*|rozpuszcz\w*|(?:upp)?löst\w*|(?:op|opp)?løst\w*)",
     " undissolved "),
    (r"\b(papel|papier|filtro|filtre|carta|cápsula|capsule|coupelle|capsula)((?: de| da|"
     r" à)? filtr\w+)? "
     r"(?:vacío|vacio|vide|vuoto|vazio)\b", r"\1 empty "),
    (r"\bna (?=(?:het )?(?:drogen|filtreren|filtratie))", " after "),
    # "Nach 2. Trocknen", "après 2e séchage": weighed again.
    (r"\b(?:nach|after|po|après|efter|etter|dopo|después|depois|tras|na) (?:dem |der |het |de |"
     r"del |da |le |la |the |"
     r"andra |anden |andre )?(?:2\w{0,2}|zweite[nmr]?|second|seconde?|deuxième|segund[oa]|tweede|"
     r"drugim|"
     r"andra|anden|andre) (?=(?:de |het )?(?:trock|dry|susz|séch|sech|seca|torr|tork|tør|essic|"
     r"asciug|droog|"
     r"drog|wäg|pes|waż|weigh|vej|väg))", " again after "),
    # How warm, how long, how often.
    (r"\bhow (?:hot|warm|cold)\b(?:/(?:hot|warm|cold)\b)?", " temperature "),
    (r"\b(?:put|placed|went|goes|returned) back\b", " again heat "),
    (r"\bback in(?:to)? the (?:oven|heat)\b", " again heat "),
    (r"\b(dry|dried|drying|residue|solid|mass|weigh\w*)\b(.*) (?:2nd|second) (?:time|round)\b",
     r" \1\2 again "),
    (r"\b(?:a|the) second time\b|\b(?:once|one) more(?: time)?\b", " again "),
    (r"\bleft (?:alone|in peace|to itself|till clear|until clear)\b", " settled time "),
    (r"\b(?:rest|left|stand|stood|standing) without stirring\b"
     r"|\b(?:did not|didn t|not) touch(?:ed)? (?:it|the (?:beaker|flask|mixture))\b", " settled "),
    (r"\b(?:from|between) (?:the )?(?:end of )?stirring (?:and|to|until|till|before)\b.*filter\w*",
     " settled "),
    (r"\bsand ?bath\b", " hotplate "),
    (r"\b(?:warm |hot )?(?:warm|warming|hot|heating) ?plate\b", " hotplate "),
    # The end of a titration.
    (r"\buntil (?:the |it )?(?:pink|colou?r|indicator|end ?point|turned|change[ds]?)\b.*",
     " endpoint "),
    (r"\b(?:pink|colou?r) (?:just )?(?:is |has |was )?(?:gone|disappear\w*|vanish\w*|fade\w*)\b",
     " endpoint "),
    (r"\b(?:1st|first) (weighing|drying|dry mass)\b", r" \1 "),
    (r"\b(?:1st|first) (burette|buret) reading\b", r" \1 initial "),
    (r"\b(burette|buret) (?:1st|first)(?: reading\b| ?\Z)", r" \1 initial "),
    (r"\b(?:2nd|second|last) (burette|buret) reading\b", r" \1 final "),
    (r"\b(burette|buret) (?:2nd|second|last)(?: reading\b| ?\Z)", r" \1 final "),
    (r"\bwarm oven\b", " oven "),
    (r"\bwater (?:that was )?boiled and cooled\b", " water "),
    (r"\b(?:filter )?paper (?:with|and|plus|\+) (?:the )?(?:dry|dried) powder(?: on it)?\b",
     " paper + residue "),
    (r"\b(burette|buret) i ?r\b", r" \1 initial "),
    (r"\b(burette|buret) f ?r\b", r" \1 final "),
    (r"\bi ?b ?r\b", " burette initial "),
    (r"\bf ?b ?r\b", " burette final "),
    (r"\b(titration)((?: of(?: the)? \w+)?) (?:with|against|by|vs) (?:the )?(?:hcl|acid)\b",
     r"\1\2"),
    # A title over the readings of the burette says what was titrated, not what was read.
    (r"\b(titration) (?:of|des|du|del|do) (?:the |your |our )?(?:filtrat\w*|filtrado|lime ?water)\b"
     r"(?=.* (?:b[uü]rett?e?|buret\w*|hcl|acid|titrant)\b)", r"\1"),
    (r"\bno (?:further )?change\b|\b(?:mass|weight) (?:stay|stayed|was|is)(?: the)? ?"
     r"(?:same|unchanged)\b|\bsame (?:mass|weight) (?:again|twice|both)\b", " constant "),
    (r"\b(?:to|at|until|till) (?:reach (?:the |its )?|the |its )?end ?point\b", " endpoint "),
    (r"\b(?:weighed|dried) (?:twice|again|2 times) (?:and|&|\\+) (?:it was )?(?:the )?same\b",
     " constant "),
    (rf"\b(?:(?:you|we) )?(?:took|take|taking|taken|scraped?|scraping|removed?|got) (?:it|them)"
     rf"(?: back)? (?:off|from)(?: of)? {_THE}(?:filter ?)?paper\b", " "),
    # Beginnings, sums, portions.
    (r"\b(?:ended|end|finished|finish)(?: up)? with\b", " final "),
    (r"\b(?:began|begin|start|started) with\b", " initial "),
    (r"\b(?:added|adds|adding|add) up\b", " total "),
    (r"\b(?:total|sum) of (?:[a-h] (?:and |& |\\+ )?){2,}", " total "),
    (r"\b(?:by|as|from) (?:the |a )?(?:difference|subtraction)\b", " "),
    (rf"\b{_ORDINAL} time (?=you|how|we)", r" fill \1 "),
    (r"\bwater (?:was |that was |we )?(?:poured|run|tipped|filled|put)(?: in| into| on)?\b",
     " water added "),
    # "How" alone asks for a method, and "many" for a number of things.
    (r"\bhow many g\b", " "),
    (r"\bhow many ml\b", " ml "),
    (r"\bhow many (?=(?:was|were|after|did|is|you|before|came|at|in|left|got|the|are)\b)", " "),
    (r"\bhow much\b", "much"),
    # A balance set to nothing under a vessel.
    (r"\b(?:after|once|when) (?:you |we |the balance was )?(?:tar(?:ed|ing)|zero(?:ed|ing))\b"
     rf"(?: {_THE}(?:weigh(?:ing)? )?{_VESSEL}\b)?", " tared "),
    # "After filtering + drying" joins two steps, not two weighings.
    (r"(?<=ed) ?[+&] ?(?=\w)", " and "),
    (r"(?<=ing) ?[+&] ?(?=\w+ing\b)", " and "),
    (r"\b(residue|solid|left|mass) (?:left |found |remaining |obtained )?in (?:the )?"
     r"(?:evaporating )?(?:dish|basin)\b",
     r" \1 indish "),
    # What water was used for; "failed to dissolve" speaks of something else.
    (r"\b(used|added|needed|taken|poured) to dissolve\b(?: it\b)?", r"\1"),
    # Dry powder is the reagent to one class and the residue to another.
    (r"\b(dry|dried) powder\b(?=.*\b(?:left|back|remain\w*|recover\w*|residue|undissolved)\b)",
     r"\1 solid"),
    (r"(?<!\+ )\b(dry|dried) powder\b(?! ?(?:\+|and|with|plus|&) ?(?:filter ?)?paper)",
     r"\1 drypowder"),
    (r"\bplus\b", "+"),
    (r"\bput in(?:to)?\b", "added in"),
    (r"\b(?:sum of|total of|all) (?:the |all |\w+ of the )*"
     r"(?:\d{1,2} |four |three |six |five )?(?:fills|pours|portions|readings|additions)\b",
     " total "),
    (r"\b(start\w*|spread)\s+(?:out|off)\b", r"\1"),
    (r"\Av (?=\S)", "volume "),
    (r"\b(stir\w*|mix\w*|dr(?:y|ied)|sit|sat|settled?|stand|stood|wait\w*|rest\w*)\b(.*) for\Z",
     r"\1\2 time"),
    # Paper to weigh on is no filter paper; solid taken off the filter paper is weighed without it,
    # and solid "on the paper" may be either.
    (r"\bweighing papers?\b|\bweigh papers?\b(?! (?:and|with|plus|\+))"
     r"|\bpapers? (?:to|for) weigh\w*", " weighboat "),
    (r"\b(?:from|off|off of|out of) (?:the |your |our )?(?:filter ?)?papers?\b", " "),
    (r"\bon (?:the |your |our )?(?:filter ?)?papers?\b", " onpaper "),
    # What is still to be done is a plan, a share of a volume is worked out.
    (r"\bto (?:be )?(?:weigh(?:ed)?|measured?|add(?:ed)?|used?|taken?)\b", " planned "),
    (rf"(?<=\w )(\boh ?2|\b{_SOLID}) (?:per|in) (?:one |1 |100 ?)?(?:ml|cm3|l|litre|liter|dm3)\b",
     r"\1 dissolved "),
    # What stayed in a vessel never met the filter.
    (rf"\b(?:left|left over|leftover|remain\w*|stayed|behind) (?:in|on|inside) {_THE}{_STAYED}\b",
     " spilled "),
    (rf"\b(lime|solid|powder|salt|reagent|hydroxide|oh ?2) out of {_THE}"
     r"(?:pot|tub|tin|packet|bag|bottle|jar|box|drum)\b", r"\1 initial weight "),
    # Where something was put says nothing about what was weighed or measured.
    (rf"\b(?:in|into|inside|to|from|out of|off|off of|on|onto|under|at)\s+{_THE}"
     rf"(?:\d+\s*ml\s+)?(?:weigh(?:ing)? )?{_PLACE}\b", " "),
    # "Filter + residue" is weighed with its paper; "residue on the filter" is not.
    (r"\b(?:filter|filtre|filtro|filtr[aeu]?)\b(?=\s*(?:\+|&|and\b|with\b|plus\b|mit\b|und\b|et\b|avec\b|con\b|"
     r"com\b|e\b|y\b|och\b|og\b|en\b|met\b|med\b|z\b|i\b|inkl))", " paper "),
    (r"(?<=[+&])\s*(?:filter|filtre|filtro|filtr)\b"
     r"|\b(?:with|plus|and|und|mit|et|avec|con|com|met|med|och|og)\s+(?:the\s+|its\s+|le\s+|il\s+|el\s+|o\s+|het\s+)?"
     r"(?:filter|filtre|filtro|filtr)\b(?!ing)", " paper "),
    (r"\bweigh(?:ed|ing)?\s+out (?=at (?:the )?end\b|after\b|dry\b)", " weight "),
    (r"\b(?:weigh(?:ed|ing|t)?|massed|measured|measuring|tipped|spooned|poured|counted|portioned)\s+out\b",
     " initial weight "),
    (r"\bweigh(?:ed|ing)?\s+in\b", " initial weight "),
    (r"\bnumber of (?:your|the|our|ur) (?=group|team|bench|table|pair|station|section|class)", ""),
    (r"\b(?:number|no) (?:of|in|per)\b|\banzahl der\b", "count"),
    (r"\(?\b(?:please )?(?:include|incl|with|add|state|give)\.? units?\b\)?", " "),
)  # fmt: skip
_SAYINGS = tuple((re.compile(said), meant) for said, meant in (*sayings(), *_SAID))
_WORD = re.compile(r"\d+(?:st|nd|rd|th|re|er|ère|e|ème|eme|de|a|ª|º)\b|[^\W\d_]+\d*|[%+]")


def words_of(heading: str) -> list[str]:
    """Return the words of a normalised heading, sayings put into the words of the vocabulary."""
    return list(_words_of(heading))


@lru_cache(maxsize=4096)
def _words_of(heading: str) -> tuple[str, ...]:
    for said, meant in _SAYINGS:
        heading = said.sub(meant, heading)
    return tuple(_WORD.findall(heading))


def concepts_in(text: str) -> set[str]:
    """Return the concepts that the words of a text stand for."""
    return concepts_among(words_of(normal(text)))
