/** Writes the schema of manifests: `npm run schema`. */
import { writeFileSync } from 'node:fs';
import { manifestSchema } from '../src/batch/manifestSchema.js';

const path = new URL('schema/shoot.schema.json', import.meta.url);
writeFileSync(path, `${JSON.stringify(manifestSchema(), null, 2)}\n`);
