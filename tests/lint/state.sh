#!/bin/sh
# No global mutable state: the built library has nothing that can be written to outside arenas.
cd "$(dirname "$0")/../.." || exit 2
library=build/libtrunnion_core.a
[ -f "$library" ] || { echo "$library is not there; build first"; exit 1; }
found=$(nm -A -f sysv "$library" 2>/dev/null |
    awk -F'|' '{ gsub(/ /, "", $7); gsub(/ +$/, "", $1) } $7 ~ /^\.(data|bss|tbss|tdata)(\.|$)/ && $7 !~ /^\.data\.rel\.ro/ { print $1 " can be written to (" $7 ")" }
                $3 ~ /C/ { print $1 " is common storage" }')
[ -z "$found" ] || { printf '%s\n' "$found"; exit 1; }
