// biome-ignore-all lint/suspicious/noTemplateCurlyInString: these are the shell’s own

import { type FrameRate, formatFrameRate } from '../track/frameRate.js';

/** What a script must know of the movie that it may steady. */
export interface ExpectedMovie {
  readonly rate: FrameRate;
  /** Frames that the movie must have at least. */
  readonly frameCount: number;
  /** Frames that are left out at its beginning. */
  readonly skipped: number;
}

/**
 * The beginning of a script: names made harmless, helpers, and every check before the first frame.
 * After it `$movie` and `$out` are whole paths, `$parts` a folder to work in, `$encode` the encoder's
 * options and `$code` the time code of the first steadied frame; the working folder is the script's.
 *
 * Plain POSIX sh; names go through no command substitution, which would strip newlines, and reach
 * ffmpeg behind `file:`, which takes them literally.
 */
export function shellHead(expected: ExpectedMovie): string[] {
  const { rate, frameCount, skipped } = expected;
  return [
    'set -eu',
    'unset CDPATH',
    `say() { printf '%s\\n' "$*"; }`,
    'fail() { say "$*" >&2; exit 1; }',
    '[ $# -eq 2 ] || { say "usage: sh steady.sh MOVIE OUT.mov" >&2; exit 2; }',
    'case $1 in /*) movie=$1 ;; *) movie=$PWD/$1 ;; esac',
    'case $2 in /*) out=$2 ;; *) out=$PWD/$2 ;; esac',
    '[ -f "$movie" ] && [ -r "$movie" ] || fail "cannot read $1"',
    '[ ! -e "$out" ] || fail "$2 exists; choose another name"',
    'case $0 in */*) here=${0%/*} ;; *) here=. ;; esac',
    'case $here in /*) ;; *) here=$PWD/$here ;; esac',
    'cd "$here"',
    'for program in ffmpeg ffprobe; do',
    '  command -v "$program" > /dev/null || fail "cannot find $program; install it first"',
    'done',
    `probe() { ffprobe -v error -select_streams v:0 -of default=nw=1:nk=1 "$@" | head -n 1; }`,
    `count() { probe -count_packets -show_entries stream=nb_read_packets "file:$1"; }`,
    ...rateCheck(rate),
    'turn=$(probe -show_entries stream_side_data=rotation "file:$movie")',
    `case \${turn:-0} in 0|-0) ;; *) fail "$1: found pictures that players turn by $turn degrees, expected pictures as they are shown; let ffmpeg write an upright copy and track that" ;; esac`,
    'found=$(count "$movie")',
    `[ "\${found:-0}" -ge ${frameCount} ] || fail "$1: found \${found:-0} frames, expected at least ${frameCount}; take the whole movie that was tracked, or hand the corrections over again with --trim"`,
    ...timecodeCount(rate, skipped),
    'stats=-nostats',
    '[ ! -t 2 ] || stats=-stats',
    `encode=\${ENCODE:--c:v libx264 -crf 14 -preset medium}`,
    'child=',
    'stop() { [ -z "$child" ] || kill "$child" 2> /dev/null || :; wait; exit "$1"; }',
    `trap 'stop 130' INT`,
    `trap 'stop 143' TERM`,
    `trap 'stop 129' HUP`,
    'parts=$(mktemp -d "${out%/*}/parts.XXXXXX")',
    `trap 'rm -rf "$parts"' EXIT`,
    '# In the background, since a shell hears signals only between programs.',
    'run() { ffmpeg -nostdin -v error "$stats" -xerror "$@" & child=$!; wait "$child"; child=; }',
    'expect() {',
    '  found=$(count "$1")',
    '  [ "${found:-0}" -eq "$2" ] || fail "found ${found:-0} frames in $3, expected $2; nothing was written"',
    '}',
  ];
}

/** Both rates that a file states; where they differ much, frames are not evenly spaced. */
function rateCheck(rate: FrameRate): string[] {
  const { numerator, denominator } = rate;
  const words = formatFrameRate(rate);
  return [
    'rate=$(probe -show_entries stream=r_frame_rate "file:$movie")',
    'mean=$(probe -show_entries stream=avg_frame_rate "file:$movie")',
    'case $rate in *[!0-9/]*|""|*/0|0/*) rate=0/1 ;; esac',
    'case $mean in *[!0-9/]*|""|*/0|0/*) mean=$rate ;; esac',
    `same() { [ $((\${1%/*} * ${denominator})) -eq $((\${1#*/} * ${numerator})) ]; }`,
    '# Within two parts in a hundred: short clips with coarse stamps tell their mean no better.',
    `near() { gap=$((\${1%/*} * ${denominator} - \${1#*/} * ${numerator})); [ $((\${gap#-} * 50)) -le $((\${1#*/} * ${numerator})) ]; }`,
    `if same "$mean" || { same "$rate" && near "$mean"; }; then :; else`,
    `  fail "$1: found $rate frames per second (mean $mean), expected ${words} evenly; take the movie that was tracked, or correct the track again with --rate"`,
    'fi',
  ];
}

/**
 * Counts the time code on by the frames that are left out; drop-frame counting leaves out two labels
 * (four at 60000/1001) at the start of every minute but each tenth.
 *
 * @see SMPTE ST 12-1; track/timecode.ts
 */
function timecodeCount(rate: FrameRate, skipped: number): string[] {
  const nominal = Math.round(rate.numerator / rate.denominator);
  const dropped = nominal % 30 === 0 && rate.denominator === 1001 ? nominal / 15 : 0;
  const perMinute = nominal * 60 - dropped;
  const perTen = nominal * 600 - 9 * dropped;
  const codes = 'stream_tags=timecode:format_tags=timecode';
  return [
    `code=$(probe -show_entries ${codes} "file:$movie")`,
    `code=\${code:-$(probe -show_entries stream_tags=TIMECODE:format_tags=TIMECODE "file:$movie")}`,
    ...(skipped === 0
      ? []
      : [
          'number() { n=${1#0}; say "${n:-0}"; }',
          'codes=$(ffprobe -v error -select_streams d -show_entries stream=avg_frame_rate -of default=nw=1:nk=1 "file:$movie" | head -n 1)',
          'case $code in',
          `  [0-9][0-9]:[0-5][0-9]:[0-5][0-9][:\\;.][0-9][0-9])`,
          '    h=$(number "${code%%:*}"); rest=${code#*:}; m=$(number "${rest%%:*}"); rest=${rest#*:}',
          '    f=${rest#??}; s=$(number "${rest%"$f"}"); mark=${f%??}; f=$(number "${f#?}")',
          `    drop=0; [ "$mark" = : ] || drop=${dropped}`,
          `    if [ "$f" -ge ${nominal} ] || { [ "$mark" != : ] && [ ${dropped} -eq 0 ]; } || case $codes in ""|0/*|${formatFrameRate(rate)}|${rate.numerator}/${rate.denominator}) false ;; esac; then`,
          '      say "the time code $code does not count the frames of this movie; none is written" >&2; code=',
          '    else',
          '      minutes=$((h * 60 + m))',
          `      n=$(((minutes * 60 + s) * ${nominal} + f - drop * (minutes - minutes / 10) + ${skipped}))`,
          '      if [ "$drop" -gt 0 ]; then',
          `        n=$((n % (${perTen} * 144))); within=$((n % ${perTen})); skip=0`,
          `        [ "$within" -lt ${nominal * 60} ] || skip=$((1 + (within - ${nominal * 60}) / ${perMinute}))`,
          `        n=$((n + drop * (9 * (n / ${perTen}) + skip)))`,
          '      fi',
          `      t=$((n / ${nominal}))`,
          `      code=$(printf '%02d:%02d:%02d%s%02d' $((t / 3600 % 24)) $((t / 60 % 60)) $((t % 60)) "$mark" $((n % ${nominal})))`,
          '    fi ;;',
          '  *) code= ;;',
          'esac',
        ]),
  ];
}
