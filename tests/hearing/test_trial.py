"""A hearing test: what twenty prompts lead to, in limits and in plain words."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from assistant.app.application import Application, open_application
from assistant.app.hearing_trial import (
    DEFAULT,
    LEAST,
    MOST,
    PROMPTS,
    HearingLimits,
    PromptResult,
    Trial,
    hear_prompt,
    limits,
    summary,
)
from assistant.asr.phoneme import PhonemeRecogniser
from assistant.batch.record.commands import Command
from assistant.config.hearing_file import write_hearing
from assistant.config.home import Home
from assistant.config.settings import Settings
from assistant.errors import CrumbcallError
from assistant.ports import SPEECH_RATE, Pcm, Recogniser, Recognition, Sound
from assistant.testing.audio import ScriptedRecogniser, heard
from tests.cli.conftest import Run, run
from tests.station.stand import grammar
from tests.wav import write_wav

__all__ = ["run"]

NOW = HearingLimits(DEFAULT.act_above)
MISTAKEN = 0.93
GOOD = tuple(
    PromptResult(prompt=prompt, kind="right", text=prompt, cost=0.8, sure=0.98, speech_dbfs=-25.0)
    for prompt in PROMPTS
)
WELL = Trial("Ada", -50.0, GOOD)


def but(number: int, **changed: object) -> Trial:
    """The good trial with its first prompts changed."""
    worse = tuple(replace(one, **changed) for one in GOOD[:number])  # type: ignore[arg-type]
    return replace(WELL, heard=worse + GOOD[number:])


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> Application:
    return open_application(Home.find(tmp_path_factory.mktemp("home")))


def test_there_are_twenty_prompts_and_each_is_a_command_of_its_own(app: Application) -> None:
    meant = {str(app.grammar.parse(prompt)) for prompt in PROMPTS}
    assert len(PROMPTS) == len(meant) == 20
    assert "None" not in meant


def test_all_well_is_said_and_nothing_is_changed() -> None:
    assert limits(WELL, NOW) == NOW
    assert summary(WELL, NOW, NOW) == [
        "20 of 20 right at once, 0 with a question, 0 not heard, 0 wrong.",
        "Your voice is 25 dB above the room.",
        "Good: nothing needs to change.",
    ]


def test_what_was_wrong_would_have_been_asked_about_with_the_new_limit() -> None:
    trial = but(1, kind="wrong", text="new batch eighteen fifteen", sure=MISTAKEN)
    assert limits(trial, NOW).act_above > MISTAKEN
    assert '  "new batch eighteen fifty" was heard as "new batch eighteen fifteen".' in summary(
        trial, NOW, NOW
    )


def test_a_cook_who_is_asked_for_nothing_is_asked_less_but_not_about_less_than_was_mistaken() -> None:
    asked = but(6, kind="asked", sure=0.8)
    assert limits(asked, NOW).act_above == LEAST
    caught = replace(asked, heard=(replace(asked.heard[0], kind="caught", sure=0.78), *asked.heard[1:]))
    assert LEAST < 0.78 < limits(caught, NOW).act_above < NOW.act_above
    assert limits(but(4, kind="asked", sure=0.8), NOW) == NOW
    assert limits(asked, NOW, fitted=True) == NOW, "it is fitted to the cook, who is asked less for that"


def test_limits_stay_within_what_is_safe() -> None:
    assert limits(but(2, kind="wrong", sure=0.999), NOW).act_above == MOST
    assert limits(but(6, kind="caught", sure=0.84), NOW).act_above <= DEFAULT.act_above


def test_from_hardly_anything_nothing_follows() -> None:
    trial = but(15, kind="nothing")
    assert limits(trial, NOW) == NOW


@pytest.mark.parametrize(
    ("trial", "word"),
    [
        (replace(WELL, noise_dbfs=-30.0), "nearer"),
        (but(15, kind="nothing"), "right microphone"),
        (but(6, kind="nothing"), "another microphone"),
        (but(1, clipped=0.2), "turn its level down"),
        (but(1, kind="wrong"), "read-back"),
        (but(4, kind="asked"), "more questions"),
        (
            replace(WELL, heard=tuple(replace(one, kind="nothing", speech_dbfs=-96.0) for one in GOOD)),
            "No voice",
        ),
    ],
)
def test_what_to_change_is_said_plainly(trial: Trial, word: str) -> None:
    assert word in " ".join(summary(trial, NOW, NOW))


def burst(seconds: float = 0.6) -> Pcm:
    """Something that the endpointer holds for speech: a buzz with formants of a vowel, in syllables."""
    t = np.arange(round(seconds * SPEECH_RATE)) / SPEECH_RATE
    wave = sum(
        gain * np.sin(2 * np.pi * 120 * k * t)
        for k in range(1, 30)
        for formant, gain in ((700, 1.0), (1200, 0.6), (2500, 0.3))
        if abs(120 * k - formant) < 150
    )
    syllables = np.abs(np.sin(2 * np.pi * 4 * t))
    quiet = np.zeros(SPEECH_RATE // 2, np.int16)
    return np.concatenate([quiet, (3000 * wave * syllables).astype(np.int16), quiet, quiet, quiet])


def sure(text: str, margin: float = 20.0, *, accepted: bool = True) -> Recognition[Command]:
    return heard(text, grammar().parse(text), cost=0.7, margin=margin, accepted=accepted)


@pytest.mark.parametrize(
    ("found", "kind"),
    [
        (sure("poured fifteen"), "right"),
        (sure("poured fifteen", 0.3), "asked"),
        (sure("poured fifty"), "wrong"),
        (sure("poured fifty", 0.3), "caught"),
        (sure("poured"), "caught"),
        (sure("poured fifteen", accepted=False), "nothing"),
    ],
)
def test_a_prompt_is_heard_through_the_listener(
    app: Application, found: Recognition[Command], kind: str
) -> None:
    sound = burst()
    blocks = [sound[at : at + 512] for at in range(0, len(sound), 512)]
    tried = hear_prompt(app, ScriptedRecogniser([found] * 3, grammar().parse), "poured fifteen", blocks)
    assert tried.kind == kind
    assert tried.speech_dbfs > -40
    assert tried.clipped == 0


def test_silence_is_nothing(app: Application) -> None:
    quiet = [np.zeros(512, np.int16)] * 20
    assert hear_prompt(app, ScriptedRecogniser([], grammar().parse), "undo", quiet).kind == "nothing"


def test_what_was_found_counts_until_the_kitchen_says_otherwise(tmp_path: Path) -> None:
    file = tmp_path / "config" / "settings.toml"
    assert write_hearing(file, 0.9, "Ada", "remark").parent == file.parent
    found = Settings.load(file)
    assert (found.recogniser.act_above, found.station.cook) == (0.9, "Ada")
    file.write_text("[recogniser]\nact_above = 0.8\n", encoding="utf-8")
    assert Settings.load(file).recogniser.act_above == 0.8


def test_what_an_older_hearing_test_found_is_no_error(tmp_path: Path) -> None:
    (tmp_path / "hearing.toml").write_text(
        "[recogniser]\nmax_cost = 0.7\nmin_margin = 4.5\n", encoding="utf-8"
    )
    assert Settings.load(tmp_path / "settings.toml").recogniser == DEFAULT


def test_a_spoilt_file_of_the_hearing_test_is_named(tmp_path: Path) -> None:
    write_hearing(tmp_path / "settings.toml", 99.0, "Ada", "remark")
    with pytest.raises(CrumbcallError, match=r"hearing\.toml.*act_above = 99"):
        Settings.load(tmp_path / "settings.toml")


def test_the_command_works_from_recordings(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    sound = Sound(burst(0.4))
    write_wav(tmp_path / "room.wav", Sound(np.full(SPEECH_RATE, 30, np.int16)))
    for number in range(1, 21):
        write_wav(tmp_path / f"{number:02}.wav", sound)
    script = [sure(prompt) for prompt in PROMPTS]
    monkeypatch.setattr(Application, "recogniser", lambda _: ScriptedRecogniser(script, grammar().parse))
    done = run("hearing-test", "--from", str(tmp_path), "--cook", "Ada", "--json")
    assert done.status == 0
    assert [one["kind"] for one in done.objects[0]["heard"]] == ["right"] * 20
    [kept] = tmp_path.glob("home/**/hearing.toml")
    assert '"Ada": 20 of 20 right at once' in kept.read_text(encoding="utf-8")


def test_prompts_are_heard_without_the_attention_word(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A prompt is answered, not called; and an `Attentive` could not be fitted to a voice."""
    (tmp_path / "home").mkdir()
    settings = tmp_path / "home" / "settings.toml"
    settings.write_text('[recogniser]\nattention_word = "crumbcall"\n', encoding="utf-8")
    heard_with: list[Recogniser[Command]] = []
    build = Application.recogniser

    def built(app: Application) -> Recogniser[Command]:
        heard_with.append(build(app))
        return heard_with[-1]

    monkeypatch.setattr(Application, "recogniser", built)
    assert run("hearing-test", "--from", str(tmp_path)).status == 2  # no recordings: the rest is not wanted
    assert isinstance(heard_with[0], PhonemeRecogniser)
    assert Settings.load(settings).recogniser.attention_word == "crumbcall"


def test_prompts_can_be_listed_for_recording(run: Run) -> None:
    assert run("hearing-test", "--list").out.splitlines()[4] == "05  poured fifteen"


def test_a_folder_that_is_not_there_is_one_line(run: Run, tmp_path: Path) -> None:
    done = run("hearing-test", "--from", str(tmp_path / "none"))
    assert done.status == 2
    assert "room.wav" in done.err
    assert len(done.err.splitlines()) == 1


def test_a_recording_that_is_missing_is_one_line(run: Run, tmp_path: Path) -> None:
    done = run("hearing-test", "--from", str(tmp_path))
    assert done.status == 2
    assert "room.wav" in done.err
    assert len(done.err.splitlines()) == 1
