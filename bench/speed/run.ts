/**
 * `npm run bench:speed [-- hour|kernels|pipeline|tables|start]`: what an hour costs, and how long C++ and
 * numpy/scipy take for the same work in the same run. Absolute times depend on the machine; read
 * the ratios.
 */
const wanted = process.argv.slice(2);
const PARTS: Readonly<Record<string, () => Promise<unknown>>> = {
  hour: async () => (await import('./programs.js')).runHour(),
  kernels: async () => (await import('./compareKernels.js')).compareKernels(),
  pipeline: async () => (await import('./comparePipelines.js')).comparePipelines(),
  tables: async () => (await import('./tables.js')).compareTables(),
  start: async () => (await import('./startUp.js')).compareStartUp(),
};

for (const word of wanted) {
  if (word in PARTS) continue;
  console.error(
    `"${word}" is no part of the bench; the parts are ${Object.keys(PARTS).join(', ')}`,
  );
  process.exit(1);
}
try {
  for (const [name, part] of Object.entries(PARTS)) {
    if (wanted.length === 0 || wanted.includes(name)) await part();
  }
} catch (error) {
  console.error(error instanceof Error ? error.message : error);
  process.exitCode = 1;
}
