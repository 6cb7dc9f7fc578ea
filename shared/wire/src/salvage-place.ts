import type { MessagePlace, Packet } from '@duskline/domain';
import { readPayload, type ReadOptions } from './read-payload.ts';

const LARGEST_PLACE = 2_147_483_647;
/** The last part of a record's name, behind whatever base name a node uses. */
const LAST_PART = /(?:^|[_:/])(boot|seq)$/;

/**
 * The place of a message that could not be accepted, where its records can still be read: so that the node can be told that
 * this number is settled (kept in quarantine) and does not wait for it for ever. Reads no other record, so whatever is wrong
 * with them does no harm here.
 *
 * @returns undefined when the bytes are no SenML, or boot and seq are not both there, once, as whole numbers in range
 */
export function salvagePlace(packet: Packet, options: ReadOptions): MessagePlace | undefined {
  const records = readPayload(packet, options);
  if (!records.ok) return undefined;
  const found: { boot: Set<number>; seq: Set<number> } = { boot: new Set(), seq: new Set() };
  let baseName = '';
  let baseValue = 0;
  for (const { bn = baseName, bv = baseValue, n = '', v } of records.value) {
    [baseName, baseValue] = [bn, bv];
    const [, key] = LAST_PART.exec(`${bn}${n}`) ?? [];
    if ((key === 'boot' || key === 'seq') && v !== undefined) found[key].add(bv + v);
  }
  const [boot, ...otherBoots] = found.boot;
  const [seq, ...otherSeqs] = found.seq;
  if (otherBoots.length + otherSeqs.length > 0) return undefined;
  return isFrom(0, boot) && isFrom(1, seq) ? { boot, seq } : undefined;
}

const isFrom = (least: number, value: number | undefined): value is number =>
  value !== undefined && Number.isInteger(value) && value >= least && value <= LARGEST_PLACE;
