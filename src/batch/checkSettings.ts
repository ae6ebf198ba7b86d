import { meant } from '../nearestWord.js';
import { shown, type WrongValue } from './settingKinds.js';
import {
  type ClipSettings,
  optionOf,
  SETTING_NAMES,
  SETTINGS,
  type SettingKey,
} from './settings.js';
import { type Options, textOf, wrongUse } from './usage.js';

/** How a setting is called where it was written: `--level`, `"level"`. */
export type NameOf = (key: SettingKey) => string;

/** How the command line calls a setting. */
export const optionNameOf: NameOf = (key) => `--${optionOf(key)}`;

/** How a manifest calls a setting. */
export const entryNameOf: NameOf = (key) => `"${key}"`;

/** What is wrong with one value of a setting, wherever it was written. */
export function wrongValue(key: SettingKey, value: unknown): WrongValue | undefined {
  const { kind } = SETTINGS[key];
  const wrong = kind.wrong(value);
  if (!wrong || typeof value !== 'string') return wrong;
  const remedy = meant(value, kind.words);
  return { ...wrong, ...(remedy !== undefined && { remedy }) };
}

/** What is wrong with settings beside each other, whose values are right one by one. */
export function wrongTogether(
  settings: ClipSettings,
  nameOf: NameOf,
): (WrongValue & { readonly key: SettingKey }) | undefined {
  for (const key of SETTING_NAMES) {
    const value = settings[key];
    if (value === undefined) continue;
    const { needs, insteadOf } = SETTINGS[key];
    if (needs !== undefined && settings[needs] === undefined) {
      const found = `${shown(value)} without ${nameOf(needs)}`;
      return { key, found, expected: 'both or neither' };
    }
    if (insteadOf !== undefined && settings[insteadOf] !== undefined) {
      const found = `${shown(value)} beside ${nameOf(insteadOf)}`;
      return { key, found, expected: 'one of them' };
    }
  }
  return undefined;
}

/**
 * The settings that a command line gives.
 *
 * @throws UsageError for a value that no clip can have
 */
export function settingsFromOptions(options: Options): ClipSettings {
  const given = SETTING_NAMES.flatMap((key) => {
    const written = textOf(options, optionOf(key));
    return written === undefined ? [] : [[key, SETTINGS[key].kind.fromText(written)]];
  });
  const settings = Object.fromEntries(given) as ClipSettings;
  checkSettings(settings);
  return settings;
}

/**
 * Refuses values that no clip can have.
 *
 * @param nameOf - how a setting is called where it was written
 * @throws UsageError
 */
export function checkSettings(settings: ClipSettings, nameOf: NameOf = optionNameOf): void {
  for (const key of SETTING_NAMES) {
    const wrong = settings[key] === undefined ? undefined : wrongValue(key, settings[key]);
    if (wrong) throw wrongUse(nameOf(key), wrong);
  }
  const wrong = wrongTogether(settings, nameOf);
  if (wrong) throw wrongUse(nameOf(wrong.key), wrong);
}
