import { deflateSync, gzipSync, inflateSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { failed, ok, type Packet } from '@duskline/domain';
import { readPayload, type Inflate } from './read-payload.ts';
import { encodeSenmlCbor } from './senml-cbor.ts';

const text = (value: string): Uint8Array => new TextEncoder().encode(value);
const inflate: Inflate = (bytes, maxBytes) => {
  try {
    return ok(new Uint8Array(inflateSync(bytes, { maxOutputLength: maxBytes })));
  } catch (cause) {
    const code = (cause as { readonly code?: string }).code;
    return failed(code === 'ERR_BUFFER_TOO_LARGE' ? 'too-large' : 'corrupt');
  }
};
const packet = (payload: Uint8Array, contentType?: string): Packet => ({
  topic: 'v1/rushy-sluice/up/live',
  payload,
  receivedAtMs: 0,
  ...(contentType === undefined ? {} : { contentType }),
});
const outcome = (payload: Uint8Array, contentType?: string, limits = {}) => {
  const read = readPayload(packet(payload, contentType), { inflate, ...limits });
  return read.ok ? read.value : read.fault.code;
};

const json = text('[{"n":"a","v":1}]');
const cbor = encodeSenmlCbor([{ n: 'a', v: 1 }]);
const records = [{ n: 'a', v: 1 }];

describe('telling payloads apart', () => {
  it('knows JSON, CBOR and both deflated by the first byte', () => {
    expect(outcome(json)).toEqual(records);
    expect(outcome(cbor)).toEqual(records);
    expect(outcome(deflateSync(json))).toEqual(records);
    expect(outcome(deflateSync(cbor))).toEqual(records);
  });

  it.each([0, 1, 6, 9])('inflates what was deflated at level %d', (level) => {
    expect(outcome(deflateSync(json, { level }))).toEqual(records);
  });

  it('reads JSON behind spaces and a byte order mark', () => {
    expect(outcome(text(' \r\n\t[{"n":"a","v":1}]\n'))).toEqual(records);
    expect(outcome(Uint8Array.of(0xef, 0xbb, 0xbf, ...json))).toEqual(records);
  });

  it.each([
    'application/senml+json',
    'application/SenML+JSON; charset=utf-8',
    'application/json',
    'application/octet-stream',
    'text/plain',
    '',
  ])('takes JSON under the content type %j', (contentType) => {
    expect(outcome(json, contentType)).toEqual(records);
    expect(outcome(deflateSync(json), contentType)).toEqual(records);
  });

  it('holds the content type against the bytes', () => {
    expect(outcome(cbor, 'application/senml+cbor')).toEqual(records);
    expect(outcome(cbor, 'application/senml+json')).toBe('content-type-mismatch');
    expect(outcome(json, 'application/senml+cbor')).toBe('content-type-mismatch');
    expect(outcome(json, 'application/senml+xml')).toBe('content-type-unknown');
    expect(outcome(json, 'constructor')).toBe('content-type-unknown');
  });

  it.each([
    ['nothing', new Uint8Array(), 'payload-empty'],
    ['spaces only', text('   '), 'payload-unknown'],
    ['a single object', text('{"n":"a","v":1}'), 'pack-not-array'],
    ['a bare number', text('12.6'), 'payload-unknown'],
    ['gzip', new Uint8Array(gzipSync(json)), 'payload-unknown'],
    ['a CBOR map', Uint8Array.of(0xa0), 'payload-unknown'],
    ['broken zlib', Uint8Array.of(0x78, 0x9c, 1, 2, 3), 'deflate-corrupt'],
    ['zlib in zlib', new Uint8Array(deflateSync(deflateSync(json))), 'payload-unknown'],
  ])('refuses %s', (_case, payload, code) => {
    expect(outcome(payload)).toBe(code);
  });

  it('looks at the size before anything else', () => {
    expect(outcome(new Uint8Array(262_145))).toBe('payload-too-large');
    expect(outcome(new Uint8Array(262_144))).toBe('payload-unknown');
    expect(outcome(json, undefined, { maxBytes: 5 })).toBe('payload-too-large');
  });

  it('does not inflate a bomb', () => {
    const bomb = deflateSync(new Uint8Array(50_000_000));
    expect(bomb.length).toBeLessThan(262_144);
    expect(outcome(bomb)).toBe('deflate-too-large');
  });

  it('does not trust the inflater with the cap', () => {
    const careless: Inflate = () => ok(new Uint8Array(11));
    const read = readPayload(packet(deflateSync(json)), {
      inflate: careless,
      maxInflatedBytes: 10,
    });
    expect(read.ok ? '' : read.fault.code).toBe('deflate-too-large');
  });
});
