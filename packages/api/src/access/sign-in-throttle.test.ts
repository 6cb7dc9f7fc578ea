import { describe, expect, it } from 'vitest';
import { createSignInThrottle } from './sign-in-throttle.ts';

// Limits: five a minute for an account from one address, twenty from an address, three hundred in all (the project's
// reliability plan; our choice).
describe('the throttle of sign-ins', () => {
  const from = (account: string, ip = '192.0.2.7') => ({ account, ip });

  it('lets five attempts a minute through, then says how long to wait', async () => {
    const throttle = createSignInThrottle();
    const waits: number[] = [];
    for (let i = 0; i < 6; i++) waits.push(await throttle.admit(from('a@b.example'), i * 1000));
    expect(waits).toEqual([0, 0, 0, 0, 0, 55_000]);
    expect(await throttle.admit(from('a@b.example'), 59_999)).toBe(1);
    expect(await throttle.admit(from('a@b.example'), 60_000)).toBe(0);
  });

  it('does not make one account wait for another, nor one address for another', async () => {
    const throttle = createSignInThrottle();
    for (let i = 0; i < 6; i++) await throttle.admit(from('a@b.example'), 0);
    expect(await throttle.admit(from('c@d.example'), 0)).toBe(0);
    expect(await throttle.admit(from('a@b.example', '192.0.2.8'), 0)).toBe(0);
  });

  it('stops one address that tries many accounts', async () => {
    const throttle = createSignInThrottle();
    const waits: number[] = [];
    for (let i = 0; i < 21; i++) waits.push(await throttle.admit(from(`${i}@b.example`), 0));
    expect(waits.filter((wait) => wait === 0)).toHaveLength(20);
  });

  it('stops many addresses together', async () => {
    const throttle = createSignInThrottle();
    let passed = 0;
    for (let i = 0; i < 400; i++)
      if ((await throttle.admit(from('a@b.example', `10.0.0.${i}`), 0)) === 0) passed += 1;
    expect(passed).toBe(300);
  });

  it('does not count attempts it turned away, so that waiting ends', async () => {
    const throttle = createSignInThrottle();
    for (let i = 0; i < 100; i++) await throttle.admit(from('a@b.example'), i * 500);
    expect(await throttle.admit(from('a@b.example'), 62_000)).toBe(0);
  });

  it('forgets an account’s attempts once it is in', async () => {
    const throttle = createSignInThrottle();
    for (let i = 0; i < 5; i++) await throttle.admit(from('a@b.example'), 0);
    await throttle.forgive(from('a@b.example'));
    expect(await throttle.admit(from('a@b.example'), 0)).toBe(0);
  });
});
