#!/usr/bin/env bash
# Make this checkout ready to run: the system's packages, a virtual environment, the program in it.
# It can be run again at any time: what is already done is skipped.
set -euo pipefail

usage() {
    cat <<'TEXT'
Usage: bash hardware/setup.sh [--dev | --station | --uninstall | --make-wheels | --print-service] [--help]

Makes this folder ready to run Crumbcall, on Debian 12, Debian 13 or Raspberry Pi OS (64 bit):
  1. installs missing system packages with apt (only then it needs root or sudo),
  2. makes the virtual environment .venv,
  3. installs the program into it, with the page on the wall: every file by its hash, hardware/requirements.txt,
  4. checks that it starts.

  --dev       also what the tests need; the program runs from this folder, so edits take effect at once
  --station   makes this machine a kitchen's station, or brings one up to date: user, folders, service, the
              page on the wall, a log that stays small, sound devices chosen by trying (needs root; --service,
              its old name, works too). A new version is tried before it takes over, and taken back if it fails
  --uninstall takes all of that away; settings and journal in /var/lib/crumbcall stay
  --make-wheels  only fetches all libraries into the folder wheels here, for a machine without network: where
              there is such a folder, setting up takes them from it
  --print-service  only prints the service
  --help      this text

Example: bash hardware/setup.sh && .venv/bin/crumbcall rehearse
TEXT
}

say() { printf 'setup: %s\n' "$*"; }
fail() { # text [exit code]
    printf 'setup: %s\n' "$1" >&2
    exit "${2:-1}"
}

dev=false task=
for option in "$@"; do
    case $option in
        --dev) dev=true ;;
        --station | --service) task=install ;;
        --uninstall | --make-wheels | --print-service) task=${option#--} ;;
        --help | -h) usage && exit 0 ;;
        *) fail "found the option '$option', allowed are --dev, --station, --uninstall, --make-wheels, --print-service and --help; leave it out." 2 ;;
    esac
done

top=$(cd -- "$(dirname -- "${BASH_SOURCE[0]}")/.." && pwd -P)
cd -- "$top"

case $task in
    install | uninstall) exec bash hardware/station.sh "$task" ;;
    print-service) exec bash hardware/station.sh print crumbcall.service "$top" ;;
esac

[[ -w . ]] || fail "this folder ($top) can't be written by $(id -un); run this as its owner." 2
output=$(mktemp)
trap 'rm -f -- "$output"' EXIT

# The tools' output is kept back; after a failure the reason is shown, and what to do about it.
quietly() { "$@" </dev/null >"$output" 2>&1; }
reason() {
    local line
    if grep -qF 'CERTIFICATE_VERIFY_FAILED' "$output"; then
        printf "the package index's certificate is not accepted; set this machine's date (it is %s), " "$(date +%F)"
        printf 'or name the certificate of your proxy in PIP_CERT, and run this again.'
        return
    fi
    if grep -qE 'Retrying \(|NewConnectionError|Temporary failure|Could not (resolve|connect)' "$output"; then
        printf 'the network does not answer; connect this machine and run this again.'
        return
    fi
    line=$(grep -E '^(E:|ERROR:|error:)' "$output" | tail -n 1) || line=$(tail -n 1 -- "$output")
    printf '%s; fix that and run this again.' "${line:-no reason given}"
}

# --- the machine ---------------------------------------------------------------------------------

by_hand="install libportaudio2, espeak-ng and Python 3.11 or newer by hand, then: \
python3 -m venv .venv && .venv/bin/pip install -c hardware/constraints.txt '.[board]'"
system=$(sed -n 's/^PRETTY_NAME="\{0,1\}\([^"]*\)"\{0,1\}$/\1/p' /etc/os-release 2>/dev/null || true)
id=$(sed -n 's/^ID="\{0,1\}\([^"]*\)"\{0,1\}$/\1/p' /etc/os-release 2>/dev/null || true)
release=$(sed -n 's/^VERSION_ID="\{0,1\}\([0-9]*\).*$/\1/p' /etc/os-release 2>/dev/null || true)
if [[ $id != debian && $id != raspbian ]] || ((${release:-13} < 12)) || ! command -v dpkg-query >/dev/null; then
    fail "found ${system:-$(uname -s)}, allowed are Debian 12, Debian 13 and Raspberry Pi OS; $by_hand" 2
fi
architecture=$(dpkg --print-architecture)
if [[ $architecture != amd64 && $architecture != arm64 ]]; then
    fail "found a $architecture system, allowed are amd64 and arm64; on a Raspberry Pi install the 64-bit system." 2
fi
pi=false # CRUMBCALL_BOARD: where a card is made elsewhere, hardware/image/build.sh
if [[ ${CRUMBCALL_BOARD-} == pi ]] || grep -qs 'Raspberry Pi' /sys/firmware/devicetree/base/model; then pi=true; fi

# On a Pi the pin driver is a system package, so it must be the system's own Python.
find_python() {
    local candidate candidates=(python3 python3.13 python3.12 python3.11 /usr/bin/python3)
    if $pi; then candidates=(/usr/bin/python3); fi
    for candidate in "${candidates[@]}"; do
        if "$candidate" -c 'import ensurepip, sys, venv; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            printf '%s' "$candidate"
            return
        fi
    done
    return 1
}

# The libraries for both kinds of machine and both Pythons; a few pure ones have no wheel and are built there.
if [[ $task == make-wheels ]]; then
    python=.venv/bin/python
    if [[ ! -x $python ]]; then python=$(find_python) || fail "found no Python 3.11 or newer; run this without --make-wheels first." 2; fi
    for version in 3.11 3.13; do
        for kind in aarch64 x86_64; do
            platforms=(--platform "manylinux2014_$kind")
            for libc in 5 12 17 24 26 27 28 31 34 35 36; do platforms+=(--platform "manylinux_2_${libc}_$kind"); done
            say "fetching for Python $version on $kind"
            quietly "$python" -m pip download --disable-pip-version-check --no-input --quiet --retries 8 --no-deps \
                --prefer-binary --require-hashes --python-version "$version" "${platforms[@]}" --dest wheels \
                --requirement hardware/requirements-build.txt --requirement hardware/requirements.txt ||
                fail "pip could not fetch the libraries: $(reason)"
        done
    done
    say "ready: $(find wheels -type f | wc -l) files in wheels. Copy this whole folder to a stick; on the station: sudo bash hardware/setup.sh --station"
    exit 0
fi

# --- 1. the system's packages --------------------------------------------------------------------

here() { [[ $(dpkg-query -W -f '${db:Status-Status}' "$1" 2>/dev/null) == installed ]]; }
missing_of() {
    local package
    for package in "$@"; do here "$package" || printf '%s\n' "$package"; done
}

needed=(libportaudio2 espeak-ng)
if [[ $architecture == arm64 ]]; then needed+=(libatomic1); fi # a library of the Vosk engine needs it there
# Everything else works without these; those are of sheets, labels and their printer.
wanted=(libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 fonts-dejavu-core libusb-1.0-0)
if ! find_python >/dev/null; then needed+=(python3-venv); fi
# The pin driver: a library like the others up to Python 3.12, beyond that there is only the system's package.
if $pi && ! "$(find_python || printf false)" -c 'import sys; sys.exit(sys.version_info >= (3, 13))'; then wanted+=(python3-lgpio); fi
if $dev; then wanted+=(chromium gcc libc6-dev openssl postgresql pulseaudio pulseaudio-utils libasound2-plugins shellcheck); fi
mapfile -t missing < <(missing_of "${needed[@]}")
mapfile -t missing_wanted < <(missing_of "${wanted[@]}")

as_root=()
apt() { # no installed package is ever removed
    quietly "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get -qq -o DPkg::Lock::Timeout=300 "$@"
}
if ((EUID != 0)); then as_root=(sudo); fi
all_missing=("${missing[@]}" "${missing_wanted[@]}")
if ((${#all_missing[@]} == 0)); then
    say "1/4 the system's packages are here already"
elif ((EUID != 0)) && ! { command -v sudo >/dev/null && sudo true; }; then
    by_root="neither root nor a sudo that works: have root run 'apt-get install ${all_missing[*]}', then run this again."
    if ((${#missing[@]})); then fail "$by_root"; fi
    say "1/4 going on without ${missing_wanted[*]}; what needs them stays off ($by_root)"
else
    say "1/4 installing with apt: ${all_missing[*]}"
    apt update || say "    apt-get update failed, going on with the old lists: $(reason)"
    if ((${#missing[@]})); then
        apt install --yes --no-remove --no-install-recommends "${missing[@]}" ||
            fail "apt-get could not install ${missing[*]}: $(reason)"
    fi
    for package in "${missing_wanted[@]}"; do
        apt install --yes --no-remove --no-install-recommends "$package" ||
            say "    going on without $package, what needs it stays off: $(reason)"
    done
fi
python=$(find_python) || fail "found no Python 3.11 or newer that can make a virtual environment; install python3-venv with apt and run this again."

# --- 2. the virtual environment ------------------------------------------------------------------

# Its scripts contain its path: a checkout that was copied or moved needs a new one.
venv_usable() {
    .venv/bin/python -c 'import pip, sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null &&
        grep -qsF -- "$top/.venv/bin/python" .venv/bin/pip &&
        { ! $pi || grep -qs 'include-system-site-packages = true' .venv/pyvenv.cfg; }
}
if venv_usable; then
    say "2/4 the virtual environment .venv is here already"
else
    say "2/4 making the virtual environment .venv with $("$python" --version)"
    options=(--clear)
    if $pi; then options+=(--system-site-packages); fi
    quietly "$python" -m venv "${options[@]}" .venv ||
        fail "no virtual environment could be made: $(reason)"
fi

# --- 3. the program ------------------------------------------------------------------------------

# A stamp in .venv says which kind of installation it has, and of which sources.
stamp=.venv/crumbcall-setup
if ! $dev && grep -qs '^dev ' "$stamp"; then
    dev=true
    say "    it was made with --dev and stays so"
fi
if $dev; then
    kind=dev sources=() target=(--editable .) libraries=hardware/requirements-dev.txt
else
    kind=plain sources=(assistant grammar) target=(.) libraries=hardware/requirements.txt
fi
digest=$(find pyproject.toml hardware/requirements-build.txt "$libraries" "${sources[@]}" -type f ! -name '*.pyc' -print0 |
    LC_ALL=C sort -z | xargs -0 sha256sum | sha256sum | cut -d ' ' -f 1)
if [[ $(cat "$stamp" 2>/dev/null) == "$kind $digest" ]]; then
    say "3/4 the program is installed already"
else
    say "3/4 installing the program and its libraries: minutes the first time"
    rm -f -- "$stamp"
    # A kitchen's network comes and goes: pip tries for a minute or two before it gives up.
    install=(.venv/bin/python -m pip install --disable-pip-version-check --no-input --quiet --retries 8)
    if [[ -d wheels ]]; then
        say "    from the folder wheels, without network"
        install+=(--no-index --find-links wheels)
    fi
    # Nothing is installed that is not known by its hash; what is built is built with tools that are, too.
    no_install() { fail "pip could not install the program: $(reason)"; }
    quietly "${install[@]}" --require-hashes --requirement hardware/requirements-build.txt || no_install
    quietly "${install[@]}" --require-hashes --no-build-isolation --requirement "$libraries" || no_install
    quietly "${install[@]}" --no-deps --no-build-isolation "${target[@]}" || no_install
fi

# --- 4. does it start? ---------------------------------------------------------------------------

quietly .venv/bin/crumbcall --version ||
    fail "the program does not start: $(tail -n 1 -- "$output"); remove the folder .venv and run this again."
printf '%s %s\n' "$kind" "$digest" >"$stamp"

if [[ $kind == dev ]]; then next='.venv/bin/python -m pytest'; else next='.venv/bin/crumbcall rehearse'; fi
say "4/4 ready: $(head -n 1 -- "$output"). Next: $next"
