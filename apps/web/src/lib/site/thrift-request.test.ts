import { describe, expect, it } from 'vitest';
import { thriftRequest } from './thrift-request.ts';

describe('a request of thrift', () => {
  it('ends by itself, at the start of a day of the site a fortnight on', () => {
    const nowMs = Date.parse('2026-03-20T13:45:00Z');
    // 3 April 2026 is in British summer time, which began on 29 March: midnight there is 23:00 UTC.
    expect(thriftRequest(300, { nowMs, timeZone: 'Europe/London' })).toMatchObject({
      logEveryS: 1200,
      publishEveryS: 1200,
      thriftUntil: '2026-04-02T23:00:00.000Z',
    });
  });

  it('asks for no more than the wire allows and no less than helps', () => {
    const at = { nowMs: Date.parse('2026-11-20T13:45:00Z'), timeZone: 'UTC' };
    expect(thriftRequest(30, at).logEveryS).toBe(900);
    expect(thriftRequest(50_000, at).publishEveryS).toBe(86_400);
  });
});
