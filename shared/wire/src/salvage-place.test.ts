import { ok, type Packet } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { salvagePlace } from './salvage-place.ts';

const inflate = (bytes: Uint8Array) => ok(bytes);
const placeIn = (records: unknown) => {
  const payload = new TextEncoder().encode(
    typeof records === 'string' ? records : JSON.stringify(records),
  );
  const packet: Packet = { topic: 'v1/rushy-sluice/up/live', payload, receivedAtMs: 0 };
  return salvagePlace(packet, { inflate });
};

describe('the place of a message that could not be accepted', () => {
  it('is read though another record is wrong', () => {
    expect(
      placeIn([
        { n: 'boot', v: 3 },
        { n: 'seq', v: 17 },
        { n: 'no-such-metric', u: 'V', v: 1 },
      ]),
    ).toEqual({ boot: 3, seq: 17 });
  });

  it('is found behind a base name', () => {
    expect(
      placeIn([
        { bn: 'rushy-sluice_', n: 'boot', v: 3 },
        { n: 'seq', v: 17 },
      ]),
    ).toEqual({ boot: 3, seq: 17 });
  });

  it.each([
    ['no SenML', '{'],
    ['only one of the two', [{ n: 'seq', v: 17 }]],
    [
      'two numbers for one',
      [
        { n: 'boot', v: 1 },
        { n: 'seq', v: 1 },
        { n: 'seq', v: 2 },
      ],
    ],
    [
      'no whole number',
      [
        { n: 'boot', v: 1.5 },
        { n: 'seq', v: 1 },
      ],
    ],
    [
      'a seq of 0',
      [
        { n: 'boot', v: 1 },
        { n: 'seq', v: 0 },
      ],
    ],
    [
      'words',
      [
        { n: 'boot', vs: '1' },
        { n: 'seq', v: 1 },
      ],
    ],
  ])('is not made up from %s', (_what, records) => {
    expect(placeIn(records)).toBeUndefined();
  });
});
