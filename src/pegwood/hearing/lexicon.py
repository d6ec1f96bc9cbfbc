"""A vocabulary made ready to be held against text: phrases, and how each word may be read."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import fields

import snowballstemmer

from pegwood.hearing.phrases import Form, Phrases
from pegwood.hearing.sounds import Alike, Sounds
from pegwood.hearing.tokens import Stems, plain_words
from pegwood.hearing.vocabulary import GRADES, Vocabulary

#: How like a word of the trade an unknown one must be, by letters and sound, to be read as it [1].
AT_LEAST = 0.75
#: The same for words of so few letters, which are soon like anything.
SHORT = 4
AT_LEAST_SHORT = 0.85
#: How sure a word is that stands in the table of mishearings but is a word itself [1].
MISHEARD = 0.6
#: From here on [1], and from so many letters on, a word misspelled or misheard is the other anywhere.
SURE, LONG = 0.9, 6
#: Below this a reading holds only where its neighbours speak for it [1].
SOLID = 0.7


class Phrasebook:
    """
    Phrases of a vocabulary, whatever parts are spoken of: made once, for it takes most of a second.

    Parameters
    ----------
    vocabulary : Vocabulary
    """

    def __init__(self, vocabulary: Vocabulary) -> None:
        self._vocabulary = vocabulary
        self.stems = Stems(snowballstemmer.stemmer(vocabulary.stemmer).stemWord)
        self.phrases = Phrases()
        self.trade: set[str] = set()
        self.keys: set[str] = set()
        self.condition_firsts: set[str] = set()
        self._fill()

    def _fill(self) -> None:
        v = self._vocabulary
        for key, condition in v.conditions.items():
            self._add(condition.said, "condition", key, trade=True)
            pairs = ((before, what) for before in v.denial.of_function for what in condition.not_done)
            self._add((f"{before} {what}" for before, what in pairs), "condition", key, trade=True)
        for said, key in v.taught.conditions:
            self._add((said,), "condition", key, trade=True)
        for number, vague in enumerate(v.vague):
            self._add(vague.said, "vague", str(number))
        for key, said_for in v.works.items():
            self._add(said_for, "work", key, trade=True)
        for number, name in enumerate(GRADES, 1):
            self._add(v.grades[name], "grade", str(number))
        for kind, words in self._cues():
            self._add(words, kind, "")

    def _cues(self) -> Iterable[tuple[str, Iterable[str]]]:
        v = self._vocabulary
        sure, point, says = v.certainty, v.pointing, v.corrections
        yield from (("probable", sure.probable), ("possible", sure.possible), ("reported", sure.reported))
        yield from (("hypothetical", sure.hypothetical), ("sure", sure.sure))
        yield from (("deny", v.denial.said), ("deny not", v.denial.unless))
        yield from (("correct", set(says.said) - set(says.weak)), ("weak", says.weak), ("undo", says.undo))
        yield from (("general", v.generality.said), ("this one", v.generality.but_here))
        yield from (("although", v.generality.although), ("aside", v.asides), ("it", point.it))
        yield from (("other", point.other), ("same", point.same), ("again", point.again))
        yield from (("both", point.both), ("cause", v.grammar.causes), ("anew", v.grammar.anew))
        yield from (("contrast", v.grammar.contrasts), ("break", v.grammar.breaks))
        yield from (("earlier", v.grammar.earlier_repair), ("to do", v.work_rules.to_do))
        yield from (("done", v.work_rules.done), ("not to do", v.work_rules.not_to_do))

    def _add(self, said: Iterable[str], kind: str, key: str, *, trade: bool = False) -> None:
        for phrase in said:
            exact = phrase.startswith("=")
            words = plain_words(phrase) if not phrase.startswith("'") else [phrase]
            keys = [("=" + word) if exact else self.stems.of(word) for word in words]
            self.phrases.add(keys, (kind, key))
            self.keys.update(keys)
            if kind in ("condition", "vague", "deny"):
                self.condition_firsts.add(keys[0].removeprefix("="))
            if trade:
                self.trade.update(word for word in words if len(word) > 3)


class Lexicon:
    """
    Phrases of a vocabulary and the readings of words.

    Parameters
    ----------
    vocabulary : Vocabulary
    part_words : iterable of str
        Plain words that names of parts are made of.
    book : Phrasebook, optional
        The vocabulary's, where it was made before.
    """

    def __init__(
        self, vocabulary: Vocabulary, part_words: Iterable[str], book: Phrasebook | None = None
    ) -> None:
        self.vocabulary = vocabulary
        book = book or Phrasebook(vocabulary)
        self.stems = book.stems
        rules = vocabulary.sounds
        self.sounds = Sounds(rules.spelled, rules.vowels, rules.classes)
        self.phrases = book.phrases
        self.trade = set(book.trade)
        part_words = set(part_words)
        self.trade |= part_words
        self.part_stems = {self.stems.of(word) for word in part_words}
        self.common = {word.replace("'", "") for word in vocabulary.common}
        grammar = vocabulary.grammar
        self._small = {
            one.name: frozenset(getattr(vocabulary.small, one.name)) for one in fields(vocabulary.small)
        }
        self.articles = words_of(grammar.articles)
        self.prepositions = words_of(grammar.prepositions)
        self.joins = words_of(grammar.joins)
        self.being = words_of(grammar.being)
        self.links = words_of(grammar.name_links)
        self.fillers = words_of(one for one in vocabulary.fillers if " " not in one)
        self.own = words_of(grammar.own)
        self.generic = frozenset(self.stems.of(word) for word in words_of(grammar.generic_heads))
        self.carriers = (
            words_of(grammar.carriers) | words_of(grammar.places) | words_of(grammar.generic_heads)
        )
        self.states = {tuple(plain_words(one)) for one in vocabulary.work_rules.also_states}
        self.off_from, self.near = words_of(grammar.off_from), words_of(grammar.near)
        self.missing_from = words_of(grammar.missing_from)
        measures = vocabulary.measures
        self.numbers, self.units = words_of(measures.numbers), words_of(measures.units)
        self.directions, self.out = words_of(measures.directions), words_of(measures.out_of_adjustment)
        self.places = words_of(grammar.places)
        self.whether = {self.stems.of(word) for word in words_of(vocabulary.certainty.whether)}
        self.question_starts = words_of(vocabulary.certainty.question_starts)
        self.questioned = words_of(vocabulary.certainty.questioned)
        self.asking_before = words_of(vocabulary.certainty.asking_before)
        self.grade_words = {
            word: number
            for number, name in enumerate(GRADES, 1)
            for word in words_of(vocabulary.grades[name])
        }
        self.repaired = frozenset(vocabulary.repaired)
        self.hesitations = words_of(vocabulary.hesitations)
        self.many = words_of(vocabulary.generality.many)
        self.plural = vocabulary.grammar.plural
        self.only = words_of(vocabulary.denial.only)
        self.denials = words_of(vocabulary.denial.said)
        self.ones = words_of(vocabulary.pointing.one)
        self.condition_firsts = book.condition_firsts
        self.softened = words_of(vocabulary.denial.softened)
        self.weak_fine = {tuple(plain_words(one)) for one in vocabulary.weak_fine}
        self.function = self.articles | self.prepositions | self.joins | self.being | self.links
        self._known = {key.removeprefix("=") for key in book.keys} | self.part_stems
        self._alike = Alike(
            (word for word in self.trade if len(word) > 2 and word not in self.common), self.sounds
        )
        misheard = (*vocabulary.mishearings, *vocabulary.taught.mishearings)
        self._misheard: dict[str, list[str]] = {}
        for heard, meant in misheard:
            self._misheard.setdefault("".join(plain_words(heard)), []).extend(plain_words(meant))
        self._forms: dict[str, tuple[Form, ...]] = {}

    def small(self, what: str) -> frozenset[str]:
        """Small words by what they do; see `SmallWords`."""
        return self._small[what]

    def forms(self, word: str) -> tuple[Form, ...]:
        """How a plain word may be read, surest first."""
        known = self._forms.get(word)
        if known is None:
            known = self._forms[word] = tuple(self._read(word))
        return known

    def _read(self, word: str) -> Iterable[Form]:
        stem = self.stems.of(word)
        yield Form(stem, 1.0)
        yield Form("=" + word, 1.0)
        meant = self._misheard.get(word, ())
        real = word in self.common or stem in self._known or word in self.function
        for one in meant:
            yield from self._as(one, MISHEARD if real else 0.9)
        if real or meant or not word.isalpha() or len(word) < SHORT:
            return
        for other, degree in self._alike.near(word, AT_LEAST if len(word) > SHORT else AT_LEAST_SHORT):
            sure = degree >= SURE and min(len(word), len(other)) >= LONG
            yield from self._as(other, degree if sure else MISHEARD * degree)

    def _as(self, word: str, degree: float) -> Iterable[Form]:
        yield Form(self.stems.of(word), degree)
        yield Form("=" + word, degree)

    def is_known(self, word: str) -> bool:
        """Whether a plain word is one of the vocabulary, of a part's name, or an everyday one."""
        return word in self.common or word in self.function or self.stems.of(word) in self._known


def words_of(said: Iterable[str]) -> frozenset[str]:
    """Phrases of one word, as they stand among the tokens."""
    found = set()
    for one in said:
        words = plain_words(one) if not one.startswith("'") else [one]
        if len(words) == 1:
            found.add(words[0])
    return frozenset(found)
