/** `npm run bench:accuracy [dev|fresh|inclination|whole|oracle|details|l1|clock|real]`: prints the accuracy tables of the documentation. */
import { printBroadWhole } from './broadWhole.js';
import { printClock } from './clock.js';
import { printDetails } from './details.js';
import { printInclination } from './inclination.js';
import { printL1 } from './l1.js';
import { printOracle } from './oracle.js';
import { printRealMotion } from './realMotion.js';
import { printSeparation } from './separation.js';

const wanted = process.argv.slice(2);
const run = (name: string) => wanted.length === 0 || wanted.includes(name);

if (run('inclination')) printInclination();
if (run('whole')) printBroadWhole();
if (run('dev')) printSeparation('Development seeds 0–11', 0);
if (run('fresh')) printSeparation('Fresh seeds 100700–100711', 100700);
if (run('oracle')) printOracle();
if (run('details')) printDetails();
if (run('l1')) printL1();
if (run('clock')) printClock();
if (run('real')) printRealMotion();
