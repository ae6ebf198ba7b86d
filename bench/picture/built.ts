interface Modules {
  readonly picture: typeof import('../../src/picture.js');
  readonly 'picture/mesh': typeof import('../../src/picture/mesh.js');
  readonly 'picture/rays': typeof import('../../src/picture/rays.js');
  readonly 'picture/pixelFormat': typeof import('../../src/picture/pixelFormat.js');
  readonly 'picture/cellRecords': typeof import('../../src/picture/cellRecords.js');
  readonly 'picture/sourcePlane': typeof import('../../src/picture/sourcePlane.js');
  readonly 'picture/stereoFrame': typeof import('../../src/picture/stereoFrame.js');
  readonly 'picture/tapTables': typeof import('../../src/picture/tapTables.js');
  readonly 'picture/filters': typeof import('../../src/picture/filters.js');
  readonly 'batch/resampleFrames': typeof import('../../src/batch/resampleFrames.js');
}

/**
 * A module as it is published. The runner of these benches names every inner function anew each time it
 * is made, which the mesh would pay for.
 */
export async function built<Name extends keyof Modules>(name: Name): Promise<Modules[Name]> {
  return (await import(new URL(`../../dist/${name}.js`, import.meta.url).href)) as Modules[Name];
}
