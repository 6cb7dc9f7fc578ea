import { resolve } from 'node:path';
import { failed, ok, parseNodeName, type NodeName, type Result } from '@duskline/domain';
import {
  nameUnknownKeys,
  readOptionalText,
  readRecord,
  readText,
  type Faults,
} from './json-fields.ts';
import { readLogShape, type LogShape } from './log-shape.ts';
import type { OwnSettings } from './settings-desk.ts';
import { LONGEST_INTERVAL_S } from '@duskline/wire';

export interface NodeConfig {
  readonly node: NodeName;
  readonly broker: string;
  readonly secretFile: string;
  /** Certificate authority of the broker, PEM. */
  readonly caFile: string | undefined;
  readonly stateDir: string;
  /** Said in the farewell when the program is asked to stop. */
  readonly farewell: string;
  readonly log: LogShape;
  readonly settings: OwnSettings;
}

const LONGEST_REASON = 200;

/**
 * The configuration in a parsed JSON file, or every fault in it at once, each with how to mend it.
 *
 * @param folder what relative paths are relative to: the folder of the file
 */
export function parseNodeConfig(
  json: unknown,
  folder: string,
): Result<NodeConfig, readonly string[]> {
  const faults: string[] = [];
  const top = readRecord(json, 'the file', faults);
  nameUnknownKeys(
    top,
    ['node', 'broker', 'secretFile', 'caFile', 'stateDir', 'farewell', 'log', 'settings'],
    {
      what: 'the file',
      faults,
    },
  );
  const name = readText(top['node'], '"node"', faults);
  const node = parseNodeName(name);
  if (node === undefined && name !== '')
    faults.push(`"node" is "${name}"; a node name has 3 to 40 of a–z, 0–9 and "-".`);
  const broker = readText(top['broker'], '"broker" (e.g. "mqtt://example.org:1883")', faults);
  if (broker !== '' && !/^(mqtts?|wss?):\/\/[^/]+/.test(broker))
    faults.push(`"broker" is "${broker}"; it starts with mqtt://, mqtts://, ws:// or wss://.`);
  const farewell = readOptionalText(top['farewell'], '"farewell"', faults) ?? 'asked to stop';
  if (farewell.length > LONGEST_REASON)
    faults.push(`"farewell" is longer than ${LONGEST_REASON} characters.`);
  const secretFile = readText(top['secretFile'], '"secretFile"', faults);
  const caFile = readOptionalText(top['caFile'], '"caFile"', faults);
  const stateDir = readText(top['stateDir'], '"stateDir"', faults);
  const log = readLogShape(top['log'], faults);
  const settings = readSettings(top['settings'] ?? {}, faults);
  if (faults.length > 0 || node === undefined) return failed(faults);
  return ok({
    node,
    broker,
    farewell,
    settings,
    secretFile: resolve(folder, secretFile),
    caFile: caFile === undefined ? undefined : resolve(folder, caFile),
    stateDir: resolve(folder, stateDir),
    log: { ...log, path: resolve(folder, log.path) },
  });
}

const DEFAULT_LOG_EVERY_S = 30;
const DEFAULT_PUBLISH_EVERY_S = 1;

function readSettings(json: unknown, faults: Faults): OwnSettings {
  const said = readRecord(json, '"settings"', faults);
  const known = ['logEvery', 'publishEvery', 'scriptReads'];
  nameUnknownKeys(said, known, { what: '"settings"', faults });
  const readInterval = (key: string, fallback: number): number => {
    const value = said[key] ?? fallback;
    const usable =
      typeof value === 'number' &&
      Number.isInteger(value) &&
      value >= 1 &&
      value <= LONGEST_INTERVAL_S;
    if (usable) return value;
    faults.push(`"settings.${key}" is whole seconds from 1 to ${LONGEST_INTERVAL_S}.`);
    return fallback;
  };
  const reads = said['scriptReads'] ?? false;
  if (typeof reads !== 'boolean') faults.push('"settings.scriptReads" is true or false.');
  return {
    logEveryS: readInterval('logEvery', DEFAULT_LOG_EVERY_S),
    publishEveryS: readInterval('publishEvery', DEFAULT_PUBLISH_EVERY_S),
    scriptReadsSettings: reads === true,
  };
}
