import { hash, verify } from '@node-rs/argon2';
import { newSecretText } from './secret-text.ts';

/** Argon2id, OWASP Password Storage Cheat Sheet, second parameter set: 19 MiB, two passes, one lane. */
const COST = { memoryCost: 19_456, timeCost: 2, parallelism: 1 } as const;

/** 19 MiB and some 30 ms each: two at once leave the processor to the intake. */
const AT_ONCE = 2;
const WAITING = 16;

/** What is kept of a password that a person chose. */
export const hashPassword = (password: string): Promise<string> => hash(password, COST);

export interface PasswordCheck {
  /**
   * @param passwordHash undefined: nobody of that address; takes as long as if there were
   * @returns `busy` when too many wait already: nothing was checked
   */
  (password: string, passwordHash: string | undefined): Promise<'right' | 'wrong' | 'busy'>;
}

/**
 * Checks passwords, few at a time, and gives away nothing by how long it takes.
 *
 * @param verifyHash the work itself, so that a test can see what it is given
 */
export async function createPasswordCheck(
  verifyHash: (passwordHash: string, password: string) => Promise<boolean> = verify,
): Promise<PasswordCheck> {
  const nobodysHash = await hashPassword(newSecretText());
  const waiting: (() => void)[] = [];
  let running = 0;

  const turn = async (): Promise<void> => {
    if (running >= AT_ONCE) await new Promise<void>((resolve) => waiting.push(resolve));
    else running += 1;
  };
  const done = (): void => {
    const next = waiting.shift();
    if (next === undefined) running -= 1;
    else next();
  };

  return async (password, passwordHash) => {
    if (running >= AT_ONCE && waiting.length >= WAITING) return 'busy';
    await turn();
    try {
      const right = await verifyHash(passwordHash ?? nobodysHash, password);
      return right && passwordHash !== undefined ? 'right' : 'wrong';
    } finally {
      done();
    }
  };
}
