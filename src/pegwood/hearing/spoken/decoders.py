"""
The searches of pocketsphinx: made with the model its wheel carries, a grammar and how its words sound.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from pegwood.hearing.spoken.grammar import END, START, Commands
from pegwood.hearing.spoken.pronouncing import Pronouncing, dictionary, pronouncing
from pegwood.hearing.spoken.recognising import NoRecogniser

#: How far behind the best path another may fall before it is given up: narrower loses words, wider time.
#: With 1e-50, in 11 of the 16 commands that taught ears took wrongly (of 160 by tuning voices), what was said
#: fitted better than what was taken and had only been given up too soon; wider than these, nothing more was
#: found.
BEAMS = {"beam": 1e-80, "pbeam": 1e-80, "wbeam": 1e-60, "lpbeam": 1e-70, "lponlybeam": 1e-60}
#: Where there is no grammar to get lost in.
NARROW_BEAMS = {"beam": 1e-50, "pbeam": 1e-50, "wbeam": 1e-30, "lpbeam": 1e-42, "lponlybeam": 1e-30}
PHONES = (
    "AA", "AE", "AH", "AO", "AW", "AY", "B", "CH", "D", "DH", "EH", "ER", "EY",
    "F", "G", "HH", "IH", "IY", "JH", "K", "L", "M", "N", "NG", "OW", "OY",
    "P", "R", "S", "SH", "T", "TH", "UH", "UW", "V", "W", "Y", "Z", "ZH",
)  # fmt: skip


def maker(
    folder: Path, commands: Commands, settings: dict[str, Any], *, taught: bool = False
) -> Callable[..., Any]:
    """
    What makes a search: "main" for the grammar, "loop" for phones without any.

    Parameters
    ----------
    folder : Path
        Where the words' file may lie until the searches are made.
    commands : Commands
    settings : dict
        For each of them, as pocketsphinx names them.
    taught : bool
        Whether the model knows the voice.

    Raises
    ------
    NoRecogniser
        If pocketsphinx is not installed.
    """
    library = pocketsphinx()
    words = folder / "words.dict"
    words.write_text(dictionary_of(commands.words, taught=taught), "utf-8")

    def make(search: str, **more: Any) -> Any:
        # lw: the grammar's chances stand as they are written; bestpath would weigh them another time.
        config = library.Config(
            hmm=str(model_folder()),
            dict=str(words),
            lm=None,
            lw=1.0,
            bestpath=False,
            loglevel="FATAL",
            **(NARROW_BEAMS if search == "loop" else BEAMS),
            **settings,
            **more,
        )
        decoder = library.Decoder(config)
        if search == "loop":
            steps: list[tuple[Any, ...]] = [(0, 0, 1.0, f"+{one}+") for one in PHONES]
            decoder.add_fsg("loop", decoder.create_fsg("loop", 0, 1, [*steps, (0, 1, 1.0)]))
        else:
            written = [step if step[3] else step[:3] for step in commands.steps]
            decoder.add_fsg("main", decoder.create_fsg("main", START, END, written))
        decoder.activate_search(search)
        return decoder

    return make


def dictionary_of(words: Sequence[str], *, taught: bool) -> str:
    """Words as pocketsphinx reads them, in every way they are said; and each phone as a word of its own."""
    lines = [f"+{phone}+ {phone}" for phone in PHONES]
    says = english()
    for word in words:
        for number, phones in enumerate(says.in_every_way(word, taught=taught), start=1):
            lines.append(f"{word}{'' if number == 1 else f'({number})'} {phones}")
    return "\n".join(lines) + "\n"


@cache
def english() -> Pronouncing:
    """
    How English words sound, by the dictionary that pocketsphinx carries and Pegwood's own table.

    Raises
    ------
    NoRecogniser
        If pocketsphinx is not installed.
    """
    with (model_folder().parent / "cmudict-en-us.dict").open(encoding="utf-8") as lines:
        return pronouncing(dictionary(lines))


def model_folder() -> Path:
    """Where the acoustic model lies that pocketsphinx carries."""
    return Path(pocketsphinx().get_model_path()) / "en-us" / "en-us"


def pocketsphinx() -> Any:
    """
    The library.

    Raises
    ------
    NoRecogniser
        If it is not installed.
    """
    try:
        import pocketsphinx as library
    except ImportError:
        raise NoRecogniser(
            "Speaking needs pocketsphinx. Add it with: pip install 'pegwood[spoken]'"
        ) from None
    return library
