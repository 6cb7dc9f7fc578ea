import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { decodeSenmlCbor, encodeSenmlCbor } from './senml-cbor.ts';
import { decodeSenmlJson, encodeSenmlJson } from './senml-json.ts';
import type { SenmlRecord } from './senml-record.ts';

/** JSON cannot tell -0 from 0. */
const finite = fc
  .double({ noNaN: true, noDefaultInfinity: true })
  .map((value) => (value === 0 ? 0 : value));

/** Well-formed and without NUL, as anything that is to be stored. */
const text = fc
  .string({ unit: 'binary', maxLength: 30 })
  .map((value) => value.replaceAll('\0', ''));

/** Any record that can be written; not every one can be resolved. */
const senmlRecord: fc.Arbitrary<SenmlRecord> = fc.record(
  {
    bn: text,
    bt: finite,
    bu: text,
    bv: finite,
    bs: finite,
    bver: fc.integer({ min: 1, max: 40 }),
    n: text,
    u: text,
    t: finite,
    ut: finite,
    v: finite,
    vs: text,
    vb: fc.boolean(),
    vd: fc.uint8Array({ maxLength: 20 }),
    s: finite,
  },
  { requiredKeys: [] },
);
const packs = fc.array(senmlRecord, { minLength: 1, maxLength: 20 });
const seed = 20_261_125;

describe('SenML there and back', () => {
  it('reads back from JSON any records it wrote', () => {
    fc.assert(
      fc.property(packs, (records) => {
        expect(decodeSenmlJson(encodeSenmlJson(records))).toEqual({ ok: true, value: records });
      }),
      { seed },
    );
  });

  it('reads back from CBOR any records it wrote', () => {
    fc.assert(
      fc.property(packs, (records) => {
        expect(decodeSenmlCbor(encodeSenmlCbor(records))).toEqual({ ok: true, value: records });
      }),
      { seed },
    );
  });
});
