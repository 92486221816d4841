"""The tools of fine-tuning: weight file, sentences, sounds, the rebuilt network, training on a few clips."""

import hashlib
import re
import shutil
import sys
from pathlib import Path
from random import Random

import numpy as np
import pytest

from assistant.batch.record.commands import AddWater
from assistant.config.resources import grammar_folder
from assistant.dough.amounts import Amount
from assistant.errors import ModelError
from assistant.nlu.grammar import Grammar, load_grammar
from assistant.ports import Asking
from tests.bench.finetune import archive, spoken_numbers
from tests.bench.finetune.sound import conditions, noises, rooms
from tests.bench.finetune.speech import accents, corpus, phrases, voices
from tests.bench.finetune.speech.talk import TEST_TALK

WEIGHTS = Path(__file__).parents[3] / "assistant" / "asr" / "weights"


@pytest.fixture(scope="module")
def packaged() -> bytes:
    return archive.packaged()


@pytest.fixture(scope="module")
def grammar() -> Grammar:
    return load_grammar(grammar_folder() / "commands.jsgf")


def sweep(seconds: float = 1.0) -> np.ndarray:
    time = np.arange(int(16_000 * seconds)) / 16_000
    return (0.3 * np.sin(2 * np.pi * (200 + 900 * time) * time)).astype(np.float32)


def engine(data: bytes, wave: np.ndarray) -> np.ndarray:
    from hama._engine import AsrSession

    feeds = {"waveform": wave, "waveform_lengths": np.array([len(wave)])}
    return np.asarray(AsrSession(data).run(["log_probs"], feeds)[0][0])


def test_weight_file_comes_back_byte_for_byte(packaged: bytes) -> None:
    assert archive.rewrite(packaged, archive.read(packaged)) == packaged


def test_a_changed_tensor_changes_its_own_place_only(packaged: bytes) -> None:
    tensors = archive.read(packaged)
    name = "acoustic_model.model.proj.bias"
    new = archive.read(archive.rewrite(packaged, {name: tensors[name] + 1}))
    changed = [other for other in tensors if not np.array_equal(new[other], tensors[other])]
    assert changed == [name]
    assert np.allclose(new[name], tensors[name] + 1, atol=0.01)


def test_a_tensor_of_another_shape_or_without_a_value_is_refused(packaged: bytes) -> None:
    name = "acoustic_model.model.proj.bias"
    with pytest.raises(ModelError, match=r"proj.bias is \(3,\), but the file has \(191,\)"):
        archive.rewrite(packaged, {name: np.zeros(3, np.float32)})
    with pytest.raises(ModelError, match="has a value that does not fit float16"):
        archive.rewrite(packaged, {name: np.full(191, 1e6, np.float32)})


def test_a_mean_of_weights_lies_between_and_is_a_weight_file(packaged: bytes) -> None:
    from tests.bench.finetune.mean_weights import mean

    name, rest = "acoustic_model.model.proj.bias", "mel_fb"
    old = archive.read(packaged)
    new = archive.read(archive.rewrite(packaged, {name: old[name] + 1}))
    found = archive.read(archive.rewrite(packaged, mean(old, new, 0.75)))
    assert np.allclose(found[name], old[name] + 0.75, atol=0.01)
    assert np.array_equal(found[rest], old[rest])


def test_shipped_weights_are_those_that_the_card_names() -> None:
    card = (WEIGHTS / "README.md").read_text(encoding="utf-8")
    digest = hashlib.sha256((WEIGHTS / "kitchen.hama").read_bytes()).hexdigest()
    assert re.findall(r"\b[0-9a-f]{64}\b", card) == [digest]


def test_shipped_weights_have_the_packaged_table_and_front_end(packaged: bytes) -> None:
    data = (WEIGHTS / "kitchen.hama").read_bytes()
    assert archive.entries(data) == archive.entries(packaged)
    ours, theirs = archive.read(data), archive.read(packaged)
    for name in ("mel_fb", "stft_real_kernel", "stft_imag_kernel"):
        assert np.array_equal(ours[name], theirs[name])
    assert not np.array_equal(
        ours["acoustic_model.model.proj.weight"], theirs["acoustic_model.model.proj.weight"]
    )


@pytest.mark.parametrize("number", [7, 15, 50, 115, 150, 315, 430, 999, 1500, 2040])
def test_numbers_are_said_as_the_grammar_understands_them(grammar: Grammar, number: int) -> None:
    said = {spoken_numbers.number(number, Random(seed)) for seed in range(12)}
    assert {grammar.parse(f"water {text}") for text in said} == {AddWater(Amount(float(number)))}


def test_sentences_for_testing_are_commands_and_none_of_them_is_trained_with(grammar: Grammar) -> None:
    test = phrases.test_sentences(grammar.graph(Asking.NOTHING), Random(1), 24)
    assert all(grammar.parse(sentence.text) for sentence in test)
    assert sum(sentence.kind == "number" for sentence in test) == 18
    assert all(phrases.held_back(sentence) for sentence in test if sentence.kind == "number")
    assert not any(phrases.held_back(sentence) for sentence in test if sentence.kind == "command")


def test_rivals_change_a_number_word_and_the_twin_comes_first() -> None:
    rng = Random(6)
    for text in ("add fifteen minutes", "lot three eighty", "water one fifty", "one two"):
        words = text.split()
        for _ in range(20):
            found = phrases.rivals(text, rng)
            assert found
            assert all(
                other in phrases.NEAR[words[place]] or (words[place] in phrases.LOST and not other)
                for place, other in found
            )
            if "two" not in text:
                place, other = found[0]
                assert {words[place], other} in ({"fifteen", "fifty"}, {"eighteen", "eighty"})
    assert phrases.rivals("got it", rng) == []


def test_one_word_of_a_sentence_is_changed_and_the_others_stay() -> None:
    pytest.importorskip("torch", reason="torch is needed for fine-tuning only")
    from tests.bench.finetune.archive import BOUNDARY
    from tests.bench.finetune.training_set import with_word

    sentence = (1, 2, BOUNDARY, 3, BOUNDARY, 4, 5)
    assert with_word(sentence, 0, (9,)) == (9, BOUNDARY, 3, BOUNDARY, 4, 5)
    assert with_word(sentence, 1, (8, 9)) == (1, 2, BOUNDARY, 8, 9, BOUNDARY, 4, 5)
    assert with_word(sentence, 1, ()) == (1, 2, BOUNDARY, 4, 5)
    assert with_word(sentence, 2, (9,)) == (1, 2, BOUNDARY, 3, BOUNDARY, 9)
    assert with_word((1, 2), 0, (7,)) == (7,)


def test_each_number_word_has_rivals_and_a_twin_its_twin_first() -> None:
    numbers = {*spoken_numbers.UNITS, *spoken_numbers.TENS, *spoken_numbers.TWINS} - {"a"}
    assert numbers <= set(phrases.NEAR)
    for word, near in phrases.NEAR.items():
        assert word not in near
        if word.endswith("teen") or (word.endswith("ty") and word != "twenty"):
            assert phrases.NEAR[near[0]][0] == word


def test_a_lot_with_a_letter_is_said_as_the_grammar_understands_it(grammar: Grammar) -> None:
    said = [spoken_numbers.lot_number(Random(seed)) for seed in range(60)]
    lettered = [text for text in said if set(text.split()) & set(spoken_numbers.LETTERS)]
    assert 20 < len(lettered) < 50
    assert [text for text in lettered if grammar.parse(f"lot {text}") is None] == []


def test_a_word_may_be_misheard_for_two() -> None:
    pytest.importorskip("torch", reason="torch is needed for fine-tuning only")
    from tests.bench.finetune.archive import BOUNDARY
    from tests.bench.finetune.lexicon import Targets
    from tests.bench.finetune.training_set import with_word

    targets = Targets()
    found = {other for seed in range(40) for _, other in phrases.rivals("water eighteen", Random(seed))}
    assert "eight in" in found
    changed = with_word(targets.first("water eighteen"), 1, targets.first("eight in"))
    assert changed == targets.first("water eight in")
    assert changed.count(BOUNDARY) == 2


def test_a_name_is_said_where_a_kitchen_says_names() -> None:
    said = {phrases.named("puttanesca", Random(seed)).text for seed in range(300)}
    assert all(text.split().count("puttanesca") == 1 for text in said)
    assert not any(set(text) & set("@#") for text in said)
    timed = {text for text in said if "timer" in text and {"minutes", "seconds"} & set(text.split())}
    assert len(timed) > 40


def test_talk_for_testing_is_not_a_command_and_not_trained_with(grammar: Grammar) -> None:
    assert [text for text in TEST_TALK if grammar.parse(text)] == []
    assert set(TEST_TALK).isdisjoint(phrases.talk(Random(seed)).text for seed in range(2000))


def test_no_voice_belongs_to_two_splits() -> None:
    names = {split: {v.name.split("+")[-1] for v in voices.of(split)} for split in ("train", "dev", "test")}
    assert not names["train"] & names["test"]
    assert not names["train"] & names["dev"]


def test_pico_speaks_at_one_level_in_a_manner_of_its_seed() -> None:
    pytest.importorskip("py_nanotts", reason="Pico is needed for fine-tuning only")
    for voice in voices.of("train", "pico"):
        if "-" not in voice.name and shutil.which(voices.program("espeak-ng")[0]) is None:
            continue
        sounds = voices.say(voice, ["add two hundred grams of water"] * 6, 3)
        lengths = [len(sound) / 16_000 for sound in sounds]
        assert min(lengths) > 0.7
        assert max(lengths) < 4.5
        assert max(lengths) > 1.1 * min(lengths)
        for sound in sounds:
            assert np.abs(sound).max() == pytest.approx(0.5, abs=0.01)
            assert np.sum(np.abs(sound) > 0.4999) < 4  # not flat at its peak
            # English fades on an unstressed end: no click there.
            assert "-" not in voice.name or np.abs(sound[-2400:]).max() < 0.45


def test_a_pico_voice_without_its_package_says_what_is_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "py_nanotts", None)
    with pytest.raises(ModuleNotFoundError, match="voice en-GB of pico: py_nanotts cannot be imported"):
        voices.say(voices.Voice("pico", "en-GB", "train"), ["mix"], 1)


@pytest.mark.parametrize(("accent", "said"), [("it", "trai"), ("fr", "tRaj"), ("es", "trai"), ("de", "tRaI")])
def test_an_accent_has_the_sounds_of_its_voice(accent: str, said: str) -> None:
    attempt, garden = "tɹˈaɪ", "ɡˈɑːɹdən"  # noqa: RUF001 - IPA
    assert accents.word(attempt, accent) == '"' + said
    assert accents.word(garden, accent).startswith('"') is (accent != "fr")
    assert all(accents.word(ipa, accent) for ipa in accents.table(accent) if ipa != "h")
    with pytest.raises(ValueError, match="no sound for 'q'; add it"):
        accents.word("q", accent)


def test_a_room_begins_with_the_direct_sound_and_dies_away() -> None:
    response = rooms.response(np.random.default_rng(3))
    assert response[0] == 1.0
    assert np.square(response[4000:]).sum() < 0.01 * np.square(response).sum()


@pytest.mark.parametrize("kind", [*(kind for _, kind in noises.TRAIN), noises.kneader])
def test_noises_have_one_level_and_come_again_with_their_seed(kind) -> None:  # type: ignore[no-untyped-def]
    one, again = (kind(np.random.default_rng(5), 4000) for _ in range(2))
    assert np.array_equal(one, again)
    assert abs(np.sqrt(np.mean(one**2)) - 0.1) < 0.001


def test_active_level_leaves_silence_out() -> None:
    # RMS of a sine is its amplitude over the root of two, however long the silence around it.
    tone = np.sin(2 * np.pi * 500 * np.arange(16_000) / 16_000)
    assert conditions.active_level(np.concatenate([np.zeros(32_000), tone])) == pytest.approx(
        2**-0.5, rel=0.01
    )


@pytest.mark.parametrize("rate", [8_000, 22_050, 24_000, 48_000])
def test_resampling_keeps_pitch_and_length(rate: int) -> None:
    tone = np.sin(2 * np.pi * 1000 * np.arange(rate) / rate).astype(np.float32)
    sound = voices.to_rate(tone, rate)
    assert abs(len(sound) - 16_000) < 30
    assert np.argmax(np.abs(np.fft.rfft(sound, 16_000))) == 1000
    assert np.abs(sound).max() == pytest.approx(0.5, abs=0.01)


def test_corpora_keep_their_clips_when_joined_and_saved(tmp_path: Path) -> None:
    part = corpus.collect(
        [
            (np.arange(4000, dtype=np.int16), "mix", "command", "a"),
            (np.ones(5000, np.float32), "no", "talk", "b"),
        ]
    )
    both = corpus.join([part, part])
    both.save(tmp_path / "both")
    read = corpus.load(tmp_path / "both")
    assert [clip.text for clip in read.clips] == ["mix", "no", "mix", "no"]
    assert np.array_equal(read.sound(read.clips[2]), np.arange(4000))
    assert read.sound(read.clips[3])[0] == 32767


def test_runs_of_real_words_are_of_one_speaker_and_lose_their_quiet_ends() -> None:
    quiet = np.zeros(4000, np.float32)
    word = np.concatenate([quiet, sweep(0.4), quiet])
    part = corpus.collect([(word, f"{n}", "real", voice) for n in range(4) for voice in "ab"])
    runs = corpus.spliced(part, 5, 20)
    assert len(runs.clips) == 20
    for clip in runs.clips:
        n = len(clip.text.split())
        assert 2 <= n <= 5
        assert 0.4 * n <= clip.samples / 16_000 <= 0.46 * n + 0.12 * (n - 1)


def test_the_rebuilt_network_agrees_with_the_engine(packaged: bytes) -> None:
    torch = pytest.importorskip("torch", reason="torch is needed for fine-tuning only")
    from tests.bench.finetune import network

    wave = sweep()
    with torch.no_grad():
        ours = network.log_probabilities(network.weights(archive.read(packaged)), torch.tensor(wave)[None])[
            0
        ].numpy()
    theirs = engine(packaged, wave)
    assert ours.shape == theirs.shape
    assert np.abs(np.exp(ours) - np.exp(theirs)).max() < 0.005


def test_phone_errors_are_counted_as_levenshtein_did() -> None:
    pytest.importorskip("torch", reason="torch is needed for fine-tuning only")
    from tests.bench.finetune.measure import distance

    assert distance([ord(c) for c in "kitten"], [ord(c) for c in "sitting"]) == 3


def test_an_uneven_clip_begins_and_ends_where_it_did_and_runs_forward() -> None:
    torch = pytest.importorskip("torch", reason="torch is needed for fine-tuning only")
    from tests.bench.finetune.sound.augment import Bank, Kitchen, Recipe

    ramp = np.arange(16_000, dtype=np.int16)  # the sample tells its own place
    bank = Bank(
        torch.from_numpy(np.append(ramp, ramp[-1:])),
        torch.tensor([0]),
        torch.tensor([len(ramp)]),
        torch.zeros((1, 70_000), dtype=torch.int16),
        0,
        0,
        torch.zeros((1, 8000)),
    )
    even, uneven = (
        Kitchen(bank, 3, Recipe(slowest=1.0, fastest=1.0001, uneven=most))._place(
            torch.zeros(20, dtype=torch.long), 32_000
        )
        for most in (0.0, 0.13)
    )
    moved = 0.0
    for (straight, where), (bent, again) in zip(
        zip(*even, strict=True), zip(*uneven, strict=True), strict=True
    ):
        assert torch.equal(where, again)
        a, b = straight[where] * 32768, bent[again] * 32768
        moved = max(moved, float((a - b).abs().max()))
        assert (b[1600:] - b[:-1600] > 0.8 * 1600).all()
        assert abs(float(b[0] - a[0])) < 40
        assert abs(float(b[-1] - a[-1])) < 40
    assert 100 < moved < 800


def test_filters_of_other_vocal_tracts_keep_their_order_and_lie_around_the_plain_ones(
    packaged: bytes,
) -> None:
    torch = pytest.importorskip("torch", reason="torch is needed for fine-tuning only")
    from tests.bench.finetune import network

    w = network.weights(archive.read(packaged))
    banks = network.warped_banks(w)
    assert len(banks) > 60
    frequency = torch.arange(201, dtype=torch.float32)[:, None]
    centres = (banks * frequency).sum(1) / banks.sum(1).clamp_min(1e-6)
    plain = (w["mel_fb"] * frequency).sum(0) / w["mel_fb"].sum(0)
    inside = slice(8, 66)
    assert (centres[:, 9:66] >= centres[:, 8:65]).all()
    ratio = centres[:, inside] / plain[inside]
    assert ratio.min() > 0.84
    assert ratio.max() < 1.2
    assert abs(float(ratio.mean()) - 1) < 0.02
    assert (ratio.max(1).values - ratio.min(1).values).max() > 0.05


def test_others_who_talk_are_never_much_louder_than_the_voice() -> None:
    torch = pytest.importorskip("torch", reason="torch is needed for fine-tuning only")
    from tests.bench.finetune.sound.augment import Bank, Kitchen, Recipe

    rng = np.random.default_rng(1)
    noise = np.stack([np.round(noises.coloured(rng, 70_000) * 32767).astype(np.int16) for _ in range(3)])
    part = corpus.collect([(sweep(), "a", "number", "x")])
    bank = Bank(
        torch.from_numpy(part.pcm),
        torch.tensor([0, 0]),
        torch.tensor([part.clips[0].samples, 0]),
        torch.from_numpy(noise),
        2,
        1,
        torch.from_numpy(np.stack([rooms.response(rng)])),
    )
    kitchen = Kitchen(
        bank, 3, Recipe(lowest_snr=-9.0, highest_snr=-9.0, quiet=0.0, usual=0.0, second_noise=0.0)
    )
    alone = {round(-20 * float(rms.log10())) for rms in kitchen._noise(200, 32_000).square().mean(1).sqrt()}
    assert alone == {-9, -2, 4}
    kitchen.recipe = Recipe(lowest_snr=-9.0, highest_snr=-9.0, quiet=0.0, usual=0.0, second_noise=1.0)
    both = {round(-20 * float(rms.log10())) for rms in kitchen._noise(200, 32_000).square().mean(1).sqrt()}
    assert both == {-9, -2, 4}


def test_half_of_what_is_heard_is_as_loud_as_beside_a_machine_at_work() -> None:
    torch = pytest.importorskip("torch", reason="torch is needed for fine-tuning only")
    from tests.bench.finetune.sound.augment import Bank, Kitchen, Recipe

    noise = np.round(noises.coloured(np.random.default_rng(1), 70_000) * 32767).astype(np.int16)[None]
    one = torch.ones(1, dtype=torch.long)
    bank = Bank(torch.ones(10), one, one, torch.from_numpy(noise), 0, 0, torch.ones((1, 8000)))
    recipe = Recipe(quiet=0.0, lowest_snr=-5.0, highest_snr=26.0, usual=0.5, usual_snr=(2.0, 12.0))
    snr = -20 * Kitchen(bank, 3, recipe)._noise(1000, 16_000).square().mean(1).sqrt().log10()
    inside = float(((snr > 2) & (snr < 12)).float().mean())
    # Half, and of the other half the 10 dB of 31.
    assert inside == pytest.approx(0.5 + 0.5 * 10 / 31, abs=0.05)
    assert float(snr.min()) < -3
    assert float(snr.max()) > 24


def test_a_babble_fills_its_stretch_and_comes_again_with_its_seed() -> None:
    from tests.bench.finetune.sound.noise_bank import SEGMENT, babble

    part = corpus.collect([(sweep(0.8), "a", "talk", "x"), (sweep(0.5)[::-1].copy(), "b", "talk", "y")])
    one, again = (babble(part, 5, Random(2), np.random.default_rng(2)) for _ in range(2))
    assert np.array_equal(one, again)
    seconds = one.reshape(10, SEGMENT // 10).std(1)
    assert seconds.min() > 0.3 * seconds.max()


def test_number_twins_are_said_in_several_ways_and_stay_twins() -> None:
    from tests.bench.finetune.speech.neural_voices import varied

    rng = Random(4)
    teen, ty, others = "sˈɛvəntˌiːn", "sˈɛvənti fˈaɪv", "twˈɛnti sˈɪɾi"  # noqa: RUF001 - IPA
    teens, tys = ({varied(word, rng) for _ in range(60)} for word in (teen, ty))
    assert len(teens) > 3
    assert len(tys) > 3
    assert all(said.endswith("n") for said in teens)
    assert not any("n" in said.removeprefix(ty[: ty.index("t")]) for said in tys)
    assert varied(others, rng) == others


def test_a_few_steps_lower_the_loss_and_the_engine_takes_the_result(packaged: bytes) -> None:
    torch = pytest.importorskip("torch", reason="torch is needed for fine-tuning only")
    torch.set_num_threads(1)
    from tests.bench.finetune import network, train, training_set
    from tests.bench.finetune.sound.augment import Recipe

    tensors = archive.read(packaged)
    part = corpus.collect([(sweep(0.6), "a", "number", "x"), (sweep(0.4)[::-1].copy(), "b", "talk", "x")])
    rng = np.random.default_rng(1)
    noise = np.stack([np.round(noises.coloured(rng, 70_000) * 32767).astype(np.int16) for _ in range(2)])
    room = np.stack([rooms.response(rng)])
    teacher = {name: tensor.detach() for name, tensor in network.weights(tensors).items()}
    prepared = training_set.training_set(
        part,
        lambda text: [[(7, 10, 12)]] if text == "a" else [[(14, 15), (7, 8)]],
        lambda *_: 1.0,
        noise,
        (1, 1),
        room,
        [teacher],
        rivals=lambda text: [(0, (7, 11, 12)), (0, (7, 10))] if text == "a" else [],
    )
    assert prepared.rival_length.tolist() == [[3, 2, 0], [0, 0, 0], [0, 0, 0]]
    losses: list[list[float]] = []
    plan = train.Plan(steps=24, samples=64_000, rate=2e-3, warmup=1, keep=0.0, half=False, drop=0.0)
    easy = Recipe(quiet=1.0, room=0.0, clip=0.0, slowest=1.0, fastest=1.001)
    student = train.Student(tensors, [teacher], plan, 1)
    renewed = iter([None, prepared])
    tuned = train.fine_tune(
        student,
        prepared,
        lambda _step, found, _average: losses.append(found),
        every=4,
        recipe=easy,
        renew=lambda _used: next(renewed),
    )
    assert losses[-1][0] < losses[0][0]
    assert losses[-1][1] < losses[0][1]
    heard = engine(archive.rewrite(packaged, tuned), sweep())
    assert np.isfinite(heard).all()
    assert np.abs(np.exp(heard).sum(-1) - 1).max() < 0.01
