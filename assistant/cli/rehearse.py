"""`crumbcall rehearse`: the embedded demo, a spoken batch through the real parts."""

import threading
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import click

from assistant.app.application import open_house, scripted_clock, tones
from assistant.app.rehearsal import Rehearsal, Report
from assistant.audio.recorder import FileSpeaker
from assistant.batch.record.evolve import replay
from assistant.cli.output import clock_text
from assistant.config.home import Home
from assistant.config.language.scene import FILE as SCENE_FILE
from assistant.config.language.scene import read_scene
from assistant.errors import CrumbcallError, SettingsError
from assistant.hearing.gate import Gate
from assistant.hearing.listeners import Recording, at_once
from assistant.sheets import batch_sheet, sheet_markdown, sheet_text
from assistant.station.messages import Heard
from assistant.station.speaking import Mouth
from assistant.station.station import Turn
from assistant.tts.espeak import EspeakVoice

QUIET_KEPT_S = 2.0
"""Longest quiet stretch that the recording of the conversation keeps (s)."""


class RehearsalError(CrumbcallError):
    """A command was not heard, or talk was acted on."""


@click.command("rehearse")
@click.option(
    "--speed", type=click.FloatRange(min=0), default=0.0, help="1: at the pace of the clock; 0: at once."
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("rehearsal"),
    show_default=True,
    help="Folder for the batch sheet and the recording.",
)
@click.pass_obj
def rehearse_command(home: Home, speed: float, out: Path) -> None:
    """Play a spoken batch: a synthetic cook, a motor, and the real ears, engine, journal and voice.

    Example: crumbcall rehearse --out /tmp/rehearsal
    """
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise SettingsError(
            f"The folder {out} can't be made ({error.strerror}); give another with --out."
        ) from None
    with TemporaryDirectory() as folder:
        _rehearse(home, Path(folder), speed, out)


def _rehearse(home: Home, folder: Path, speed: float, out: Path) -> None:
    house = open_house(home)
    scene = read_scene(home.language_file(SCENE_FILE))
    clock = scripted_clock(trusted=True)
    staged = replace(house, home=Home.find(folder))
    station, journal, _ = staged.open_station(clock)
    start = station.now
    speaker = FileSpeaker(clock.monotonic)
    mouth = Mouth(house.voice(), speaker, tones())

    def show(turn: Turn, heard: Heard | None, said: str | None) -> None:
        _show(turn, heard, said, start)

    pause = threading.Event()

    def pace(seconds: float) -> None:
        if speed > 0:
            pause.wait(seconds / speed)

    cook = EspeakVoice(voice=scene.cook, rate=scene.rate)
    stage = Rehearsal(station, clock, house.grammar, cook, speaker, mouth, show, pace)
    ear = house.ear(at_once(house.recogniser(), lambda: station.asking))
    min_margin = house.settings.recogniser.min_margin
    ears = Recording(station, clock, ear, stage.listen, min_margin=min_margin).through(
        Gate(tail_s=house.settings.voice.tail_s), lambda: speaker.busy
    )
    stage.attach(ears)
    click.echo(f"{scene.title}\n")
    try:
        report = stage.play(scene)
        lines = list(journal.read())
    finally:
        journal.close()
    speaker.save(out / "conversation.wav", longest_quiet_s=QUIET_KEPT_S)
    if station.state.last_batch:
        sheet = batch_sheet(lines, station.state.last_batch)
        (out / "batch-sheet.md").write_text(sheet_markdown(sheet), encoding="utf-8")
        (out / "batch-sheet.txt").write_text(sheet_text(sheet), encoding="utf-8")
    replayed = replay(event for _, event in lines)
    _finish(report, out, same=replayed == station.state, events=len(lines))


def _show(turn: Turn, heard: Heard | None, said: str | None, start: float) -> None:
    """A line for what the cook said and what of it was heard, and a line for each reply."""
    at = clock_text(turn.at - start)
    if said is not None and heard is None and not turn.replies:
        click.echo(f"{at}  cook       {said}  [not answered]")
    elif said is not None and turn.said is not None:
        found = "" if turn.said == said.lower() else f"  [heard: {turn.said}]"
        how = f"  (cost {heard.recognition.cost:.1f}, margin {heard.recognition.margin:.1f})" if heard else ""
        click.echo(f"{at}  cook       {said}{found}{how}")
    for reply in turn.replies:
        click.echo(f"{at}  crumbcall  {reply.text}")


def _finish(report: Report, out: Path, *, same: bool, events: int) -> None:
    click.echo(
        f"\n{report.right} commands right at once, {report.again} after a second try or a question, "
        f"{len(report.wrong)} not heard; {report.talk} sentences of kitchen talk, "
        f"{len(report.answered_talk)} acted on.\n"
        f"Journal of {events} events replayed: {'the same state' if same else 'NOT the same state'}.\n"
        f"Batch sheet: {out / 'batch-sheet.md'}   Conversation: {out / 'conversation.wav'}"
    )
    if not report.good or not same:
        missed = ", ".join([*report.wrong, *report.answered_talk]) or "the journal"
        raise RehearsalError(
            f"The rehearsal did not go well: {missed}. Run `crumbcall check` to find out why."
        )
