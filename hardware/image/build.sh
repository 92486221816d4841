#!/usr/bin/env bash
# A card image of a station, by Debian's own tools: a system that nobody writes to (overlay in memory), and a
# partition of its own for what lasts. Needs root, network to Debian's packages and the package index, and
# mmdebstrap dosfstools mtools e2fsprogs fdisk; on another kind of machine qemu-user-static and binfmt-support too.
# Not tried on a card: see hardware/README.md.
set -euo pipefail

suite=trixie
usage="Usage: sudo bash hardware/image/build.sh IMAGE [ROOT]
Writes the card image IMAGE for a 64-bit Raspberry Pi. With ROOT, a folder of
a system that was made already, that one is taken, and gets the mounts of the image."
fail() {
    printf 'image: %s\n' "$1" >&2
    exit 2
}
say() { printf 'image: %s\n' "$*"; }
case ${1-} in '' | -*) printf '%s\n' "$usage" && exit 2 ;; esac
image=$1 given=${2-}
((EUID == 0)) || fail "found the user $(id -un), an image is made by root; run: sudo bash hardware/image/build.sh $image"
for tool in mkfs.vfat mcopy mkfs.ext4 sfdisk; do
    command -v "$tool" >/dev/null || fail "found no $tool; run: apt-get install mmdebstrap dosfstools mtools e2fsprogs fdisk"
done
top=$(cd -- "$(dirname -- "${BASH_SOURCE[0]}")/../.." && pwd -P)
scratch=$(mktemp -d)
trap 'rm -rf --one-file-system -- "$scratch"' EXIT

# --- 1. the system --------------------------------------------------------------------------------

make_root() {
    command -v mmdebstrap >/dev/null || fail "found no mmdebstrap; run: apt-get install mmdebstrap"
    say "1/3 a Debian $suite for arm64, and the station in it"
    # shellcheck disable=SC2016 # $1 is the hooks' own
    mmdebstrap --arch=arm64 --variant=minbase --components=main,non-free-firmware \
        --include=systemd-sysv,udev,dbus,ca-certificates,sudo,procps,iproute2,systemd-timesyncd,e2fsprogs \
        --include=linux-image-arm64,initramfs-tools,overlayroot,raspi-firmware,alsa-utils \
        --setup-hook='mkdir -p "$1/boot/firmware"' \
        --customize-hook="mkdir -p \"\$1/opt/crumbcall\" && git -C $top archive HEAD | tar -x -C \"\$1/opt/crumbcall\"" \
        --customize-hook='mkdir -p "$1/run/systemd/system"; SYSTEMD_OFFLINE=1 chroot "$1" bash /opt/crumbcall/hardware/setup.sh --station' \
        "$suite" "$1"
}
if [[ -n $given ]]; then
    [[ -e $given/etc/os-release ]] || fail "found no system in '$given'; name the folder of one, or none"
    root=$given
else
    root=$scratch/root
    make_root "$root"
fi

# --- 2. what lasts, and what does not -------------------------------------------------------------

say "2/3 what lasts goes to a partition of its own"
layer=$scratch/layer
mkdir -p "$layer/etc/systemd/system"
cat >"$layer/etc/fstab" <<'FSTAB'
LABEL=system   /                    ext4 ro,noatime                  0 1
LABEL=FIRMWARE /boot/firmware       vfat ro,noatime                  0 2
LABEL=kitchen  /kitchen             ext4 noatime,commit=5,data=ordered 0 2
/kitchen/record /var/lib/crumbcall  none bind,x-systemd.requires-mounts-for=/kitchen 0 0
/kitchen/files  /srv/crumbcall      none bind,x-systemd.requires-mounts-for=/kitchen 0 0
/kitchen/log    /var/log/journal    none bind,x-systemd.requires-mounts-for=/kitchen 0 0
FSTAB
# recurse=0: only the system is overlaid, the kitchen's partition is written for good.
printf 'overlayroot="tmpfs:recurse=0"\n' >"$layer/etc/overlayroot.conf"
printf 'crumbcall\n' >"$layer/etc/hostname"
kitchen=$scratch/kitchen
mkdir -p "$kitchen"/{record,files,log}
for pair in var/lib/crumbcall:record srv/crumbcall:files; do
    if [[ -d $root/${pair%%:*} ]]; then cp -a -- "$root/${pair%%:*}/." "$kitchen/${pair##*:}/"; fi
done

# --- 3. the image ---------------------------------------------------------------------------------

say "3/3 partitions"
mib() { printf '%s' "$(($1 * 2048))"; }
firmware_mib=256
system_mib=$(($(du -sm --one-file-system -- "$root" | cut -f 1) * 13 / 10 + 300))
kitchen_mib=512
cp -a -- "$layer/." "$root/"
mkdir -p "$root/kitchen" "$root/var/lib/crumbcall" "$root/srv/crumbcall" "$root/var/log/journal" "$root/boot/firmware"
mkfs.vfat -C -F 32 -n FIRMWARE "$scratch/firmware" $((firmware_mib * 1024)) >/dev/null
shopt -s nullglob
files=("$root"/boot/firmware/*)
if ((${#files[@]})); then mcopy -s -i "$scratch/firmware" "${files[@]}" ::; fi
mkfs.ext4 -q -L system -d "$root" "$scratch/system" "${system_mib}M"
mkfs.ext4 -q -L kitchen -d "$kitchen" "$scratch/kitchen.ext4" "${kitchen_mib}M"
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
say "ready: $image, $(du -h --apparent-size -- "$image" | cut -f 1). Write it to a card, and put it in."
