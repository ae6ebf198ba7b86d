import { finishAbandoned } from './folderLock.js';
import { removeAbandoned } from './partials.js';

/**
 * Finishes and takes away what runs that are over left in a folder, and this one's own workers where
 * its mark is given; what others are writing stays. Nothing that goes wrong here is said.
 */
export function tidyFolder(folder: string, mark?: string): void {
  finishAbandoned(folder, mark);
  removeAbandoned(folder, mark);
}
