"""The benchmark of what was never taught: `python -m tests.bench.ear [--quick] [--part dev|test]`."""

import argparse
import tempfile
import time
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass, replace
from functools import cached_property, partial
from pathlib import Path

from tests.bench.ear import choice, engines, fit, new_names, people, silence
from tests.bench.ear.beside import machines
from tests.bench.ear.ears import EARS, NAMES, Ear
from tests.bench.ear.figures import Figures
from tests.bench.ear.goals import goals_table
from tests.bench.ear.people import PARTS, Split, sampled
from tests.bench.hearing.corpora import Size
from tests.bench.hearing.real import MISSING, speech_folder
from tests.bench.hearing.voices import Speaker, available

INTRODUCTION = """\
Made by `python -m tests.bench.ear --part {split}{most}`; nothing here is typed by hand. Shares in % with
95 % Wilson intervals, rates an hour with exact 95 % Poisson intervals; clips of one speaker are alike, so
that both are narrower than they should be.

Real people are those of the split `{split}` of the folder `speech_general`, in `test` also those of `speech`,
without whoever taught a network that ships. Mandarin speakers read prompts that are not always what they
said: no ear can be right about all of them. English readers read long sentences mostly.
Noises: {noises}.
Voices are those of the part `{part}` of the hearing benchmark{taught}.

Tables a and c hear each sentence whole, cut as the endpointer cuts it in quiet. Tables b, d and e go through
endpointer, patience, recogniser and grammar; `right`: at once, `asked`: right after a question, `again`:
nothing was acted on, `caught`: wrong, but a question holds it up, `wrong`: a wrong command acted on without a
question. Ears: {ears}.
"""
TABLES = "abcde"
CALLS = 4
"""Short calls, and sentences of talk, to a sentence of the other tables: they take little time."""


def _batches(sentences: int, snrs: tuple[int | None, ...]) -> Size:
    return Size(walks=0, cooks=sentences, talk=0, snrs=snrs, talk_snrs=(), real=0, rivals=0)


@dataclass(frozen=True)
class Extent:
    """How much is measured; None: all there are."""

    most: int | None
    """Real people's sentences, and names."""
    transcripts: int | None
    """Sentences to choose among beside those that are said."""
    batches: Size
    """What cooks say in simulated batches."""


QUICK = Extent(12, 600, _batches(3, (None, 10)))
FULL = Extent(None, None, _batches(20, (None, 10, 5)))


@dataclass(frozen=True)
class Run:
    """What is measured, with what."""

    ears: tuple[Ear, ...]
    speech: Path
    split: Split
    extent: Extent
    sounds: Path | None
    """Folder that keeps what was spoken, or None."""
    figures: Figures

    def table(self, letter: str) -> tuple[str, str, Figures]:
        """A table by its letter: letter, text and figures."""
        begin = time.process_time()
        made = dict(zip(TABLES, (self.fit, self.names, self.choice, self.silence, self.engines), strict=True))
        parts = list(made[letter]())
        parts.append(f"CPU of this table {time.process_time() - begin:.0f} s.\n")
        return letter, "\n".join(parts), self.figures

    def fit(self) -> Iterable[str]:
        """How well the true sentence fits."""
        yield "## a. Fit of the true sentence\n"
        yield (
            "Of the sentence that was said: whether it would be acted on if there were no other, and its "
            "cost, the log-probability lost a phone against the best path without grammar. Phones wrong: "
            "exchanged, left out or put in by the network without any grammar, against that ear's own "
            "spellings.\n"
        )
        found = fit.fits(self.ears, self._sentences, self.speech, self.split)
        yield fit.fit_table(list(found), self.figures)

    def names(self) -> Iterable[str]:
        """Names that kitchens add."""
        chosen, known = new_names.new_names(self.ears[0].application.grammar, self.extent.most)
        yield "## b. New names\n"
        yield (
            f"{len(chosen)} names of `names.toml`, {new_names.A_KITCHEN} a kitchen, each a timer of "
            "`words.toml` and a recipe or a shape of the kitchen's own, spelled by rule, said by one voice "
            "of each engine. "
            f"The grammar has by now: {', '.join(known) or 'none'}.\n"
        )
        voices: dict[str, list[Speaker]] = {}
        for voice in available(PARTS[self.split]):
            voices.setdefault(voice.program, []).append(voice)
        found = list(new_names.calls(self.ears, chosen, voices, self.speech, self.split, self.sounds))
        yield new_names.names_table(found, self.figures)
        yield new_names.names_table(found, {}, "sort")

    def choice(self) -> Iterable[str]:
        """Forced choice, and a grammar of transcripts."""
        said = self._sentences
        others = sampled(people.every_text(self.speech), self.extent.transcripts, "transcripts")
        texts = sorted({*others, *(one.text for one in said)})
        ear, n = self.ears[0], choice.CANDIDATES
        alike = choice.by_length(texts, [ear.n_phones(text) for text in texts], n)
        yield "## c. The true sentence among others\n"
        yield f"Among {n} transcripts of about its number of phones:\n"
        found = choice.choices(self.ears, alike, said, self.speech, self.split)
        yield choice.choice_table(list(found), self.figures, "alike")
        mixed = [choice.mixed_lengths(texts, said, n)]
        yield f"In a grammar of {len(mixed[0])} transcripts of all lengths:\n"
        found = choice.choices(self.ears, mixed, said, self.speech, self.split)
        yield choice.choice_table(list(found), self.figures, "whole grammar")

    def silence(self) -> Iterable[str]:
        """What is no command."""
        yield "## d. What is no command, while nothing is asked\n"
        for name, what, said in (
            ("calls", "Single words and short phrases", people.short_calls(self.speech, self.split)),
            ("talk", "Sentences", people.talk(self.speech, self.split)),
        ):
            found = list(
                silence.overheard(
                    self.ears,
                    sampled(said, self.extent.most and CALLS * self.extent.most, name),
                    self.speech,
                    self.split,
                )
            )
            yield f"{what}, hours of the recordings themselves:\n"
            yield silence.silence_table(found, self.figures, name)
            yield "Acted on:\n"
            yield silence.taken(found)

    def engines(self) -> Iterable[str]:
        """The kitchen's own sentences."""
        yield "## e. The kitchen's sentences by made voices\n"
        judges = engines.judges(self.split)
        names = ", ".join(voice.name for voice in judges)
        without = engines.NO_JUDGE if self.split == "test" else engines.NOT_TUNED
        yield (f"The judge, a further maker's diphone voices: {names}.\n" if judges else f"{without}\n")
        found = list(engines.batches(self.ears, self.speech, self.split, self.extent.batches))
        yield engines.engines_table(found, self.figures)
        yield engines.cpu(found)
        yield "Acted on wrongly:\n"
        yield engines.mistakes(found)

    @cached_property
    def _sentences(self) -> list[people.Spoken]:
        return people.balanced(people.sentences(self.speech, self.split), self.extent.most)


def _write(out: Path | None, text: str) -> None:
    if out is None:
        print(text)
    else:
        out.write_text(text, encoding="utf-8")


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.ear", description=__doc__)
    parser.add_argument("--quick", action="store_true", help="a small sample, a few minutes")
    parser.add_argument("--part", choices=["dev", "test"], default="dev", help="`test` for tables alone")
    parser.add_argument("--weights", nargs="+", choices=NAMES, default=list(NAMES), help="ears that listen")
    parser.add_argument(
        "--tables", default=TABLES, help="of a fit, b names, c choice, d no command, e engines"
    )
    parser.add_argument("--most", type=int, help="at most so many real clips of a kind, and names")
    parser.add_argument("--sounds", type=Path, help="folder that keeps what was spoken for the next run")
    parser.add_argument("--jobs", type=int, default=1, help="tables that are made at once")
    parser.add_argument("--out", type=Path, help="file of the tables, written anew after each of them")
    given = parser.parse_args()
    speech = speech_folder()
    if speech is None or people.general_folder(speech) is None:
        parser.error(f"{MISSING}; the folder speech_general lies beside it (CRUMBCALL_SPEECH_GENERAL)")
    extent = QUICK if given.quick else FULL
    if given.most is not None:
        extent = replace(extent, most=given.most)
    with tempfile.TemporaryDirectory() as folder:
        ears = tuple(Ear(name, Path(folder) / name) for name in given.weights)
        run = Run(ears, speech, given.part, extent, given.sounds, {})
        tables(run, given.tables, given.jobs, partial(_write, given.out))


def tables(run: Run, chosen: str = TABLES, jobs: int = 1, written: Callable[[str], None] = print) -> None:
    """The chosen tables, and the goals before them: `written` gets the whole after each table."""
    figures: Figures = {}
    done: dict[str, str] = {}
    with ProcessPoolExecutor(max_workers=jobs) as pool:
        for made in as_completed([pool.submit(run.table, letter) for letter in chosen]):
            letter, text, own = made.result()
            done[letter] = text
            figures |= own
            written(_whole(run, figures, [done[letter] for letter in sorted(done)]))


def _whole(run: Run, figures: Figures, parts: Sequence[str]) -> str:
    part = PARTS[run.split]
    head = INTRODUCTION.format(
        split=run.split,
        most=f" --most {run.extent.most}" if run.extent.most else "",
        part=part,
        noises=", ".join(noise.name for noise in machines(part, run.speech)),
        taught="" if run.split == "test" else ", which taught the network `kitchen`",
        ears="; ".join(f"`{ear.name}`: {EARS[ear.name]}" for ear in run.ears),
    )
    goals = goals_table([ear.name for ear in run.ears], figures)
    title = f"# What was never taught, part `{run.split}`\n"
    return "\n".join([title, head, "## Goals\n", goals, *parts])


if __name__ == "__main__":
    main()
