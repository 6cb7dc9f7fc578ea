import { failed, type NodeName } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { decodeMessage } from './decode-message.ts';
import { encodeSettingsInForce } from './encode-state.ts';
import { WireEncodeError } from './errors.ts';
import { resolveMessage } from './resolve-message.ts';
import { decodeSettingsRequest, encodeSettingsRequest } from './settings-request.ts';

const node = 'withy-weir-1' as NodeName;
const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);
const receivedAtMs = Date.UTC(2026, 10, 26);

function receive(payload: Uint8Array, kind = 'state') {
  const packet = { topic: `v1/${node}/up/${kind}`, payload, receivedAtMs };
  const decoded = decodeMessage(packet, { inflate: () => failed('corrupt') });
  return decoded.ok ? resolveMessage(decoded.value, receivedAtMs) : decoded;
}

describe('a request of settings', () => {
  const request = {
    id: 'a1',
    logEveryS: 300,
    publishEveryS: 3600,
    thriftUntilMs: 1_798_761_600_000,
  };

  it('is written as the wire has it, and read back', () => {
    const written = encodeSettingsRequest(request);
    expect(new TextDecoder().decode(written)).toBe(
      '{"id":"a1","log_every":300,"publish_every":3600,"thrift_until":1798761600}',
    );
    expect(decodeSettingsRequest(written)).toEqual({ ok: true, value: request });
  });

  it('may ask for one thing only, and grow new members', () => {
    expect(decodeSettingsRequest(bytes('{"id":"b","publish_every":60,"more":[]}'))).toEqual({
      ok: true,
      value: { id: 'b', publishEveryS: 60 },
    });
  });

  it.each([
    '',
    'null',
    '{}',
    '{"id":""}',
    '{"id":"a b"}',
    '{"id":"a","log_every":0}',
    '{"id":"a","log_every":1.5}',
    '{"id":"a","log_every":"60"}',
    '{"id":"a","publish_every":86401}',
    '{"id":"a","thrift_until":1798761600000}',
    `{"id":"a","x":"${'x'.repeat(1100)}"}`,
  ])('is not %s', (text) => {
    const decoded = decodeSettingsRequest(bytes(text));
    expect(decoded.ok ? '' : decoded.fault.code).toBe('settings-malformed');
  });

  it('is not written for what no node would read', () => {
    expect(() => encodeSettingsRequest({ id: 'a', logEveryS: 0 })).toThrow(WireEncodeError);
  });
});

describe('the settings in force', () => {
  it('travel by a state message, without taking the place of a word', () => {
    const settings = {
      id: 'a1',
      logEveryS: 300,
      publishEveryS: 3600,
      thriftUntilMs: 1_798_761_600_000,
      refusal: 'log_every: the script that writes the log does not read settings.json',
    };
    const received = receive(encodeSettingsInForce(node, settings));
    expect(received).toEqual({
      ok: true,
      value: { node, lane: 'live', receivedAtMs, samples: [], settings },
    });
    expect(receive(encodeSettingsInForce(node, settings, 'cbor'))).toEqual(received);
  });

  it('are told whole, in seconds, and by the topic of the state', () => {
    const code = (text: string, kind?: string) => {
      const received = receive(bytes(text), kind);
      return received.ok ? 'ok' : received.fault.code;
    };
    expect(code('[{"n":"settings","vs":"a1"}]')).toBe('settings-incomplete');
    expect(code('[{"n":"settings","vs":"a1"},{"n":"log_every","v":60}]')).toBe('unit-wrong');
    expect(code('[{"n":"settings","v":1}]')).toBe('value-kind-wrong');
    const whole =
      '[{"n":"settings","vs":"a1"},{"n":"log_every","u":"s","v":60},{"n":"publish_every","u":"s","v":60}]';
    expect(code(whole)).toBe('ok');
    expect(code(whole, 'live')).toBe('word-misplaced');
    expect(code(whole.replace(']', ',{"n":"log_every","u":"s","v":61}]'))).toBe('value-doubled');
  });
});
