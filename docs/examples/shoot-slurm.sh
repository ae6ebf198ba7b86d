#!/bin/sh
# A shoot in shares as a Slurm job array, and a job behind it that joins them. Call it where sbatch is:
#
#   shoot-slurm.sh shoot.json OUT_FOLDER SHARES [OPTIONS OF sbatch FOR EACH SHARE]
#   shoot-slurm.sh shoot.json out 16 --cpus-per-task=4 --time=2:00:00
#
# It prints the number of the job that joins. Manifest, clips and OUT_FOLDER must lie where every node
# sees them.
set -eu
if [ $# -lt 3 ] || [ "$3" -lt 2 ]; then
  echo "usage: $0 shoot.json OUT_FOLDER SHARES (2 or more) [OPTIONS OF sbatch]" >&2
  exit 2
fi
twinkeel=${TWINKEEL:-twinkeel}
shoot=$(realpath "$1")
mkdir -p "$2"
out=$(realpath "$2")
shares=$3

if [ -n "${SLURM_ARRAY_TASK_ID:-}" ]; then
  # One share; with --jobs as many workers as Slurm gives processors.
  exec "$twinkeel" correct "$shoot" --out "$out" \
    --jobs "${SLURM_CPUS_PER_TASK:-1}" --shard "$SLURM_ARRAY_TASK_ID/$shares"
elif [ -n "${SLURM_JOB_ID:-}" ]; then
  exec "$twinkeel" merge "$out"/shoot.summary.*-of-"$shares".json \
    --out "$out/shoot.summary.json" --force
fi

shift 3
# A summary of an earlier run must not stand in for a share that fails now.
rm -f "$out"/shoot.summary.*-of-*.json
job=$(sbatch --parsable --job-name=shoot --array="1-$shares" --output="$out/share-%a.log" "$@" \
  "$0" "$shoot" "$out" "$shares")
# afterany, not afterok: a clip that fails ends its share with 1, and the others are joined still.
sbatch --parsable --job-name=shoot-merge --dependency="afterany:${job%%;*}" \
  --output="$out/merge.log" "$0" "$shoot" "$out" "$shares"
