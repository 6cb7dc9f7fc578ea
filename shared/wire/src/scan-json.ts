import { ok, type Result } from '@duskline/domain';
import { recordName, refuse, type WireFault } from './faults.ts';
import { MAX_DEPTH, MAX_RECORDS } from './pack-limits.ts';
import { senmlLabels } from './senml-record.ts';

const QUOTE = 0x22;
const COMMA = 0x2c;
const BACKSLASH = 0x5c;
const OPEN_ARRAY = 0x5b;
const CLOSE_ARRAY = 0x5d;
const OPEN_OBJECT = 0x7b;
const CLOSE_OBJECT = 0x7d;
/** Records are the objects in the outermost array. */
const RECORD_DEPTH = 2;

const labelBits: ReadonlyMap<string, number> = new Map(
  senmlLabels.map((label, position) => [label, 1 << position]),
);

/**
 * Looks over JSON text before it is parsed: nesting, number of records, and labels that come twice in one record, which
 * `JSON.parse` would settle in silence by taking the last.
 *
 * One pass, no recursion, no copies of the text but short labels. Text that is not JSON passes: the parser says so better.
 */
export function scanJson(text: string): Result<void, WireFault> {
  let depth = 0;
  let records = 0;
  let inRecord = false;
  let labelNext = false;
  let seen = 0;
  for (let i = 0; i < text.length; i += 1) {
    switch (text.charCodeAt(i)) {
      case QUOTE: {
        const end = endOfString(text, i + 1);
        if (labelNext) {
          labelNext = false;
          const bit = labelBits.get(plain(text.slice(i + 1, end))) ?? 0;
          if ((seen & bit) !== 0) return doubled(text.slice(i + 1, end), records - 1);
          seen |= bit;
        }
        i = end;
        break;
      }
      case OPEN_OBJECT:
      case OPEN_ARRAY:
        depth += 1;
        if (depth > MAX_DEPTH) return tooDeep();
        if (depth === RECORD_DEPTH) {
          records += 1;
          if (records > MAX_RECORDS) return tooManyRecords();
          inRecord = text.charCodeAt(i) === OPEN_OBJECT;
          labelNext = inRecord;
          seen = 0;
        } else {
          labelNext = false;
        }
        break;
      case CLOSE_OBJECT:
      case CLOSE_ARRAY:
        depth -= 1;
        labelNext = false;
        break;
      case COMMA:
        labelNext = inRecord && depth === RECORD_DEPTH;
        break;
    }
  }
  return ok(undefined);
}

/** Index of the closing quotation mark, or the length of a text that has none. */
function endOfString(text: string, from: number): number {
  let i = from;
  while (i < text.length) {
    const character = text.charCodeAt(i);
    if (character === QUOTE) return i;
    i += character === BACKSLASH ? 2 : 1;
  }
  return text.length;
}

/** A label may be written with escapes (`\u0076` is `v`). */
function plain(raw: string): string {
  if (!raw.includes('\\')) return raw;
  return raw.replace(/\\u([0-9a-fA-F]{4})/g, (_all, hex: string) =>
    String.fromCharCode(Number.parseInt(hex, 16)),
  );
}

const doubled = (label: string, index: number): Result<void, WireFault> =>
  refuse(
    'label-doubled',
    `${recordName(index)} has the label ${plain(label)} twice; send it once, so that it is plain which one counts.`,
  );

export const tooDeep = (): Result<never, WireFault> =>
  refuse(
    'too-deep',
    `The pack nests deeper than ${MAX_DEPTH} levels; a pack is one array of flat records.`,
  );

export const tooManyRecords = (): Result<never, WireFault> =>
  refuse(
    'too-many-records',
    `The pack has more than ${MAX_RECORDS} records; split it into several messages.`,
  );
