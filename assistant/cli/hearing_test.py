"""`crumbcall hearing-test`: twenty prompts in the real kitchen, and the limits that follow."""

import json
from collections.abc import Callable, Iterator
from dataclasses import asdict, replace
from datetime import UTC, datetime
from pathlib import Path

import click
import msgspec
import numpy as np

from assistant.app.adapters import open_microphone, real_clock
from assistant.app.application import Application, open_application
from assistant.app.cooks_voice import NOBODYS, learned_from, told
from assistant.app.hearing_trial import (
    PROMPTS,
    HearingLimits,
    Trial,
    hear_prompt,
    limits,
    room_dbfs,
    said_in,
    summary,
)
from assistant.asr.adapting.learning import Learned
from assistant.batch.record.commands import Command
from assistant.config.hearing_file import cook_file, forget_cook, write_cook, write_hearing
from assistant.config.home import Home
from assistant.errors import SettingsError
from assistant.ports import SPEECH_RATE, Pcm, Recogniser

ROOM_S = 4.0


@click.command("hearing-test")
@click.option(
    "--from",
    "folder",
    type=click.Path(path_type=Path),
    help="Recordings instead of the microphone: room.wav, 01.wav to 20.wav.",
)
@click.option("--device", help="Microphone: a part of its name.")
@click.option("--cook", default="cook", show_default=True, help="Who speaks.")
@click.option("--list", "list_only", is_flag=True, help="Only print the prompts.")
@click.option("--keep/--try", default=True, help="Write the limits into the settings, or only show them.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object.")
@click.pass_obj
def hearing_test_command(
    home: Home, folder: Path | None, device: str | None, cook: str, list_only: bool, keep: bool, as_json: bool
) -> None:
    """Find out how well a cook is heard in this kitchen, and set the limits for it. Let the mixer run.

    Example: crumbcall hearing-test --cook Ada
    """
    if list_only:
        for number, prompt in enumerate(PROMPTS, 1):
            click.echo(f"{number:02}  {prompt}")
        return
    app = _for_prompts(open_application(home))
    recogniser = app.recogniser()
    trial = (
        _live(app, recogniser, device, cook, quiet=as_json)
        if folder is None
        else _recorded(app, recogniser, folder, cook)
    )
    chosen = app.settings.recogniser
    old = HearingLimits(chosen.act_above)
    voice = learned_from(recogniser, said_in(app, trial), chosen.act_above)
    new = limits(trial, old, fitted=voice is not None and bool(voice.cook))
    lines = summary(trial, old, new)
    if voice is not None:
        lines.append(told(voice))
    if keep:
        lines += _kept(home, trial, new, voice)
    if as_json:
        found = {"cook": cook, "snr_db": trial.snr_db, "noise_dbfs": trial.noise_dbfs, "old": asdict(old)}
        heard = [{"prompt": one.prompt, "kind": one.kind, "text": one.text} for one in trial.heard]
        click.echo(json.dumps({**found, "new": asdict(new), "heard": heard, "told": lines}))
    else:
        click.echo("\n".join(lines))


def _for_prompts(app: Application) -> Application:
    """The application as it hears prompts: anybody's voice, and without the word that comes before commands.

    What is known of the cook by now was made in another room, or another year; whoever answers a prompt
    speaks to the station already.
    """
    recogniser = msgspec.structs.replace(app.settings.recogniser, attention_word="")
    return replace(app, cook=NOBODYS, settings=msgspec.structs.replace(app.settings, recogniser=recogniser))


def _kept(home: Home, trial: Trial, new: HearingLimits, voice: Learned | None) -> list[str]:
    """Write what was found; where it is."""
    remark = _remark(trial, summary(trial, new, new)[0])
    files = [write_hearing(home.settings_file, new.act_above, trial.cook, remark)]
    file = cook_file(home.settings_file, trial.cook)
    if voice is not None and voice.cook:
        write_cook(file, voice.cook, remark)
        files.append(file)
    elif voice is not None and voice.enough:
        forget_cook(file)
    return [f"Kept in {file}; delete it to go back." for file in files]


def _remark(trial: Trial, line: str) -> str:
    """One line for the file: when, who, how it went."""
    day = datetime.fromtimestamp(real_clock().wall(), UTC).date()
    return f"{day}, {json.dumps(trial.cook)}: {line}"


def _recorded(app: Application, recogniser: Recogniser[Command], folder: Path, cook: str) -> Trial:
    """A trial from recordings."""
    from assistant.audio.files import read_sound

    if not folder.is_dir():
        raise SettingsError(
            f"There is no folder {folder}; give one that holds room.wav and 01.wav to 20.wav."
        )
    room = read_sound(folder / "room.wav").pcm
    said = [read_sound(folder / f"{number:02}.wav").pcm for number in range(1, len(PROMPTS) + 1)]
    heard = [
        hear_prompt(app, recogniser, prompt, _blocks(pcm)) for prompt, pcm in zip(PROMPTS, said, strict=True)
    ]
    return Trial(cook, room_dbfs(room), tuple(heard))


def _live(
    app: Application, recogniser: Recogniser[Command], device: str | None, cook: str, *, quiet: bool
) -> Trial:
    """A trial at the microphone: the room first, then prompt by prompt."""
    say: Callable[[str], None] = (lambda _: None) if quiet else click.echo
    microphone = open_microphone(app.settings, device)
    try:
        blocks = microphone.blocks()
        say("Let the mixer run, and be silent for a moment.")
        room = _stretch(blocks, ROOM_S)
        heard = []
        for number, prompt in enumerate(PROMPTS, 1):
            say(f"{number:2} of {len(PROMPTS)}. Say: {prompt}")
            heard.append(hear_prompt(app, recogniser, prompt, blocks))
    finally:
        microphone.close()
    return Trial(cook, room_dbfs(room), tuple(heard))


def _stretch(blocks: Iterator[Pcm], seconds: float) -> Pcm:
    """The next stretch of this length (s)."""
    found: list[Pcm] = []
    while sum(map(len, found)) < seconds * SPEECH_RATE:
        block = next(blocks, None)
        if block is None:
            break
        found.append(block)
    return np.concatenate(found) if found else np.zeros(0, np.int16)


def _blocks(pcm: Pcm) -> Iterator[Pcm]:
    """The sound in blocks, and quiet behind it for the endpointer."""
    whole = np.concatenate([pcm, np.zeros(SPEECH_RATE, np.int16)])
    return (whole[start : start + 512] for start in range(0, len(whole), 512))
