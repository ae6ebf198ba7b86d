#!/bin/sh
#SBATCH --job-name=greenhouse
#SBATCH --cpus-per-task=1
#SBATCH --mem=2G
# A shoot as a Slurm job array; the folders must be seen from every node.
#   job=$(sbatch --parsable --array=1-8 shoot-slurm.sh shoot.json corrected)
#   sbatch --dependency=afterany:"$job" --wrap \
#     'npx twinkeel merge corrected/shoot.summary.*-of-8.json --out corrected/shoot.summary.json --force'
set -eu
[ $# -eq 2 ] || { echo "usage: sbatch --array=1-N shoot-slurm.sh MANIFEST OUT_FOLDER" >&2; exit 2; }
${TWINKEEL:-npx twinkeel} correct "$1" --out "$2" --jobs 1 \
  --shard "$SLURM_ARRAY_TASK_ID/$SLURM_ARRAY_TASK_COUNT"
