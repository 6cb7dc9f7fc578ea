import { ok, SECOND_MS, type Result, type SettingsInForce } from '@duskline/domain';
import { recordName, refuse, type WireFault } from './faults.ts';
import type { ResolvedRecord } from './resolve-pack.ts';
import type { SenmlRecord } from './senml-record.ts';
import { isSettingsId, LONGEST_INTERVAL_S } from './settings-limits.ts';

/** The records of a state message by which a node says what settings are in force. */
export const settingsNames = [
  'settings',
  'log_every',
  'publish_every',
  'thrift_until',
  'settings_refusal',
] as const;
export type SettingsName = (typeof settingsNames)[number];

export const isSettingsName = (text: string): text is SettingsName =>
  (settingsNames as readonly string[]).includes(text);

const LONGEST_REFUSAL = 200;

export function settingsRecords(settings: SettingsInForce): readonly SenmlRecord[] {
  const { id, logEveryS, publishEveryS, thriftUntilMs, refusal } = settings;
  return [
    { n: 'settings', vs: id },
    { n: 'log_every', u: 's', v: logEveryS },
    { n: 'publish_every', u: 's', v: publishEveryS },
    ...(thriftUntilMs === undefined
      ? []
      : [{ n: 'thrift_until', u: 's', v: thriftUntilMs / SECOND_MS }]),
    ...(refusal === undefined
      ? []
      : [{ n: 'settings_refusal', vs: refusal.slice(0, LONGEST_REFUSAL) }]),
  ];
}

/** What the records say so far. */
export type SettingsDraft = Partial<Record<SettingsName, string | number>>;

/** Takes one record up into the draft. */
export function takeSettings(
  draft: SettingsDraft,
  record: ResolvedRecord,
  name: SettingsName,
): Result<undefined, WireFault> {
  const { value, unit } = record;
  const where = recordName(record.index, name);
  if (draft[name] !== undefined)
    return refuse('value-doubled', `${where} stands twice; a message says each setting once.`);
  if (name === 'settings') {
    if (!isSettingsId(value))
      return refuse(
        'value-kind-wrong',
        `${where} has to be the id of a request; send it under vs.`,
      );
    draft[name] = value;
  } else if (name === 'settings_refusal') {
    if (typeof value !== 'string' || value.trim() === '' || value.length > LONGEST_REFUSAL)
      return refuse(
        'value-kind-wrong',
        `${where} has to say why; send up to ${LONGEST_REFUSAL} characters under vs.`,
      );
    draft[name] = value.trim().replace(/\p{Cc}/gu, ' ');
  } else {
    if (unit !== 's') return refuse('unit-wrong', `${where} is a time in seconds; add "u":"s".`);
    const longest = name === 'thrift_until' ? Number.MAX_SAFE_INTEGER : LONGEST_INTERVAL_S;
    if (typeof value !== 'number' || !(value >= 1 && value <= longest))
      return refuse('value-out-of-bounds', `${where} is not from 1 to ${longest} s.`);
    draft[name] = value;
  }
  return ok(undefined);
}

/** The whole confirmation; undefined when the message has none, a fault when half of it is missing. */
export function readSettings(draft: SettingsDraft): Result<SettingsInForce | undefined, WireFault> {
  if (Object.keys(draft).length === 0) return ok(undefined);
  const { settings: id, log_every: log, publish_every: publish } = draft;
  const { thrift_until: thriftS, settings_refusal: refusal } = draft;
  if (typeof id !== 'string' || typeof log !== 'number' || typeof publish !== 'number')
    return refuse(
      'settings-incomplete',
      'Settings in force are told whole: settings (the id of the request), log_every and publish_every.',
    );
  return ok({
    id,
    logEveryS: log,
    publishEveryS: publish,
    ...(typeof thriftS === 'number' ? { thriftUntilMs: thriftS * SECOND_MS } : {}),
    ...(typeof refusal === 'string' ? { refusal } : {}),
  });
}
