"""`crumbcall check`: what of this machine works, and what to do about the rest."""

import json
import os
from dataclasses import asdict
from statistics import median
from time import perf_counter

import click

from assistant.app.adapters import real_clock
from assistant.app.application import Application, open_application
from assistant.app.cooks_voice import CooksVoice, cooks_voice
from assistant.app.languages import language_note
from assistant.cli.check.finding import Finding, tried
from assistant.cli.check.group import group_part
from assistant.cli.check.machine import machine
from assistant.cli.check.parts import parts_of
from assistant.cli.check.sound import delay, microphone, speaker
from assistant.config.hearing_file import known_cooks
from assistant.config.home import Home
from assistant.config.settings import moved_in
from assistant.devices.machine_health import read_health
from assistant.errors import CrumbcallError, JournalError, JournalInUseError
from assistant.journal.reader import JournalReader


class NotReadyError(CrumbcallError):
    """A part that the station needs does not work."""


@click.command("check")
@click.option("--json", "as_json", is_flag=True, help="One JSON object.")
@click.pass_obj
def check_command(home: Home, as_json: bool) -> None:
    """Find out what of this machine works; exit 2 where a needed part does not.

    Example: crumbcall check
    """
    findings = [
        tried("settings, grammar, replies", lambda: _settings(home), needed=True, do=_SETTINGS),
    ]
    if findings[0].works:
        findings += _parts(open_application(home))
    if as_json:
        click.echo(json.dumps({"ready": _ready(findings), "parts": [asdict(one) for one in findings]}))
    else:
        for one in findings:
            mark = "works" if one.works else ("FAILS" if one.needed else "absent")
            click.echo(
                f"{mark:<7} {one.part}: {one.found}{'' if one.works or not one.do else f' -> {one.do}'}"
            )
    if not _ready(findings):
        broken = ", ".join(one.part for one in findings if one.needed and not one.works)
        raise NotReadyError(f"Not ready: {broken}; do what is behind the arrow, then check again.")


_SETTINGS = "Mend the file that is named, or move it away to get the defaults."
_HOME = "Give --home a folder that can be written."
_INSTALL = "Run hardware/setup.sh again."
_VOICE = "apt install espeak-ng; until then replies are text."
_LEVEL = "Turn the speaker up, or the microphone; with a headset it must not be heard."
_WORDS = "Mend the line; crumbcall words test says more."
_COOK = "The file that it names; until then the cook is heard as anybody."
_NAME = "Give it a name in words: crumbcall words add --name."
_DISK = "Take another card or disk: each pour waits for it."


def _parts(app: Application) -> list[Finding]:
    """A finding for each part of a station whose files can be read."""
    return [
        tried("journal", lambda: _journal(app), needed=True, do=_HOME),
        tried("recogniser", lambda: _recogniser(app), needed=True, do=_INSTALL),
        tried("endpointer", lambda: _endpointer(app), needed=True, do=_INSTALL),
        tried("voice", lambda: _voice(app), do=_VOICE),
        tried(
            "microphone",
            lambda: microphone(app),
            do="A station that runs has it to itself; without one crumbcall type works.",
        ),
        tried(
            "speaker",
            lambda: speaker(app),
            do="A station that runs has it to itself; without one replies stay on the terminal.",
        ),
        tried("speaker to microphone", lambda: delay(app), do=_LEVEL),
        tried("disk", lambda: _disk(app), do=_DISK),
        *machine(read_health(app.home.data)),
        *_words(app),
        *cooks_of(app, _named(app)),
        *_language(app),
        *_moved(app),
        *parts_of(app),
        *group_part(app),
        _clock(app),
    ]


def _ready(findings: list[Finding]) -> bool:
    return all(one.works for one in findings if one.needed)


def _settings(home: Home) -> str:
    app = open_application(home)
    where = f"{home.settings_file} read" if home.settings_file.is_file() else "defaults, no settings file"
    return f"{where}; {len(app.grammar.words)} words can be said"


def _journal(app: Application) -> str:
    try:
        station, journal, _ = app.open_station(real_clock(app.settings))
    except JournalInUseError:
        with JournalReader.open(app.home.journal_file) as read:
            return f"{read.path}, {read.load()[0].last_batch} batches; a station runs and writes it"
    if journal.error is not None:
        raise journal.error
    try:
        begin = perf_counter()
        journal.backup(app.home.journal_file.with_suffix(".check"))
        took = (perf_counter() - begin) * 1000
        app.home.journal_file.with_suffix(".check").unlink()
        return f"{app.home.journal_file}, {station.state.last_batch} batches; a copy took {took:.0f} ms"
    finally:
        journal.close()


def _recogniser(app: Application) -> str:
    begin = perf_counter()
    recogniser = app.recogniser()
    return f"{recogniser.name}, ready in {perf_counter() - begin:.1f} s"


def _language(app: Application) -> list[Finding]:
    """What is said of a language other than that of the commands."""
    note = language_note(app.settings)
    return [] if note is None else [Finding(part="language", works=True, needed=False, found=note)]


def _moved(app: Application) -> list[Finding]:
    """Settings that stand where they did once."""
    lines = moved_in(app.home.settings_file)
    return [Finding(part="settings", works=True, needed=False, found=one) for one in lines]


def _words(app: Application) -> list[Finding]:
    """The kitchen's own words: one finding for all that count, one for each that does not."""
    words = app.words
    part = "own words"
    count = len(words.woven.names) + len(words.woven.phrases)
    found = [Finding(part=part, works=True, needed=False, found=f"{count} more can be said")] if count else []
    found += [Finding(part=part, works=False, needed=False, found=one, do=_WORDS) for one in words.problems]
    found += [
        Finding(part=part, works=False, needed=False, found=one, do=_NAME) for one in words.woven.unsayable
    ]
    return found


def cooks_of(app: Application, named: str | None = None) -> list[Finding]:
    """One finding for each cook whose voice is kept, and for one who is named and not kept.

    `named`: who was named by voice; None: nobody was.
    """
    chosen, home = named or app.settings.station.cook, app.home
    names = dict.fromkeys([*known_cooks(home.settings_file), *([chosen] if chosen else [])])
    return [_cook(cooks_voice(home, app.settings, name), on=name == chosen) for name in names]


def _named(app: Application) -> str | None:
    """Who was named by voice as the cook; None too where the journal can't be read, which is a finding."""
    try:
        with JournalReader.open(app.home.journal_file) as journal:
            return journal.load()[0].cook
    except JournalError:
        return None


def _cook(voice: CooksVoice, *, on: bool) -> Finding:
    part = f"voice of {voice.name}"
    if voice.problem:
        return Finding(part=part, works=False, needed=False, found=voice.problem, do=_COOK)
    if not voice.cook:
        return Finding(part=part, works=True, needed=False, found="heard as anybody's")
    who = "listened for" if on else "kept; [station] cook, or who is named by voice, is listened for"
    return Finding(part=part, works=True, needed=False, found=who)


def _endpointer(app: Application) -> str:
    app.endpointer()
    return "loads"


def _voice(app: Application) -> str:
    voice = app.voice()
    begin = perf_counter()
    sound = voice.speak("Four thirty in, fifty left.")
    took = (perf_counter() - begin) * 1000
    voice.close()
    return f"{app.settings.voice_name}: {sound.seconds:.1f} s of speech in {took:.0f} ms"


def _disk(app: Application) -> str:
    """How long the disk takes to write something for good."""
    file = app.home.data / "check.tmp"
    took: list[float] = []
    try:
        with file.open("wb", buffering=0) as written:
            for _ in range(9):
                begin = perf_counter()
                written.write(b"\0" * 4096)
                os.fsync(written.fileno())
                took.append((perf_counter() - begin) * 1000)
        file.unlink()
    except OSError as error:
        raise JournalError(f"{file} can't be written ({error.strerror})") from error
    return f"a write is safe after {median(took):.0f} ms, {max(took):.0f} ms at most"


def _clock(app: Application) -> Finding:
    by_battery = real_clock(app.settings).wall_trusted() and not real_clock().wall_trusted()
    trusted = by_battery or real_clock().wall_trusted()
    found = "set by a time source" if trusted else "not set by a time source"
    if by_battery:
        found = "kept by its battery, as the settings say"
    return Finding(
        part="wall clock",
        works=trusted,
        needed=False,
        found=found,
        do="Times on sheets may be wrong; timers are right all the same. Say what time it is, or, with a "
        "battery-kept clock, [station] battery_clock = true.",
    )
