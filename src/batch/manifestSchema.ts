import { CLIP_NAME } from './clipName.js';
import { MANIFEST_FORMAT, MANIFEST_VERSION } from './manifest.js';
import { SETTING_NAMES, SETTINGS, type SettingKey } from './settings.js';

type Schema = Readonly<Record<string, unknown>>;

/** The JSON Schema (draft 2020-12) of a manifest, from the table of settings. */
export function manifestSchema(): Schema {
  const notes = {
    type: 'array',
    items: { type: 'string' },
    description: 'for people; nothing reads them',
  };
  const path = { type: 'string', minLength: 1 };
  return {
    $schema: 'https://json-schema.org/draft/2020-12/schema',
    $id: 'shoot.schema.json',
    title: 'A shoot day: clips and how to correct each',
    ...object(['format', 'version', 'clips'], {
      format: { const: MANIFEST_FORMAT },
      version: { const: MANIFEST_VERSION },
      notes,
      defaults: {
        $ref: '#/$defs/settings',
        description: 'settings of every clip that does not say otherwise',
      },
      folders: {
        type: 'array',
        items: object(['folder'], {
          folder: {
            ...path,
            description: "path of a folder, from the manifest's: settings of every clip below it",
          },
          notes,
          ...referredSettings(),
        }),
      },
      clips: {
        type: 'array',
        minItems: 1,
        items: object(['file'], {
          file: {
            ...path,
            description:
              "path of the track or log, from the manifest's folder; with * ? or ** a clip for each file that matches",
          },
          name: {
            type: 'string',
            maxLength: 100,
            description: "names the results; the file's own name without its ending when left out",
            pattern: CLIP_NAME,
          },
          movie: {
            ...path,
            description:
              'path of the movie that was tracked, from the manifest\'s folder; only "resample" reads it',
          },
          notes,
          ...referredSettings(),
        }),
      },
    }),
    $defs: { settings: object([], Object.fromEntries(SETTING_NAMES.map(settingSchema))) },
  };
}

function object(required: readonly string[], properties: Schema): Schema {
  return {
    type: 'object',
    ...(required.length > 0 && { required }),
    additionalProperties: false,
    properties,
  };
}

function settingSchema(key: SettingKey): [string, Schema] {
  const { kind, help, needs } = SETTINGS[key];
  const about = `${kind.isFile ? 'path: ' : ''}${help}`;
  return [
    key,
    { ...kind.schema, description: needs === undefined ? about : `${about}; with ${needs}` },
  ];
}

function referredSettings(): Schema {
  return Object.fromEntries(
    SETTING_NAMES.map((key) => [key, { $ref: `#/$defs/settings/properties/${key}` }]),
  );
}
