#!/usr/bin/env bash
# A card image of one station, by Debian's own tools: a system that nothing writes to (overlay in memory), and a
# partition of its own for what lasts. Needs root, network to Debian's packages and the package index, and
# mmdebstrap dosfstools mtools e2fsprogs fdisk; on another kind of machine qemu-user-static and binfmt-support too.
# Started on an emulated arm64 machine, never on a board: tests/bench/image/RESULTS.md.
set -euo pipefail

# Of Debian 13 there is no pin driver for arm64, neither a package nor a wheel for its Python.
suite=bookworm
usage() {
    cat <<'TEXT'
Usage: sudo bash hardware/image/build.sh IMAGE [--key FILE] [--system FOLDER]

Writes the card image IMAGE for a 64-bit Raspberry Pi: one image, one station. It hears from the first start on.
  --key FILE       public SSH key of who may log in as `chef` over the wired network, and give its commands;
                   without it nobody can log in
  --system FOLDER  keep the system here, and take it from here where it is: making it takes minutes on a Pi, an
                   hour on another kind of machine
TEXT
}
fail() {
    printf 'image: %s\n' "$1" >&2
    exit 2
}
say() { printf 'image: %s\n' "$*"; }

image=${1-} key='' root=''
case $image in --help | -h) usage && exit 0 ;; '' | -*) usage >&2 && exit 2 ;; esac
shift
while (($#)); do
    case $1 in
        --key | --system) (($# > 1)) || fail "found '$1' with nothing behind it; name a file or folder there." ;;&
        --key) key=$2 ;;
        --system) root=$2 ;;
        *) fail "found '$1', allowed are --key and --system; leave it out." ;;
    esac
    shift 2
done
((EUID == 0)) || fail "found the user $(id -un), an image is made by root; run: sudo bash hardware/image/build.sh $image"
for tool in mkfs.vfat mcopy mkfs.ext4 sfdisk; do
    command -v "$tool" >/dev/null || fail "found no $tool; run: apt-get install mmdebstrap dosfstools mtools e2fsprogs fdisk"
done
if [[ -n $key ]]; then
    grep -qsE '^(ssh|ecdsa|sk)-[a-z0-9@.-]+ ' "$key" || fail "found no public SSH key in '$key'; name a file as ssh-keygen writes it, ending in .pub."
fi
top=$(cd -- "$(dirname -- "${BASH_SOURCE[0]}")/../.." && pwd -P)
scratch=$(mktemp -d)
trap 'rm -rf --one-file-system -- "$scratch"' EXIT

# --- 1. the system --------------------------------------------------------------------------------

# What the packages find when they are configured: no `cma=`, which keeps a Pi 4 from starting as the package
# raspi-firmware says itself; a system that is mounted read-only at once, and starts anew where the kernel gives up.
before=$scratch/before
mkdir -p "$before"/{boot/firmware,etc/default}
cat >"$before/etc/default/raspi-firmware" <<'DEFAULTS'
CMA=0
ROOTPART=LABEL=system
CONSOLES="tty0 ttyS1,115200"
DEFAULTS
printf 'ro panic=10\n' >"$before/etc/default/raspi-extra-cmdline"
# Behind a proxy of the house: its certificate and the index it names, while the image is made.
own=(usr/local/share/ca-certificates etc/pip.conf)
for file in "${own[@]}"; do
    if [[ -e /$file ]]; then mkdir -p "$before/$(dirname "$file")" && cp -RL -- "/$file" "$before/$file"; fi
done

# Each kernel's first file system is made once, at the end.
mkdir -p "$before/etc/initramfs-tools"
printf 'update_initramfs=no\nbackup_initramfs=no\n' >"$before/etc/initramfs-tools/update-initramfs.conf"

make_system() { # folder
    command -v mmdebstrap >/dev/null || fail "found no mmdebstrap; run: apt-get install mmdebstrap"
    export before
    # shellcheck disable=SC2016 # $1 is the hook's own
    mmdebstrap --arch=arm64 --variant=minbase --components=main,non-free-firmware \
        --dpkgopt=force-confold --dpkgopt=force-confdef \
        --include=systemd-sysv,systemd-timesyncd,systemd-resolved,udev,dbus,iproute2,procps,sudo,tzdata,zstd \
        --include=ca-certificates,e2fsprogs,dosfstools,openssh-server,alsa-utils \
        --include=linux-image-arm64,initramfs-tools,busybox,overlayroot,raspi-firmware \
        --include=python3-venv,libportaudio2,espeak-ng,libatomic1,libusb-1.0-0 \
        --include=libpango-1.0-0,libpangoft2-1.0-0,libharfbuzz-subset0,fonts-dejavu-core \
        --essential-hook='cp -RT "$before" "$1"' "$suite" "$1"
}
within() { # folder, command: in it, with the kernel's files and this machine's names of the network
    # shellcheck disable=SC2016 # the inner shell's own
    CRUMBCALL_BOARD=pi SYSTEMD_OFFLINE=1 unshare --mount bash -c '
        set -euo pipefail
        root=$1 && shift
        mount -t proc proc "$root/proc"
        mount -t tmpfs tmpfs "$root/run"
        mkdir -p "$root/run/systemd/system"
        exec chroot "$root" "$@"' - "$@"
}
make_station() { # folder of a system
    local program=(assistant grammar hardware pyproject.toml README.md DEVELOPERS.md) source=$1/opt/crumbcall
    if [[ -d $top/wheels ]]; then program+=(wheels); fi
    rm -rf -- "$source" && mkdir -p "$source"
    tar -C "$top" --exclude=__pycache__ -cf - "${program[@]}" | tar -xf - -C "$source"
    cp -RT -- "$before" "$1"
    cp --remove-destination -L -- /etc/resolv.conf "$1/etc/resolv.conf"
    within "$1" update-ca-certificates >/dev/null 2>&1
    within "$1" bash /opt/crumbcall/hardware/setup.sh --station
    rm -rf -- "$source" "$1/etc/pip.conf" "$1"/usr/local/share/ca-certificates/*
    within "$1" update-ca-certificates --fresh >/dev/null 2>&1
    printf 'update_initramfs=yes\nbackup_initramfs=no\n' >"$1/etc/initramfs-tools/update-initramfs.conf"
    within "$1" update-initramfs -u -k all
    touch -- "$1/etc/crumbcall-card"
}
if [[ -z $root ]]; then root=$scratch/root; fi
if [[ ! -e $root/etc/os-release ]]; then
    say "1/3 a Debian $suite for arm64"
    rm -rf --one-file-system -- "$root.part"
    make_system "$root.part"
    mv -- "$root.part" "$root"
fi
if [[ ! -e $root/etc/crumbcall-card ]]; then
    say "1/3 the station in it"
    make_station "$root"
else
    say "1/3 the system and the station are in $root"
fi

# --- 2. what lasts, and what does not -------------------------------------------------------------

say "2/3 what lasts goes to a partition of its own"
lasting=(record:var/lib/crumbcall files:srv/crumbcall log:var/log/journal system:var/lib/systemd loudness:var/lib/alsa)
kitchen=$scratch/kitchen
{
    printf 'LABEL=system /         ext4 ro,noatime 0 1\n'
    printf 'LABEL=kitchen /kitchen ext4 noatime,commit=5,nofail,x-systemd.device-timeout=60s 0 2\n'
    for pair in "${lasting[@]}"; do
        mkdir -p "$kitchen/${pair%%:*}" "$root/${pair##*:}"
        cp -RT --preserve=all -- "$root/${pair##*:}" "$kitchen/${pair%%:*}"
        printf '/kitchen/%s /%s none bind,nofail 0 0\n' "${pair%%:*}" "${pair##*:}"
    done
} >"$root/etc/fstab"
mkdir -p "$root/kitchen"

# Where the kitchen's partition fails nothing is written to memory in its place: the station stays away, the login works.
for unit in crumbcall crumbcall-board crumbcall-sync; do
    install -D -m 644 /dev/stdin "$root/etc/systemd/system/$unit.service.d/card.conf" <<'UNIT'
[Unit]
RequiresMountsFor=/kitchen
ConditionPathIsMountPoint=/var/lib/crumbcall
UNIT
done
install -D -m 644 /dev/stdin "$root/etc/systemd/system/crumbcall-first.service" <<'UNIT'
# Until settings are there: which microphone and which loudspeaker, chosen by trying, as setup.sh --station does it.
[Unit]
Description=Crumbcall, the sound devices of a new card
ConditionPathExists=!/var/lib/crumbcall/settings.toml
ConditionPathIsMountPoint=/var/lib/crumbcall
RequiresMountsFor=/var/lib/crumbcall
Before=crumbcall.service
After=sound.target

[Service]
Type=oneshot
User=crumbcall
ExecStart=-/usr/local/lib/crumbcall/current/.venv/bin/crumbcall --home /var/lib/crumbcall setup --try-sound
UNIT
# recurse=0: only the system is overlaid, the kitchen's partition is written for good.
printf 'overlayroot="tmpfs:recurse=0"\n' >"$root/etc/overlayroot.conf"
printf 'crumbcall\n' >"$root/etc/hostname"
printf '127.0.0.1 localhost\n127.0.1.1 crumbcall\n' >"$root/etc/hosts"
printf '[Match]\nType=ether\n\n[Network]\nDHCP=yes\n' >"$root/etc/systemd/network/80-wired.network"
ln -sfn ../run/systemd/resolve/stub-resolv.conf "$root/etc/resolv.conf"
ln -sfn "$(readlink -- /etc/localtime || printf '/usr/share/zoneinfo/Etc/UTC')" "$root/etc/localtime"
# The log is found by it, so that it is the same at each start; one image is one station.
tr -d '-' </proc/sys/kernel/random/uuid >"$root/etc/machine-id"
if [[ -n $key ]]; then
    chroot "$root" id chef >/dev/null 2>&1 || chroot "$root" useradd --create-home --shell /bin/bash --groups sudo,crumbcall chef
    printf 'chef ALL=(ALL) NOPASSWD: ALL\n' | install -m 440 /dev/stdin "$root/etc/sudoers.d/chef"
    install -D -m 644 -- "$key" "$root/etc/ssh/keys/chef"
    printf 'AuthorizedKeysFile /etc/ssh/keys/%%u\nPasswordAuthentication no\nPermitRootLogin no\n' >"$root/etc/ssh/sshd_config.d/keys.conf"
fi
units() { systemctl --quiet --root="$root" "$@"; }
mkdir -p "$root/etc/systemd/system/crumbcall.service.wants"
ln -sfn ../crumbcall-first.service "$root/etc/systemd/system/crumbcall.service.wants/crumbcall-first.service"
units enable systemd-networkd systemd-resolved systemd-timesyncd
if [[ -n $key ]]; then units enable ssh; else units disable ssh; fi
# Nothing updates itself in a memory that forgets it.
units mask apt-daily.timer apt-daily-upgrade.timer dpkg-db-backup.timer

# --- 3. the image ---------------------------------------------------------------------------------

say "3/3 partitions"
mib() { printf '%s' "$(($1 * 2048))"; }
firmware_mib=512 kitchen_mib=2048
system_mib=$(($(du -sm --one-file-system -- "$root" | cut -f 1) * 13 / 10 + 300))
mkfs.vfat -C -F 32 -n FIRMWARE "$scratch/firmware" $((firmware_mib * 1024)) >/dev/null
mcopy -s -i "$scratch/firmware" "$root"/boot/firmware/* ::
# What stands on a partition of its own is not in the system's.
mkdir "$scratch/empty"
# shellcheck disable=SC2016 # the inner shell's own
unshare --mount bash -c '
    set -euo pipefail
    root=$1 scratch=$2 size=$3 && shift 3
    for folder in boot/firmware "$@"; do mount --bind "$scratch/empty" "$root/$folder"; done
    mkfs.ext4 -q -L system -d "$root" "$scratch/system" "${size}M"' \
    - "$root" "$scratch" "$system_mib" "${lasting[@]##*:}"
mkfs.ext4 -q -L kitchen -d "$kitchen" "$scratch/kitchen.ext4" "${kitchen_mib}M"
rm -f -- "$image"
truncate -s $((4 + firmware_mib + system_mib + kitchen_mib + 4))M "$image"
sfdisk --quiet "$image" <<TABLE
label: dos
start=$(mib 4), size=$(mib $firmware_mib), type=c, bootable
start=$(mib $((4 + firmware_mib))), size=$(mib $system_mib), type=83
start=$(mib $((4 + firmware_mib + system_mib))), size=$(mib $kitchen_mib), type=83
TABLE
at=4
for part in firmware:$firmware_mib system:$system_mib kitchen.ext4:$kitchen_mib; do
    dd if="$scratch/${part%%:*}" of="$image" bs=1M seek=$at conv=notrunc,sparse status=none
    at=$((at + ${part##*:}))
done
say "ready: $image, $(du -h --apparent-size -- "$image" | cut -f 1), $(du -h -- "$image" | cut -f 1) of it used. Write it to a card, and put it in."
