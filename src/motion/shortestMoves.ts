/** Seconds that a shortest move may be. */
export const SHORTEST_MOVES = { least: 0.5, most: 60 };
