"""`crumbcall rehearse`: the embedded demo, a spoken batch through the real parts."""

from pathlib import Path
from tempfile import TemporaryDirectory

import click

from assistant.app.application import open_application
from assistant.app.rehearsal import Report
from assistant.app.rehearsal_stage import rehearse
from assistant.cli.options import bounded
from assistant.cli.output import clock_text
from assistant.config.home import Home
from assistant.config.language.scene import FILE as SCENE_FILE
from assistant.config.language.scene import read_scene
from assistant.errors import CrumbcallError, SettingsError
from assistant.sheets import SheetWords, batch_sheet, sheet_markdown, sheet_text
from assistant.station.messages import Heard
from assistant.station.station import Turn

QUIET_KEPT_S = 2.0
"""Longest quiet stretch that the recording of the conversation keeps (s)."""


class RehearsalError(CrumbcallError):
    """A command was not heard, or talk was acted on."""


@click.command("rehearse")
@click.option(
    "--speed",
    type=bounded(0.1, 1000, or_zero=True),
    default=0.0,
    help="1: at the pace of the clock; 10: ten times as fast; 0: at once.",
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
    """Play a spoken batch: a synthetic cook, a motor, and the real recogniser, engine, journal and voice.

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
    app = open_application(home)
    scene = read_scene(home.language_file(SCENE_FILE, app.settings.station.language))
    click.echo(f"{scene.title}\n")
    found = rehearse(app, scene, folder, speed=speed, show=_show)
    found.speaker.save(out / "conversation.wav", longest_quiet_s=QUIET_KEPT_S)
    if found.state.last_batch:
        sheet = batch_sheet(found.lines, found.state.last_batch)
        words = SheetWords.of(home, app.settings.station.language)
        (out / "batch-sheet.md").write_text(sheet_markdown(sheet, words), encoding="utf-8")
        (out / "batch-sheet.txt").write_text(sheet_text(sheet, words), encoding="utf-8")
    _finish(found.report, out, same=found.replayed, events=len(found.lines))


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
