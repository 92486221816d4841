"""Settings of the station itself: its name and hours, what it hears and speaks with, what is wired to it."""

from typing import Annotated, ClassVar, Literal

import msgspec
from msgspec import Meta, Struct

from assistant.asr import ENGINES
from assistant.asr.network import Listening
from assistant.config.resources import ENGLISH
from assistant.config.toml_words import ALLOWED, WAS, number, one_of, truth
from assistant.devices.pins import PinMap
from assistant.devices.printer.addresses import PrinterKind
from assistant.devices.printer.label_sizes import LABEL_SIZES, USUAL_SIZE

_DEVICE = Meta(description='part of its name; "" for the default')


class VoiceSettings(Struct, frozen=True):
    """What the station's voice is like."""

    on: Annotated[bool, truth("speak replies; off: they are only printed and shown")] = True
    volume: Annotated[float, number("loudness at the start", 0, 1)] = 1.0
    noise_lift_db: Annotated[
        float, number("how much louder it may become by itself when the room is loud", 0, 12, "dB")
    ] = 6.0
    rate: Annotated[int, number("pace of speech", 80, 300, "words a minute")] = 160
    name: Annotated[str, Meta(description='name of an espeak-ng voice; "" for that of the language')] = ""
    half_duplex: Annotated[
        bool, truth("hear nothing while speaking; off only with a headset, which can't hear the voice")
    ] = True
    tail_s: Annotated[float, number("how long it hears nothing after its last word", 0, 2, "s")] = 0.2


class MicrophoneSettings(Struct, frozen=True):
    """Which microphone, and when a sentence is over."""

    device: Annotated[str, _DEVICE] = ""
    end_silence_s: Annotated[float, number("silence that ends any sentence", 0.2, 2, "s")] = 0.7
    open_silence_s: Annotated[
        float, number("silence that ends a command which could go on (one fifty ... five)", 0.1, 2, "s")
    ] = 0.4
    closed_silence_s: Annotated[
        float, number("silence that ends a command which can't go on (undo)", 0.1, 2, "s")
    ] = 0.2


class RecogniserSettings(Struct, frozen=True):
    """Which recogniser, and how sure it must be."""

    RETIRED: ClassVar[tuple[str, ...]] = ("max_cost", "min_margin")
    engine: Annotated[str, one_of(ENGINES, "recogniser")] = ENGINES[0]
    model: Annotated[
        str,
        Meta(description='its model, absolute or beside the settings file; "" for the one that ships'),
    ] = ""
    weights: Annotated[
        Listening,
        Meta(
            description="which networks listen: fine-tuned beside a motor, the library's own, or both",
            extra={WAS: ("ear",)},
        ),
    ] = "kitchen"
    act_above: Annotated[
        float,
        number(
            "how sure it must be of a command before it acts on it without asking, a probability", 0.75, 0.99
        ),
    ] = 0.85
    attention_word: Annotated[
        str,
        Meta(
            pattern=r"^[a-z]{0,30}\Z",
            description='a word that must come before each command, as "crumbcall"; "" for none',
            extra={ALLOWED: "one word of small letters a to z, or none"},
        ),
    ] = ""


class SpeakerSettings(Struct, frozen=True):
    """Which loudspeaker."""

    device: Annotated[str, _DEVICE] = ""
    latency_s: Annotated[
        float,
        number(
            "sound that it holds ready: more where it crackles, each reply comes so much later",
            0.01,
            0.5,
            "s",
        ),
    ] = 0.05


class StationSettings(Struct, frozen=True):
    """Which station this is, where a kitchen has several."""

    id: Annotated[
        str,
        Meta(
            pattern=r"^[A-Za-z0-9][A-Za-z0-9 _-]{0,39}\Z",
            description="its name in the journal and on batch sheets",
            extra={ALLOWED: "1 to 40 letters, digits, spaces, - or _"},
        ),
    ] = "kitchen"
    cook: Annotated[
        str,
        Meta(
            description="who cooks here, till another is named by voice: whose voice it is fitted to, of "
            "those who took crumbcall hearing-test, and who judges the crumb, for how late each calls it "
            'ready is learned from several; without this line the last who took the test; "" for nobody'
        ),
    ] = ""
    cooks: Annotated[
        str,
        Meta(
            pattern=r"^([^,\x00-\x1f]{1,40}(,[^,\x00-\x1f]{1,40}){0,23})?\Z",
            description="who else may be named by voice as the cook, beside those who took crumbcall "
            "hearing-test: Anna, Marco",
            extra={ALLOWED: "up to 24 names, commas between"},
        ),
    ] = ""
    language: Annotated[
        str,
        Meta(
            description="language of what it says, and of sheets and board; it hears English",
            extra={
                ALLOWED: '"en", "it", or a language that has a folder in grammar/ beside the settings file'
            },
        ),
    ] = ENGLISH
    closes: Annotated[
        str,
        Meta(
            pattern=r"^(([01][0-9]|2[0-3]):[0-5][0-9])?\Z",
            description='when it stops listening by itself, if no batch is open, as "23:30"; "" for never',
            extra={ALLOWED: "a time of day from 00:00 to 23:59, or nothing"},
        ),
    ] = ""
    copies_to: Annotated[
        str,
        Meta(
            pattern=r"^(/.*)?\Z",
            description="folder on a USB stick that gets the journal's daily copies too, while it is in, "
            'as "/media/usb/crumbcall"; "" for none',
            extra={ALLOWED: "a path that begins with /, or nothing"},
        ),
    ] = ""

    battery_clock: Annotated[
        bool,
        truth(
            "the board has a battery-kept clock that was set once: its time counts without a network, and a "
            "power cut is reckoned with at once"
        ),
    ] = False

    @property
    def named_cooks(self) -> tuple[str, ...]:
        """Those who else may be named, one by one."""
        return tuple(name.strip() for name in self.cooks.split(",") if name.strip())


class PinSettings(Struct, frozen=True):
    """Which part is wired to which pin: the fields of `PinMap`."""

    lamp: Annotated[int, number("lamp that shows whether it hears you; 0: none", 0, 27, "(GPIO)")] = 0
    buzzer: Annotated[int, number("buzzer that calls with the timers; 0: none", 0, 27, "(GPIO)")] = 0
    foot_switch: Annotated[
        int, number("foot switch; with it the station listens only when asked; 0: none", 0, 27, "(GPIO)")
    ] = 0

    @property
    def map(self) -> PinMap:
        """The map, as the devices take it."""
        return PinMap(**msgspec.structs.asdict(self))


class FootSwitchSettings(Struct, frozen=True):
    """How a foot switch is used; the pin of one that is wired is in `[pins]`."""

    device: Annotated[str, Meta(description='part of the name of a USB pedal; "" for none')] = ""
    listen_s: Annotated[float, number("how long it listens after the foot came up", 2, 60, "s")] = 8.0


class ScaleSettings(Struct, frozen=True):
    """Which jug scale."""

    chip: Annotated[
        Literal["none", "nau7802", "hx711"], Meta(description="converter behind the jug's load cell")
    ] = "none"
    rate: Annotated[
        Literal[10, 80], Meta(description="samples a second; of an hx711 as its pin RATE is wired")
    ] = 80


class PrinterSettings(Struct, frozen=True):
    """What prints labels and sheets; none is needed."""

    kind: Annotated[
        PrinterKind,
        Meta(description="how the label or receipt printer is reached; cups for any that CUPS prints on"),
    ] = "none"
    address: Annotated[
        str,
        Meta(
            max_length=200,
            description="where it is: usb vendor:product in hex, as lsusb has them (04b8:0202); network a "
            "host, with its port where that is not 9100; serial or file its device (/dev/usb/lp0); cups "
            'a queue, "" for the usual one',
        ),
    ] = ""
    baud: Annotated[
        Literal[9600, 19200, 38400, 57600, 115200], Meta(description="pace of a serial printer (baud)")
    ] = 9600
    label: Annotated[str, one_of(LABEL_SIZES, "size of the labels in it (mm)")] = USUAL_SIZE
    dots_across: Annotated[
        int, number("dots of its head; 384 are common on 58 mm, 576 on 80 mm", 128, 4096, "dots")
    ] = 576
    dots_per_mm: Annotated[float, number("dots of a mm; 8 are 203 dpi, 11.8 are 300 dpi", 5, 24, "a mm")] = (
        8.0
    )
    cut: Annotated[bool, truth("cut behind each label on a roll")] = True
    sheets: Annotated[
        str,
        Meta(
            max_length=200,
            description='queue of CUPS that prints batch and day sheets; "usual" for the usual one, '
            '"" for none',
        ),
    ] = ""
    paper: Annotated[
        Literal["A4", "letter"], Meta(description="paper of batch sheet, day sheet and phrase card")
    ] = "A4"
    limit_s: Annotated[float, number("how long printing may take before it is given up", 5, 300, "s")] = 60.0
