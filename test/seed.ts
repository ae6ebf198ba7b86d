import fc from 'fast-check';

/**
 * Every property draws from this seed, so that a red run can be repeated; fast-check prints seed
 * and failing case. Another one: `TWINKEEL_SEED=7 npx vitest run`. The time limit ends the search
 * for a smaller failing case; a property that holds is done in milliseconds.
 */
fc.configureGlobal({
  seed: Number(process.env.TWINKEEL_SEED ?? 20_240_621),
  interruptAfterTimeLimit: 1000,
});

export { fc };
