import { describe, expect, test } from 'vitest';
import { handOff } from '../../src/handoff/handOff.js';
import { describeHandoff, pictureNote } from '../../src/handoff/sidecar.js';
import { clipCoverage } from '../../src/rig/clipCoverage.js';
import { DEFAULT_RIG, type StereoRig } from '../../src/rig/stereoRig.js';
import { eyesWith } from '../rig/eyes.js';
import { turn } from '../turns.js';
import { resultOf } from './results.js';

const deg = Math.PI / 180;
/** A view turned by 4.4° to the left in the second frame: within the 5° of a 190° fisheye. */
const PARTS = {
  intended: [turn([0, 1, 0], 0).q, turn([0, 1, 0], 0).q],
  corrections: [turn([0, 1, 0], 0).q, turn([0, 1, 0], 4.4 * deg).q],
};
const fisheye = resultOf({ ...PARTS, rig: DEFAULT_RIG, picture: 'fisheye' });
const half = resultOf({ ...PARTS, rig: DEFAULT_RIG, picture: 'half-equirect' });
const HALF = { picture: { projection: 'half-equirect' } } as const;
const FISHEYE = { picture: { projection: 'fisheye' } } as const;

test('a fisheye that is named without a field has that of the rig in the result', () => {
  const { lens } = DEFAULT_RIG;
  const rig = { ...DEFAULT_RIG, lens: { ...lens, fieldDeg: 203 } };
  const result = resultOf({ ...PARTS, rig, picture: 'half-equirect' });
  const chain = handOff(result, 'ffmpeg', 'walk', FISHEYE).map(({ content }) => String(content));
  expect(chain.join()).toContain('ih_fov=203:iv_fov=203');
});

describe('pictures that the result was not corrected for', () => {
  test('half-equirect ones of a clip for the fisheye: the room goes, a crescent of τ/π comes', () => {
    const note = pictureNote(fisheye, 'ffmpeg', HALF)!;
    expect(note).toContain('corrected for fisheye pictures that hold 190.0°');
    expect(note).toContain('half-equirect ones that hold 180.0°: no room instead of 5.0° of room');
    // A half-sphere turned by τ misses a lune of τ/π of the other: 4.4/180.
    expect(note).toContain('at worst 2.44 % of the view of an eye black instead of 0.00 %');
    expect(note).toContain('the mask does not hide these edges');
    expect(note).toContain('correct again with --picture half-equirect');
  });

  test('the fisheye of a clip for half-equirect ones: room comes, black goes', () => {
    const note = pictureNote(half, 'st-maps', FISHEYE)!;
    expect(note).toContain('5.0° of room instead of no room');
    expect(note).toContain('0.00 % of the view of an eye black instead of 2.44 %');
    expect(note).not.toContain('mask');
  });

  test('a mask that hides as much of the one as of the other needs no word', () => {
    const { mask } = clipCoverage(half, DEFAULT_RIG, 'half-equirect');
    const masked = resultOf({ ...PARTS, rig: DEFAULT_RIG, picture: 'fisheye', mask: mask! });
    expect(pictureNote(masked, 'ffmpeg', HALF)).not.toContain('does not hide');
  });

  test('a fisheye cropped to less than the lens sees is another picture too', () => {
    const cropped = { picture: { projection: 'fisheye', fieldDeg: 184 } } as const;
    expect(pictureNote(fisheye, 'ffmpeg', cropped)).toContain('hold 184.0°: 2.0° of room');
    // An ST map draws the fisheye as the rig's lens does.
    expect(pictureNote(fisheye, 'st-maps', cropped)).toBeUndefined();
  });

  test('without a rig nothing can be said but that they are others', () => {
    const { rig: _, ...bare } = fisheye;
    expect(pictureNote(bare, 'ffmpeg', HALF)).toContain('without a rig description');
  });

  test.each([
    ['the same', fisheye, 'ffmpeg', FISHEYE],
    ['those of the result', half, 'ffmpeg', {}],
    ['none', fisheye, 'gltf', HALF],
  ] as const)('where they are %s there is no note', (_, result, target, options) => {
    expect(pictureNote(result, target, options)).toBeUndefined();
  });
});

describe('the text beside resampled pictures', () => {
  test('says which they are, what they hold, and what changes', () => {
    const own = describeHandoff(fisheye, 'ffmpeg');
    expect(own).toContain('pictures: fisheye of 190°, side-by-side; each holds 190.0°');
    expect(own).not.toContain('mind:');
    const other = describeHandoff(fisheye, 'st-maps', HALF);
    expect(other).toContain('pictures: half-equirect, side-by-side; each holds 180.0°');
    expect(other).toContain('mind: the clip was corrected for fisheye pictures');
    expect(describeHandoff(fisheye, 'csv', HALF)).not.toContain('pictures:');
  });

  test('the result’s own pictures are handed over where nothing is said', () => {
    const script = handOff(fisheye, 'ffmpeg', 'cactus')[0]!.content as string;
    expect(script).toContain('input=fisheye:ih_fov=190:iv_fov=190');
    expect(handOff(half, 'ffmpeg', 'cactus')[0]!.content).toContain('input=hequirect');
  });
});

describe('eyes that are aligned apart', () => {
  const [up, down] = [turn([1, 0, 0], 1 * deg).q, turn([-1, 0, 0], 1 * deg).q];
  const rig: StereoRig = {
    ...DEFAULT_RIG,
    eyes: eyesWith({ alignment: { left: up, right: down } }),
  };
  const apart = resultOf({ ...PARTS, rig });

  test.each(['csv', 'json', 'gltf', 'usda', 'opentrackio', 'tum', 'ffmpeg', 'st-maps'] as const)(
    'the text beside %s gives both alignments',
    (target) => {
      const line = describeHandoff(apart, target)
        .split('\n')
        .find((each) => each.includes('left A = '))!;
      expect(line).toContain('left A = (0.008727, 0.000000, 0.000000, 0.999962)');
      expect(line).toContain('right A = (-0.008727, 0.000000, 0.000000, 0.999962)');
      const without = ['csv', 'opentrackio', 'tum'].includes(target);
      expect(line.includes('not the eyes’ own fixed alignments')).toBe(without);
    },
  );

  test('stand in glTF as two cameras below the measured camera, each turned by its own', () => {
    const [file] = handOff(apart, 'gltf', 'cactus');
    const { nodes, scenes } = JSON.parse(file!.content as string);
    const measured = nodes.find(({ name }: { name: string }) => name === 'measured');
    expect(scenes[0].nodes).toContain(nodes.indexOf(measured));
    const lenses = measured.children.map((k: number) => nodes[k]);
    expect(lenses).toEqual([
      { name: 'left lens', camera: 0, translation: [-0.032, 0, 0], rotation: [...up] },
      { name: 'right lens', camera: 0, translation: [0.032, 0, 0], rotation: [...down] },
    ]);
    const intended = nodes.find(({ name }: { name: string }) => name === 'intended');
    expect(intended.children.map((k: number) => nodes[k].name)).toEqual(['left', 'right']);
  });

  test('stand in USD as two cameras below the measured camera, w first', () => {
    const text = handOff(apart, 'usda', 'cactus')[0]!.content as string;
    const measured = text.slice(text.indexOf('def Xform "measured"'));
    for (const [name, q] of [
      ['leftLens', up],
      ['rightLens', down],
    ] as const) {
      const camera = measured.slice(measured.indexOf(`def Camera "${name}"`));
      const [x, y, z, w] = q;
      expect(camera).toContain(`quatd xformOp:orient = (${w}, ${x}, ${y}, ${z})`);
      expect(camera).toContain('xformOpOrder = ["xformOp:translate", "xformOp:orient"]');
    }
  });

  test('that look the same way leave both formats as they were', () => {
    const plain = resultOf({ ...PARTS, rig: DEFAULT_RIG });
    expect(handOff(plain, 'gltf', 'cactus')[0]!.content).not.toContain('lens');
    expect(handOff(plain, 'usda', 'cactus')[0]!.content).not.toContain('Lens');
  });
});
