#!/bin/sh
# A shoot in shares through GNU parallel, on one machine or on several that see the same folders.
#
#   shoot-parallel.sh shoot.json OUT_FOLDER SHARES [OPTIONS OF parallel]
#   shoot-parallel.sh shoot.json out 8 --jobs 4
#   shoot-parallel.sh shoot.json out 32 --sshlogin potting-shed,palm-house
#
# Exit code 0: every clip was corrected; 1: some clip failed, or a share did not run.
set -eu
if [ $# -lt 3 ] || [ "$3" -lt 2 ]; then
  echo "usage: $0 shoot.json OUT_FOLDER SHARES (2 or more) [OPTIONS OF parallel]" >&2
  exit 2
fi
twinkeel=${TWINKEEL:-twinkeel}
# Whole paths, since other machines start in another folder.
shoot=$(realpath "$1")
mkdir -p "$2"
out=$(realpath "$2")
shares=$3
shift 3

# A summary of an earlier run must not stand in for a share that fails now.
rm -f "$out"/shoot.summary.*-of-*.json
# A clip that fails ends its share with 1; the others go on, and merging tells.
seq "$shares" | parallel --will-cite --quote "$@" \
  "$twinkeel" correct "$shoot" --out "$out" --jobs 1 --shard "{}/$shares" >/dev/null || true
exec "$twinkeel" merge "$out"/shoot.summary.*-of-"$shares".json --out "$out/shoot.summary.json" --force
