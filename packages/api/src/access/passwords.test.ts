import { verify } from '@node-rs/argon2';
import { describe, expect, it } from 'vitest';
import { createPasswordCheck, hashPassword } from './passwords.ts';

describe('passwords', () => {
  it('are kept as argon2id with 19 MiB, two passes, one lane', async () => {
    // The encoded form of RFC 9106's reference implementation; figures from OWASP's Password Storage Cheat Sheet.
    expect(await hashPassword('nine herons over the weir')).toMatch(
      /^\$argon2id\$v=19\$m=19456,t=2,p=1\$[A-Za-z0-9+/]{22}\$[A-Za-z0-9+/]{43}$/,
    );
  });

  it('are told right from wrong, by every character', async () => {
    const check = await createPasswordCheck();
    const kept = await hashPassword('nine herons over the weir');
    expect(await check('nine herons over the weir', kept)).toBe('right');
    expect(await check('nine herons over the weir ', kept)).toBe('wrong');
    expect(await check('Nine herons over the weir', kept)).toBe('wrong');
  });

  it('cost the same work when there is nobody of that name', async () => {
    const worked: string[] = [];
    const check = await createPasswordCheck((passwordHash, password) => {
      worked.push(passwordHash);
      return verify(passwordHash, password);
    });
    const kept = await hashPassword('nine herons over the weir');
    expect(await check('wrong', kept)).toBe('wrong');
    expect(await check('wrong', undefined)).toBe('wrong');
    // RFC 9106 §3.1: the work is settled by memory, passes and lanes, which the encoded form carries; nothing is timed here.
    const costOf = (passwordHash: string): string => passwordHash.split('$').slice(1, 4).join(' ');
    expect(worked.map(costOf)).toEqual([
      'argon2id v=19 m=19456,t=2,p=1',
      'argon2id v=19 m=19456,t=2,p=1',
    ]);
    expect(worked[1]).not.toBe(kept);
  });

  it('are checked two at a time; who comes when sixteen wait is sent away unchecked', async () => {
    const check = await createPasswordCheck();
    const kept = await hashPassword('nine herons over the weir');
    const outcomes = await Promise.all(
      Array.from({ length: 20 }, () => check('nine herons over the weir', kept)),
    );
    expect(outcomes.filter((one) => one === 'right')).toHaveLength(18);
    expect(outcomes.filter((one) => one === 'busy')).toHaveLength(2);
    expect(await check('nine herons over the weir', kept)).toBe('right');
  });

  it('let the next one in also after a hash that cannot be read', async () => {
    const check = await createPasswordCheck();
    const kept = await hashPassword('nine herons over the weir');
    for (let i = 0; i < 5; i++) await expect(check('x', 'not a hash')).rejects.toThrow();
    expect(await check('nine herons over the weir', kept)).toBe('right');
  });
});
