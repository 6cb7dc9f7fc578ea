import { encodeSettingsRequest } from '@duskline/wire';
import { describe, expect, it } from 'vitest';
import { createSettingsAnswer } from './settings-answer.ts';

const T0 = Date.UTC(2026, 10, 26, 12);
const HOUR = 3_600_000;
const request = { id: 'a1', logEveryS: 600, thriftUntilMs: T0 + 24 * HOUR };
const asked = () => {
  const kept: unknown[] = [];
  const answer = createSettingsAnswer({ ownGapS: 30, onKeep: (one) => kept.push(one) });
  return { answer, kept };
};

describe('a pretend node that is asked for thrift', () => {
  it('says nothing and changes nothing while nobody asked', () => {
    const { answer } = asked();
    expect(answer.inForce(T0)).toBeUndefined();
    expect(answer.logEveryMs(T0)).toBeUndefined();
    expect(answer.loadTimes(T0)).toBe(1);
    expect(answer.receive(new Uint8Array())).toBeUndefined();
    expect(answer.inForce(T0)).toBeUndefined();
  });

  it('follows it, draws less, remembers it, and goes back by itself at the stated end', () => {
    const { answer, kept } = asked();
    expect(answer.receive(encodeSettingsRequest(request))).toBeUndefined();
    expect(kept).toEqual([request]);
    expect(answer.inForce(T0)).toEqual({
      id: 'a1',
      logEveryS: 600,
      publishEveryS: 600,
      thriftUntilMs: request.thriftUntilMs,
    });
    expect(answer.logEveryMs(T0)).toBe(600_000);
    // Logging twenty times less often leaves a twentieth of its share: 0.65 + 0.35 ÷ 20.
    expect(answer.loadTimes(T0)).toBeCloseTo(0.6675, 6);
    const after = request.thriftUntilMs;
    expect(answer.inForce(after)).toEqual({ id: 'a1', logEveryS: 30, publishEveryS: 30 });
    expect(answer.loadTimes(after)).toBe(1);
  });

  it('says why it does not understand, and keeps to what it did', () => {
    const { answer, kept } = asked();
    expect(answer.receive(new TextEncoder().encode('{"log_every":5}'))).toMatch(/id/);
    expect(kept).toEqual([]);
    expect(answer.inForce(T0)).toBeUndefined();
  });
});
