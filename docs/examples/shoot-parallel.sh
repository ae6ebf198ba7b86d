#!/bin/sh
# A shoot in N shares with GNU parallel, then one summary.
#   sh shoot-parallel.sh shoot.json corrected 4
# Over several machines that share the folders: add  --sshlogin studio1,studio2 --workdir .
set -eu
[ $# -eq 3 ] || { echo "usage: sh shoot-parallel.sh MANIFEST OUT_FOLDER SHARES" >&2; exit 2; }
manifest=$1 folder=$2 shares=$3
twinkeel=${TWINKEEL:-npx twinkeel}

# A clip that fails does not stop the others: its share ends with 1, and the merge says which it was.
seq "$shares" | parallel --will-cite \
  "$twinkeel correct '$manifest' --out '$folder' --jobs 1 --shard {}/$shares" || true
$twinkeel merge "$folder"/shoot.summary.*-of-"$shares".json --out "$folder/shoot.summary.json" --force
