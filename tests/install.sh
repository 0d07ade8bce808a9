#!/bin/sh
# Installs the Debian 12 packages that are missing, and says so:  sh tests/install.sh build|test
# Does nothing, and needs no network, when they are all there.
set -eu

build="gcc libc6-dev cmake make re2c lemon libutf8proc-dev libcmark-gfm-dev libcmark-gfm-extensions-dev libjansson-dev libmd-dev"
test="clang libclang-rt-14-dev libcriterion-dev libudunits2-dev git python3-mpmath python3-numpy"

case "${1:-}" in
build) wanted=$build ;;
test) wanted="$build $test" ;;
*) echo "usage: sh tests/install.sh build|test" >&2; exit 2 ;;
esac

if ! command -v dpkg-query >/dev/null 2>&1; then
    echo "This is not a Debian system, so nothing is installed. Needed, by their Debian names: $wanted"
    exit 0
fi

missing=""
for package in $wanted; do
    state=$(dpkg-query -W -f='${db:Status-Status}' "$package" 2>/dev/null || true)
    [ "$state" = installed ] || missing="$missing $package"
done
[ -n "$missing" ] || exit 0

echo "Installing$missing"
as_root=""
if [ "$(id -u)" -ne 0 ]; then
    command -v sudo >/dev/null 2>&1 || { echo "Only root can install packages, and there is no sudo here." >&2; exit 1; }
    as_root=sudo
fi
log=$(mktemp)
trap 'rm -f "$log"' EXIT
if ! { $as_root apt-get -q update &&
    $as_root env DEBIAN_FRONTEND=noninteractive apt-get -q -y --no-install-recommends install $missing; } >"$log" 2>&1 </dev/null; then
    tail -n 20 "$log" >&2
    echo "apt-get could not install them." >&2
    exit 1
fi
