import { failed, MINUTE_MS, ok, type Lane, type MetricKey, type Result } from '@duskline/domain';
import { dateByUptime, EARLIEST_MS } from './date-by-uptime.ts';
import { deflatePayload } from './deflate-payload.ts';
import { encodeLines, judgeLines } from './encode-lines.ts';
import { readLogChunk, type LogChunk } from './follow-log.ts';
import type { LogCursor } from './log-files.ts';
import { mergeLine } from './merge-line.ts';
import type { NodeConfig } from './node-config.ts';
import { namesMissingIn, parseLine, type LoggedLine, type LoggedValue } from './parse-line.ts';
import type { Publisher } from './publisher.ts';
import type { RejectedLines } from './rejected-lines.ts';
import { splitLine } from './split-line.ts';

export interface LogFollower {
  /**
   * Sends what is new in the log, as far as there is room. To be called again and again; it goes on behind the last line that
   * was kept, also after a crash.
   *
   * @throws when the log cannot be read or the disk does not take a message; the next call tries again
   */
  readonly step: () => { readonly sent: number; readonly rejected: number };
  /** The newest charge sent, 0–1. */
  readonly chargeRatio: () => number | undefined;
}

const MAX_LINES = 100;
/** Well below the largest message, with the longest names and units. */
const MAX_VALUES = 2000;
/** Lines older than this go by the backlog lane, so that they do not delay fresh ones of other nodes. */
const FRESH_MS = 10 * MINUTE_MS;

const CLOCK_NOT_SET = failed(
  'dated before 2020: the clock was not set, and no later line of the same boot tells the time',
);
/** Marks a reading that this program has dated. */
const COUNTED: LoggedValue = {
  metric: 'clock_src',
  unit: undefined,
  value: 'counted from uptime',
};
/** A piece of the log holds no more lines than this; behind it nothing would ever be read. */
const MOST_HELD = 400;

export function createLogFollower(options: {
  readonly config: Pick<NodeConfig, 'node' | 'log'>;
  readonly publisher: Pick<Publisher, 'hasRoom' | 'lastNote' | 'keepNote' | 'send'>;
  readonly rejected: RejectedLines;
  readonly onFault: (reason: string) => void;
  readonly now?: () => number;
}): LogFollower {
  const { config, publisher, rejected, onFault, now = Date.now } = options;
  const { node, log } = config;
  let chargeRatio: number | undefined;
  /** What the newest line said: the next may have the same time. */
  let newest = { observedAtMs: Number.NaN, values: new Map<MetricKey, LoggedValue>() };

  /** The readings of the next lines, of which each time stands once; and how far they reach. */
  function gather(chunk: LogChunk, header: readonly string[]) {
    const lines: Draft[] = [];
    let endOffset: number | undefined;
    let bad = 0;
    let values = 0;
    for (const [i, { text, endOffset: end }] of chunk.lines.entries()) {
      if (lines.length >= MAX_LINES || values >= MAX_VALUES) break;
      const passedOver =
        text.trim() === '' || text.startsWith('#') || (log.header && text === chunk.firstLine);
      const dated = passedOver ? undefined : date(text, header, chunk.lines.slice(i + 1));
      if (dated === 'not-yet') return { lines, endOffset, bad, held: endOffset === undefined };
      endOffset = end;
      if (dated === undefined) continue;
      const taken = dated.ok ? take(dated.value, text, lines) : dated;
      if (!taken.ok) {
        bad += 1;
        rejected.add(taken.fault, text);
      } else values += taken.count;
    }
    return { lines, endOffset, bad, held: false };
  }

  /** The line with its time put right where the clock was not set; `not-yet` when a later line may still tell. */
  function date(
    text: string,
    header: readonly string[],
    later: LogChunk['lines'],
  ): Result<LoggedLine, string> | 'not-yet' {
    const parsed = parseLine(text, log, header);
    // SenML takes a time below 2^28 s for one relative to now (RFC 8428, §4.5.3): 1970 would come out as today.
    if (!parsed.ok || parsed.value.observedAtMs >= EARLIEST_MS) return parsed;
    const dated = dateByUptime(parsed.value, parseAll(later, header));
    if (dated.kind === 'not-yet') return later.length < MOST_HELD ? 'not-yet' : CLOCK_NOT_SET;
    if (dated.kind === 'never') return CLOCK_NOT_SET;
    const { observedAtMs } = dated;
    const others = parsed.value.values.filter(({ metric }) => metric !== 'clock_src');
    return ok({ observedAtMs, values: [...others, COUNTED] });
  }
  function* parseAll(later: LogChunk['lines'], header: readonly string[]): Generator<LoggedLine> {
    for (const { text } of later) {
      const parsed = parseLine(text, log, header);
      if (parsed.ok) yield parsed.value;
    }
  }

  function take(line: LoggedLine, text: string, lines: Draft[]) {
    const { observedAtMs } = line;
    const earlier = lines.find((line) => line.observedAtMs === observedAtMs);
    const before =
      earlier?.said ?? (newest.observedAtMs === observedAtMs ? newest.values : new Map());
    const merged = mergeLine(line, before);
    if ('contradicts' in merged) {
      const fault = `another value of ${merged.contradicts} for the same time`;
      return { ok: false as const, fault };
    }
    const { values } = merged.added;
    const said = new Map<MetricKey, LoggedValue>(before);
    for (const value of values) said.set(value.metric, value);
    newest = { observedAtMs, values: said };
    if (earlier !== undefined) {
      earlier.values.push(...values);
      earlier.said = said;
      earlier.texts.push(text);
    } else if (values.length > 0) {
      lines.push({ observedAtMs, values: [...values], said, texts: [text] });
    }
    return { ok: true as const, count: values.length };
  }

  /** Those that the server will take; the others are named in rejected.txt. */
  function judge(lines: readonly Draft[]): readonly Draft[] {
    const all = judgeLines(node, lines, now());
    if (all.ok) {
      chargeRatio = all.value.chargeRatio ?? chargeRatio;
      return lines;
    }
    const good = lines.filter((line) => {
      const alone = judgeLines(node, [line], now());
      if (alone.ok) chargeRatio = alone.value.chargeRatio ?? chargeRatio;
      else for (const text of line.texts) rejected.add(alone.fault, text);
      return alone.ok;
    });
    return good;
  }

  function next(): { readonly sent: number; readonly rejected: number } | undefined {
    const chunk = readLogChunk(log.path, parseCursor(publisher.lastNote()));
    if (chunk === undefined) return undefined;
    if (chunk.lostPlace)
      onFault(
        `${log.path} no longer holds the line read last, nor does a file beside it; it is read from its start`,
      );
    const header = log.header ? splitLine(chunk.firstLine, log.separator) : [];
    const absent = log.header ? namesMissingIn(header, log) : [];
    if (absent.length > 0) {
      onFault(
        `the header of ${chunk.path} has no ${absent.join(', ')}; it has ${header.join(', ')}. Nothing is read until the configuration or the log is mended`,
      );
      return undefined;
    }
    if (chunk.tooLong) rejected.add('a line longer than 64 KB', chunk.lines.at(-1)?.text ?? '');
    const { lines, endOffset, bad, held } = gather(chunk, header);
    if (held) {
      onFault('the clock was not set; its lines wait in the log until a later one tells the time');
      return undefined;
    }
    const good = lines.length === 0 ? lines : judge(lines);
    const note = JSON.stringify(cursorBehind(chunk, endOffset));
    if (good.length === 0) publisher.keepNote(note);
    else
      publisher.send({
        lane: laneOf(good, now()),
        note,
        encode: (place) => deflatePayload(encodeLines(node, good, place)),
      });
    return { sent: good.length, rejected: bad + lines.length - good.length };
  }

  return {
    chargeRatio: () => chargeRatio,
    step() {
      const total = { sent: 0, rejected: 0 };
      while (publisher.hasRoom()) {
        const done = next();
        if (done === undefined) break;
        total.sent += done.sent;
        total.rejected += done.rejected;
      }
      return total;
    },
  };
}

/** A line on its way into a message, with those of the same time. */
interface Draft extends LoggedLine {
  readonly values: LoggedValue[];
  readonly texts: string[];
  /** Every value at this time, also those that an earlier message holds. */
  said: ReadonlyMap<MetricKey, LoggedValue>;
}

function laneOf(lines: readonly LoggedLine[], nowMs: number): Lane {
  const newestMs = Math.max(...lines.map(({ observedAtMs }) => observedAtMs));
  return nowMs - newestMs > FRESH_MS ? 'backlog' : 'live';
}

/** Where reading stands when not all lines of the chunk went into the message. */
function cursorBehind(chunk: LogChunk, endOffset: number | undefined): LogCursor {
  if (endOffset === undefined || endOffset === chunk.lines.at(-1)?.endOffset) return chunk.cursor;
  return chunk.cursorBehind(endOffset);
}

/** A note that is no cursor (of an older version, or spoiled) means reading from the start; the server keeps each reading once. */
function parseCursor(note: string | undefined): LogCursor | undefined {
  if (note === undefined) return undefined;
  try {
    const said = JSON.parse(note) as Partial<LogCursor> | null;
    const usable = Number.isSafeInteger(said?.offset) && typeof said?.before === 'string';
    return usable ? (said as LogCursor) : undefined;
  } catch {
    return undefined;
  }
}
