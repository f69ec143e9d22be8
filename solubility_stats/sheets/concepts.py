"""The vocabulary of headings: which words stand for mass, water, start, dry and the like.

Concepts are lists of word beginnings (``word*``), endings (``*word``) or whole words, in the two
tables ``heading_words.toml`` and ``languages.toml``.
"""

from __future__ import annotations

import tomllib
import unicodedata
from collections.abc import Iterable
from functools import lru_cache
from importlib.resources import files


def _toml(name: str) -> dict[str, dict[str, str]]:
    return tomllib.loads((files("solubility_stats.sheets") / name).read_text(encoding="utf-8"))


_LANGUAGES = _toml("languages.toml")


def _load() -> dict[str, dict[str, str]]:
    """Return the words of all languages by what they stand for."""
    said = _toml("heading_words.toml")
    for words in _LANGUAGES.values():
        for name, more in words.items():
            at = {"always": "harmless", "things": "other"}.get(name, "concepts")
            if name != "sayings":
                said[at][name] += f" {more}"
    return said


SAID = _load()


def sayings() -> tuple[tuple[str, str], ...]:
    """Return what stands for other words in the languages with a table of their own."""
    return tuple((pair[0], pair[1]) for words in _LANGUAGES.values() for pair in words["sayings"])


def listed(name: str) -> frozenset[str]:
    """Return a list of words that is no concept, by its name under ``lists``."""
    return frozenset(SAID["lists"][name].split())


def plain(word: str) -> str:
    """Return a word without accents: people leave them out."""
    letters = unicodedata.normalize("NFKD", word.replace("ı", "i"))
    return "".join(c for c in letters if not unicodedata.combining(c))


def words_of_list(text: str) -> frozenset[str]:
    """Return the words of a list written with blanks between them, without accents."""
    return frozenset(plain(text).split())


_Parts = tuple[tuple[str, str], ...]


@lru_cache(maxsize=1)
def _lexicon() -> tuple[dict[str, frozenset[str]], _Parts, _Parts]:
    """Return the concepts of whole words, and the beginnings and endings with their concept."""
    whole: dict[str, set[str]] = {}
    beginnings: list[tuple[str, str]] = []
    endings: list[tuple[str, str]] = []
    for concept, words in SAID["concepts"].items():
        for word in map(plain, words.split()):
            if word.endswith("*"):
                beginnings.append((word[:-1], concept))
            elif word.startswith("*"):
                endings.append((word[1:], concept))
            else:
                whole.setdefault(word, set()).add(concept)
    return {w: frozenset(c) for w, c in whole.items()}, tuple(beginnings), tuple(endings)


def known_words() -> list[str]:
    """Return every word of the concepts, for mending misspelt words."""
    whole, beginnings, _ = _lexicon()
    return sorted({*whole, *(b for b, _ in beginnings)})


@lru_cache(maxsize=8192)
def concepts_of(word: str) -> frozenset[str]:
    """Return the concepts a word stands for, empty for an unknown word."""
    whole, beginnings, endings = _lexicon()
    word = plain(word)
    if word == "initials":
        return frozenset({"instructor"})  # a person's, nothing initial
    found = set(whole.get(word, ()))
    found.update(concept for start, concept in beginnings if word.startswith(start))
    found.update(concept for end, concept in endings if word.endswith(end))
    return frozenset(found)


def concepts_among(words: Iterable[str]) -> set[str]:
    """Return the concepts that any of some words stands for."""
    return set().union(*map(concepts_of, words))
