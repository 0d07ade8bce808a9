#!/bin/sh
# Installs what is needed to build, builds, and verifies the demo:  sh examples/try.sh
cd "$(dirname "$0")/.." || exit 2
set -eu

sh tests/install.sh build

echo "Building build/trunnion"
log=$(mktemp)
trap 'rm -f "$log"' EXIT
if ! { cmake -B build &&
    cmake --build build --target trunnion --parallel "$(nproc)"; } >"$log" 2>&1; then
    tail -n 40 "$log"
    echo "The build failed."
    exit 1
fi

# shown COMMAND…: prints it as one would type it, and runs it.
shown() {
    printf '\n$ %s\n' "$*"
    "$@"
}

# last_line COMMAND…: the same, but only the last line of what it says.
last_line() {
    printf '\n$ %s | tail -n 1\n' "$*"
    if ! "$@" >"$log" 2>&1; then
        tail -n 40 "$log"
        exit 1
    fi
    tail -n 1 "$log"
}

demo=examples/jar-handler
shown build/trunnion verify $demo/lift.trn.md
shown build/trunnion verify $demo/carousel.trn.md

# The other axes say as much; here, how they end: belt drive, 8 mm motor, linear motor, stepping motor, and all on one supply.
for other in hatch gripper nozzle dish supply; do
    last_line build/trunnion verify $demo/$other.trn.md
done

status=0
shown build/trunnion verify $demo/lift-warm.trn.md || status=$?
if [ "$status" -ne 1 ]; then
    echo "lift-warm.trn.md should not hold, exit status 1, but the exit status is $status."
    exit 1
fi
echo "(exit status 1, as it should be: the same lift with a smaller motor does not hold.)"

shown build/trunnion report $demo/lift.trn.md --format text --output build/lift.txt
shown build/trunnion report $demo/lift.trn.md --format html --output build/lift.html
echo
head -n 60 build/lift.txt
[ "$(wc -l <build/lift.txt)" -le 60 ] || echo "… and so on: the whole of it is in build/lift.txt"
echo
echo "The same for a browser: $(pwd)/build/lift.html"
