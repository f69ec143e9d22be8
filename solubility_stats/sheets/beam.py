"""What people say about the laser beam in the filtrate: "no se ve el haz", "yes, a red line".

Every word of an answer has to be known; "beam not tested" says nothing about the filtrate.
"""

from __future__ import annotations

import unicodedata

_BEAM = frozenset(
    """beam beams line path cone ray rays streak scatter scattering tyndall effect haz strahl
    lichtstrahl raggio fascio faisceau rayon straal laserstraal laserstrahl feixe light""".split()
)
_SEEN = frozenset(
    """see sees saw seen visible observed observe appears appeared shows showed shown showing
    present noticed detected ve veia visto voit vu visibile sichtbar gesehen zichtbaar visivel vede
    erkennbar""".split()
)
_CLOUDY = frozenset("cloudy hazy milky turbid murky trub trube trouble torbido turbio".split())
_CLEAR = frozenset("clear limpid transparent klar clair limpide limpido claro helder".split())
_ABSENT = frozenset(
    """no not none nothing nope never isn't wasn't didn't couldn't can't cannot don't doesn't
    without nicht kein keine keinen nein geen niet pas non aucun aucune rien nessun nessuno nada
    sin sem nao""".split()
)
_INVISIBLE = frozenset("invisible invisibile unsichtbar onzichtbaar absent".split())
_YES = frozenset("yes yep yeah si oui ja sim".split())
_GLUE = frozenset(
    """the a an in it i we can could did was is there through straight goes went passes passed
    liquid filtrate water solution totally completely very quite pretty all at any anything little
    bit some slight slightly faint faintly weak strong red green laser light just only but and or
    of to our my el la le les il lo der die das den de du im un une en dans se s l was war zu y
    faint) that""".split()
)


def beam_said(text: str) -> str | None:
    """Return ``visible`` or ``clear`` for what was said about the beam, ``None`` if unsure.

    Parameters
    ----------
    text : str
        A whole cell: "I can see the beam in the liquid", "nothing seen".
    """
    letters = unicodedata.normalize("NFKD", text.casefold().replace("’", "'"))
    plain = "".join(c for c in letters if not unicodedata.combining(c))
    words = [w.strip("'") for w in "".join(c if c.isalnum() or c == "'" else " " for c in plain).split()]
    said = set(words)
    if not said or said - (_BEAM | _SEEN | _CLOUDY | _CLEAR | _ABSENT | _INVISIBLE | _YES | _GLUE):
        return None
    absent = bool(said & (_ABSENT | _INVISIBLE))
    scattered = bool(said & (_BEAM | _SEEN | _CLOUDY) - {"light"} - _INVISIBLE)
    if said & _YES and (absent or said & _CLEAR):
        return None
    if absent:
        about = scattered or bool(said & _INVISIBLE)
        return "clear" if about and not (said & _CLEAR and said & _CLOUDY) else None
    if said & _CLEAR:
        return None if scattered else "clear"
    return "visible" if scattered else None
