import { describe, expect, test } from 'vitest';
import { pairFiles } from '../../src/batch/pairFiles.js';
import { shootOrder } from '../../src/batch/shootOrder.js';
import { takeOf } from '../../src/batch/takeOf.js';
import type { TimedFile } from '../../src/batch/timedFile.js';
import { fc } from '../seed.js';

const at = (path: string, times: Omit<TimedFile, 'path'> = {}): TimedFile => ({ path, ...times });

/** Pairs in words: `track + log + movie`, and what was left. */
function paired(tracks: TimedFile[], logs: TimedFile[], movies: TimedFile[] = []) {
  const { clips, loneLogs, loneMovies, unclear } = pairFiles({ tracks, logs, movies });
  return {
    clips: clips.map(({ track, log, logBy, movie, movieBy }) =>
      [
        track?.path ?? '–',
        log && `${log.path} (${logBy ?? 'itself'})`,
        movie && `${movie.path} (${movieBy})`,
      ]
        .filter((each) => each !== undefined)
        .join(' + '),
    ),
    lone: [...loneLogs, ...loneMovies].map(({ path }) => path),
    unclear,
  };
}

describe('by name', () => {
  test.each([
    ['Aisle.csv', 'aisle'],
    ['day 1/aisle_gyro.CSV', 'aisle'],
    ['aisle.track.csv', 'aisle'],
    ['AISLE-log.txt', 'aisle'],
    ['aisle.imu_log.txt', 'aisle'],
    ['gyro.csv', 'gyro'],
    ['_gyro.csv', '_gyro'],
    ['catalog.csv', 'catalog'],
    ['cafe\u0301.csv', 'caf\u00e9'],
    ['夜の温室.mov', '夜の温室'],
    [' .csv', ''],
    ['noending', 'noending'],
  ])('%s is of the take %s', (path, take) => {
    expect(takeOf(path)).toBe(take);
  });

  test('capitals, endings and known suffixes do not count', () => {
    const { clips, lone } = paired(
      [at('Aisle.track.csv'), at('tank.csv')],
      [at('aisle_gyro.csv'), at('TANK-log.csv')],
      [at('AISLE.MOV'), at('tank.mp4')],
    );
    expect(clips).toEqual([
      'Aisle.track.csv + aisle_gyro.csv (name) + AISLE.MOV (name)',
      'tank.csv + TANK-log.csv (name) + tank.mp4 (name)',
    ]);
    expect(lone).toEqual([]);
  });

  test('two takes of one name stay with the files of their own folder', () => {
    const { clips } = paired(
      [at('one/walk.csv'), at('two/tracks/walk.csv')],
      [at('two/logs/walk_gyro.csv'), at('one/walk_gyro.csv')],
      [at('two/walk.mov'), at('one/movies/walk.mov')],
    );
    expect(clips).toEqual([
      'one/walk.csv + one/walk_gyro.csv (name) + one/movies/walk.mov (name)',
      'two/tracks/walk.csv + two/logs/walk_gyro.csv (name) + two/walk.mov (name)',
    ]);
  });

  test('of two that fit equally well neither is taken, and both are named', () => {
    const { clips, lone, unclear } = paired([at('walk.csv')], [], [at('walk.mov'), at('walk.mp4')]);
    expect(clips).toEqual(['walk.csv']);
    expect(lone).toEqual(['walk.mov', 'walk.mp4']);
    expect(unclear).toEqual([
      ['walk.csv', 'walk.mov'],
      ['walk.csv', 'walk.mp4'],
    ]);
  });

  test('their times decide where names do not', () => {
    const { clips } = paired(
      [at('walk.csv', { timecodeS: 100, durationS: 10 })],
      [],
      [at('walk.mov', { timecodeS: 500 }), at('walk.mp4', { timecodeS: 100 })],
    );
    expect(clips).toEqual(['walk.csv + walk.mp4 (time code)']);
  });
});

describe('by time', () => {
  test('a time code, a stated start, then overlap', () => {
    const { clips } = paired(
      [
        at('a.csv', { timecodeS: 50_000, durationS: 20 }),
        at('b.csv', { clockS: 1.7e9, durationS: 20 }),
        at('c.csv', { clockS: 1.7e9 + 1000, durationS: 20 }),
      ],
      [],
      [
        at('x.mov', { clockS: 1.7e9 + 1, durationS: 25 }),
        at('y.mov', { timecodeS: 50_000, durationS: 20 }),
        at('z.mov', { clockS: 1.7e9 + 990, durationS: 60 }),
      ],
    );
    expect(clips).toEqual([
      'a.csv + y.mov (time code)',
      'b.csv + x.mov (start)',
      'c.csv + z.mov (overlap)',
    ]);
  });

  test('one log serves all clips that it spans, each with its own offset', () => {
    const { clips } = pairFiles({
      tracks: [0, 100, 200].map((later, k) =>
        at(`t${k}.csv`, { clockS: 1.7e9 + 5 + later, durationS: 30 }),
      ),
      logs: [at('day.csv', { clockS: 1.7e9, durationS: 300 })],
      movies: [],
    });
    expect(clips.map(({ log, logBy, logOffsetS }) => [log?.path, logBy, logOffsetS])).toEqual([
      ['day.csv', 'overlap', 5],
      ['day.csv', 'overlap', 105],
      ['day.csv', 'overlap', 205],
    ]);
  });

  test('a movie’s start stands for that of its track, but gives no offset: its clock is another', () => {
    const { clips } = pairFiles({
      tracks: [at('walk.csv', { durationS: 30 })],
      logs: [at('day.csv', { clockS: 1.7e9, durationS: 300 })],
      movies: [at('walk.mov', { clockS: 1.7e9 + 60, durationS: 30 })],
    });
    expect(clips[0]).toMatchObject({ log: { path: 'day.csv' }, logBy: 'overlap' });
    expect(clips[0]).not.toHaveProperty('logOffsetS');
  });

  test('a time code goes on past midnight', () => {
    const { clips } = pairFiles({
      tracks: [at('walk.csv', { timecodeS: 60, durationS: 30 })],
      logs: [at('night.csv', { timecodeS: 86_340, durationS: 300 })],
      movies: [],
    });
    expect(clips[0]).toMatchObject({ logBy: 'time code', logOffsetS: 120 });
  });

  test('what does not overlap is no pair', () => {
    const { clips, lone } = paired(
      [at('walk.csv', { clockS: 1.7e9, durationS: 30 })],
      [at('day.csv', { clockS: 1.7e9 + 3600, durationS: 300 })],
    );
    expect({ clips, lone }).toEqual({ clips: ['walk.csv'], lone: ['day.csv'] });
  });
});

describe('logs without a name or time in common', () => {
  test('the only one beside tracks is theirs where it is long enough for all', () => {
    const tracks = [at('a.csv', { durationS: 30 }), at('b.csv', { durationS: 40 })];
    const logs = (durationS: number) => [at('day.csv', { durationS })];
    expect(paired(tracks, logs(70)).clips).toEqual([
      'a.csv + day.csv (only)',
      'b.csv + day.csv (only)',
    ]);
    expect(paired(tracks, logs(60))).toMatchObject({
      clips: ['a.csv', 'b.csv'],
      lone: ['day.csv'],
    });
    const second = [...logs(70), at('other.csv', { durationS: 70 })];
    expect(paired(tracks, second).clips).toEqual(['a.csv', 'b.csv']);
  });

  test('one that goes with another track by name is not guessed at', () => {
    const tracks = [at('a.csv', { durationS: 3 }), at('b.csv', { durationS: 4 })];
    expect(paired(tracks, [at('a_gyro.csv', { durationS: 99 })]).clips).toEqual([
      'a.csv + a_gyro.csv (name)',
      'b.csv',
    ]);
  });

  test('where no track lies beside it, a log is a clip of its own', () => {
    const { clips, lone } = paired([at('t/a.csv')], [at('g/b.csv'), at('g/c.csv')], [at('c.mov')]);
    expect(clips).toEqual([
      '– + g/b.csv (itself)',
      '– + g/c.csv (itself) + c.mov (name)',
      't/a.csv',
    ]);
    expect(lone).toEqual([]);
  });
});

describe('any files', () => {
  const file = fc.record(
    {
      path: fc
        .tuple(
          fc.constantFrom('', 'one/', 'two/', 'one/deep/'),
          fc.constantFrom('a', 'b', 'A', 'a_gyro', 'b.track', 'é'),
        )
        .map(([folder, stem]) => `${folder}${stem}`),
      durationS: fc.constantFrom(10, 20, 300),
      clockS: fc.constantFrom(1.7e9, 1.7e9 + 1, 1.7e9 + 100),
      timecodeS: fc.constantFrom(0, 1, 3600, 86_399),
    },
    { requiredKeys: ['path'] },
  );
  const files = fc.uniqueArray(file, { maxLength: 7, selector: ({ path }) => path });
  const shoot = fc.record({
    tracks: files.map((all) => all.map((each) => ({ ...each, path: `${each.path}.csv` }))),
    logs: files.map((all) => all.map((each) => ({ ...each, path: `${each.path}.log` }))),
    movies: files.map((all) => all.map((each) => ({ ...each, path: `${each.path}.mov` }))),
  }) as fc.Arbitrary<Record<'tracks' | 'logs' | 'movies', TimedFile[]>>;

  test('every track is one clip, every movie goes with one at most, and nothing is lost', () => {
    fc.assert(
      fc.property(shoot, ({ tracks, logs, movies }) => {
        const { clips, loneLogs, loneMovies } = pairFiles({ tracks, logs, movies });
        const of = (key: 'track' | 'log' | 'movie') =>
          clips.flatMap((clip) => clip[key]?.path ?? []);
        const paths = (all: readonly TimedFile[]) => all.map(({ path }) => path).sort();
        expect(of('track').sort()).toEqual(paths(tracks));
        expect([...of('movie'), ...paths(loneMovies)].sort()).toEqual(paths(movies));
        expect([...new Set([...of('log'), ...paths(loneLogs)])].sort()).toEqual(paths(logs));
        expect(of('log').filter((path) => paths(loneLogs).includes(path))).toEqual([]);
      }),
    );
  });

  test('the order in which a disk lists them changes nothing', () => {
    fc.assert(
      fc.property(shoot, ({ tracks, logs, movies }) => {
        const turned = {
          tracks: [...tracks].reverse(),
          logs: [...logs].reverse(),
          movies: [...movies].reverse(),
        };
        const { unclear: _, ...one } = pairFiles({ tracks, logs, movies });
        const { unclear: __, ...other } = pairFiles(turned);
        expect(other).toEqual(one);
      }),
    );
  });

  test('files paired by name have the same take, and an offset is what their own times say', () => {
    fc.assert(
      fc.property(shoot, (all) => {
        for (const { track, log, logBy, logOffsetS } of pairFiles(all).clips) {
          if (logBy === 'name') expect(takeOf(log!.path)).toBe(takeOf(track!.path));
          if (logOffsetS === undefined) continue;
          const byCode = track!.timecodeS !== undefined && log!.timecodeS !== undefined;
          const apart = byCode
            ? track!.timecodeS! - log!.timecodeS!
            : track!.clockS! - log!.clockS!;
          expect((((logOffsetS - apart) % 86_400) + 86_400) % 86_400).toBe(0);
        }
      }),
    );
  });
});

describe('the order of the shoot', () => {
  const order = (files: TimedFile[]) => shootOrder(files, (each) => each).map(({ path }) => path);

  test('time codes go before names, past midnight too', () => {
    const times = [79_200, 600, 82_800, 0];
    const files = times.map((timecodeS, k) => at(`take-${k}.csv`, { timecodeS }));
    expect(order(files)).toEqual(['take-0.csv', 'take-2.csv', 'take-3.csv', 'take-1.csv']);
  });

  test('without a time names are counted as people count', () => {
    expect(order(['b/2', 'a/take-10', 'a/take-9', 'b/1'].map((path) => at(path)))).toEqual([
      'a/take-9',
      'a/take-10',
      'b/1',
      'b/2',
    ]);
  });

  test('those without a time keep the place of their name', () => {
    const files = [
      at('1', { clockS: 30 }),
      at('2'),
      at('3', { clockS: 10 }),
      at('4', { clockS: 20 }),
    ];
    expect(order(files)).toEqual(['3', '2', '4', '1']);
  });
});

test('thousands of files are paired in linear time by name', () => {
  const many = (ending: string) => Array.from({ length: 5000 }, (_, k) => at(`take-${k}${ending}`));
  const { clips } = pairFiles({
    tracks: many('.csv'),
    logs: many('_gyro.csv'),
    movies: many('.mov'),
  });
  expect(clips).toHaveLength(5000);
  expect(clips.every(({ log, movie }) => log && movie)).toBe(true);
});
