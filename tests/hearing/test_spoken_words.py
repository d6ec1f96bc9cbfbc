"""
Commands without a voice: the grammar, words to commands, pronunciations, doubt, sound, other recognisers.
"""

from __future__ import annotations

import io
import json
import re
import sys
import tomllib
import wave
from collections import defaultdict
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hearing import voices
from pegwood.anatomy.construction import constructions
from pegwood.hearing import NamedPart
from pegwood.hearing.spoken import (
    AskAgain,
    Command,
    Guess,
    NoRecogniser,
    NotSayings,
    NotSpeech,
    commands_of,
    dictionary,
    pronouncing,
    read_command,
    read_wav,
    recogniser,
    sayings,
    understand,
)
from pegwood.hearing.spoken.decoders import english
from pegwood.hearing.spoken.grammar import END, START
from pegwood.hearing.spoken.sayings import LANGUAGES, sayings_in
from pegwood.hearing.spoken.sound import at_16_khz, speech_in

LENS, PALLET, LEFT, UPPER = (
    NamedPart(id="lens-board", name="lens board"),
    NamedPart(id="pallet", name="escapement pallet", also=("anchor", "X contact (old)")),
    NamedPart(id="left", name="left strut", also=("strut",)),
    NamedPart(id="upper", name="upper strut", also=("strut", "no. 4 screw")),
)
COMMANDS = commands_of([LENS, PALLET, LEFT, UPPER], sayings())


def told(words: str) -> Command:
    found = read_command(words, COMMANDS)
    assert isinstance(found, Command), found
    return found


def walks(words: tuple[str, ...]) -> bool:
    """Whether the grammar takes these words from its first state to its last, found by walking it."""
    after = defaultdict(list)
    for start, end, _, word in COMMANDS.steps:
        after[start].append((end, word))
    here = {START}
    for word in (*words, None):
        reached = list(here)
        while reached:
            for end, said in after[reached.pop()]:
                if said is None and end not in here:
                    here.add(end)
                    reached.append(end)
        if word is not None:
            here = {end for one in here for end, said in after[one] if said == word}
    return END in here


@pytest.mark.parametrize(
    ("words", "means"),
    [
        ("escapement pallet, gummed, needs a bath", {"kind": "finding", "part": PALLET, "work": "degrease"}),
        ("escapement pallet, gummed, needs a bath", {"condition": "gummed"}),
        ("anchor badly worn on the left", {"part": PALLET, "condition": "worn", "grade": 4, "place": "left"}),
        ("Lens Board looks fine", {"part": LENS, "condition": "fine", "grade": None}),
        ("lens board needs cleaning", {"kind": "work", "part": LENS, "work": "clean"}),
        ("tray two pocket five", {"kind": "pocket", "tray": 2, "pocket": 5}),
        ("tray one pocket twenty three", {"tray": 1, "pocket": 23}),
        ("shim left strut two tenths", {"kind": "shim", "part": LEFT, "thickness_m": pytest.approx(2e-4)}),
        ("shim lens board three hundredths", {"part": LENS, "thickness_m": pytest.approx(3e-5)}),
        ("count turns three and a half", {"kind": "turns", "turns": 3.5}),
        ("count turns eleven", {"turns": 11}),
        ("next", {"kind": "next"}),
        ("undo", {"kind": "undo"}),
        ("photograph", {"kind": "photograph"}),
        ("read back", {"kind": "read back"}),
        ("stop listening", {"kind": "stop listening"}),
    ],
)  # fmt: skip
def test_words_are_the_command_they_say(words, means):
    command = told(words)
    assert {name: getattr(command, name) for name in means} == means


@pytest.mark.parametrize(
    "words",
    ["", "lens", "lens board", "gummed", "bent lens board", "lens board needs", "tray two", "tray pocket",
     "shim",
     "tray zero pocket one", "shim lens board two", "count turns", "count turns and a half", "next next",
     "lens board slightly", "lens board bent needs", "the tea has gone cold",
     "tray twenty thirty pocket one"],
)  # fmt: skip
def test_half_a_command_or_none_is_asked_again_in_one_line(words):
    found = read_command(words, COMMANDS)
    assert isinstance(found, AskAgain)
    assert found.why
    assert "\n" not in found.why


def test_a_name_that_two_parts_have_is_asked_again_with_both():
    found = read_command("strut bent", COMMANDS)
    assert isinstance(found, AskAgain)
    assert {one.part.id for one in found.may_be if one.part} == {"left", "upper"}


def test_a_name_with_a_number_is_not_for_speaking_and_brackets_are_not_spoken():
    assert ("x", "contact") in COMMANDS.names
    assert not any("screw" in words for words in COMMANDS.names)


def test_every_sentence_of_the_tests_own_making_is_in_the_grammar_and_is_read_as_meant():
    """The sentences are made in `voices`, by rules of their own; the grammar is walked, not asked."""
    parts = [("lens-board", "lens board"), ("pallet", "escapement pallet"), ("left", "left strut")]
    for one in voices.told(parts, 400, 3):
        words = tuple(re.findall(r"[a-z']+", one.says.lower()))
        assert walks(words), one
        assert isinstance(read_command(one.says, COMMANDS), Command), one


def test_no_talk_is_in_the_grammar():
    for one in voices.TALK:
        assert not walks(tuple(re.findall(r"[a-z']+", one.lower())))
        assert isinstance(read_command(one, COMMANDS), AskAgain)


@given(st.text(max_size=300))
def test_no_text_breaks_the_reading(text):
    assert isinstance(read_command(text, COMMANDS), Command | AskAgain)


def test_without_parts_there_is_still_what_needs_none():
    bare = commands_of([], sayings())
    assert isinstance(read_command("tray two pocket five", bare), Command)
    assert isinstance(read_command("shim two tenths", bare), Command)
    assert isinstance(read_command("lens board bent", bare), AskAgain)


# --- doubt ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("guess", "is_done"),
    [
        (Guess(words="lens board bent", worst=-0.5, whole=-0.2, votes=1.0), True),
        (Guess(words="lens board bent", worst=-9.0, whole=-0.2, votes=1.0), False),
        (Guess(words="lens board bent", worst=-0.5, whole=-9.0, votes=1.0), False),
        (Guess(words="lens board bent", worst=-0.5, whole=-0.2, votes=0.5), False),
        (Guess(words="lens board bent", worst=-3.5, whole=-0.2, votes=1.0), True),
        (Guess(words="lens board bent", worst=-3.5, whole=-2.0, votes=1.0), False),  # weak in both
        (Guess(words="", worst=0.0, whole=0.0, votes=1.0), False),
        (Guess(words="lens board", worst=0.0, whole=0.0, votes=1.0), False),
        (Guess(words="lens board bent", worst=float("nan"), whole=0.0, votes=1.0), False),
    ],
)
def test_what_is_doubtful_is_asked_again(guess, is_done):
    found = understand(guess, COMMANDS)
    assert isinstance(found, Command) is is_done
    if not is_done and guess.words == "lens board bent":
        assert isinstance(found, AskAgain)
        assert found.may_be[0].condition == "bent"


@pytest.mark.parametrize(
    ("rivals", "is_done"),
    [
        ((("lens board worn", -30.0),), False),
        ((("lens board worn", 30.0),), True),
        ((("lens board", -30.0), ("the kettle", -10.1)), True),  # no command is no rival
        ((("anchor rust", -30.0),), True),  # another word for the same
    ],
)
def test_another_command_that_fits_better_by_itself_is_offered_beside_it(rivals, is_done):
    words = "anchor rusty" if rivals[0][0] == "anchor rust" else "lens board bent"
    found = understand(Guess(words=words, worst=-0.5, whole=-0.2, rivals=rivals), COMMANDS)
    assert isinstance(found, Command) is is_done
    if isinstance(found, AskAgain):
        assert [one.condition for one in found.may_be] == ["bent", "worn"]


# --- how words sound --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("word", "phones"),
    [
        # By the CMU dictionary's own entries for the parts of a word, and its rules for the endings -s and
        # -ed.
        ("mainspring", "M EY N S P R IH NG"),
        ("rangefinder", "R EY N JH F AY N D ER"),
        ("photocell", "F OW T OW S EH L"),
        ("shims", "SH IH M Z"),
        ("ratchets", "R AE CH AH T S"),
        ("lens's", "L EH N Z AH Z"),
        ("bellows'", "B EH L OW Z"),
        ("helicoid", "HH EH L AH K OY D"),
        ("galvanometer", "G AE L V AH N AA M AH T ER"),
    ],
)
def test_words_that_the_dictionary_lacks_are_pronounced(word, phones):
    assert english()(word)[0] == phones


def test_every_word_of_every_family_has_a_pronunciation_in_the_models_own_phones():
    known = {phone for ways in list(english().known.values()) for one in ways for phone in one.split()}
    for construction in constructions().values():
        parts = [NamedPart(id=p.id, name=p.name, also=tuple(p.also)) for p in construction.parts.values()]
        for word in commands_of(parts, sayings()).words:
            ways = (*english().in_every_way(word), *english().in_every_way(word, taught=True))
            assert ways, word
            for one in ways:
                assert one.split(), word
                assert set(one.split()) <= known, (word, one)


def test_an_unheard_of_word_is_spelled_and_never_fails():
    says = pronouncing(dictionary(["cat K AE T", "cat(2) K AH T", "<s> SIL"]))
    assert says("cat") == ("K AE T", "K AH T")
    assert says("cats") == ("K AE T S", "K AH T S")
    assert says("zylphqat")[0].split()[0] == "Z"
    assert says("a" * 500)


# --- data -------------------------------------------------------------------------------------------


def test_sayings_that_cannot_be_used_are_refused_by_name():
    table = tomllib.loads((LANGUAGES / "en.spoken.toml").read_text("utf-8"))
    for broken in (
        {"conditions": {}},
        {"grades": {"badly": "four"}},
        {"needs": []},
        {"works": {"clean": []}},
    ):
        with pytest.raises(NotSayings, match=r"xx\.toml"):
            sayings_in({**table, **broken}, "xx.toml")
    for language in ("zz", "../en", ""):
        with pytest.raises(NotSayings):
            sayings(language)


def test_no_two_meanings_share_a_way_to_say_them():
    said = sayings()
    for group in (said.conditions, said.works, said.places, said.control):
        forms = [form for ways in group.values() for form in ways]
        assert len(forms) == len(set(forms))


# --- sound ------------------------------------------------------------------------------------------


def test_sound_of_any_usual_rate_becomes_16_khz():
    for rate in (8_000, 22_050, 44_100, 48_000, 96_000):
        tone = np.sin(2 * np.pi * 440 * np.arange(rate) / rate)
        sound = at_16_khz(tone, rate)
        strongest = np.argmax(np.abs(np.fft.rfft(sound))) * 16_000 / len(sound)
        assert len(sound) == pytest.approx(16_000, abs=2)
        assert strongest == pytest.approx(440, abs=2)  # the tone it was made as


def test_a_rate_no_sound_card_has_is_refused():
    for rate in (1, 0, 10**9, float("nan")):
        with pytest.raises(NotSpeech, match="sampling rate"):
            at_16_khz(np.ones(100), rate)


def test_where_somebody_begins_to_speak():
    rng = np.random.default_rng(1)
    sound = 0.001 * rng.standard_normal(48_000)
    sound[32_000:40_000] += 0.3 * rng.standard_normal(8_000)
    begins, speech_s = speech_in(sound)
    assert begins == pytest.approx(32_000 - 0.3 * 16_000, abs=400)
    assert speech_s == pytest.approx(0.5, abs=0.05)
    assert speech_in(np.zeros(0)) == (0, 0.0)
    assert speech_in(np.zeros(16_000)) == (0, 0.0)


def test_a_stereo_wav_is_averaged():
    file = io.BytesIO()
    with wave.open(file, "wb") as out:
        out.setnchannels(2)
        out.setsampwidth(2)
        out.setframerate(16_000)
        out.writeframes(np.array([[8000, 0]] * 8000, dtype="<i2").tobytes())
    assert read_wav(file.getvalue()) == pytest.approx(4000 / 32768, abs=1e-4)


# --- other recognisers: what is called is the libraries' own, as their documentation has it ----------


def test_a_recogniser_that_is_not_there_says_how_to_add_it(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "faster_whisper", None)
    monkeypatch.setitem(sys.modules, "vosk", None)
    for kind, package in (("whisper", "pip install faster-whisper"), ("vosk", "pip install vosk")):
        with pytest.raises(NoRecogniser, match=package):
            recogniser(kind, tmp_path)
        with pytest.raises(NoRecogniser, match="name its folder"):
            recogniser(kind)
    with pytest.raises(NoRecogniser, match="whisper, vosk, pocketsphinx"):
        recogniser("magic")
    monkeypatch.setitem(sys.modules, "pocketsphinx", None)
    with pytest.raises(NoRecogniser, match=r"pegwood\[spoken\]"):
        recogniser("pocketsphinx")


def test_faster_whisper_is_asked_for_a_local_model_and_its_segments_are_read(tmp_path, monkeypatch):
    asked = {}

    class WhisperModel:
        def __init__(self, model_size_or_path, device="auto", compute_type="default", local_files_only=False):
            asked.update(model=model_size_or_path, local=local_files_only)

        def transcribe(self, audio, language=None, beam_size=5):
            assert audio.dtype == np.float32
            assert audio.ndim == 1
            asked.update(seconds=len(audio) / 16_000)
            segments = [
                SimpleNamespace(text=" the pawl is worn", avg_logprob=-0.5),
                SimpleNamespace(text=" ", avg_logprob=-3.0),
            ]
            return iter(segments), SimpleNamespace(language="en")

    monkeypatch.setitem(sys.modules, "faster_whisper", SimpleNamespace(WhisperModel=WhisperModel))
    with pytest.raises(NoRecogniser, match=r"model\.bin"):
        recogniser("whisper", tmp_path)
    (tmp_path / "model.bin").touch()
    heard = recogniser("whisper", tmp_path).hear(0.1 * np.ones(48_000), 48_000)
    assert heard == [("the pawl is worn", pytest.approx(np.exp(-0.5)))]
    assert asked == {"model": str(tmp_path), "local": True, "seconds": pytest.approx(1, abs=0.01)}


def test_vosk_gives_words_with_their_confidence(tmp_path, monkeypatch):
    class KaldiRecognizer:
        def __init__(self, model, rate):
            assert rate == 16_000
            self.taken = 0

        def SetWords(self, on):
            self.words = on

        def AcceptWaveform(self, data):
            assert isinstance(data, bytes)
            self.taken += len(data)
            return self.taken == 16_000

        def Result(self):
            return json.dumps({"result": [{"word": "pawl", "conf": 0.9}], "text": "pawl"})

        def FinalResult(self):
            return json.dumps({"result": [{"word": "worn", "conf": 0.4}], "text": "worn"})

    library = SimpleNamespace(SetLogLevel=lambda _: None, Model=str, KaldiRecognizer=KaldiRecognizer)
    monkeypatch.setitem(sys.modules, "vosk", library)
    (tmp_path / "am").mkdir()
    assert recogniser("vosk", tmp_path).hear(0.1 * np.ones(16_000), 16_000) == [("pawl", 0.9), ("worn", 0.4)]
