"""Makes a card image, starts it on an emulated arm64 machine, pulls its plug: `python -m tests.bench.image`.

Needs root, what hardware/image/build.sh needs, qemu-system-arm, qemu-utils and openssh-client. The machine is
QEMU's `virt` with a Cortex-A72, not a Raspberry Pi: kernel, command line and the system are the card's, the
firmware, USB, pins and a board's time are not there.
"""

import argparse
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.bench.guide.under_trial import write_rows
from tests.bench.image.machine import Card, Machine, lacking, partition_offset
from tests.sync.cluster import free_port

TOP = Path(__file__).parents[3]
BATCH = "new batch two kilos\nwater six twenty\nmix two minutes\ncrumb ready\nclose batch\n"
OPEN = "new batch one kilo\nwater one fifty\ntimer two twenty minutes\n"
"""What is on when the plug is pulled."""
CLOSED, CUT = "620 g", "150 g"
RECORD = "/var/lib/crumbcall"


def made_image(image: Path, system: Path | None, key: Path) -> None:
    """The image, where it is not there: minutes on an arm64 machine, an hour elsewhere."""
    if not image.exists():
        kept = ["--system", str(system)] if system else []
        command = ["bash", str(TOP / "hardware/image/build.sh"), str(image), "--key", str(key), *kept]
        subprocess.run(command, check=True)


def made_key(folder: Path) -> Path:
    """A key to log in with, made where it is not."""
    key = folder / "key"
    if not key.exists():
        subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", str(key)], check=True)
    return key.with_suffix(".pub")


def listening(machine: Machine, start: str) -> None:
    """Wait until the station says that it is ready; a row with the seconds since the kernel began."""
    active = "for i in $(seq 300); do systemctl is-active -q crumbcall && break; sleep 2; done"
    show = "systemctl show crumbcall -P ActiveEnterTimestampMonotonic -P ActiveState | tr '\\n' ' '"
    _, said = machine.sh(f"{active}; {show}")
    found = re.search(r"\d{6,}", said)
    seconds = f"{int(found[0]) / 1e6:.0f} s after the kernel's start" if found else said
    machine.row(f"{start}: the station is ready", "active" in said.split() and found is not None, seconds)


def lines(text: str) -> str:
    """Text as a printf of the shell takes it."""
    return text.replace("\n", "\\n")


def first_start(machine: Machine) -> None:
    """A new card."""
    listening(machine, "first start")
    machine.expect(
        "nothing has failed", 'f=$(systemctl --failed --no-legend --plain); echo "$f"; test -z "$f"'
    )
    machine.expect("the system is an overlay", "findmnt -no FSTYPE /", holds="overlay")
    machine.expect(
        "its lower layer is read-only", "findmnt -no OPTIONS /media/root-ro | grep -w ro", holds="ro"
    )
    for folder in (RECORD, "/srv/crumbcall", "/var/log/journal"):
        machine.expect(f"{folder} is the kitchen's partition", f"findmnt -no SOURCE {folder}", holds="[/")
    machine.expect("microphone and speaker were tried", f"cat {RECORD}/settings.toml", holds="[speaker]")
    machine.expect(
        "the watchdog of the board is asked for", "systemctl show -P RuntimeWatchdogUSec", holds="14s"
    )
    machine.expect(
        "`crumbcall check` by who logs in", "crumbcall check; true", holds="microphone", user="chef"
    )
    machine.sh("systemctl stop crumbcall")
    machine.expect("a batch", f"printf '{lines(BATCH)}' | crumbcall type", holds="closed")
    machine.expect("its sheet", "crumbcall sheet", holds=CLOSED)
    machine.sh("touch /etc/forgotten /usr/local/lib/crumbcall/forgotten")
    waiting = f"(printf '{lines(OPEN)}'; sleep 3600) | crumbcall type"
    typed = f'setsid bash -c "{waiting}" > /run/typed 2>&1 &'
    said = "for i in $(seq 300); do grep -q 'Timer two' /run/typed && break; sleep 1; done; cat /run/typed"
    machine.sh(typed)
    machine.expect("a batch is open, a timer runs", said, holds="Timer two")


def second_start(machine: Machine) -> None:
    """After the plug was pulled."""
    listening(machine, "after the plug was pulled")
    machine.expect(
        "what was written to the system is gone", "ls /etc/forgotten /usr/local/lib/crumbcall/forgotten", 2
    )
    machine.expect("the closed batch is there", "crumbcall sheet 1", holds=CLOSED)
    machine.expect("the open one, with its water", "crumbcall sheet 2", holds=CUT)
    machine.expect("the record is whole", "crumbcall ledger check", holds="the same state")
    machine.expect(
        "the station tells what is in it", "journalctl -b -u crumbcall -o cat | grep 'one fifty in'"
    )
    machine.expect("the log of the start before is kept", "journalctl --list-boots -q | wc -l", holds="2")
    took = machine.power_off()
    machine.row("switched off in order", took < 90, f"{took:.0f} s")


def ruin(card: Card) -> None:
    """The kitchen's partition, made unreadable."""
    offset = partition_offset(subprocess.run(["sfdisk", "--dump", str(card.image)], capture_output=True,
                                             text=True, check=True).stdout, 3)  # fmt: skip
    write = f"write -P 0 {offset} 1048576"
    subprocess.run(["qemu-io", "-f", "qcow2", "-c", write, str(card.layer)], check=True, capture_output=True)


def third_start(machine: Machine) -> None:
    """With the kitchen's partition ruined."""
    ruined = "for i in $(seq 120); do systemctl is-active -q multi-user.target && break; sleep 2; done"
    machine.expect("partition ruined: the system starts", f"{ruined}; systemctl is-active multi-user.target")
    machine.expect("and writes no record into memory", f"ls -A {RECORD}/journal.sqlite", 2)
    machine.expect("the station stays away", "systemctl is-active crumbcall", 3)
    machine.expect("and the login works", "id -un", holds="chef", user="chef")


def main() -> None:
    """Make the image where it is not there, start it three times, write the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    folder = Path(tempfile.gettempdir(), "crumbcall-image")
    parser.add_argument("--folder", type=Path, default=folder, help="Where image and key are, or are made.")
    parser.add_argument("--system", type=Path, help="A folder that keeps the system between images.")
    parser.add_argument("--out", type=Path, help="File that the table is added to.")
    options = parser.parse_args()
    if lack := lacking():
        sys.exit(f"found no {' '.join(lack)}; run: apt-get install {' '.join(lack)}")
    options.folder.mkdir(parents=True, exist_ok=True)
    public = made_key(options.folder)
    image: Path = options.folder / "card.img"
    made_image(image, options.system, public)
    with tempfile.TemporaryDirectory() as scratch:
        card = Card(image, Path(scratch, "card.qcow2"))
        card.insert()
        machine = Machine(card, Path(scratch), public.with_suffix(""), free_port())
        machine.power_on()
        first_start(machine)
        machine.power_cut()
        machine.power_on()
        second_start(machine)
        ruin(card)
        machine.power_on()
        third_start(machine)
        machine.power_cut()
    if options.out:
        write_rows(options.out, "card image on arm64", machine.rows)
    sys.exit(any(good == "NO" for _, good, _ in machine.rows))


if __name__ == "__main__":
    main()
