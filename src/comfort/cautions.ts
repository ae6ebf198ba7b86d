/**
 * The cautions that go with every result, report and verdict.
 *
 * @example
 * CAUTIONS[1]; // 'Filming while walking: have a spotter, mind local rules.'
 */
export const CAUTIONS: readonly string[] = [
  'Steadied footage can still make viewers feel ill: judge it in a headset, stop at the first sign of discomfort. This is no medical advice.',
  'Filming while walking: have a spotter, mind local rules.',
];
