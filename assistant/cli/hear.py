"""`crumbcall hear` and `crumbcall parse`: what a recording or a sentence is understood as."""

import json
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import click

from assistant.app.application import Application, open_application
from assistant.asr import ENGINES
from assistant.batch.record.command_object import command_object, meaning_object
from assistant.batch.record.commands import Command, Together
from assistant.config.home import Home
from assistant.nlu import load_grammar
from assistant.ports import Asking, Pcm, Recogniser, Utterance

ASKED = click.option(
    "--asking",
    type=click.Choice([asking.value for asking in Asking]),
    default=Asking.ANSWER.value,
    show_default=True,
    help="What an open question asks for.",
)


@click.command("hear")
@click.option("--json", "as_json", is_flag=True, help="One JSON object a file.")
@click.option("--engine", type=click.Choice(ENGINES), help="Recogniser (default: the settings').")
@click.option("--model", type=click.Path(path_type=Path), help="Folder of a Vosk model, or phoneme weights.")
@click.option("--grammar", type=click.Path(path_type=Path), help="Another grammar in JSGF.")
@ASKED
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="WAV...")
@click.pass_obj
def hear_command(
    home: Home,
    as_json: bool,
    engine: str | None,
    model: Path | None,
    grammar: Path | None,
    asking: str,
    files: tuple[Path, ...],
) -> None:
    """Recognise sound files (WAV, FLAC, Ogg): a line a file.

    Example: crumbcall hear --json pour.wav
    """
    from assistant.audio.files import sound_blocks

    app = open_application(home)
    if grammar is not None:
        app = replace(app, grammar=load_grammar(grammar))
    recogniser = app.recogniser(engine, model)
    for path in files:
        spoken = utterances(app, recogniser, sound_blocks(path), Asking(asking))
        if as_json:
            click.echo(json.dumps({"file": str(path), "utterances": [*spoken]}, ensure_ascii=False))
        else:
            _show(path, spoken)


def utterances(
    app: Application, recogniser: Recogniser[Command], blocks: Iterable[Pcm], asking: Asking
) -> Iterator[dict[str, Any]]:
    """What is said in a sound (blocks of int16, `SPEECH_RATE`) while `asking`: one object an utterance.

    Times in seconds. A recording may be longer than fits into memory.
    """
    endpointer = app.endpointer()

    def spoken() -> Iterator[Utterance]:
        for block in blocks:
            yield from endpointer.feed(block)
        yield from endpointer.flush()

    for utterance in spoken():
        found = recogniser.recognise(utterance.sound, asking=asking)
        command = found.meaning if found.accepted else None
        yield {
            "start": round(utterance.start, 3),
            "end": round(utterance.end, 3),
            "text": found.text,
            "accepted": found.accepted,
            **meaning_object(command),
            "cost": _number(found.cost),
            "margin": _number(found.margin),
            "sure": round(found.sure, 3),
        }


def _number(value: float) -> float | None:
    """JSON has no infinity: a margin without a rival is null."""
    return round(value, 3) if abs(value) < float("inf") else None


def _show(path: Path, found: Iterable[dict[str, Any]]) -> None:
    one = None
    for one in found:
        mark = "" if one["accepted"] else "  (not accepted)"
        click.echo(f"{path}: {one['start']:.2f}-{one['end']:.2f} s  {one['text'] or '-'}{mark}")
    if one is None:
        click.echo(f"{path}: no speech")


@click.command("parse")
@click.option("--json", "as_json", is_flag=True, help="One JSON object a sentence.")
@ASKED
@click.argument("sentences", nargs=-1, required=True, metavar="SENTENCE...")
@click.pass_obj
def parse_command(home: Home, as_json: bool, asking: str, sentences: tuple[str, ...]) -> None:
    """Say what a sentence means, by the grammar alone.

    Example: crumbcall parse "water one fifty"
    """
    grammar = open_application(home).grammar
    for sentence in sentences:
        command = grammar.parse(sentence, asking=Asking(asking))
        if as_json:
            click.echo(json.dumps({"said": sentence, **meaning_object(command)}, ensure_ascii=False))
        elif command is None:
            mended = grammar.mended(sentence, asking=Asking(asking))
            near = grammar.suggest(sentence) if mended is None else mended.sentence
            click.echo(f"{sentence}: no command{f'; did you mean: {near}' if near else ''}")
        else:
            several = command.commands if isinstance(command, Together) else (command,)
            click.echo(f"{sentence}: {', then '.join(_in_words(one) for one in several)}")


def _in_words(command: Command) -> str:
    meant = command_object(command)
    values = ", ".join(f"{key} {value}" for key, value in meant.items() if key != "name")
    return f"{meant['name']}{f' ({values})' if values else ''}"
