#!/usr/bin/env bash
# A kitchen's station out of this folder, and its way back: what `setup.sh --station` and `--uninstall` run, as root.
# It can be run again at any time. An update is the same command from a newer folder: the new version goes into a
# folder of its own, is tried on a copy of the record, takes over, and is taken back where it does not start.
set -euo pipefail

lib=/usr/local/lib/crumbcall  # the versions, and `current`, the link to the one that runs
record=/var/lib/crumbcall     # settings and journal; nobody but the service's user may look in
shared=/srv/crumbcall         # where the commands of the kitchen's people read and write files
units=(crumbcall.service crumbcall-board.service)
sync_unit=crumbcall-sync.service # of a group of stations; who is in one enables it
screen_unit=crumbcall-screen.service

say() { printf 'station: %s\n' "$*"; }
fail() { # text [exit code]
    printf 'station: %s\n' "$1" >&2
    exit "${2:-1}"
}
here() { [[ $(dpkg-query -W -f '${db:Status-Status}' "$1" 2>/dev/null) == installed ]]; }
as_service() { (cd / && runuser -u crumbcall -- "$@" </dev/null); }

top=$(cd -- "$(dirname -- "${BASH_SOURCE[0]}")/.." && pwd -P)

browser() { command -v chromium || command -v chromium-browser || printf '/usr/bin/chromium'; }
print_unit() { # file, folder of the program: the unit, filled in for the groups that this machine has
    local group groups=()
    for group in audio gpio i2c spi input lp dialout; do
        if getent group "$group" >/dev/null; then groups+=("$group"); fi
    done
    sed -e "s|@TOP@|$2|g" -e "s|@GROUPS@|${groups[*]}|" -e "s|@BROWSER@|$(browser)|" "$top/hardware/$1"
}

case ${1-} in
    print) print_unit "$2" "$3" && exit 0 ;;
    install | uninstall) ;;
    *) fail "found '${*}', allowed is what setup.sh gives it; run: sudo bash hardware/setup.sh --station" 2 ;;
esac

[[ -d /run/systemd/system ]] ||
    fail "found no systemd that runs this machine; leave out --station and start .venv/bin/crumbcall listen your own way." 2
((EUID == 0)) || fail "found the user $(id -un), a station is set up by root; run: sudo bash hardware/setup.sh --station" 2

# --- away ----------------------------------------------------------------------------------------

rules=/etc/udev/rules.d/60-crumbcall.rules
log_file=/etc/systemd/journald.conf.d/crumbcall.conf
watchdog_file=/etc/systemd/system.conf.d/crumbcall.conf
sudo_file=/etc/sudoers.d/crumbcall
wrapper=/usr/local/bin/crumbcall

if [[ $1 == uninstall ]]; then
    for unit in "$screen_unit" "$sync_unit" "${units[@]}"; do
        systemctl disable --now "$unit" >/dev/null 2>&1 || true
        rm -f -- "/etc/systemd/system/$unit"
    done
    rm -f -- "$rules" "$log_file" "$watchdog_file" "$sudo_file" "$wrapper"
    rm -rf -- "$lib"
    systemctl daemon-reload || true
    say "the station is gone from this machine; $record (settings, journal) and $shared stay."
    say "To remove these too, for good: rm -r $record $shared && userdel crumbcall"
    exit 0
fi

# --- 1. what a station needs beside the program -----------------------------------------------------

pi=false # CRUMBCALL_BOARD: where a card is made elsewhere, hardware/image/build.sh
if [[ ${CRUMBCALL_BOARD-} == pi ]] || grep -qs 'Raspberry Pi' /sys/firmware/devicetree/base/model; then pi=true; fi
screen=false
if grep -qsx connected /sys/class/drm/card*-*/status; then screen=true; fi

wanted=(sudo alsa-utils)
if $screen; then wanted+=(cage chromium); fi
missing=()
for package in "${wanted[@]}"; do here "$package" || missing+=("$package"); done
if ((${#missing[@]})); then
    say "1/6 installing with apt: ${missing[*]}"
    apt-get -qq update >/dev/null 2>&1 || true
    for package in "${missing[@]}"; do
        DEBIAN_FRONTEND=noninteractive apt-get -qq -o DPkg::Lock::Timeout=300 install --yes --no-remove \
            --no-install-recommends "$package" >/dev/null 2>&1 ||
            say "    going on without $package, what needs it stays off; connect this machine and run this again"
    done
else
    say "1/6 the system's packages are here already"
fi

say "2/6 user, groups and folders"
for group in gpio i2c spi; do getent group "$group" >/dev/null || groupadd --system "$group"; done
getent passwd crumbcall >/dev/null ||
    useradd --system --user-group --home-dir "$record" --no-create-home --shell /usr/sbin/nologin crumbcall
for group in audio gpio i2c spi input lp dialout; do
    if getent group "$group" >/dev/null; then usermod --append --groups "$group" crumbcall; fi
done
cook=${SUDO_USER:-root} # who gave this command may give those of the station too
if [[ $cook != root ]]; then usermod --append --groups crumbcall "$cook"; fi
if [[ -L $record ]]; then # until version 0.1 the service had a user for each start, and its folder stood here
    moved=$(readlink -f -- "$record")
    rm -- "$record"
    mv -- "$moved" "$record"
fi
install -d -m 700 -o crumbcall -g crumbcall "$record"
chown -R crumbcall:crumbcall "$record"
install -d -m 2770 -o crumbcall -g crumbcall "$shared"
install -d -m 755 "$lib" "$lib/releases"
if $pi && command -v raspi-config >/dev/null; then
    raspi-config nonint do_i2c 0 >/dev/null 2>&1 || say "    I2C could not be switched on; do it with raspi-config"
    raspi-config nonint do_spi 0 >/dev/null 2>&1 || say "    SPI could not be switched on; do it with raspi-config"
fi

# --- 3. the program, in a folder of its own ---------------------------------------------------------

sources=(assistant grammar hardware pyproject.toml README.md DEVELOPERS.md)
digest=$(cd -- "$top" && find "${sources[@]}" -type f ! -name '*.pyc' -print0 | LC_ALL=C sort -z | xargs -0 sha256sum |
    sha256sum | cut -c 1-10)
version=$(sed -n 's/^version = "\(.*\)"$/\1/p' "$top/pyproject.toml")
release=$lib/releases/$version-$digest
before=$(readlink -f -- "$lib/current" 2>/dev/null || true)
if [[ ! -d $before ]]; then before=; fi
if [[ -e $release/tried ]]; then
    say "3/6 version $version is installed already"
else
    say "3/6 installing version $version beside what runs"
    install -d -m 755 "$release"
    for source in "${sources[@]}"; do rm -rf -- "${release:?}/$source" && cp -R -- "$top/$source" "$release/"; done
    if [[ -d $top/wheels ]]; then ln -sfn -- "$top/wheels" "$release/wheels"; fi
    chmod -R a+rX,go-w -- "$release"
    status=0
    bash "$release/hardware/setup.sh" || status=$?
    rm -f -- "$release/wheels"
    ((status == 0)) || fail "the new version could not be installed; ${before:+the one before goes on. }Do what the line above says." "$status"
    chmod -R a+rX -- "$release/.venv"
fi
program=$release/.venv/bin/crumbcall

# --- 4. does it work, here, with this kitchen's files? ----------------------------------------------

trial=$(mktemp -d)
trap 'rm -rf -- "$trial"' EXIT
chown crumbcall:crumbcall "$trial"
copied=$trial/copy
tried() { # what, command...
    as_service "${@:2}" >"$trial/output" 2>&1 && return
    if [[ $release != "$before" ]]; then rm -rf -- "$release"; fi
    fail "the new version fails its trial ($1: $(tail -n 1 -- "$trial/output")); ${before:+the one before goes on. }Nothing was changed."
}
if [[ -e $record/journal.sqlite ]]; then
    tried "copying the record" "$release/.venv/bin/python" -c '
import shutil, sqlite3, sys
source, target = sys.argv[1:]
shutil.copytree(source, target, ignore=shutil.ignore_patterns("kept", "journal.sqlite*", "*.damaged*", "backups"))
with sqlite3.connect(f"{target}/journal.sqlite") as copy:
    sqlite3.connect(f"{source}/journal.sqlite").backup(copy)' "$record" "$copied"
fi
if [[ -e $release/tried ]]; then
    say "4/6 it passed its trial before"
elif [[ -n ${CRUMBCALL_BOARD-} ]]; then # hardware/image/build.sh: another kind of machine would show little, slowly
    say "4/6 it is tried where it runs"
else
    say "4/6 trying it: a spoken batch, then this station's own settings and journal, as a copy"
    tried "a spoken batch" "$program" --home "$trial/home" rehearse --out "$trial/rehearsal"
    if [[ -d $copied ]]; then tried "the station's own record" "$program" --home "$copied" type; fi
    touch -- "$release/tried"
fi

# --- 5. the system's side ---------------------------------------------------------------------------

say "5/6 services, rights, log"
install_units() { # folder of a version
    local unit from=$top
    top=$1
    for unit in "${units[@]}" "$sync_unit"; do print_unit "$unit" "$lib/current" >"/etc/systemd/system/$unit"; done
    if $screen && command -v cage >/dev/null; then
        getent passwd crumbcall-screen >/dev/null ||
            useradd --system --user-group --home-dir /var/lib/crumbcall-screen --no-create-home --shell /usr/sbin/nologin crumbcall-screen
        print_unit "$screen_unit" "$lib/current" >"/etc/systemd/system/$screen_unit"
    fi
    top=$from
}
file() { install -D -m "$2" /dev/stdin "$1"; }
file "$rules" 644 <"$release/hardware/60-crumbcall.rules"
if command -v udevadm >/dev/null; then udevadm control --reload >/dev/null 2>&1 || true; fi
printf '# The log outlives a power cut, and never fills the card.\n[Journal]\nStorage=persistent\nSystemMaxUse=200M\n' |
    file "$log_file" 644
install -d /var/log/journal
if $pi; then # its timer counts to some 15 s at most
    printf '# Where the system itself hangs, the board starts anew.\n[Manager]\nRuntimeWatchdogSec=14s\n' | file "$watchdog_file" 644
fi
file "$wrapper" 755 <<WRAPPER
#!/bin/sh
# The station's program on the station's own record, as its user; files are read and written in $shared.
cd $shared 2>/dev/null || {
    echo "crumbcall: you are not in the group crumbcall; have 'sudo usermod -aG crumbcall \$(id -un)' run, and log in again." >&2
    exit 2
}
if [ "\$(id -un)" = crumbcall ]; then exec $lib/current/.venv/bin/crumbcall --home $record "\$@"; fi
exec sudo -u crumbcall -- $lib/current/.venv/bin/crumbcall --home $record "\$@"
WRAPPER
if command -v visudo >/dev/null; then
    printf '# Who is in the group crumbcall may ask the station, and nothing else, without a password.\n%%crumbcall ALL=(crumbcall) NOPASSWD: %s/current/.venv/bin/crumbcall --home %s *\n' \
        "$lib" "$record" >"$trial/sudoers"
    visudo -cqf "$trial/sudoers" && file "$sudo_file" 440 <"$trial/sudoers"
fi

# --- 6. it takes over -------------------------------------------------------------------------------

switch_to() { ln -sfn -- "$1" "$lib/switching" && mv -T -- "$lib/switching" "$lib/current"; }
running() { systemctl restart crumbcall.service >/dev/null 2>&1 && systemctl is-active --quiet crumbcall.service; }
ran=false
if systemctl is-active --quiet crumbcall.service; then ran=true; fi
if [[ $before == "$release" ]] && $ran; then say "6/6 it runs already; nothing to change" && exit 0; fi
if [[ -n $before && $before != "$release" ]]; then systemctl stop crumbcall.service >/dev/null 2>&1 || true; fi
install_units "$release"
switch_to "$release"
systemctl daemon-reload || fail "systemd does not take the services; see journalctl -e"
systemctl enable "${units[@]}" >/dev/null 2>&1 || fail "the services could not be enabled; see journalctl -e"
if [[ ${SYSTEMD_OFFLINE-} == 1 ]]; then # a card that is made elsewhere: nothing runs, no sound device is there
    say "6/6 version $version is installed, and starts with the machine"
    exit 0
fi
as_service "$program" --home "$record" setup --try-sound 2>&1 | sed 's/^/station:     /' || true
if running; then
    say "6/6 version $version runs, and starts with the machine"
elif [[ -n $before && $before != "$release" ]] && $ran; then
    systemctl stop crumbcall.service >/dev/null 2>&1 || true
    install_units "$before"
    switch_to "$before"
    systemctl daemon-reload || true
    if [[ -d $copied ]] && ! as_service "$before/.venv/bin/crumbcall" --home "$record" ledger check >/dev/null 2>&1; then
        aside=$record/journal.of-$version-$digest.sqlite
        for tail in "" -wal -shm .end; do # the log, its index and the note of its end belong to it
            if [[ -e $record/journal.sqlite$tail ]]; then as_service mv -- "$record/journal.sqlite$tail" "$aside$tail"; fi
        done
        as_service cp -- "$copied/journal.sqlite" "$record/journal.sqlite"
        say "    the version before can't read what the new one wrote: it is kept in $aside"
    fi
    rm -rf -- "$release"
    running || true
    fail "version $version did not start (journalctl -u crumbcall -e says why); the one before was put back and $(systemctl is-active crumbcall.service || true)."
else
    say "6/6 version $version is installed, but does not run yet: journalctl -u crumbcall -e says why; it is tried again every ten seconds"
fi
systemctl restart crumbcall-board.service >/dev/null 2>&1 || say "    the page on the wall does not run: journalctl -u crumbcall-board -e"
systemctl try-restart "$sync_unit" >/dev/null 2>&1 || true
if [[ -e /etc/systemd/system/$screen_unit ]]; then
    systemctl enable --now "$screen_unit" >/dev/null 2>&1 || say "    the browser does not run: journalctl -u crumbcall-screen -e"
fi
for old in "$lib"/releases/*; do # the one before stays, to go back to by hand
    if [[ $old != "$release" && $old != "$before" ]]; then rm -rf -- "$old"; fi
done
say "ready. Now: crumbcall setup${SUDO_USER:+ (log in again first, so that you are in the group crumbcall)}"
