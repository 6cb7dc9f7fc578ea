import { appendFileSync } from 'node:fs';
import { join } from 'node:path';
import { MINUTE_MS, type Lane, type MessagePlace } from '@duskline/domain';
import { encodeSenmlJson, type SenmlRecord } from '@duskline/wire';
import { readLogChunk, type LogCursor } from './follow-log.ts';
import type { NodeConfig } from './node-config.ts';
import { parseLine, splitLine, type LoggedLine } from './parse-line.ts';
import type { Publisher } from './publisher.ts';

/** Messages on their way at once; the rest stays in the log, which is the larger store. */
const WINDOW = 16;
const MAX_LINES = 100;
/** Lines older than this go by the backlog lane, so that they do not delay fresh ones. */
const FRESH_MS = 10 * MINUTE_MS;

/**
 * Sends what is new in the log, as far as there is room. Called again and again; each call moves on from where the last
 * kept message ended, also after a crash.
 *
 * @returns how many lines were sent, and how many could not be read (they are named in rejected.txt; the log keeps them too)
 */
export function followOnce(
  config: NodeConfig,
  publisher: Publisher,
): { readonly sent: number; readonly rejected: number } {
  let sent = 0;
  let rejected = 0;
  let skipTo: LogCursor | undefined;
  while (publisher.connected() && publisher.waiting() < WINDOW) {
    const cursor = skipTo ?? parseCursor(publisher.lastNote());
    const chunk = readLogChunk(config.log.path, cursor, MAX_LINES);
    if (chunk === undefined || chunk.lines.length === 0) break;
    const header = config.log.header ? splitLine(chunk.firstLine, config.log.separator) : [];
    const lines: LoggedLine[] = [];
    for (const line of chunk.lines) {
      if (line.trim() === '' || line.startsWith('#')) continue;
      if (config.log.header && line === chunk.firstLine) continue;
      const parsed = parseLine(line, config.log, header);
      if (parsed.ok) lines.push(parsed.value);
      else {
        rejected += 1;
        appendFileSync(join(config.stateDir, 'rejected.txt'), `${parsed.fault}\n`);
      }
    }
    if (lines.length === 0) {
      skipTo = chunk.cursor;
      if (!chunk.more) break;
      continue;
    }
    skipTo = undefined;
    sent += lines.length;
    publisher.send({
      lane: laneOf(lines),
      note: JSON.stringify(chunk.cursor),
      encode: (place) => encodeSenmlJson(recordsOf(lines, place)),
    });
  }
  return { sent, rejected };
}

function laneOf(lines: readonly LoggedLine[]): Lane {
  const newest = Math.max(...lines.map(({ observedAtMs }) => observedAtMs));
  return Date.now() - newest > FRESH_MS ? 'backlog' : 'live';
}

function parseCursor(note: string | undefined): LogCursor | undefined {
  return note === undefined ? undefined : (JSON.parse(note) as LogCursor);
}

/** SenML: times relative to the first line of the message, units as the log has them (RFC 8428, 4.1). */
function recordsOf(lines: readonly LoggedLine[], { boot, seq }: MessagePlace): SenmlRecord[] {
  const baseS = (lines[0]?.observedAtMs ?? 0) / 1000;
  const records: SenmlRecord[] = [
    { bt: baseS, n: 'boot', u: 'count', v: boot },
    { n: 'seq', u: 'count', v: seq },
  ];
  for (const { observedAtMs, values } of lines) {
    const t = Math.round(observedAtMs - baseS * 1000) / 1000;
    for (const { metric, unit, value } of values)
      records.push({
        n: metric,
        ...(unit === undefined ? {} : { u: unit }),
        v: value,
        ...(t === 0 ? {} : { t }),
      });
  }
  return records;
}
