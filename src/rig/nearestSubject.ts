/** Metres at which the nearest subject may be; where nothing is said see `DEFAULT_RIG`. */
export const NEAREST_SUBJECTS_M = { least: 0.05, most: 10000 };
